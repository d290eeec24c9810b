"""What findings do to an interval: counted from the last time it was done, bounded, and off by default."""

from datetime import date
from typing import Any

import pytest

from tests.small import camper, leg, looked_at, row, tables, thing, trip, wagon
from tripplan.due.findings import EvidenceSwitch, ItemLife, Opening, read_lives, revised_catalogue, sentences
from tripplan.records.catalogue import Catalogue, Item
from tripplan.records.facts_in import HistoryRow, Leg, Origin, Unit
from tripplan.records.units import KM_PER_MILE

NEW = {
    "evidence_bound_low": 0.5, "evidence_bound_high": 1.5, "evidence_bound_high_safety": 1.1,
    "life_shape_error_factor": 1.3,
}  # fmt: skip
HERE = Origin(file="evidence.csv", row=2)
TODAY = date(2026, 6, 20)


def bearings(**changes: Any) -> Item:
    """Bearings of two sides, repacked each 40 000 km."""
    return thing(**{"km": 40000, "positions": "left;right", "life_shape": 2.5, **changes})


def known(*items: Item) -> Catalogue:
    """A catalogue of those items, with the numbers that evidence needs."""
    return tables(*(items or (bearings(),)), assumed=NEW)


def lives(
    *rows: HistoryRow, catalogue: Catalogue | None = None, legs: tuple[Leg, ...] = (), units: tuple[Unit, ...] = (),
    today: date = TODAY,
) -> tuple[ItemLife, ...]:  # fmt: skip
    """The lives that these rows tell of."""
    one_trip = trip(*(legs or (leg(1, 100),)))
    situation, _ = looked_at(one_trip, *rows, catalogue=catalogue or known(), units=units, today=today)
    return read_lives(situation)


def done(day: date, km: float, finding: str | None = None, act: str = "repack", **more: Any) -> HistoryRow:
    """The bearings opened."""
    number = more.pop("number", int(km) % 100000 + 2)
    return row(day, km, "bearings", act, number, finding=finding, **{"position": "both", **more})


def blank(day: date, number: int, **more: Any) -> HistoryRow:
    """The bearings opened, without a reading."""
    return row(day, None, "bearings", "repack", number, **more)


def ages(found: tuple[Opening, ...]) -> list[tuple[str | None, float, float | None]]:
    """Position, sound at, worn by."""
    return [(one.position, one.low, one.high) for one in found]


def test_found_good_counts_from_the_last_time_it_was_done() -> None:
    """Otherwise a bearing opened twice would seem to have lasted both spans together."""
    later = (done(date(2022, 1, 1), 45000, "serviceable"), done(date(2024, 1, 1), 110000, "as new"))
    [life] = lives(done(date(2020, 1, 1), 0), *later)
    assert set(ages(life.counted)) == {(side, km, None) for side in ("left", "right") for km in (45000, 65000)}
    assert life.interval < life.revised == life.alone < 60000


def test_a_look_between_narrows_when_it_wore_out() -> None:
    """Otherwise a part seen good half way would count as worn from the start."""
    catalogue = known(bearings(positions=None))
    [life] = lives(
        done(date(2020, 1, 1), 0, position=None), done(date(2021, 1, 1), 15000, "serviceable", "look", position=None),
        done(date(2022, 1, 1), 30000, "worn", position=None), catalogue=catalogue,
    )  # fmt: skip
    assert ages(life.counted) == [(None, 15000, 30000)]
    assert life.revised < life.interval


def test_worn_at_the_first_look_began_at_nothing() -> None:
    """Otherwise a part worn at its first opening would not count at all."""
    [life] = lives(done(date(2020, 1, 1), 0), done(date(2021, 1, 1), 20000, "worn", position="left"))
    assert ages(life.counted) == [("left", 0, 20000)]


def test_a_look_counts_before_the_repack_of_the_same_day_below_it() -> None:
    """Otherwise bearings seen good at 20 000 km, and repacked in the next row, would say nothing of those km."""
    good = done(date(2021, 1, 1), 20000, "as new", "look", position="left", number=3)
    [life] = lives(done(date(2020, 1, 1), 0, position="left"), good, blank(date(2021, 1, 1), 4, position="left"))
    assert [(one.row, one.low, one.left_out) for one in life.openings] == [(good, 20000, "")]


def test_one_side_says_nothing_of_the_other() -> None:
    """Otherwise a look at the left hub would vouch for the right one."""
    [life] = lives(done(date(2020, 1, 1), 0), done(date(2021, 1, 1), 50000, "serviceable", position="right"))
    assert [one.position for one in life.counted] == ["right"]


@pytest.mark.parametrize(
    ("rows", "why"),
    [
        ((done(date(2021, 1, 1), 20000, "worn"),), "no record of when"),
        ((done(date(2020, 1, 1), 0), done(date(2021, 1, 1), 20000, "water")), "no end of life"),
        ((blank(date(2020, 1, 1), 2), blank(date(2021, 1, 1), 3, finding="worn")), "not known"),
    ],
)  # fmt: skip
def test_what_cannot_count_is_said(rows: tuple[HistoryRow, ...], why: str) -> None:
    """Otherwise water in a hub, or an unknown age, would shorten or lengthen an interval."""
    [life] = lives(*rows)
    assert life.counted == () and life.revised == life.interval
    assert any(why in sentence for sentence in sentences(life, "km"))


