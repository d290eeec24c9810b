"""Head and totals of a plan: the sound small plan, one thing spoilt."""

from collections.abc import Callable

import pytest
from msgspec.structs import replace

from tests.verify.small_facts import Json, assuming, names, sound, spoilt
from tripplan.verify.facts import Facts
from tripplan.verify.whole import verify

EARLY, DAY, CAMP, TOWN, AFTER = range(5)
Change = Callable[[Json], object]


def broken(change: Change, good: Facts | None = None) -> set[str]:
    """Every rule that the spoilt plan breaks."""
    at = spoilt(good or sound(), change)
    return names(verify(at.plan, at.rig, at.history, at.trip, at.catalogue))


def of(**values: object) -> Change:
    """Change the head."""
    return lambda plan: plan.update(values)


def leg(**values: object) -> Change:
    """Change the first leg."""
    return lambda plan: plan["legs"][0].update(values)


def totals(which: str, **values: object) -> Change:
    """Change one of the totals."""
    return lambda plan: plan["totals"][which].update(values)


def test_the_sound_plan_breaks_nothing() -> None:
    """If it did, no test here would show what it says."""
    assert broken(lambda plan: None) == set()


@pytest.mark.parametrize(
    ("change", "rules"),
    [
        (of(rig="Other"), {"same folder"}),
        (of(trip="Other"), {"same folder"}),
        (of(depart="2026-07-02"), {"same folder"}),
        (of(**{"return": "2026-07-30"}), {"same folder"}),
        (leg(number=7), {"same folder", "wear"}),
        (leg(distance_km=601), {"same folder"}),
        (leg(remote=True), {"same folder"}),
        (leg(driven=True), {"same folder"}),
        (lambda plan: plan["legs"].reverse(), {"same folder"}),
        (lambda plan: plan["items"][0]["wear"][0].update(leg=9), {"wear"}),
        (lambda plan: plan["items"][0].update(placed=["nowhere"]), {"placed is a job"}),
    ],
)
def test_a_plan_of_something_else_is_told_apart_at_once(change: Change, rules: set[str]) -> None:
    """If not, forty broken rules would hide that the folder was changed since."""
    assert broken(change) == rules


def test_a_leg_of_today_is_not_driven_yet() -> None:
    """If it were, the plan made on the morning of departure would be refused."""
    assert broken(of(today="2026-07-01")).isdisjoint({"same folder"})
    assert "same folder" in broken(of(today="2026-07-02"))


LABOUR = (135 + 39) / 60 * 60
"""135 minutes at home and 39 in the town; an hour is 60 everywhere, unless the owner says otherwise."""


@pytest.mark.parametrize(
    ("change", "rules"),
    [
        (totals("plan", minutes=185), {"totals"}),
        (totals("plan", minutes=187), {"totals"}),
        (totals("plan", cost=LABOUR - 0.1), {"totals"}),
        (totals("plan", cost=LABOUR + 0.1), set()),
        (totals("each_alone", minutes=185), {"totals"}),
        (totals("each_alone", minutes=186), set()),
    ],
)
def test_totals_are_those_of_the_slots(change: Change, rules: set[str]) -> None:
    """If not, page one would promise a shorter or a cheaper job: 135 and 39 minutes, and 12 at a halt."""
    assert broken(change) == rules


@pytest.mark.parametrize(("gap", "is_wrong"), [(None, False), (0.0, False), (0.3, False), (-0.001, True)])
def test_a_gap_is_never_below_nothing(gap: float | None, is_wrong: bool) -> None:
    """If it were, a plan would claim to be better than the best; without a solver there is none."""
    assert broken(lambda plan: plan["totals"].update(gap=gap)) == ({"totals"} if is_wrong else set())


@pytest.mark.parametrize(("greedy", "is_dear"), [(298.50, True), (298.52, False), (1000.0, False)])
def test_the_plan_is_no_dearer_than_the_plain_rule(greedy: float, is_dear: bool) -> None:
    """A plan of 300, half a per cent given: 300 / 1.005 = 298.507."""

    def change(plan: Json) -> None:
        plan["totals"]["plan"]["cost"], plan["totals"]["greedy"]["cost"] = 300.0, greedy

    assert broken(change) == ({"no dearer than the plain rule"} if is_dear else set())


@pytest.mark.parametrize(
    ("rate", "holiday", "factor", "labour"),
    [
        (60.0, None, 1.0, 135 + 39),
        (60.0, None, 3.0, 135 + 3 * 39),
        (60.0, 30.0, 3.0, 135 + 39 / 2),
        (60.0, 0.0, 3.0, 135 + 39 / 60),  # an hour is worth something even where nobody pays it
        (0.0, None, 1.0, (135 + 39) / 60),
        (90.0, None, 2.0, 1.5 * 135 + 3 * 39),
    ],
)
def test_an_hour_on_the_way_is_an_hour_of_holiday(
    rate: float, holiday: float | None, factor: float, labour: float
) -> None:
    """If not, work on the road would be reckoned at the price of the shed."""
    at = assuming(sound(), holiday_hour_factor=factor)
    changes = {"rate_per_hour": rate, "holiday_rate_per_hour": holiday}
    at = replace(at, trip=at.trip.model_copy(update=changes))
    for share, rules in ((0.999, {"totals"}), (1.001, set())):

        def change(plan: Json, cost: float = labour * share) -> None:
            plan["totals"]["plan"]["cost"] = plan["totals"]["greedy"]["cost"] = cost

        assert broken(change, at) == rules
