"""What is spent of the minutes that there are: work on record at a day or a stop, and the time at a stop that is gone.

A row of the history counts with the minutes that the tables give its act, and each opening once a day; an act that
they give none counts nothing. Setting out is paid by the work still planned there. What a crossing that was made may
call for comes off the minutes of the place, and not off the owner's ceilings of the road, which it may go beyond.
"""

from collections.abc import Iterable, Sequence
from datetime import date, datetime

from msgspec import Struct
from msgspec.structs import replace

from tripplan.due.standing import Situation
from tripplan.placing.problem import (
    WORKSHOP,
    Ceilings,
    Site,
    build_sites,
    factor_of,
    is_at_home,
    opens,
    stop_id,
    teardown_index,
)
from tripplan.records.catalogue import Item
from tripplan.records.facts_in import Stop, Trip, as_day
from tripplan.records.grouped import grouped
from tripplan.records.lookups import SERVICE
from tripplan.wear.last_done import BOTH

NOON_HOUR = 12
"""A rig that leaves a stop later than this can work there on that morning, too (judgement)."""
HALT, WALK_ROUND = "halt", "walk-round"
Work = tuple[str, str, str | None, str]
"""Something done: unit, item, position and act."""


class Spent(Struct, frozen=True):
    """Work on record on one day: at which site (None = at a halt on the way), and its minutes as they take there.

    `road_minutes` are those of them that count against the owner's ceilings of the road.
    """

    site: Site | None
    day: date
    minutes: float
    road_minutes: float


def work_spent(s: Situation) -> tuple[Spent, ...]:
    """The work on record today in the shed, and on each day of the trip up to today."""
    return tuple(_spent(day, done, s) for day, done in sorted(_done_by_day(s).items()))


def sites_left(sites: Sequence[Site], spent: Iterable[Spent], s: Situation) -> tuple[Site, ...]:
    """The sites with the minutes that are left: those not spent, and at most the share of its time still ahead."""
    by_site = grouped((one.site.id, one) for one in spent if one.site is not None)
    stops = {stop_id(stop): stop for stop in s.trip.stops}
    found = []
    for site in sites:
        if site.minutes is not None:
            here, stop = by_site.get(site.id, ()), stops.get(site.id)
            ahead = 1.0 if stop is None else share_ahead(stop, s.trip, s.today)
            left = min(site.minutes - sum(one.minutes for one in here), site.minutes * ahead)
            today = sum(one.road_minutes for one in here if one.day >= site.date)
            site = replace(site, minutes=max(0.0, left), spent_minutes=today)
        found.append(site)
    return tuple(found)


def ceilings_left(ceilings: Ceilings, spent: Iterable[Spent], sites: Sequence[Site], s: Situation) -> Ceilings:
    """The ceilings less what was worked on the way."""
    if ceilings.trip_minutes is None:
        return ceilings
    return replace(ceilings, trip_minutes=max(0.0, ceilings.trip_minutes - road_minutes(spent, sites, s)))


def road_minutes(spent: Iterable[Spent], sites: Sequence[Site], s: Situation) -> float:
    """Minutes worked on the way; setting out counts once a stop, and for those of `sites` with what is planned there."""
    on_the_road = [one for one in spent if one.road_minutes > 0]
    behind = {one.site.id: one.site for one in on_the_road if one.site is not None}
    for site in sites:
        behind.pop(site.id, None)
    setting_out = sum(s.catalogue.assumed(name).value for name in ("set_out_minutes", "clean_up_minutes"))
    minutes = sum(one.road_minutes for one in on_the_road)
    return minutes + sum(setting_out * factor_of(site, s.trip, s.catalogue) for site in behind.values())


def share_ahead(stop: Stop, trip: Trip, today: date) -> float:
    """The share of the days at a stop that is still ahead on the morning of `today`.

    The day of arrival and that of departure count as one, and the latter for nothing where the rig leaves by noon.
    """
    if today <= stop.date:
        return 1.0
    last = as_day(stop.leave)
    leaves = [stop.leave, *(leg.depart for leg in trip.legs if leg.leg > stop.after_leg and leg.date == last)]
    hours = [moment.hour for moment in leaves if isinstance(moment, datetime)]
    days_left = max(0, (last - today).days) + (bool(hours) and min(hours) >= NOON_HOUR)
    return min(1.0, days_left / max(1, (last - stop.date).days))


