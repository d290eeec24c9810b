"""The plain placement that always exists: due first, the rest as late as it lasts, nothing hidden."""

from datetime import date

import pytest

from tests.small import (
    SOURCED,
    TODAY,
    camper,
    consumable,
    crossing,
    leg,
    row,
    stated,
    stop,
    tables,
    thing,
    trip,
    water_rule,
    workshop,
)  # fmt: skip
from tripplan.placing.greedy import place_greedily
from tripplan.placing.problem import PlacementProblem, Placing
from tripplan.placing.reckoning import site_minutes
from tripplan.records.facts_in import HistoryRow
from tripplan.records.mending import Remedy

LEGS = tuple(leg(number, 1000, date(2026, 7, 1 + 5 * (number - 1))) for number in (1, 2, 3, 4))
STOPS = tuple(stop(f"S{number}", number, date(2026, 7, 4 + 5 * (number - 1))) for number in (1, 2, 3))
DAYS = (workshop(date(2026, 6, 24)), workshop(date(2026, 6, 27)))
LONG = trip(*LEGS, stops=STOPS, workshop_days=DAYS)  # sites: 0 and 1 at home, 2 to 4 stops, 5 after return


def used(km: float, item: str = "bearings", act: str = "repack") -> tuple[HistoryRow, ...]:
    """Work so many km ago."""
    return row(date(2026, 6, 1), 0, item, act), row(TODAY, km, number=3)


def placed(problem: PlacementProblem) -> Placing:
    """The greedy placing with what comes home due."""
    return place_greedily(problem)


def test_what_lasts_the_trip_is_not_placed() -> None:
    """If not, good parts would be thrown away before every trip."""
    found = placed(stated(LONG, *used(1000), catalogue=tables(thing(km=10000))))
    assert (found.visits, found.unmet) == (((),), ())


def test_what_runs_out_is_done_in_one_visit_before_it_does() -> None:
    """If not, it would fail on the leg behind the stop where it could have been done."""
    # 7500 of 10000 used, stops at 8500, 9500, 10500: not past site 3; renewed anywhere it lasts home
    found = placed(stated(LONG, *used(7500), catalogue=tables(thing(km=10000))))
    assert len(found.visits[0]) == 1
    assert found.visits[0][0] <= 3
    assert found.unmet == ()


def test_a_tour_longer_than_the_interval_takes_several_visits() -> None:
    """If not, a long tour would be planned as if one service could carry it."""
    # interval 2500, nothing used, 4000 km: one renewal at km 1000 or 2000 lasts to km 4000 (2500 back)
    one = placed(stated(LONG, *used(0), catalogue=tables(thing(km=2500))))
    assert len(one.visits[0]) == 1 and one.visits[0][0] in (3,)  # at km 2000: 2000 before it, 2000 behind it
    # interval 1100, nothing used: at km 1000, 2000 and 3000
    three = placed(stated(LONG, *used(0), catalogue=tables(thing(km=1100))))
    assert [site for site in three.visits[0] if site < 5] == [2, 3, 4]
    assert one.unmet == three.unmet == ()


def test_overdue_work_goes_before_departure() -> None:
    """If not, what is due now would be met on the road."""
    found = placed(stated(LONG, *used(12000), catalogue=tables(thing(km=10000))))
    assert found.visits[0][0] in (0, 1)
    assert found.unmet == ()


def test_overdue_without_a_workshop_day_is_said() -> None:
    """If not, the plan would look complete while the rig leaves with due work."""
    no_days = trip(*LEGS, stops=STOPS)  # sites: 0 to 2 stops, 3 after return
    found = placed(stated(no_days, *used(12000), catalogue=tables(thing(km=10000, harms=True, harms_by="brakes"))))
    assert found.visits == ((0,),)
    assert [(miss.task, miss.site) for miss in found.unmet] == [(0, 0)]
    assert found.unmet[0].why == "no workshop day or stop comes before its limit"


