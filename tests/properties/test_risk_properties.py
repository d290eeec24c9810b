"""What a trip risks, on random trips of whole rigs: rules that hold for each, by the plain rule."""

from functools import cache
from itertools import pairwise

import pytest

from tests.random_trips import how_many, random_trip
from tripplan.placing.greedy import place_greedily
from tripplan.planner import make_plan
from tripplan.records.plan import Plan
from tripplan.risk.kit import carry_kit

SEEDS = range(how_many(2))


@cache
def planned(seed: int) -> Plan:
    """The plan of a random trip by the plain rule."""
    one = random_trip(seed)
    return make_plan(one.rig, one.history, one.trip, one.catalogue, one.today, place=place_greedily)


@pytest.mark.parametrize("seed", SEEDS)
def test_work_never_adds_risk(seed: int) -> None:
    """A plan would stand longer than doing nothing, or a job be worth less than leaving it out."""
    risk = planned(seed).risk
    assert risk is not None
    assert risk.standing_hours_expected.plan <= risk.standing_hours_expected.nothing_done + 1e-9
    assert risk.home_without_a_stop.plan >= risk.home_without_a_stop.nothing_done - 1e-9
    skips = [job.skip for slot in planned(seed).slots for job in slot.jobs if job.skip]
    assert all(skip.standing_hours_expected >= -1e-9 and skip.home_without_a_stop >= -1e-9 for skip in skips)


@pytest.mark.parametrize("seed", SEEDS)
def test_figures_are_what_they_are_called(seed: int) -> None:
    """A chance beyond 1, a band beside its figure, more stops than failures."""
    risk = planned(seed).risk
    assert risk is not None
    for case in ("plan", "nothing_done", "all_before"):
        hours = getattr(risk.standing_hours_expected, case)
        assert 0 <= getattr(risk.home_without_a_stop, case) <= 1
        assert getattr(risk.stops_expected, case) <= getattr(risk.failures_expected, case) + 1e-12
        assert getattr(risk.standing_hours_low, case) <= hours + 1e-9 <= getattr(risk.standing_hours_high, case) + 1e-6
        assert getattr(risk.standing_hours_if_repairs_cost_most, case) <= hours + 1e-9
        assert getattr(risk.standing_hours_if_repairs_cost_least, case) >= hours - 1e-9


@pytest.mark.parametrize("seed", SEEDS)
def test_the_curve_falls_from_nothing_done_to_the_end(seed: int) -> None:
    """The picture would promise that work adds standing."""
    risk = planned(seed).risk
    assert risk is not None
    assert risk.curve[0].standing_hours_expected == pytest.approx(risk.standing_hours_expected.nothing_done)
    assert all(b.standing_hours_expected <= a.standing_hours_expected + 1e-9 for a, b in pairwise(risk.curve))
    assert all(b.work_hours >= a.work_hours for a, b in pairwise(risk.curve))


@pytest.mark.parametrize("seed", SEEDS)
def test_more_room_never_saves_less(seed: int) -> None:
    """A larger box would be packed worse; both limits hold."""
    plan = planned(seed)
    saved = []
    for kg, litres in ((0, 0), (5, 10), (10, 20), (25, 40), (60, 80), (1000, 1000)):
        kit = carry_kit(plan.spares, 1.0, kg, litres)
        assert kit.weight_kg <= kg + 1e-9 and kit.volume_l <= litres + 1e-9 and kit.is_exact
        saved.append(kit.saved_hours)
    assert all(more >= less - 1e-6 for less, more in pairwise(saved)) and saved[0] == 0