def place_of(day: date, trip: Trip) -> str | None:
    """Where work of a day was done: the id of a day in the shed or of a stop, a halt on the way, or None for neither.

    Of two stops the one that is reached that day; the rig leaves the other in the morning.
    """
    if any(row.date == day <= trip.depart for row in trip.workshop_days):
        return f"{WORKSHOP}-{day}"
    there = [stop for stop in trip.stops if stop.date <= day <= as_day(stop.leave)]
    if there:
        return stop_id(max(there, key=lambda stop: (stop.date, stop.after_leg)))
    return HALT if trip.depart < day < trip.return_ else None


def _done_by_day(s: Situation) -> dict[date, set[Work]]:
    """Everything done up to today by day, but for days before today that are none of the trip's."""
    units, found = {unit.id: unit for unit in s.rig.units}, dict[date, set[Work]]()
    for (unit_id, item_id), rows in s.history.rows.items():
        item = s.catalogue.item(item_id)
        for row in rows if unit_id in units else ():
            act = item.act if row.act == SERVICE else row.act
            is_dated = row.date == s.today or s.trip.depart <= row.date < s.today
            if is_dated and not (item.rhythm == WALK_ROUND and act == item.act):
                sides = item.positions if row.position in (None, *BOTH) and item.positions else (row.position,)
                found.setdefault(row.date, set()).update((unit_id, item_id, side, act) for side in sides)
    return {day: done for day, done in found.items() if place_of(day, s.trip) is not None}


def _spent(day: date, done: set[Work], s: Situation) -> Spent:
    where = place_of(day, s.trip)
    site = next((site for site in build_sites(s.trip, s.timeline, date.min) if site.id == where), None)
    factor = s.catalogue.assumed("place_factor_halt").value if site is None else factor_of(site, s.trip, s.catalogue)
    given = {work for work in done if not _is_of_water(work, day, s)}
    is_road = site is None or not is_at_home(site, s.trip)
    return Spent(site, day, home_minutes(done, s) * factor, home_minutes(given, s) * factor if is_road else 0.0)


def home_minutes(done: Iterable[Work], s: Situation) -> float:
    """What work takes in the home shed by the tables, what is open for it opened and closed once."""
    teardown, units = teardown_index(s.catalogue), {unit.id: unit for unit in s.rig.units}
    minutes, opened = 0.0, set[tuple[tuple[str, str, str | None], str]]()
    for unit_id, item_id, side, act in done:
        item = s.catalogue.item(item_id)
        known = _minutes_and_state(item, act, s)
        if known is not None:
            minutes += known[0]
            opened.update(opens(item, units[unit_id], side, known[1], teardown))
    rows = [teardown[(key[1], state)] for key, state in opened]
    return minutes + sum(row.open_minutes + row.close_minutes for row in rows)


def _minutes_and_state(item: Item, act: str, s: Situation) -> tuple[float, str] | None:
    """What the tables say of an act at an item: its own, one after water (the least of several), or a remedy."""
    if act == item.act:
        return item.minutes, item.state
    rules = [(rule.minutes, rule.state) for rule in s.catalogue.water_rules if (rule.item, rule.act) == (item.id, act)]
    remedies = [
        (row.minutes or item.minutes, row.state or item.state)
        for row in s.catalogue.remedies
        if row.act == act and row.at in (item.id, item.family)
    ]
    return min(rules or remedies, default=None)


def _is_of_water(work: Work, day: date, s: Situation) -> bool:
    """True for an act that a crossing made before may have called for."""
    made = any(row.crossed is not None and as_day(row.crossed) <= day for row in s.trip.crossings)
    return made and any((rule.item, rule.act) == (work[1], work[3]) for rule in s.catalogue.water_rules)