def test_no_place_gets_more_minutes_than_it_has() -> None:
    """If not, the day would be over before the work is."""
    short = trip(*LEGS, stops=STOPS, workshop_days=(workshop(date(2026, 6, 24), 50), workshop(date(2026, 6, 27), 30)))
    catalogue = tables(*(thing(f"job{i}", km=5000, minutes=20, harms=True, harms_by="brakes") for i in range(4)))
    problem = stated(short, catalogue=catalogue)  # nothing on record: 80 minutes due, 50 + 30 there
    found = placed(problem)
    minutes = site_minutes(problem, found)
    assert minutes[0] <= 50 and minutes[1] <= 30
    # 50 takes two of 20, 30 takes one: the fourth is at the first stop, and said
    assert sum(visits[0] in (0, 1) for visits in found.visits) == 3
    assert len({miss.task for miss in found.unmet if miss.site == 2}) == 1


def test_what_shares_an_opening_fits_where_apart_it_would_not() -> None:
    """If not, a day long enough for the whole wheel end would be called too short."""
    # wheel raised 7, wheel off 10, hub off 23 = 40; jobs 30 and 10: 80 together, 97 apart
    day = trip(*LEGS, workshop_days=(workshop(date(2026, 6, 24), 80),))
    catalogue = tables(
        thing("bearings", km=10000, state="hub off", minutes=30, positions="left"),
        thing("brakes", act="look", km=10000, state="wheel off", minutes=10, positions="left"),
    )
    problem = stated(day, catalogue=catalogue)
    found = placed(problem)
    assert [visits[:1] for visits in found.visits] == [(0,), (0,)]
    assert site_minutes(problem, found)[0] == 80


@pytest.mark.parametrize(
    ("facility", "site"),
    [("camp", 2), ("town", 3), ("workshop", 4)],
)
def test_work_waits_for_a_place_that_can_take_it(facility: str, site: int) -> None:
    """If not, a knuckle would be opened beside a camp fire."""
    kinds = ("camp", "town", "workshop")
    stops = tuple(
        stop(one.stop, one.after_leg, one.date, facility=kind) for one, kind in zip(STOPS, kinds, strict=True)
    )
    no_days = trip(*LEGS, stops=stops)
    problem = stated(no_days, *used(20000), catalogue=tables(thing(km=10000, facility=facility)))
    found = place_greedily(problem)
    assert found.visits[0][0] == site - 2  # overdue: the first place able to take it


def test_a_facility_that_never_comes_is_said() -> None:
    """If not, the owner would learn at the camp that the work needs a press."""
    camps = tuple(stop(one.stop, one.after_leg, one.date, facility="camp") for one in STOPS)
    problem = stated(
        trip(*LEGS, stops=camps),
        *used(8000),
        catalogue=tables(thing(km=10000, facility="workshop", harms=True, harms_by="brakes")),
    )
    found = place_greedily(problem)
    assert found.unmet[0].why == "needs a workshop, and none comes before its limit"
    assert found.visits[0][0] == problem.last


def test_parts_that_come_too_late_are_said() -> None:
    """If not, work would be planned with nothing to put in."""
    # today 20 June; ten days to get parts: both workshop days are too early for overdue work
    brakes = thing(km=10000, consumables="seal 1", parts_lead_days=10, harms=True, harms_by="brakes")
    found = place_greedily(stated(LONG, *used(20000), catalogue=tables(brakes)))
    assert found.unmet[0].why == "parts that shelf.csv does not hold cannot arrive before its limit"
    assert found.visits[0][0] == 2


@pytest.mark.parametrize("consumables", ["", "grease 5"])
def test_work_that_takes_no_ordered_part_waits_for_none(consumables: str) -> None:
    """If it did, nobody could look at brakes in the last week, because linings would take that long to come."""
    brakes = thing(km=10000, consumables=consumables, parts_lead_days=10, harms=True, harms_by="brakes")
    found = place_greedily(stated(LONG, *used(20000), catalogue=tables(brakes)))
    assert found.unmet == () and found.visits[0][0] < 2


def test_a_greater_job_saves_the_lesser_one() -> None:
    """If not, play would be measured again on the day the bearings are packed."""
    catalogue = tables(thing("bearings", km=10000, covers="play"), thing("play", act="measure", km=10000))
    found = placed(stated(LONG, catalogue=catalogue))
    assert (len(found.visits[0]), found.visits[1]) == (1, ())


def test_what_is_nearly_due_at_home_is_done_after_return() -> None:
    """If not, it would be forgotten until the next trip.

    Source of the ten per cent: TM 9-2320-387-24-1 para 2-9 (read in part).
    """
    # home with 5900 + 4000 = 9900 of 11000 = 0.9: inside the tolerance; with 9800 it is not
    catalogue = tables(thing(km=11000))
    assert placed(stated(LONG, *used(5900), catalogue=catalogue)).visits == ((5,),)
    assert placed(stated(LONG, *used(5800), catalogue=catalogue)).visits == ((),)


