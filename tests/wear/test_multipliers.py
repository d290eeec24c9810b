"""The product rule: how the grades of a leg multiply into wear, typical and with reserve."""

import math
from typing import Any

import pytest

from tests.small import camper, crossing, leg, tables, thing, trip, wagon
from tripplan.records.catalogue import Catalogue, Item
from tripplan.records.facts_in import Leg
from tripplan.records.plan import Factor
from tripplan.trip.timeline import build_timeline
from tripplan.wear.multipliers import MissingGrade, Severity, StretchWear

ALL_HIGH = thing(km=10000, dust="high", corrugation="high", heat="high", load="high", water="high")
HARSH: dict[str, Any] = {
    "dust": "heavy", "corrugation": "moderate", "surface": "rock", "heat_c": 40, "load": "heavy", "towing": True,
    "mud": "deep",
}  # fmt: skip


def severity(*legs: Leg, catalogue: Catalogue | None = None, wet_km: float = 50, **changes: Any) -> Severity:
    """The multipliers of a trip of those legs."""
    return Severity(catalogue or tables(), build_timeline(trip(*legs, **changes), 8, wet_km))


def wear(item: Item, one: Leg, **changes: Any) -> StretchWear:
    """The multiplier of a whole leg on the wagon."""
    return severity(one, **changes).leg_wear(item, wagon(), 0, ())


def conditions(factors: tuple[Factor, ...]) -> dict[str, float]:
    """Condition and multiplier of each factor."""
    return {factor.condition: factor.multiplier for factor in factors}


def test_a_neutral_leg_is_exactly_one() -> None:
    """If not, every interval would be wrong even on the road it was made for."""
    assert wear(ALL_HIGH, leg(1, 300)) == StretchWear(1.0, 1.0, 1.0)
    assert severity(leg(1, 300)).leg_factors(ALL_HIGH, wagon(), 0, ()) == ()


def test_an_item_that_feels_nothing_is_worn_by_nothing() -> None:
    """If not, the date on the fire extinguisher would run faster in dust."""
    assert wear(thing(km=1), leg(1, 300, **HARSH)) == StretchWear(1.0, 1.0, 1.0)


def test_typical_values_multiply() -> None:
    """If not, dust and load together would wear less or more than the printed rule says."""
    found = wear(ALL_HIGH, leg(1, 300, dust="heavy", load="heavy"))
    assert found.typical == pytest.approx(2 * 1.5)


def test_the_reserve_adds_squared_logs() -> None:
    """If not, the reserve would be far too large with many conditions, or none at all."""
    found = wear(ALL_HIGH, leg(1, 300, dust="heavy", load="heavy"))
    # high over typical: 3/2 for dust, 1.8/1.5 for load
    doubt = math.exp(math.sqrt(math.log(1.5) ** 2 + math.log(1.2) ** 2))
    assert found.high == pytest.approx(3 * doubt)
    assert found.low == pytest.approx(3 / doubt)


def test_one_condition_keeps_its_own_high_value() -> None:
    """If not, a single table row could not be found again in the plan."""
    found = wear(ALL_HIGH, leg(1, 300, dust="heavy"))
    assert (found.typical, found.high) == (pytest.approx(2), pytest.approx(3))


def test_sensitivity_decides_how_much_reaches_the_item() -> None:
    """If not, a sealed joint would be worn like an open one."""
    found = [wear(thing(dust=s), leg(1, 300, dust="heavy")).typical for s in ("none", "low", "medium", "high")]
    assert found == pytest.approx([1, 1.2, 1.5, 2])  # 0, a fifth, a half and all of the excess 1


def test_the_product_is_held_and_the_holding_is_told() -> None:
    """If not, seven bad grades would multiply to a number nobody believes, or be cut in silence."""
    line = severity(leg(1, 300, **HARSH))
    # 2 x 1.75 x 2 x 1.75 x 1.5 x 1.25 x 1.5 = 34.5, held at 10
    product = 2 * 1.75 * 2 * 1.75 * 1.5 * 1.25 * 1.5
    assert line.leg_wear(ALL_HIGH, wagon(), 0, ()).typical == 10
    factors = conditions(line.leg_factors(ALL_HIGH, wagon(), 0, ()))
    assert factors["cap"] == pytest.approx(10 / product)
    assert math.prod(factors.values()) == pytest.approx(10)


