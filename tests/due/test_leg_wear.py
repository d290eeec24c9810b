"""What each leg takes, as the plan tells it: held against draws of every doubt, from the plan's own parts."""

from datetime import date

import numpy as np
import pytest

from tests.small import TODAY, crossing, leg, looked_at, row, tables, thing, trip, wagon
from tripplan.due.leg_wear import leg_wear
from tripplan.records.plan import Wear
from tripplan.wear.mechanisms.uncertain import Z95, excess_at

DRAWS = 100_000
SPREAD = (0.5, 2.0)
ITEM = thing(km=20000, dust="high", corrugation="high", heat="medium", load="high", water="high", points="hub_centre",
             system="driveline", spread_low=SPREAD[0], spread_high=SPREAD[1])  # fmt: skip
LEGS = (
    leg(1, 420, surface="gravel", corrugation="light", dust="light", load="heavy"),
    leg(2, 300, date(2026, 7, 3), surface="track", corrugation="moderate", dust="heavy", heat_c=39, towing=True),
    leg(3, 500, date(2026, 7, 6), distance_low_km=450.0, distance_high_km=650.0, dust="bulldust", low_range_km=20),
    leg(4, 600, date(2026, 7, 9)),
)
FORD = (crossing(2, 100, 0.7),)
USED_KM = 3000.0


def taken() -> tuple[tuple[Wear, ...], float]:
    """The wear records of a harsh trip, and the 95 % value they start from."""
    rows = (row(date(2026, 1, 1), 0, "bearings", "repack"), row(TODAY, USED_KM, number=3))
    situation, (standing,) = looked_at(trip(*LEGS, crossings=FORD), *rows, catalogue=tables(ITEM), units=(wagon(),))
    return leg_wear(standing, situation), standing.course.tracks[0].used_reserve


def drawn(wear: tuple[Wear, ...]) -> "np.ndarray[tuple[int], np.dtype[np.float64]]":
    """As many totals: one doubt for each mechanism on all legs, one for the interval, by the parts alone."""
    numbers = np.random.default_rng(77)
    doubts = {name: numbers.standard_normal(DRAWS) for name in ("grit", "shaking", "heat", "load", "distance", "water")}
    total = np.full(DRAWS, USED_KM)
    for one in wear:
        by_mechanism: dict[str, np.ndarray[tuple[int], np.dtype[np.float64]]] = {}
        for part in one.parts:
            doubt = doubts[part.mechanism]
            factor = (
                part.high ** (doubt / Z95) if part.condition == "distance"
                else 1 + excess_at(part.multiplier, part.high, doubt)
            )  # fmt: skip
            by_mechanism[part.mechanism] = by_mechanism.get(part.mechanism, np.ones(DRAWS)) * factor
        way = by_mechanism.pop("distance", np.ones(DRAWS))
        total += one.use * way * (1 + sum(values - 1 for values in by_mechanism.values()))
        for part in one.water:
            km = one.water_use / (part.multiplier - 1)
            total += km * excess_at(part.multiplier, part.high, doubts["water"])
    share = 0.5 * np.log(SPREAD[1] / SPREAD[0]) / (2 * Z95)
    return np.asarray(total * np.exp(share * numbers.standard_normal(DRAWS)))


def test_one_trip_in_twenty_wears_more_than_the_plan_keeps_in_reserve() -> None:
    """If not, the word reserve on the sheet would promise another chance than it gives."""
    wear, reserve = taken()
    for legs in range(1, len(wear) + 1):
        kept = reserve + sum(one.reserve for one in wear[:legs])
        assert 0.042 <= np.mean(drawn(wear[:legs]) > kept) <= 0.055, legs


def test_the_records_add_up_to_the_track() -> None:
    """If not, the leg by leg account would not be that of the place where the item runs out."""
    rows = (row(date(2026, 1, 1), 0, "bearings", "repack"), row(TODAY, USED_KM, number=3))
    situation, (standing,) = looked_at(trip(*LEGS, crossings=FORD), *rows, catalogue=tables(ITEM), units=(wagon(),))
    (track,), wear = standing.course.tracks, leg_wear(standing, situation)
    assert sum(one.use * one.multiplier + one.water_use for one in wear) == pytest.approx(track.typical[-1])
    assert sum(one.reserve for one in wear) == pytest.approx(track.reserve[-1])
    assert [one.leg for one in wear] == [1, 2, 3, 4]
    assert [len(one.water) for one in wear] == [0, 1, 0, 0] and wear[1].water_use == pytest.approx(250)
