"""Every pass over the records, at the edge of what it lets through: one cell changed, and the code that is told."""

from datetime import date, datetime, timedelta
from typing import Any

import pytest

from tests.small import (
    HERE,
    SOURCED,
    TODAY,
    camper,
    crossing,
    leg,
    rig,
    row,
    sheet,
    stop,
    tables,
    thing,
    trip,
    wagon,
    workshop,
)
from tripplan.records.catalogue import Source
from tripplan.records.facts_in import HistoryRow, Origin, Trip, Unit
from tripplan.records.problems import Problem
from tripplan.wear.contradictions import (
    check_crossings,
    check_duplicate_rows,
    check_heights,
    check_history_dates,
    check_history_words,
    check_leg_causes,
    check_odometer,
    check_overrides,
    check_stops,
    check_thousands,
    check_trip,
    check_workshop,
)
from tripplan.wear.leg_order import DoubtedLegs, check_leg_order, check_leg_times

ITEMS = (
    thing("bearings", name="Bearings (taper)", positions="left;right", points="hub_centre"),
    thing("oil", act="renew", points="sump_breather"),
    thing("winch", needs="fitted=winch"),
    thing("hubs", unit_kind="trailer"),
)
SURE = DoubtedLegs()
TABLE = tables(*ITEMS, services=(sheet("small_service", "oil"),))


def codes(found: Any) -> list[str]:
    """The codes, in the order they are told."""
    return [one.code for one in found]


def places(found: Any) -> list[tuple[str, str | None]]:
    """Codes with their columns."""
    return [(one.code, one.column) for one in found]


DAY = date(2026, 5, 1)


@pytest.mark.parametrize(
    ("line", "told"),
    [
        (row(DAY, 1000, "bearings", "repack"), []),
        (row(DAY, 1000, "Bearings", "repack", position="left"), []),
        (row(DAY, 1000, "bearings", "repack", position="both"), []),
        (row(DAY, 1000, "bearings", "repack", position="front"), [("H14", "position")]),
        (row(DAY, 1000, "oil", "renew", position="left"), [("H14", "position")]),
        (row(DAY, 1000), []),
        (row(DAY, 1000, unit="boat"), [("H10", "unit")]),
        (row(DAY, 1000, "oil", "renw"), [("H15", "act")]),
        (row(DAY, 1000, None, "renew"), [("H16", "item")]),
        (row(DAY, 1000, None, "odometer replaced", old_odometer_km=900), []),
        (row(DAY, 1000, "oill", "renew"), [("H12", "item")]),
        (row(DAY, 1000, "winch", "look"), [("H13", "item")]),
        (row(DAY, 1000, "hubs", "repack"), [("H13", "item")]),
        (row(DAY, 1000, "small_service", "service"), []),
        (row(DAY, 1000, "small_service", "renew"), [("H22", "act")]),
        (row(DAY, 1000, "oil", "service"), [("H22", "act")]),
        (row(DAY, 1000, "nothing_known", "service"), [("H12", "item")]),
    ],
)
def test_words_of_a_line(line: HistoryRow, told: list[tuple[str, str]]) -> None:
    """If not, work would be booked on an item that the rig has not, or be lost."""
    assert places(check_history_words(rig(), (line,), TABLE)) == told


def test_without_service_sheets_there_is_no_such_act() -> None:
    """If there were, a service of nothing would pass."""
    assert codes(check_history_words(rig(), (row(DAY, 1000, "oil", "service"),), tables(*ITEMS))) == ["H15", "H22"]


@pytest.mark.parametrize(
    ("line", "told"),
    [
        (row(TODAY, 1000), []),
        (row(date(2026, 6, 21), 1000), [("H17", "date")]),
        (row(DAY, None), [("H21", "odometer_km")]),
        (row(DAY, None, "oil", "renew"), []),
        (row(DAY, 12, None, "odometer replaced"), [("H20", "old_odometer_km")]),
        (row(DAY, None, None, "odometer replaced", old_odometer_km=900), [("H20", "old_odometer_km")]),
        (row(DAY, 12, None, "odometer replaced", old_odometer_km=900), []),
    ],
)
def test_dates_and_readings(line: HistoryRow, told: list[tuple[str, str]]) -> None:
    """If not, work of tomorrow would count today."""
    assert places(check_history_dates((line,), TODAY)) == told


