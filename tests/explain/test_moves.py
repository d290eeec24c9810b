"""What moving a job costs: held against the plan with it moved, reckoned from the problem."""

from functools import cache

import numpy as np
import pytest
from msgspec.structs import replace

from tests.random_trips import how_many, random_trip
from tripplan.explain.moves import (
    Bench,
    cost_of,
    lay_out,
    move_sentence,
    moved_rows,
    price_words,
    reckoned,
    time_words,
)
from tripplan.files.demos import DEMOS, demo_folder
from tripplan.files.folder import load
from tripplan.placing.followed_up import (
    halt_minutes,
    owed_due,
    owed_kept,
    stop_of_the_day,
)
from tripplan.placing.model import NEVER
from tripplan.placing.optimise import place_optimally
from tripplan.placing.paths import wait_of
from tripplan.placing.problem import STOP, THOUSAND, can_stand
from tripplan.placing.read_back import as_placing
from tripplan.placing.reckoning import site_minutes, totals
from tripplan.planner import answer, look_around

QUIET = 20 / 60


@cache
def bench(name: str) -> Bench:
    """The demo, or the random trip of that number, placed and laid out."""
    if name.isdigit():
        case = random_trip(int(name))
        found = answer(look_around(case.rig, case.history, case.trip, case.catalogue, case.today), place_optimally)
    else:
        inputs, catalogue, _ = load(demo_folder(name), DEMOS[name])
        assert inputs is not None
        found = answer(look_around(inputs.rig, inputs.history, inputs.trip, catalogue, DEMOS[name]), place_optimally)
    return lay_out(found.problem, found.placing)


NAMES = [*sorted(DEMOS), *map(str, range(how_many(6)))]


@pytest.mark.parametrize("name", NAMES)
def test_the_rows_of_a_placing_are_that_placing(name: str) -> None:
    """If not, moves would be priced from another plan than the one on the sheet."""
    laid = bench(name)
    assert as_placing(laid.given, laid.own, "").visits == laid.placing.visits


@pytest.mark.parametrize("name", NAMES)
def test_every_price_is_that_of_the_plan_with_the_job_moved(name: str) -> None:
    """If not, an owner who would rather do it on Sunday would be told a wrong price."""
    laid, checked = bench(name), 0
    _, now = totals(laid.problem, laid.placing)
    for move, priced in laid.moves.items():
        if any(priced.short) or priced.dearer > 1e8:
            continue
        moved = as_placing(laid.given, moved_rows(laid.own, move), "")
        again = totals(laid.problem, moved)[1] - now
        quiet = QUIET * max(laid.problem.hour_price) * len(laid.given.groups[move[0]])
        assert priced.dearer == pytest.approx(again, abs=quiet + 0.01), (move, laid.given.groups[move[0]])
        checked += 1
    assert checked or name not in DEMOS


@pytest.mark.parametrize("name", NAMES)
def test_no_single_move_would_make_the_plan_cheaper(name: str) -> None:
    """If one did, the sheet would show the owner a better plan than its own."""
    laid = bench(name)
    better = [move for move, priced in laid.moves.items() if not any(priced.short) and priced.dearer < -0.5]
    assert better == []


@pytest.mark.parametrize("name", NAMES)
def test_short_of_time_is_said_only_where_the_day_would_be_too_full(name: str) -> None:
    """If not, "no time" would be an excuse."""
    laid = bench(name)
    problem = laid.problem
    for (row, site, other), priced in laid.moves.items():
        spent = site_minutes(problem, as_placing(laid.given, moved_rows(laid.own, (row, site, other)), ""))
        for number, (place, short) in enumerate(zip(problem.sites, priced.short, strict=False)):
            most = place.minutes if place.minutes is not None else float("inf")
            if place.kind == STOP and not problem.at_home[number] and problem.ceilings.day_minutes is not None:
                halted = sum(
                    halt_minutes(problem, due) for due in (owed_due(problem, one) for one in owed_kept(problem))
                    if due.site is None and stop_of_the_day(problem, due.at_km) == number
                )  # fmt: skip
                most = min(most, problem.ceilings.day_minutes * place.days - halted)
            assert max(0.0, spent[number] - most) == pytest.approx(short, abs=1.0)


