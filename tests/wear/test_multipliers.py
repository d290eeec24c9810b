"""The one rule: how the grades of a leg act together, and what reaches which item."""

from typing import Any

import numpy as np
import pytest

from tests.small import camper, crossing, leg, tables, thing, trip, wagon
from tripplan.records.catalogue import Catalogue, Item
from tripplan.records.facts_in import Leg
from tripplan.records.plan import Factor
from tripplan.trip.timeline import build_timeline
from tripplan.wear.mechanisms.uncertain import MEDIAN, NODES
from tripplan.wear.multipliers import MECHANISM_OF, MECHANISMS, RULE, MissingGrade, Severity, water_excess

ALL_HIGH = thing(km=10000, dust="high", corrugation="high", heat="high", load="high", water="high")
HARSH: dict[str, Any] = {
    "dust": "heavy", "corrugation": "moderate", "surface": "rock", "heat_c": 40, "load": "heavy", "towing": True,
    "mud": "deep",
}  # fmt: skip


def severity(*legs: Leg, catalogue: Catalogue | None = None, **changes: Any) -> Severity:
    """The multipliers of a trip of those legs."""
    return Severity(catalogue or tables(), build_timeline(trip(*legs, **changes), 8))


def wear(item: Item, one: Leg, **changes: Any) -> tuple[float, float, float]:
    """Typical, low and high multiplier of a leg on the wagon."""
    found = severity(one, **changes).of(item, wagon())
    return float(found.typical[0]), float(found.low[0]), float(found.high[0])


def conditions(factors: tuple[Factor, ...]) -> dict[str, float]:
    """Condition and multiplier of each factor."""
    return {factor.condition: factor.multiplier for factor in factors}


def test_a_neutral_leg_is_exactly_one() -> None:
    """If not, every interval would be wrong even on the road it was made for."""
    assert wear(ALL_HIGH, leg(1, 300)) == (1.0, 1.0, 1.0)
    found = severity(leg(1, 300)).of(ALL_HIGH, wagon())
    assert found.factors == ((),) and not found.excess.any()


def test_an_item_that_feels_nothing_is_worn_by_nothing() -> None:
    """If not, the date on the fire extinguisher would run faster in dust."""
    assert wear(thing(km=1), leg(1, 300, **HARSH)) == (1.0, 1.0, 1.0)


def test_separate_mechanisms_add_what_they_are_above_one() -> None:
    """If not, dust and load together would wear more than either manual or mechanic has seen."""
    # 1 + (2 - 1) + (1.5 - 1)
    assert wear(ALL_HIGH, leg(1, 300, dust="heavy", load="heavy"))[0] == pytest.approx(2.5)


def test_the_same_mechanism_multiplies() -> None:
    """If not, washboard on rock would shake as if one of the two were not there."""
    # 1 + (2 x 1.75 - 1), and 1 + (1.5 x 1.25 - 1)
    assert wear(ALL_HIGH, leg(1, 300, surface="rock", corrugation="moderate"))[0] == pytest.approx(3.5)
    assert wear(thing(system="driveline", load="high"), leg(1, 300, load="heavy", towing=True))[0] == pytest.approx(
        1.875
    )


def test_the_whole_rule_on_one_leg() -> None:
    """If not, seven bad grades would come to a number nobody believes."""
    # 1 + grit 1 + mud 0.5 + shaking (2 x 1.75 - 1) + heat 0.75 + load (1.5 - 1)
    found = severity(leg(1, 300, **HARSH)).of(ALL_HIGH, wagon())
    assert found.typical[0] == pytest.approx(6.25)
    assert 1 + found.excess[0, :, MEDIAN].sum() == pytest.approx(6.25)


def test_one_condition_keeps_its_own_high_value() -> None:
    """If not, a single table row could not be found again in the plan."""
    typical, low, high = wear(ALL_HIGH, leg(1, 300, dust="heavy"))
    assert (typical, high) == (pytest.approx(2), pytest.approx(3, rel=1e-4))
    assert low == pytest.approx(1.5, rel=1e-4)  # the mirror image of the excess: 1 x 1 / 2


def test_the_high_of_several_is_theirs_together() -> None:
    """If not, the reserve of a leg would be far too large with many conditions, or none at all."""
    draws = np.random.default_rng(20260701).standard_normal((2, 100_000))
    dust, load = (e * (high / e) ** (z / 1.6448536) for (e, high), z in zip([(1, 2), (0.5, 0.8)], draws, strict=True))
    found = wear(ALL_HIGH, leg(1, 300, dust="heavy", load="heavy"))[2]
    assert np.mean(1 + dust + load > found) == pytest.approx(0.05, abs=0.005)