def test_water_work_goes_inside_its_window() -> None:
    """If not, a wet hub would be opened after the leg it was meant to be opened before."""
    hub = thing("hub", km=40000, points="hub_centre")
    rule = water_rule("hub", "before remote", "repack", within_days=5, minutes=40)
    wet = trip(*LEGS, stops=STOPS, workshop_days=DAYS, crossings=(crossing(2, 100, 0.5),))
    problem = stated(wet, *used(100, "hub"), catalogue=tables(hub, water_rules=(rule,)))
    found = place_greedily(problem)
    assert [found.visits[i] for i, task in enumerate(problem.tasks) if task.window] == [(3,)]


def test_a_trailer_is_placed_by_its_own_km() -> None:
    """If not, the camper's bearings would be opened for km it did not do."""
    legs = (leg(1, 1000, date(2026, 7, 1), towing=True), *LEGS[1:])
    towed = trip(*legs, stops=STOPS, workshop_days=DAYS)
    item = thing("hubs", unit_kind="trailer", km=1500)
    rows = (row(date(2026, 6, 1), 0, "hubs", "repack", unit="camper"),)
    problem = stated(towed, *rows, catalogue=tables(item), units=(camper(),))
    assert problem.tasks[0].reach[0] == 5  # 1000 of 1500 and then it stands
    assert place_greedily(problem).visits == ((),)


def test_what_was_found_worn_is_put_right_before_the_rig_goes_on() -> None:
    """If not, a remedy that takes longer than the usual act would be left for home, with days to spare before departure."""
    item = thing("pads", act="look", family="brake", km=10000, minutes=5, harms=True, harms_by="brakes")
    remedy = Remedy(at="brake", found=("worn",), act="renew", minutes=45, facility="camp", parts_lead_days=0, consumables="worn_part 1",
                    **SOURCED)  # fmt: skip
    catalogue = tables(item, remedies=(remedy,), consumables=(consumable("worn_part", "part"),))
    worn = row(date(2026, 6, 2), 100, "pads", "look", 2, finding="worn")
    found = placed(
        stated(LONG, row(date(2026, 6, 1), 0, "pads", "renew"), worn, row(TODAY, 200, number=3), catalogue=catalogue)
    )
    assert found.visits == ((0,),)
    assert found.unmet == ()


SHORT = trip(*LEGS, stops=STOPS, workshop_days=(workshop(date(2026, 6, 24), 60), workshop(date(2026, 6, 27), 60)))


def test_water_known_to_be_in_an_oil_goes_to_the_first_day_and_before_all_else() -> None:
    """If not, it would lie there until the last day before departure, or for want of time until home."""
    catalogue = tables(
        thing("joint", km=100, minutes=50, strands=0.5), thing("oil", act="drain and refill", km=10000, minutes=50)
    )
    wet = row(date(2026, 6, 2), 100, "oil", "look", 2, finding="water")
    rows = (row(date(2026, 6, 1), 0, "oil", "drain and refill"), row(date(2026, 6, 1), 0, "joint", "repack", 4), wet)
    given = stated(SHORT, *rows, row(TODAY, 200, number=9), catalogue=catalogue)
    found = dict(zip((task.item.id for task in given.tasks), placed(given).visits, strict=True))
    assert (found["oil"][0], found["joint"][0]) == (0, 1)


def test_a_limit_goes_before_what_only_strands() -> None:
    """If not, brakes would be adjusted after the return because a look at the belts took the hour before it."""
    catalogue = tables(
        thing("belt", act="look", km=100, minutes=50, strands=0.9, harms=True, harms_by="steering"),
        thing("brakes", km=100, minutes=50, strands=0.1, harms=True, harms_by="brakes"),
    )
    one_day = trip(*LEGS, workshop_days=(workshop(date(2026, 6, 24), 60),))
    given = stated(one_day, *used(200, "brakes"), *used(200, "belt", "look"), catalogue=catalogue)
    found = dict(zip((task.item.id for task in given.tasks), placed(given).visits, strict=True))
    assert found["brakes"][0] == 0 and 0 not in found["belt"]
