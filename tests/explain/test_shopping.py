"""Shopping and carry lists: materials added up, spares, and the last day to order."""

from datetime import date

from tests.small import TODAY, leg, planned, row, stop, tables, thing, trip, workshop
from tripplan.records.plan import Need
from tripplan.sheets.words import use_text
from tripplan.sheets.worksheet.buying import errands

DAY = date(2026, 7, 1)
LEGS = (leg(1, 1000), leg(2, 1000, date(2026, 7, 10)))
HOME = trip(*LEGS, workshop_days=(workshop(date(2026, 6, 28)),))


def by_what(needs: tuple[Need, ...]) -> dict[str, tuple[float, str]]:
    """Quantity and when of each thing."""
    return {need.what: (need.quantity, need.when) for need in needs}


def test_quantities_of_all_jobs_are_added_up() -> None:
    """If not, the fourth seal would be missing with the hub on the bench."""
    items = (
        thing("bearings", km=5000, positions="left;right", consumables="seal 1; grease 120"),
        thing("seals", act="renew", km=5000, positions="left;right", consumables="seal 1"),
    )
    plan = planned(HOME, catalogue=tables(*items))
    # two sides of each: 4 seals, 240 of grease
    assert by_what(plan.shopping) == {"seal": (4, "before departure"), "grease": (240, "before departure")}
    assert plan.carry == ()


def test_each_need_names_the_jobs_it_is_for() -> None:
    """If not, nobody could tell what may be left out of the basket."""
    plan = planned(HOME, catalogue=tables(thing("bearings", km=5000, positions="left", consumables="seal 1")))
    assert [use_text(use) for use in plan.shopping[0].uses] == ["repack Bearings (wagon, left)"]


def test_order_by_is_the_day_of_the_work_less_the_lead_time() -> None:
    """If not, the parts would come the day after."""
    plan = planned(HOME, catalogue=tables(thing(km=5000, consumables="seal 1", parts_lead_days=5)))
    (need,) = plan.shopping
    assert (need.needed_by, need.order_by) == (date(2026, 6, 28), date(2026, 6, 23))
    assert [(one.slot, one.order_by, one.what) for one in plan.orders] == [
        ("workshop-2026-06-28", date(2026, 6, 23), ("seal",))
    ]


def test_what_is_there_at_once_is_still_ordered_the_day_before() -> None:
    """If not, the sheet would have the filter ordered on the morning on which it goes in."""
    plan = planned(HOME, catalogue=tables(thing(km=5000, consumables="seal 1", parts_lead_days=0)))
    assert [(need.needed_by, need.order_by) for need in plan.shopping] == [(date(2026, 6, 28), date(2026, 6, 27))]


def test_a_thing_for_two_days_is_needed_on_the_first() -> None:
    """If not, the second day's parts would come and the first day's be missing."""
    days = trip(*LEGS, workshop_days=(workshop(date(2026, 6, 26), 40), workshop(date(2026, 6, 28), 40)))
    items = (
        thing("one", km=5000, consumables="seal 1", parts_lead_days=2, minutes=30),
        thing("two", act="renew", km=5000, consumables="seal 1", parts_lead_days=2, minutes=30),
    )
    plan = planned(days, catalogue=tables(*items))
    assert [len(slot.jobs) for slot in plan.slots[:2]] == [1, 1]
    (need,) = plan.shopping
    assert (need.needed_by, need.order_by) == (date(2026, 6, 26), date(2026, 6, 24))


def test_the_longest_lead_time_of_a_thing_counts() -> None:
    """If not, one slow part would hold up the day."""
    items = (
        thing("one", km=5000, consumables="seal 1", parts_lead_days=2),
        thing("two", act="renew", km=5000, consumables="seal 1", parts_lead_days=6),
    )
    plan = planned(HOME, catalogue=tables(*items))
    assert plan.shopping[0].order_by == date(2026, 6, 22)


def test_parts_for_a_stop_are_carried() -> None:
    """If not, the owner would arrive at the stop with tools and no seal."""
    away = trip(*LEGS, stops=(stop("Two Wells", 1, date(2026, 7, 5)),))
    rows = (row(date(2026, 6, 1), 0, "bearings", "repack"), row(TODAY, 9200, number=3))
    hub = thing(km=10000, consumables="seal 1", harms=True, harms_by="brakes", life_shape=4)
    plan = planned(away, *rows, catalogue=tables(hub))
    assert plan.shopping == ()
    assert by_what(plan.carry) == {"seal": (1, "carry")}