def read(*pairs: tuple[int, float], **more: Any) -> list[HistoryRow]:
    """Readings of days of May."""
    return [row(date(2026, 5, day), km, number=n, **more) for n, (day, km) in enumerate(pairs, 2)]


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        (read((1, 1000), (2, 1000)), []),
        (read((1, 1000), (2, 999)), ["H11"]),
        (read((1, 1000), (1, 900)), []),  # of one day in any order
        (read((1, 1000), (1, 4001)), ["H18"]),  # and no further apart than a day's driving
        (read((1, 1000), (3, 7000)), []),
        (read((1, 1000), (3, 7001)), ["H18"]),
        (read((1, 5000), (2, 4000), (3, 4500)), ["H11", "H11"]),  # held against the highest so far
        (read((1, 1000), (2, 1000))[:1], []),
    ],
)
def test_the_odometer_goes_on_and_no_faster_than_can_be_driven(lines: list[HistoryRow], told: list[str]) -> None:
    """If not, a slip of the pen would use up every interval. 3000 km a day are the most."""
    assert codes(check_odometer(tuple(lines))) == told


def test_an_odometer_without_its_thousands_is_asked_about() -> None:
    """If not, 284.120 would count as 284 km, and every interval in km as good as new."""
    both = rig(wagon(), camper())
    (found,) = check_thousands(both, tuple(read((1, 281.3), (9, 284.12))))
    assert (found.code, found.found, "284120" in found.hint) == ("H23", "284.12", True)
    replaced = row(DAY, 0, act="odometer replaced", old_odometer_km=284000, number=9)
    for lines in ((*read((1, 281.3)), replaced), read((1, 281.3), (9, 1000)), read((1, 0)), ()):
        assert list(check_thousands(both, tuple(lines))) == []


def test_a_line_said_twice() -> None:
    """One fact changed is another piece of work; the third time it is told of the first row."""
    same = [row(DAY, 1000, "oil", "renew", number=n) for n in (2, 5, 9)]
    found = list(check_duplicate_rows((*same, row(DAY, 1000, "oil", "renew", number=10, note="the rear"))))
    assert [(one.code, one.row) for one in found] == [("H19", 5), ("H19", 9)] and "row 2" in found[1].found


@pytest.mark.parametrize(
    ("one_trip", "units", "told"),
    [
        (trip(leg(1, 100)), (), []),
        (trip(leg(1, 100), **{"return": date(2026, 7, 1)}), (), []),
        (trip(leg(1, 100), **{"return": date(2026, 6, 30)}), (), ["T10"]),
        (trip(), (), ["L10"]),
        (trip(leg(1, 100, low_range_km=100)), (), []),
        (trip(leg(1, 100, low_range_km=101)), (), ["L16"]),
        (trip(leg(1, 100, towing=True)), (), ["L17"]),
        (trip(leg(1, 100, towing=True)), (wagon(), camper()), []),
        (trip(leg(1, 100, distance_low_km=90)), (), ["L19"]),
        (trip(leg(1, 100, distance_high_km=110)), (), ["L19"]),
        (trip(leg(1, 100, distance_low_km=100, distance_high_km=100)), (), []),
        (trip(leg(1, 100, distance_low_km=101, distance_high_km=110)), (), ["L19"]),
        (trip(leg(1, 100, distance_low_km=90, distance_high_km=99)), (), ["L19"]),
    ],
)
def test_a_trip_and_its_legs(one_trip: Trip, units: tuple[Unit, ...], told: list[str]) -> None:
    """If not, a leg before departure would wear the rig at home."""
    assert codes(check_trip(rig(*units), one_trip)) == told


@pytest.mark.parametrize(
    ("day", "told"),
    [(date(2026, 6, 30), ["L14"]), (date(2026, 7, 1), []), (date(2026, 7, 31), []), (date(2026, 8, 1), ["L14"])],
)
def test_legs_lie_within_the_trip(day: date, told: list[str]) -> None:
    """If not, a leg before departure would wear the rig at home. The trip is from 1 to 31 July."""
    assert codes(check_leg_times(trip(leg(1, 100, day)), SURE)) == told


