"""Minutes that are spent: work on record, and days at a stop that are gone. All by hand from the small tables."""

from datetime import date, datetime

import pytest

from tests.small import TODAY, crossing, leg, row, sheet, stated, stop, tables, thing, trip, water_rule, workshop
from tripplan.placing.problem import PlacementProblem
from tripplan.placing.spent import place_of, share_ahead
from tripplan.records.catalogue import Catalogue
from tripplan.records.facts_in import HistoryRow, Trip

ARRIVE, SECOND, LEAVE = date(2026, 7, 5), date(2026, 7, 6), date(2026, 7, 7)
WELLS = stop("Two Wells", 1, ARRIVE, leave=LEAVE, facility="camp", minutes=360)
LEGS = (leg(1, 100), leg(2, 100, LEAVE), leg(3, 100, date(2026, 7, 20)))
ONE = trip(*LEGS, stops=(WELLS,), workshop_days=(workshop(TODAY, 240), workshop(date(2026, 6, 27), 240)),
           road_daily_minutes=0, road_long_spell_minutes=600, road_day_limit_minutes=100)  # fmt: skip
HUBS = thing("hubs", state="hub off", positions="left;right", minutes=30, km=90000)
BRAKES = thing("brakes", act="grease", state="wheel off", positions="left;right", minutes=10, km=90000)
MIRRORS = thing("mirrors", act="look", rhythm="walk-round", minutes=5, km=90000)
TABLES = tables(HUBS, BRAKES, MIRRORS, services=(sheet("annual", "brakes"),))


def after(*rows: HistoryRow, one_trip: Trip = ONE, today: date = TODAY, known: Catalogue = TABLES) -> PlacementProblem:
    """The problem of that day with that work on record."""
    return stated(one_trip, *rows, catalogue=known, today=today)


def left(problem: PlacementProblem) -> dict[str, float | None]:
    """The minutes of each site."""
    return {site.id: site.minutes for site in problem.sites}


def test_what_was_done_today_is_off_the_day_and_of_no_other() -> None:
    """Otherwise a day in the shed that was filled and ticked would be filled with new work once more."""
    found = left(after(row(TODAY, 100, "hubs", position="left", act="repack")))
    # 30 for the act; wheel raised 4 + 3, wheel off 5 + 5, hub off 10 + 13
    assert found["workshop-2026-06-20"] == 240 - 70
    assert found["workshop-2026-06-27"] == 240 and found["stop-1-two-wells"] == 360 and found["after"] is None


def test_what_is_open_for_several_acts_is_opened_once_and_both_sides_are_two() -> None:
    """Otherwise an afternoon at two wheels would be taken for more than a day, or for half of what it was."""
    rows = (row(TODAY, 100, "hubs", position="both", act="repack"), row(TODAY, 100, "annual", "service", 3))
    # two hubs 60, two brakes by the sheet 20, and two wheel ends at 40 each
    assert left(after(*rows))["workshop-2026-06-20"] == 240 - 60 - 20 - 80


@pytest.mark.parametrize(
    "one",
    [
        row(date(2026, 6, 19), 100, "hubs", position="left", act="repack"),
        row(TODAY, 100, "mirrors", act="look"),
        row(TODAY, 100, "hubs", position="left", act="exercise"),
        row(TODAY, 100),
    ],
)
def test_other_days_the_walk_round_and_acts_without_minutes_take_nothing(one: HistoryRow) -> None:
    """Otherwise a reading, or a round before breakfast, would shorten the day."""
    assert left(after(one))["workshop-2026-06-20"] == 240


def test_a_day_that_took_longer_has_nothing_left_and_not_less() -> None:
    """Otherwise a negative time would be printed, and taken from elsewhere."""
    short = ONE.model_copy(update={"workshop_days": (workshop(TODAY, 60),)})
    assert left(after(row(TODAY, 100, "hubs", position="left", act="repack"), one_trip=short))[
        "workshop-2026-06-20"
    ] == 0  # fmt: skip


def test_minutes_at_a_stop_are_those_of_the_place() -> None:
    """Otherwise two hours on the ground at a camp would be taken for one."""
    done = row(ARRIVE, 100, "hubs", position="left", act="repack")
    assert left(after(done, today=ARRIVE))["stop-1-two-wells"] == 360 - 2 * 70  # a camp takes twice as long


