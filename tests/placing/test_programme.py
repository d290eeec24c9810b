"""The programme of a part against every plan's own price: its rows and columns say the same as the arrays."""

from typing import Any

import numpy as np
import pytest
from msgspec.structs import replace

from tests.placing.arrays import whole
from tests.placing.small_placements import problem
from tripplan.placing.descent import neighbours, only_at_home, overflow_of, single_changes, with_fees
from tripplan.placing.model import NEVER, Flags, Floats, Model, Part, Plans, Spoilt, joined_plans, looks_at
from tripplan.placing.programme import Programme, as_lp, part_programme
from tripplan.placing.stated import stated

highspy = pytest.importorskip("highspy", reason="the solver (extra) is not installed")


def least_with(programme: Programme, fixed: Floats) -> float | None:
    """The least cost of the relaxation with the first columns set; None where they keep not all rows."""
    lp: Any = as_lp(programme, highspy, whole=False)
    low, high = np.zeros(len(programme.cost)), np.ones(len(programme.cost))
    low[: len(fixed)] = high[: len(fixed)] = fixed
    lp.col_lower_, lp.col_upper_ = low, high
    solver: Any = highspy.Highs()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("threads", 1)  # or another programme of this process would be refused
    solver.passModel(lp)
    solver.run()
    is_met = solver.getModelStatus() == highspy.HighsModelStatus.kOptimal
    return float(solver.getInfo().objective_function_value) if is_met else None


def of_the_whole(model: Model, limited: bool) -> Programme:
    """The programme of all tasks at no price of minutes."""
    return part_programme(whole(model), np.zeros(len(model.rows)), model.fee_cost, limited)


def on_a_walk(part: Part, seed: int, steps: int) -> Plans:
    """Some of the plans next to each step of a walk at random, whether they have the minutes or not."""
    draw, fee = np.random.default_rng(seed), np.zeros(part.model.sites)
    met, here = [], only_at_home(part)
    for _ in range(steps):
        near = joined_plans(
            [single_changes(part, here), neighbours(part, here, np.zeros(len(part.model.rows)), fee, True)]
        )
        some = near.take(np.flatnonzero(near.cost < NEVER))
        met.append(some.take(draw.choice(len(some.cost), min(6, len(some.cost)), replace=False)))
        here = met[-1].take(draw.integers(len(met[-1].cost), size=1))
    return joined_plans(met)


def done_twice(part: Part, own: Flags) -> bool:
    """True where something is visited though it is done on the way at the same place: no programme needs that."""
    through = (part.cover.astype(float) @ own.astype(float) > 0) & part.model.counts
    return bool((through & own).any())


@pytest.mark.parametrize("seed", range(10))
@pytest.mark.parametrize(("looks", "spoilt"), [(False, ()), (True, ()), (False, ((0, (0, 1)), (1, (2,))))])
def test_every_plan_costs_the_same_in_the_programme(seed: int, looks: bool, spoilt: tuple[Spoilt, ...]) -> None:
    """If a row cut a plan off, or a column cost more, a gap would be told that is not proven.

    What is visited fixes the rest, so that the relaxation alone comes to the plan's own price; a plan that takes
    more minutes than there are keeps not all rows.
    """
    given = problem(seed, 7, 1 + seed % 3, 2, 2, ("left", "right"), looks=looks)
    model = replace(stated(given).model, home=3, spoilt=spoilt)
    part, programme = whole(model), of_the_whole(model, limited=True)
    plans = on_a_walk(part, seed, 10)
    over, cost = overflow_of(model, plans).any(axis=1), with_fees(model, plans)
    tried = 0
    for own, is_over, known in zip(plans.own, over, cost, strict=True):
        if known < NEVER and not done_twice(part, own):
            told = least_with(programme, own[model.labour < NEVER].astype(float))
            assert told is None if is_over else told == pytest.approx(known, abs=0.6)
            tried += 1
    assert tried > 1