def named(*ends: tuple[int, str, str]) -> Trip:
    """Legs with these numbers and places."""
    return trip(*(leg(number, 10, **{"from": start, "to": end}) for number, start, end in ends))


@pytest.mark.parametrize(
    ("one_trip", "told"),
    [
        (named((1, "A", "B"), (2, "B", "C")), []),
        (named((1, "A", "B"), (2, "b", "C")), []),
        (named((1, "A", "B"), (2, "X", "C")), [("L15", "from")]),
        (named((1, "A", "B"), (1, "B", "C")), [("L11", "leg")]),
        (named((2, "A", "B"), (1, "B", "C")), [("L12", "leg")]),
        (named((1, "A", "B"), (3, "B", "C")), []),
    ],
)
def test_legs_in_a_row(one_trip: Trip, told: list[tuple[str, str]]) -> None:
    """If not, the rig would jump from one place to another."""
    assert places(check_leg_order(one_trip)) == told


@pytest.mark.parametrize(
    ("departs", "told"),
    [
        (datetime(2026, 7, 1, 12), []),
        (datetime(2026, 7, 1, 11, 59), ["L13"]),  # 200 km at 50 km/h from eight o'clock
        (datetime(2026, 7, 1, 7, 59), ["L12"]),
        (date(2026, 7, 1), []),
        (date(2026, 6, 30), ["L12"]),
    ],
)
def test_no_leg_departs_before_the_last_is_driven(departs: date, told: list[str]) -> None:
    """If one did, the trip would be planned with the rig in two places; the order of rows does not matter."""
    first, second = leg(1, 200, datetime(2026, 7, 1, 8)), leg(2, 10, departs)
    assert (
        codes(check_leg_times(trip(first, second), SURE)) == codes(check_leg_times(trip(second, first), SURE)) == told
    )


def test_a_wear_model_has_all_it_needs() -> None:
    """Silt alone is not enough for dust; all or nothing."""
    from tripplan.wear.from_mechanisms import NEEDS

    for columns in NEEDS.values():
        values = {"silt_percent": 8, "moisture_percent": 2, "following_m": 50, "corrugation_mm": 20,
                  "corrugation_wavelength_m": 0.8, "roughness_iri_m_per_km": 8, "sump_temp_c": 110,
                  "wheel_load_factor": 1.2, "vehicle_mass_kg": 2500, "trailer_mass_kg": 800, "descent_m": 300}  # fmt: skip
        own = {column: values[column] for column in columns}
        assert codes(check_leg_causes(trip(leg(1, 100, **own)))) == []
        if len(columns) > 1:
            first = columns[0]
            assert places(check_leg_causes(trip(leg(1, 100, **{first: own[first]})))) == [("L18", first)]
    assert codes(check_leg_causes(trip(leg(1, 100)))) == []


NOON = datetime(2026, 7, 2, 12)
LEGS = (leg(1, 300, datetime(2026, 7, 1, 8)), leg(2, 400, date(2026, 7, 5)))


@pytest.mark.parametrize(
    ("fords", "told"),
    [
        ((crossing(1, 0, 0.3),), []),
        ((crossing(1, 300, 0.3),), []),
        ((crossing(1, 301, 0.3),), [("C11", "at_km")]),
        ((crossing(3, 10, 0.3),), [("C10", "leg")]),
        ((crossing(1, 10, 0.3, crossed=date(2026, 7, 2)),), []),
        ((crossing(1, 10, 0.3, crossed=date(2026, 7, 11)),), [("C12", "crossed")]),
        ((crossing(1, 10, 0.3, crossed=date(2026, 7, 1)),), []),
        ((crossing(1, 10, 0.3, crossed=datetime(2026, 7, 1, 7, 59)),), [("C13", "crossed")]),
        ((crossing(1, 10, 0.3, crossed=datetime(2026, 7, 1, 8)),), []),
        ((crossing(1, 10, 0.3), crossing(1, 10, 0.5)), [("C14", "at_km")]),
        ((crossing(1, 10, 0.3), crossing(2, 10, 0.3), crossing(1, 11, 0.3)), []),
        ((crossing(1, 10, 0.3, crossed=NOON), crossing(1, 11, 0.3, crossed=NOON)), [("C19", "crossed")]),
        ((crossing(1, 10, 0.3, crossed=NOON), crossing(1, 10, 0.3, crossed=NOON)), [("C14", "at_km")]),
        ((crossing(1, 10, 0.3, crossed=NOON.date()), crossing(1, 11, 0.3, crossed=NOON.date())), []),
        ((crossing(1, 10, 0.3, crossed=NOON), crossing(2, 11, 0.3, crossed=NOON)), [("C13", "crossed")]),
        ((crossing(1, 10, 0.3, crossed=NOON, record="a-1"), crossing(1, 11, 0.3, crossed=NOON, record="a-2")), []),
    ],
)
def test_crossings_lie_on_a_leg(fords: tuple[Any, ...], told: list[tuple[str, str]]) -> None:
    """If not, a ford would be forgotten, or count before it was reached. Seen on 10 July."""
    assert places(check_crossings(trip(*LEGS, crossings=fords), date(2026, 7, 10), SURE)) == told