@pytest.mark.parametrize("found", ["water", "contaminated"])
def test_what_was_seen_good_before_water_came_in_still_counts(found: str) -> None:
    """Otherwise one ford would wipe out 20 000 km that a bearing was seen to last, and its end would begin at nothing."""
    start, good = (
        done(date(2020, 1, 1), 0, position="left"),
        done(date(2021, 1, 1), 20000, "as new", "look", position="left"),
    )
    wet = done(date(2022, 1, 1), 30000, found, "look", position="left")
    [life] = lives(start, good, wet)
    assert ages(life.counted) == [("left", 20000, None)]
    assert [one.row for one in life.openings if one.left_out] == [wet]
    [life] = lives(start, good, wet, done(date(2023, 1, 1), 45000, "as new", position="left"))
    assert ages(life.counted) == [("left", 45000, None)]
    [life] = lives(start, good, wet, done(date(2023, 1, 1), 45000, "worn", position="left"))
    assert ages(life.counted) == [("left", 20000, 45000)]


def test_driven_legs_count_times_their_wear() -> None:
    """Otherwise 1000 km of bulldust would say no more than 1000 km of sealed road."""
    catalogue = known(bearings(dust="high", positions=None))
    rough = (leg(1, 1000, date(2026, 7, 1), dust="bulldust"), leg(2, 100, date(2026, 7, 20)))
    plain = (leg(1, 1000, date(2026, 7, 1)), rough[1])
    rows = (done(date(2026, 6, 30), 0, position=None), done(date(2026, 7, 10), 1000, "as new", position=None))
    today = date(2026, 7, 15)
    [smooth] = lives(*rows, catalogue=catalogue, legs=plain, today=today)
    [dusty] = lives(*rows, catalogue=catalogue, legs=rough, today=today)
    assert smooth.counted[0].low == pytest.approx(1000)
    assert dusty.counted[0].low > 2000


def test_bounds_hold_and_are_said() -> None:
    """Otherwise a few lucky openings could stretch an interval without end; tighter where a failure harms."""
    rows = [done(date(2010 + n, 1, 1), 150000 * n, "as new" if n else None) for n in range(8)]
    for harms, factor in ((False, 1.5), (True, 1.1)):
        [life] = lives(*rows, catalogue=known(bearings(harms=harms)))
        assert life.is_held and life.revised == pytest.approx(factor * 40000) and life.alone > life.revised
        assert any("the most they may make it" in said for said in sentences(life, "km"))


def test_a_look_made_on_suspicion_is_marked() -> None:
    """Otherwise looks made because it rumbled would pass for looks at random."""
    base = done(date(2020, 1, 1), 0)
    [life] = lives(base, done(date(2021, 1, 1), 20000, "worn", note="opened because of a rumble"))
    assert {one.prompted for one in life.counted} == {"because"}
    assert any("not neutral" in said for said in sentences(life, "km"))
    [plain] = lives(base, done(date(2021, 1, 1), 20000, "worn", note="no noise, no leaks to see"))
    assert {one.prompted for one in plain.counted} == {""}


def test_the_sentence_says_what_was_found() -> None:
    """Otherwise the owner could not weigh the number against the openings behind it."""
    [life] = lives(
        done(date(2020, 1, 1), 0), done(date(2022, 1, 1), 40000, "serviceable"),
        done(date(2024, 1, 1), 105000, "serviceable", position="left"),
    )  # fmt: skip
    said = sentences(life, "km")[0]
    assert said.startswith("Three openings found good at 40000 to 65000 km support a longer interval")
    assert said.endswith("the table says 40000.")


def switch(use: bool, reason: str | None = None) -> EvidenceSwitch:
    """A row of evidence.csv."""
    return EvidenceSwitch(item="bearings", use=use, reason=reason, origin=HERE)


@pytest.mark.parametrize(
    ("harms", "switches", "changes"),
    [
        (False, (), False), (False, (switch(False),), False), (False, (switch(True),), True),
        (True, (switch(True),), False), (True, (switch(True, "own hubs, ten years"),), True),
    ],
)  # fmt: skip
def test_plans_change_only_where_the_owner_said_so(
    harms: bool, switches: tuple[EvidenceSwitch, ...], changes: bool
) -> None:
    """Otherwise an interval of the brakes would grow without anybody having decided it."""
    catalogue = known(bearings(harms=harms))
    found = lives(done(date(2020, 1, 1), 0), done(date(2022, 1, 1), 60000, "serviceable"), catalogue=catalogue)
    item = revised_catalogue(catalogue, found, switches).item("bearings")
    assert (item.km != 40000) == changes
    if changes:
        assert (item.km, item.basis, item.origin) == (found[0].revised, "derived", HERE)


def test_months_are_counted_in_the_calendar() -> None:
    """Otherwise fluid that ages would be judged by km it does not count."""
    catalogue = known(bearings(km=None, months=24, positions=None))
    [life] = lives(blank(date(2020, 1, 1), 2), blank(date(2023, 1, 1), 3, finding="as new"), catalogue=catalogue)
    assert life.meter == "months" and life.counted[0].low == pytest.approx(36, abs=0.1)


def test_a_trailer_has_its_own_line() -> None:
    """Otherwise the camper's bearings would be judged by the wagon's km."""
    catalogue = known(bearings(unit_kind="trailer"))
    rows = (done(date(2020, 1, 1), 0, unit="camper"), done(date(2022, 1, 1), 9000, "serviceable", unit="camper"))
    [life] = lives(*rows, catalogue=catalogue, units=(wagon(), camper()))
    assert {one.low for one in life.counted} == {9000}


def test_miles_and_km_are_the_same_axis() -> None:
    """Otherwise a table in miles would say another life. 1 mile = 1.609344 km, exact since 1959."""
    [life] = lives(done(date(2020, 1, 1), 0), done(date(2022, 1, 1), 10000 * KM_PER_MILE, "as new"))
    assert life.counted[0].low == pytest.approx(16093.44)