def test_without_the_minutes_every_plan_keeps_the_rows() -> None:
    """If not, a part would be bounded by plans that have room for it alone."""
    given = problem(3, 7, 2, 2, 2, ("left", "right"))
    model = stated(given).model
    part, programme = whole(model), of_the_whole(model, limited=False)
    plans = on_a_walk(part, 3, 6)
    fits = ~overflow_of(model, plans).any(axis=1)
    able = [i for i in range(len(plans.cost)) if plans.cost[i] < NEVER and not done_twice(part, plans.own[i])]
    assert any(not fits[i] for i in able)
    for i in able:
        told = least_with(programme, plans.own[i][model.labour < NEVER].astype(float))
        assert told == pytest.approx(with_fees(model, plans)[i], abs=0.6)


def bare(model: Model, labour: Floats, need: list[list[bool]], cost: list[float]) -> Model:
    """Tasks that take no minutes, have to be done once, and need the openings at these prices; nothing else."""
    (tasks, sites), openings = labour.shape, len(cost)
    arc, again = (np.full((tasks, sites + 1, sites + 1), NEVER) for _ in range(2))
    arc[:, 0, :sites] = arc[:, 1:, sites] = again[:, 0] = 0.0
    none = np.zeros((openings, sites))
    return replace(
        model, labour=labour, spend=np.zeros(labour.shape), need=np.array(need),
        open_cost=none + np.array(cost)[:, None], open_spend=none, keep_cost=none, keep_here=none, keep_next=none,
        arc=arc, again=again, more_spend=np.zeros((tasks, 2, sites)), along=np.zeros(tasks, dtype=bool),
        looks=replace(model.looks, by=model.looks.by[:0], at=model.looks.at[:0], to=model.looks.to[:0],
                      what=model.looks.what[:0], there=model.looks.there[:0], halt=model.looks.halt[:0], first=model.looks.first[:0]),
        covers=((),) * tasks, counts=np.ones(labour.shape, dtype=bool), fee_cost=np.zeros(sites),
    )  # fmt: skip


def on_two_days(tasks: int, model: Model) -> Floats:
    """Five for a visit on the first two days, and none elsewhere."""
    return np.where(np.arange(model.sites) < 2, 5.0, NEVER) + np.zeros((tasks, 1))


def test_days_on_end_that_bring_one_look_bring_it_whole() -> None:
    """Half a visit on each of two days would look by half, so that the relaxation would tell 20 for what costs 35.

    A visit costs 5, the look that falls on the third day 30, whichever of the days brings it.
    """
    model = stated(problem(4, 1, 2, 1)).model
    days, once = np.arange(2, dtype=np.intp), np.zeros(1, dtype=np.intp)
    looks = looks_at(
        (once[[0, 0]], days, once[[0, 0]]), (once + 1, once + 2), np.zeros((1, len(model.rows) - model.sites))
    )
    asked = replace(bare(model, on_two_days(1, model), [[True, False]], [0.0, 30.0]), looks=looks)
    assert least_with(of_the_whole(asked, limited=False), np.zeros(0)) == pytest.approx(35.0)


def test_what_stays_open_overnight_is_opened_once_for_half_visits_too() -> None:
    """Half a visit on each of two days, open all night between, would pay for half an opening: 10 for what costs 15."""
    model = stated(problem(4, 1, 2, 1)).model
    asked = bare(model, on_two_days(1, model), [[True]], [10.0])
    asked.keep_cost[0, 0] = 10.0
    assert least_with(of_the_whole(asked, limited=False), np.zeros(0)) == pytest.approx(15.0)


def test_what_two_need_that_are_never_done_at_one_place_is_opened_for_both() -> None:
    """The second task does the first on the way. Half of each on one day opens it whole: 7.5 for visits, 10 and 5."""
    model = stated(problem(4, 1, 2, 1)).model
    asked = replace(bare(model, on_two_days(2, model), [[True], [True]], [10.0]), covers=((1,), ()))
    asked.arc[0, 1, 1] = 0.0
    of_first, of_second = [0.5, 0.0], [0.5, 0.5]
    told = least_with(of_the_whole(asked, limited=False), np.array([*of_first, *of_second]))
    assert told == pytest.approx(22.5)
