"""What moving a job costs, in words: a day of 45 minutes at home, a camp, and home again; all reckoned by hand."""

from datetime import date
from typing import Any

import pytest
from msgspec.structs import replace

from tests.placing.by_hand import CAMP, DAY, HOME, WHEEL, given, placing, task
from tripplan.explain.moves import cost_of, costs_of, lay_out, minutes_left, move_sentence, price_words
from tripplan.placing.problem import Ceilings, PlacementProblem, Task
from tripplan.placing.read_back import rows_of
from tripplan.placing.stated import stated


def bench(
    *tasks: Task, day: float = 45.0, camp: float = 200.0, trip: float | None = None, **changes: Any
) -> PlacementProblem:
    """Those tasks; setting out takes ten minutes; a minute at the camp is two, at 120 an hour."""
    made = given(*tasks, ceilings=Ceilings(None, trip), **changes)
    sites = tuple(
        replace(site, minutes=minutes, facility="workshop", place=place, date=on)
        for site, minutes, place, on in zip(
            made.sites, (day, camp, None), ("home", "Gums", "home"),
            (date(2026, 6, 24), date(2026, 7, 3), date(2026, 8, 1)), strict=True,
        )
    )  # fmt: skip
    return replace(made, sites=sites)


def sentence(problem: PlacementProblem, index: int, site: int, *visits: tuple[int, ...]) -> str:
    """What is told of moving that job."""
    return move_sentence(lay_out(problem, placing(*visits)), index, site)


def test_a_full_day_is_short_by_so_much() -> None:
    """20 and 30 minutes and 10 to set out are 60: 15 more than the day has. After return it is cheaper by 123.

    At the camp 80 minutes are 160 and waiting is 6; at home 40 are 40 and waiting 3.
    """
    two = bench(task(0, 20), task(1, 30))
    told = sentence(two, 1, CAMP, (DAY,), (CAMP,))
    assert told == (
        "Earlier (home, 24 June): not possible, 15 min short there. Later (home, 1 August): 123 cheaper "
        "(all else left where it is)."
    )


def test_a_job_at_the_end_can_only_go_earlier() -> None:
    """And one on the first day only later: 30 at home and waiting 7, against 120 and 6 at the camp."""
    one = bench(task(0, 20))
    assert sentence(one, 0, DAY, (DAY,)) == "Later (Gums, 3 July): 89 dearer (all else left where it is)."
    assert sentence(one, 0, HOME, (HOME,)).startswith("Earlier (Gums, 3 July): ")
    assert sentence(one, 0, CAMP, (DAY,)) == ""  # it is no job there


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"facility": "workshop"}, "it needs a workshop"),
        ({"earliest": CAMP}, "parts may not be there"),
        ({"window": (CAMP, HOME), "undone": 9}, "outside its window after the crossing"),
    ],
)
def test_why_a_job_cannot_stand_there(changes: dict[str, Any], words: str) -> None:
    """If not, it would be told a price where it cannot be done at all."""
    one = bench(task(0, 20, **changes))
    camp = replace(one.sites[DAY], facility="town") if "facility" in changes else one.sites[DAY]
    told = sentence(replace(one, sites=(camp, *one.sites[1:])), 0, CAMP, (CAMP,))
    assert f"not possible, {words}" in told.split(". ")[0]


def test_past_its_limit_first() -> None:
    """Inside its limit until the camp alone: after return is too late."""
    told = sentence(bench(task(0, 20, sound=(CAMP, HOME, HOME, HOME))), 0, CAMP, (CAMP,))
    assert "Later (home, 1 August): not possible, it would be past its limit first" in told


def test_done_there_as_well() -> None:
    """Done at the camp by what does it on the way."""
    two = bench(task(0, 20), task(1, 30), covered_by=((1,), ()))
    told = sentence(two, 0, DAY, (DAY,), (CAMP,))
    assert "Later (Gums, 3 July): not possible, it is done there as well" in told


def test_too_long_for_the_day_even_alone() -> None:
    """40 minutes and 10 to set out in a day of 45."""
    told = sentence(bench(task(0, 40)), 0, CAMP, (CAMP,))
    assert told.startswith("Earlier (home, 24 June): not possible, it would not fit even alone")


def test_more_than_the_owner_gives_of_the_road() -> None:
    """80 minutes at the camp where 70 are given of the whole road."""
    told = sentence(bench(task(0, 25), task(1, 5), trip=75.0), 0, DAY, (DAY,), (CAMP,))
    assert "Later (Gums, 3 July): not possible, 5 min more than the owner gives of the road" in told


def test_another_day_would_be_too_full_without_what_they_share() -> None:
    """Two jobs on two days in a row share a wheel left open overnight: without one of them 8 minutes are missing."""
    made = bench(task(0, 20, WHEEL), task(1, 20, WHEEL))
    days = tuple(
        replace(made.sites[DAY], id=f"d{n}", date=date(2026, 6, 24 + n), minutes=minutes)
        for n, minutes in enumerate((45.0, 100.0))
    )
    late = tuple(tuple(1000 * max(0, q - p) for q in range(4)) for p in range(-1, 4))
    tasks = tuple(
        replace(one, late=late, worth=(5000,) * 5, reach=(3,) * 5, sound=(3,) * 5, shares=((0.5,) * 4,) * 5)
        for one in made.tasks
    )
    two = replace(made, sites=(*days, *made.sites[1:]), tasks=tasks, place_factor=(1.0, 1.0, 2.0, 1.0),
                  hour_price=(60.0, 60.0, 120.0, 60.0), at_home=(True, True, False, True))  # fmt: skip
    told = sentence(two, 1, 1, (0,), (1,))
    assert "Later (Gums, 3 July): not possible, another day would be too full without what they share" in told


def test_what_is_left_of_the_minutes() -> None:
    """45 less 30; 200 less 80, and 120 less 80 of the road; home has no end."""
    two = bench(task(0, 20), task(1, 30), trip=120.0)
    state = stated(two)
    own = rows_of(state, placing((DAY,), (CAMP,)))
    assert minutes_left(state, own).tolist() == [15.0, 120.0, float("inf"), 40.0]
    assert costs_of(state, own[None])[0] == pytest.approx(cost_of(state, own)) == pytest.approx(30 + 7 + 160 + 6)


def test_words_of_a_price() -> None:
    """Half of the owner's currency is no difference."""
    assert [price_words(value) for value in (0.49, 0.5, -0.5, -0.49)] == [
        "costs the same", "0.5 dearer", "0.5 cheaper", "costs the same"
    ]  # fmt: skip