def test_a_trailer_does_not_feel_that_it_is_towed() -> None:
    """If not, a trailer's bearings would be charged for pulling themselves."""
    line = severity(leg(1, 300, towing=True))
    item = thing(unit_kind="trailer", load="high")
    assert line.leg_wear(item, camper(), 0, ()).typical == 1
    assert line.leg_wear(ALL_HIGH, wagon(), 0, ()).typical == pytest.approx(1.25)


def test_low_range_counts_by_its_share() -> None:
    """If not, ten km of rock steps would wear the whole day's driving double."""
    # 30 of 300 km: 1 + 0.1 x (2 - 1)
    assert wear(ALL_HIGH, leg(1, 300, low_range_km=30)).typical == pytest.approx(1.1)


def test_a_grade_without_a_row_is_asked_for() -> None:
    """If not, a grade missing from the tables would silently count as normal."""
    some = tables()
    bare = some.model_copy(update={"multipliers": tuple(m for m in some.multipliers if m.grade != "heavy")})
    with pytest.raises(MissingGrade, match="dust heavy"):
        wear(ALL_HIGH, leg(1, 300, dust="heavy"), catalogue=bare)
    none = some.model_copy(update={"grades": tuple(g for g in some.grades if g.condition != "dust")})
    with pytest.raises(MissingGrade, match="dust"):
        wear(ALL_HIGH, leg(1, 300), catalogue=none)


def test_heat_is_graded_by_its_bounds() -> None:
    """If not, a day of exactly 30 degrees would fall in no grade or in two."""
    line = severity(leg(1, 300))
    assert [line.grade_of(leg(1, 1, heat_c=c), "heat") for c in (29.9, 30, 37.9, 38, 60)] == [
        "normal", "warm", "warm", "hot", "hot",
    ]  # fmt: skip


def test_mud_is_taken_from_muddy_crossings_when_not_given() -> None:
    """If not, a muddy ford would leave no trace on what hates mud."""
    muddy = severity(leg(1, 300), crossings=(crossing(1, 10, 0.5, water="muddy"),))
    assert muddy.grade_of(leg(1, 300), "mud") == "light"
    assert muddy.grade_of(leg(1, 300, mud="none"), "mud") == "none"
    fresh = severity(leg(1, 300), crossings=(crossing(1, 10, 0.5),))
    assert fresh.grade_of(leg(1, 300), "mud") == "none"


def test_water_wears_only_the_kilometres_behind_it() -> None:
    """If not, a ford on the last day would have worn the whole trip."""
    line = severity(leg(1, 200), crossings=(crossing(1, 120, 0.5),), wet_km=50)
    stretches = line.stretch_wear(ALL_HIGH, wagon(), (2,))
    assert [one.typical for one in stretches] == pytest.approx([1, 1.5, 1])  # 0-120, 120-170, 170-200
    # mean over the leg: (150 x 1 + 50 x 1.5) / 200
    assert line.leg_wear(ALL_HIGH, wagon(), 0, (2,)).typical == pytest.approx(1.125)
    assert conditions(line.leg_factors(ALL_HIGH, wagon(), 0, (2,)))["water"] == pytest.approx(1.125)


def test_splash_wears_less_than_immersion_and_nothing_is_one() -> None:
    """If not, a puddle and a swim would count the same."""
    line = severity(leg(1, 200), crossings=(crossing(1, 0, 0.5),), wet_km=500)
    found = [line.leg_wear(ALL_HIGH, wagon(), 0, (grade,)).typical for grade in (0, 1, 2)]
    assert found == pytest.approx([1, 1.1, 1.5])


def test_every_factor_names_its_row_and_basis() -> None:
    """If not, the owner could not find the number to argue with it."""
    (factor,) = severity(leg(1, 300, dust="heavy")).leg_factors(ALL_HIGH, wagon(), 0, ())
    assert (factor.condition, factor.grade, factor.basis, str(factor.origin)) == (
        "dust",
        "heavy",
        "judgement",
        "here row 2",
    )