def test_on_the_second_of_two_days_at_most_half_of_a_stop_is_ahead() -> None:
    """Otherwise the whole time of a stop would be there anew every morning."""
    assert left(after(today=ARRIVE))["stop-1-two-wells"] == 360
    assert left(after(today=SECOND))["stop-1-two-wells"] == 180
    much = [row(ARRIVE, 100, "hubs", position="both", act="repack")]
    assert left(after(*much, today=SECOND))["stop-1-two-wells"] == 360 - 2 * 140


@pytest.mark.parametrize(
    ("leaves", "next_leg", "today", "share"),
    [
        (LEAVE, LEAVE, ARRIVE, 1.0),
        (LEAVE, LEAVE, SECOND, 0.5),
        (LEAVE, LEAVE, LEAVE, 0.0),
        (LEAVE, datetime(2026, 7, 7, 7, 0), LEAVE, 0.0),
        (LEAVE, datetime(2026, 7, 7, 14, 0), LEAVE, 0.5),
        (datetime(2026, 7, 7, 15, 0), LEAVE, LEAVE, 0.5),
        (datetime(2026, 7, 7, 15, 0), datetime(2026, 7, 8, 7, 0), SECOND, 1.0),
        (ARRIVE, LEAVE, ARRIVE, 1.0),
    ],
)
def test_the_day_of_departure_counts_only_where_the_rig_leaves_after_noon(
    leaves: date, next_leg: date, today: date, share: float
) -> None:
    """Otherwise work would be planned for a morning on which the rig leaves at seven."""
    one = ONE.model_copy(update={"legs": (LEGS[0], leg(2, 100, next_leg), LEGS[2])})
    assert share_ahead(WELLS.model_copy(update={"leave": leaves}), one, today) == share


def test_a_day_of_two_stops_belongs_to_the_one_that_is_reached() -> None:
    """Otherwise one evening's work would be off two places."""
    two = ONE.model_copy(update={"stops": (WELLS, stop("Next", 2, LEAVE, leave=date(2026, 7, 8)))})
    assert [place_of(day, two) for day in (TODAY, ARRIVE, LEAVE, date(2026, 7, 10), date(2026, 8, 1))] == [
        "workshop-2026-06-20", "stop-1-two-wells", "stop-2-next", "halt", None,
    ]  # fmt: skip


def test_the_owners_ceiling_over_the_trip_does_not_begin_anew() -> None:
    """Otherwise eight hours over the trip would be eight hours every day."""
    clean = {"assumed": {"set_out_minutes": 12.0, "clean_up_minutes": 8.0}}
    known = tables(HUBS, BRAKES, **clean)
    done = row(ARRIVE, 100, "hubs", position="left", act="repack")
    at_halt = row(date(2026, 7, 9), 300, "brakes", position="left", act="grease", number=3)
    assert after(known=known).ceilings.trip_minutes == 600
    # at the stop still: setting out is paid with what is planned there
    assert after(done, known=known, today=ARRIVE).ceilings.trip_minutes == 600 - 2 * 70
    # behind it: setting out and clearing up, too; at the halt 10 + 4 + 3 + 5 + 5, twice as long
    late = after(done, at_halt, known=known, today=date(2026, 7, 10))
    assert late.ceilings.trip_minutes == 600 - 2 * (70 + 20) - 2 * 27


def test_the_ceiling_of_a_day_counts_what_was_done_on_it() -> None:
    """Otherwise a second evening's work would follow the first on the same day."""
    done = row(SECOND, 100, "brakes", position="left", act="grease")
    problem = after(done, today=SECOND)
    (site,) = [site for site in problem.sites if site.kind == "stop"]
    assert problem.ceilings.days_room(site) == 100 - 2 * 27  # one day is left of the stop
    before = after(row(ARRIVE, 100, "brakes", position="left", act="grease"), today=SECOND)
    assert before.ceilings.days_room(before.sites[0]) == 100


def test_what_water_met_calls_for_is_off_the_stop_and_not_off_the_ceilings() -> None:
    """Otherwise work that may come on top of the owner's hours would eat them once it is done."""
    hubs = HUBS.model_copy(update={"points": ("hub_centre",)})
    known = tables(hubs, water_rules=(water_rule("hubs", "before remote", "look", minutes=9),))
    wet = ONE.model_copy(update={"crossings": (crossing(1, 50, 0.5, crossed=date(2026, 7, 2)),)})
    problem = after(row(ARRIVE, 100, "hubs", position="left", act="look"), one_trip=wet, known=known, today=ARRIVE)
    assert left(problem)["stop-1-two-wells"] == 360 - 2 * 9
    assert problem.ceilings.trip_minutes == 600