@pytest.mark.parametrize(
    ("stops", "told"),
    [
        ((stop("Gums", 1, date(2026, 7, 2)),), []),
        ((stop("Gums", 3, date(2026, 7, 2)),), [("S10", "after_leg")]),
        ((stop("Gums", 1, date(2026, 7, 3), leave=date(2026, 7, 2)),), [("S11", "leave")]),
        ((stop("Gums", 1, datetime(2026, 7, 1, 7), leave=date(2026, 7, 2)),), [("S12", "arrive")]),
        ((stop("Gums", 1, datetime(2026, 7, 1, 8), leave=date(2026, 7, 2)),), []),
        ((stop("Gums", 1, date(2026, 7, 2), leave=date(2026, 7, 5)),), []),
        ((stop("Gums", 1, date(2026, 7, 2), leave=date(2026, 7, 6)),), [("S13", "leave")]),
        ((stop("Home", 2, date(2026, 7, 6), leave=date(2026, 7, 20)),), []),  # nothing departs behind it
        ((stop("Gums", 1, date(2026, 7, 2)), stop("gums!", 1, date(2026, 7, 3))), [("S15", "stop")]),
        ((stop("Gums", 1, date(2026, 7, 2)), stop("Gums", 2, date(2026, 7, 9))), []),
        ((stop("Gums", 1, date(2026, 7, 2)), stop("Gums Two", 1, date(2026, 7, 3))), []),
    ],
)
def test_stops_follow_a_leg(stops: tuple[Any, ...], told: list[tuple[str, str]]) -> None:
    """If not, work would be put where the rig is not."""
    assert places(check_stops(trip(*LEGS, stops=stops), SURE)) == told


def test_a_stop_ends_before_the_very_next_leg() -> None:
    """Of three legs the second departs first, whatever the order of the rows."""
    legs = (leg(1, 300), leg(3, 400, date(2026, 7, 20)), leg(2, 400, date(2026, 7, 5)))
    late = stop("Gums", 1, date(2026, 7, 2), leave=date(2026, 7, 6))
    assert codes(check_stops(trip(*legs, stops=(late,)), SURE)) == ["S13"]
    assert codes(check_stops(trip(stops=(late,)), SURE)) == []  # without legs, that is told already


@pytest.mark.parametrize(
    ("days", "told"),
    [
        ((workshop(TODAY), workshop(date(2026, 7, 1))), []),
        ((workshop(date(2025, 6, 27)),), ["W11"]),
        ((workshop(date(2026, 7, 2)),), ["W10"]),
    ],
)
def test_days_at_home_lie_before_departure(days: tuple[Any, ...], told: list[str]) -> None:
    """If not, work would be planned for yesterday."""
    assert codes(check_workshop(trip(leg(1, 100), workshop_days=days), TODAY)) == told


def test_days_at_home_that_have_passed_are_no_slip() -> None:
    """If they were, each of the preparation's days would be a box on page one to correct, up to the departure."""
    one = trip(leg(1, 100), workshop_days=(workshop(date(2026, 6, 19)), workshop(date(2026, 6, 28))))
    assert codes(check_workshop(one, date(2026, 6, 20))) == codes(check_workshop(one, one.depart)) == []
    assert codes(check_workshop(one, date(2026, 7, 5))) == []