@pytest.mark.parametrize("name", sorted(DEMOS))
def test_what_the_place_cannot_offer_is_named(name: str) -> None:
    """If not, a job would be said to cost more where it cannot be done at all."""
    laid, told = bench(name), 0
    for index, visits in enumerate(laid.placing.visits):
        for site in visits:
            text = move_sentence(laid, index, site)
            for word, other in (("Earlier", site - 1), ("Later", site + 1)):
                if text and 0 <= other <= laid.problem.last:
                    part = text[text.index(word) :].split(". ")[0]
                    told += not can_stand(laid.problem, laid.problem.tasks[index], other)
                    if not can_stand(laid.problem, laid.problem.tasks[index], other):
                        assert "not possible" in part
    assert told


def test_a_plan_that_does_not_fit_costs_more_than_anything() -> None:
    """If not, a way out could be a plan that no day holds."""
    laid = bench("outback")
    full = laid.own.copy()
    full[:, 0] = True
    assert cost_of(laid.given, full) > 1e6 > cost_of(laid.given, laid.own)


@pytest.mark.parametrize(
    ("minutes", "words"),
    [(1494, "25 h"), (600, "10 h"), (599, "9 h 59 min"), (125, "2 h 05 min"), (60, "1 h"), (0.4, "1 min")],
)
def test_minutes_in_words(minutes: float, words: str) -> None:
    """If not, an owner would read 1494 minutes and not know that it is three days."""
    assert time_words(minutes) == words


def test_prices_in_words() -> None:
    """If not, a saving would read as a cost."""
    assert (price_words(0.4), price_words(12), price_words(-12)) == ("costs the same", "12 dearer", "12 cheaper")


@pytest.mark.parametrize("name", NAMES)
def test_the_search_and_the_plan_reckon_one_cost(name: str) -> None:
    """If not, the gap would be proven of another plan than the one on the sheet.

    Only what a delicate job in the last days counts for besides its own minutes is no cost of the plan, nor what is
    spoilt by a hub that comes off after it; looks that work on record brings are one that no search changes; and what
    is done on the way because a hub is off for something else is a gain that it does not count on.
    """
    laid = bench(name)
    problem = laid.problem
    near = [
        s for s, site in enumerate(problem.sites)
        if s < problem.workshop_count and (problem.depart - site.date).days <= problem.quiet_days
    ]  # fmt: skip
    delicate = [
        any(
            state == "hub off" or problem.tasks[i].item.family in ("bearing", "brake")
            for i in group for _, state in problem.tasks[i].opens
        )
        for group in laid.given.groups
    ]  # fmt: skip
    quiet = sum(
        QUIET * problem.hour_price[s] for s in near for row, own in enumerate(laid.own[:, s]) if own and delicate[row]
    )
    model, home = laid.given.model, range(problem.workshop_count)
    opened = model.need.T.astype(int) @ laid.own > 0
    spoilt = sum(
        model.labour[row, site] / THOUSAND for row, hubs in model.spoilt for site in home
        if laid.own[row, site] and opened[list(hubs), site + 1 : len(home)].any()
    )  # fmt: skip
    without = totals(replace(problem, owed=()), laid.placing)[1]
    gain = sum(wait_of(model, laid.own, row) for row in np.flatnonzero(model.along).tolist())
    more = cost_of(laid.given, laid.own) - without - quiet - spoilt
    assert -0.05 <= more <= gain / THOUSAND + 0.05


def test_a_free_day_at_home_stands_empty_only_where_no_job_gains_by_it() -> None:
    """If one did, a Sunday at home would stand empty while the same work is done on the road."""
    laid = bench("21")
    given, own, problem = laid.given, laid.own, laid.problem
    (empty,) = [site for site in range(problem.workshop_count) if not own[:, site].any()]
    setting_out = given.model.fee_cost[empty] / THOUSAND
    tried = [own]
    for row in np.flatnonzero(given.model.labour[:, empty] < NEVER).tolist():
        more = own.copy()
        more[row, empty] = True
        tried.append(more)
        for other in np.flatnonzero(own[row]).tolist():
            instead = more.copy()
            instead[row, other] = False
            tried.append(instead)
    cost, short = reckoned(given, np.stack(tried))
    fits = ~short[1:].any(axis=1)
    assert fits.sum() > len(own)
    assert ((cost[1:] - cost[0])[fits] / THOUSAND > 0.9 * setting_out).all()