def test_sensitivity_decides_how_much_reaches_the_item() -> None:
    """If not, a sealed joint would be worn like an open one."""
    found = [wear(thing(dust=s), leg(1, 300, dust="heavy"))[0] for s in ("none", "low", "medium", "high")]
    assert found == pytest.approx([1, 1.2, 1.5, 2])  # 0, a fifth, a half and all of the excess 1


def test_towing_reaches_what_pulls_and_nothing_else() -> None:
    """If not, front bearings and the alternator would be charged for the trailer."""
    line = severity(leg(1, 300, towing=True))
    for system in ("driveline", "engine", "rear_axle"):
        assert line.of(thing(system=system, load="high"), wagon()).typical[0] == pytest.approx(1.25)
    for system in ("front_hubs", "steering", "electrical", "axle"):
        assert line.of(thing(system=system, load="high"), wagon()).typical[0] == 1
    assert line.of(thing("brake_rear_drums", system="brakes", load="high"), wagon()).typical[0] == pytest.approx(1.25)
    assert line.of(thing("brake_pads_front", system="brakes", load="high"), wagon()).typical[0] == 1


def test_a_trailer_does_not_feel_that_it_is_towed() -> None:
    """If not, a trailer's bearings would be charged for pulling themselves."""
    item = thing(unit_kind="trailer", system="trailer", load="high")
    assert severity(leg(1, 300, towing=True)).of(item, camper()).typical[0] == 1


def test_low_range_counts_by_its_share() -> None:
    """If not, ten km of rock steps would wear the whole day's driving double."""
    # 30 of 300 km: 1 + 0.1 x (2 - 1)
    assert wear(ALL_HIGH, leg(1, 300, low_range_km=30))[0] == pytest.approx(1.1)


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


def test_a_muddy_ford_is_not_a_muddy_leg() -> None:
    """If not, one ford would count as water, as mud and as a call."""
    muddy = severity(leg(1, 300), crossings=(crossing(1, 10, 0.5, water="muddy"),))
    assert muddy.grade_of(leg(1, 300), "mud") == "none"
    assert muddy.grade_of(leg(1, 300, mud="deep"), "mud") == "deep"


def test_water_has_its_own_rows() -> None:
    """If not, a puddle and a swim would count the same."""
    line = severity(leg(1, 200))
    assert line.water(ALL_HIGH, 0) is None and line.water(thing(), 2) is None
    splash, immersed = line.water(ALL_HIGH, 1), line.water(ALL_HIGH, 2)
    assert splash is not None and immersed is not None
    assert (splash.multiplier, immersed.multiplier) == (1.1, 1.5)
    excess = water_excess(immersed)
    assert excess.shape == (len(MECHANISMS), len(NODES))
    assert excess.sum(axis=0)[MEDIAN] == pytest.approx(0.5)


def test_deep_water_over_splash_adds_what_is_harder() -> None:
    """If not, kilometres splashed by one ford and wetted by the next would count twice, or take from the first."""
    line = severity(leg(1, 200))
    more = line.water(ALL_HIGH, 2, before=1)
    assert more is not None and more.grade == "immersed beyond splash"
    assert (more.multiplier, more.high) == (pytest.approx(1 + 0.5 - 0.1), pytest.approx(1 + 2.0 - 0.3))
    assert line.water(ALL_HIGH, 1, before=1) is None


def test_every_factor_names_its_row_basis_and_mechanism() -> None:
    """If not, the owner could not find the number to argue with it."""
    ((factor,),) = severity(leg(1, 300, dust="heavy")).of(ALL_HIGH, wagon()).factors
    assert (factor.condition, factor.mechanism, factor.grade, factor.basis, str(factor.origin)) == (
        "dust", "grit", "heavy", "judgement", "here row 2",
    )  # fmt: skip


def test_the_rule_that_is_told_is_the_rule_that_is_used() -> None:
    """If not, the printed rule would name conditions that act otherwise."""
    said = RULE.partition("excess over 1: ")[2]
    for condition, mechanism in MECHANISM_OF.items():
        if mechanism not in ("water", "distance"):
            assert mechanism in said and condition in said
    assert set(MECHANISM_OF.values()) == set(MECHANISMS)