def test_half_a_year_before_the_departure_is_the_end_of_the_preparation() -> None:
    """If days of any year passed, 2025 typed for 2026 would lose a day in the shed without a word."""
    days = tuple(workshop(one.depart - timedelta(days=ago)) for ago in (183, 184) for one in (trip(leg(1, 100)),))
    assert codes(check_workshop(trip(leg(1, 100), workshop_days=days), TODAY)) == ["W11"]


def test_a_day_at_home_given_twice() -> None:
    """If both counted, Saturday would have thirty hours."""
    other = Origin(file="workshop.csv", row=7)
    days = (workshop(date(2026, 6, 24)), workshop(date(2026, 6, 24)).model_copy(update={"origin": other}))
    (found,) = check_workshop(trip(leg(1, 100), workshop_days=days), TODAY)
    assert (found.code, found.row) == ("W12", 7) and "row 2" in found.accepted


def heights(unit: Unit, *fords: Any) -> list[Problem]:
    """What is said of the heights of one unit."""
    return list(check_heights(rig(unit), trip(leg(1, 100), crossings=fords), TABLE))


def test_heights_that_are_asked_for_and_heights_that_nobody_asks_for() -> None:
    """Hub centres follow from the tyre; a roof is for the shed door; points of items that the unit has not are none."""
    assert codes(heights(wagon(heights_mm={"sump_breather": 900}), crossing(1, 10, 0.3))) == []
    (found,) = heights(wagon(), crossing(1, 10, 0.3))
    assert found.code == "R16" and "sump_breather" in found.accepted and "hub_centre" not in found.accepted
    assert found.found == "1 of 2 heights not given"
    (found,) = heights(wagon(tyre_diameter_mm=None), crossing(1, 10, 0.3))
    assert "hub_centre" in found.accepted and found.found == "2 of 2 heights not given"
    assert codes(heights(wagon())) == []
    assert codes(heights(wagon(heights_mm={"roof": 1900}))) == []
    assert places(heights(wagon(heights_mm={"rooof": 1900}))) == [("R14", "unit[1].heights_mm.rooof")]
    assert codes(heights(camper(heights_mm={"sump_breather": 900}))) == ["R14"]


OWN = Origin(file="overrides/items.csv", row=2)


def own(**changes: Any) -> list[tuple[str, str | None]]:
    """What is said of one row of the owner's."""
    item = thing("own", **{"place": "engine sump", "state": "drained", "origin": OWN, **changes})
    sources = (Source(id="trade", title="Trade habit", how_seen="none", origin=HERE),)
    return places(check_overrides(tables(*ITEMS, item, sources=sources)))


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({}, []),
        ({"source": "trade"}, []),
        ({"source": "trad"}, [("O12", "source")]),
        ({"act": "polish"}, [("O12", "act")]),
        ({"state": "apart"}, [("O12", "state")]),
        ({"state": "hub off"}, [("O12", "state")]),  # a state of another place
        ({"covers": "oil"}, []),
        ({"covers": "oill"}, [("O12", "covers")]),
        ({"follow_ups": "oil 50-100 km; oill 50-100 km"}, [("O12", "follow_ups")]),
        ({"consumables": "seal 1"}, []),
        ({"consumables": "seall 1; seal 1"}, [("O12", "consumables")]),
        ({"source": "trad", "act": "polish", "covers": "oill", "origin": HERE}, []),  # a shipped row is the house's
    ],
)
def test_an_owners_row_names_what_the_tables_have(changes: dict[str, Any], told: list[tuple[str, str]]) -> None:
    """If not, the job would be planned with an opening that has no minutes, or a part that cannot be bought."""
    assert own(**changes) == told


def test_words_of_problems_name_the_other_row() -> None:
    """If not, an owner would look for the contradiction in one row alone."""
    assert SOURCED["origin"] == HERE
    (found,) = check_odometer(tuple(read((1, 1000), (2, 990))))
    assert (found.found, found.accepted) == ("990 on 2026-05-02", "at least 1000, the reading on 2026-05-01 (row 2)")
    assert "10 km too low" in (found.hint or "")
    (found,) = check_odometer(tuple(read((1, 1000), (2, 5000))))
    assert found.accepted == "up to 4000, 3000 km a day" and "4000 km, days: 1, since 2026-05-01 (row 2)" in (
        found.hint or ""
    )