def test_parts_that_come_too_late_to_go_along_are_sent_to_a_stop_with_shops() -> None:
    """If not, they would lie at home while the hub is open at the stop."""
    rows = (row(date(2026, 6, 1), 0, "bearings", "repack"), row(TODAY, 9200, number=3))
    slow = thing(km=10000, consumables="seal 1", harms=True, harms_by="brakes", life_shape=4, parts_lead_days=14)
    port = stop("Port", 1, date(2026, 7, 5), facility="town", minutes=20)
    camp = stop("Two Wells", 1, date(2026, 7, 7), facility="camp")
    plan = planned(trip(*LEGS, stops=(port, camp)), *rows, catalogue=tables(slow))
    assert [slot.place for slot in plan.slots if slot.jobs] == ["Two Wells"]  # Port has not the time
    (need,) = plan.shopping
    assert (need.when, need.send_to, need.needed_by, need.order_by) == (
        "at the stop",
        "Port",
        port.arrive,
        date(2026, 6, 21),
    )
    assert plan.carry == () and [(one.slot, one.when) for one in plan.orders] == [("stop-1-port", "at the stop")]
    titles = [errand.title for errand in errands(plan)]
    assert titles == ["Order by Sun 21 June, to be sent to Port"]
    only_camp = planned(trip(*LEGS, stops=(camp,)), *rows, catalogue=tables(slow))
    assert [slot.place for slot in only_camp.slots if slot.jobs] == ["home"]


def test_what_every_town_sells_is_bought_at_the_stop() -> None:
    """If not, ten litres of oil would ride along that the next town sells."""
    away = trip(*LEGS, stops=(stop("Two Wells", 1, date(2026, 7, 5), facility="town"),))
    rows = (row(date(2026, 6, 1), 0, "bearings", "repack"), row(TODAY, 9200, number=3))
    hub = thing(km=10000, consumables="seal 1; oil 3", harms=True, harms_by="brakes", life_shape=4)
    plan = planned(away, *rows, catalogue=tables(hub))
    assert by_what(plan.shopping) == {"oil": (3, "at the stop")}
    assert by_what(plan.carry) == {"seal": (1, "carry")}


def test_work_after_return_is_listed_for_then() -> None:
    """If not, parts for August would be in the car in July."""
    rows = (row(date(2026, 6, 1), 0, "bearings", "repack"), row(TODAY, 7500, number=3))
    plan = planned(HOME, *rows, catalogue=tables(thing(km=10000, consumables="seal 1", strands=0)))
    assert by_what(plan.shopping) == {"seal": (1, "after return")}  # 9500 of 10000 at home


def test_spares_are_carried_for_what_comes_home_far_through_its_life() -> None:
    """If not, the one part likely to be wanted would be at home."""
    remote = trip(leg(1, 1000), leg(2, 1000, date(2026, 7, 10), remote=True))
    near = trip(leg(1, 1000), leg(2, 1000, date(2026, 7, 10)))
    rows = (row(date(2026, 6, 1), 0, "bearings", "repack"), row(TODAY, 6500, number=3))
    item = thing(km=10000, consumables="seal 1; grease 50", positions="left;right")
    plan = planned(remote, *rows, catalogue=tables(item))
    # 8500 of 10000 at return, above 0.8; one side's worth, since not every side fails at once
    assert by_what(plan.carry) == {"seal": (1, "carry"), "grease": (50, "carry")}
    assert planned(near, *rows, catalogue=tables(item)).carry == ()
    fresh = (row(date(2026, 6, 1), 0, "bearings", "repack"), row(TODAY, 100, number=3))
    assert planned(remote, *fresh, catalogue=tables(item)).carry == ()


def test_no_spares_for_what_costs_no_time() -> None:
    """If not, the car would be full of wiper blades."""
    remote = trip(leg(1, 1000, remote=True))
    rows = (row(date(2026, 6, 1), 0, "bearings", "repack"), row(TODAY, 7500, number=3))
    item = thing(km=10000, consumables="seal 1", strands=0.1)
    assert planned(remote, *rows, catalogue=tables(item)).carry == ()
