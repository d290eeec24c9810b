"""What the history leaves of the minutes that there are, worked out again from the folder and the tables."""

from collections.abc import Iterable, Iterator
from datetime import date, datetime

from tripplan.records.catalogue import Item
from tripplan.records.facts_in import Stop, WorkshopDay, as_day
from tripplan.verify.facts import AFTER, SMALL, STOP, WORKSHOP, Act, Broken, Facts, Json, day
from tripplan.verify.slots import Part, needed_open

NOON_HOUR = 12
Place = WorkshopDay | Stop


def spent_rules(facts: Facts) -> Iterator[Broken]:
    """The minutes of a slot are those that the folder still has for it."""
    for slot in facts.slots:
        on, told = day(slot["date"]), (slot["place"], slot["after_leg"])
        if slot["kind"] == WORKSHOP:
            left = [left_in_shed(facts, row) for row in facts.trip.workshop_days if row.date == on]
        else:
            left = [left_at_stop(facts, row) for row in facts.trip.stops if (row.stop, row.after_leg) == told]
        said = slot["minutes_available"]
        if slot["kind"] == AFTER:
            if said is not None:
                yield Broken("minutes left", slot["id"], f"no end of them after return, said {said:g}")
        elif left and (said is None or abs(said - left[0]) > SMALL):
            yield Broken("minutes left", slot["id"], f"{left[0]:g} by the folder, said {said}")


def left_in_shed(facts: Facts, row: WorkshopDay) -> float:
    """Minutes of a day at home that no work on record has taken."""
    return max(0.0, row.minutes - sum(_taken(facts, acts) for _, acts in _work_at(facts, row)))


def left_at_stop(facts: Facts, stop: Stop) -> float:
    """Minutes of a stop that no work on record has taken, and no more than the days still ahead have."""
    factor = _factor(facts, stop)
    spent = sum(_taken(facts, acts) for _, acts in _work_at(facts, stop)) * factor
    return max(0.0, min(stop.minutes - spent, stop.minutes * _days_ahead(facts, stop)))


def road_spent(facts: Facts, stop: Stop, since: date) -> float:
    """Minutes at a stop, since a day, that count against the owner's ceilings: what water called for does not."""
    work = [(on, acts) for on, acts in _work_at(facts, stop) if on >= since]
    return sum(_taken(facts, _not_of_water(facts, on, acts)) for on, acts in work) * _factor(facts, stop)


def road_spent_in_all(facts: Facts) -> float:
    """The same over the trip up to today: at halts too, and with setting out at stops that the plan has no more."""
    setting_out = sum(facts.catalogue.assumed(name).value for name in ("set_out_minutes", "clean_up_minutes"))
    still = {(slot["place"], slot["after_leg"]) for slot in facts.slots if slot["kind"] == STOP}
    total = 0.0
    for stop in facts.trip.stops:
        if _is_road(facts, stop) and (spent := road_spent(facts, stop, date.min)) > 0:
            behind = (stop.stop, stop.after_leg) not in still
            total += spent + (setting_out * _factor(facts, stop) if behind else 0.0)
    halts = [(on, acts) for on, acts in facts.work_by_day.items()
             if facts.trip.depart < on < facts.trip.return_ and _where(facts, on) is None]  # fmt: skip
    at_halts = sum(_taken(facts, _not_of_water(facts, on, acts)) for on, acts in halts)
    return total + at_halts * facts.catalogue.assumed("place_factor_halt").value


def _where(facts: Facts, on: date) -> Place | None:
    """Where work of a day was done: in the shed, or at the stop reached last."""
    shed = [row for row in facts.trip.workshop_days if row.date == on and on <= facts.trip.depart]
    stops = [stop for stop in facts.trip.stops if as_day(stop.arrive) <= on <= as_day(stop.leave)]
    stops.sort(key=lambda stop: (as_day(stop.arrive), stop.after_leg))
    return shed[0] if shed else stops[-1] if stops else None


def _work_at(facts: Facts, place: Place) -> list[tuple[date, set[Act]]]:
    """The work of each day at a place; in the shed that of today alone, since no other of its days is in a plan."""
    return [(on, acts) for on, acts in facts.work_by_day.items() if _where(facts, on) is place]


def _taken(facts: Facts, acts: Iterable[Act]) -> float:
    """Minutes in the home shed: each act by the tables, and what is open for them once."""
    minutes, parts = 0.0, set[Part]()
    for unit, name, side, act in acts:
        item = facts.catalogued[name]
        if (known := _by_the_tables(facts, item, act)) is not None:
            minutes += known[0]
            parts |= needed_open(facts, {"unit": unit, "place": item.place, "position": side, "state": known[1]})
    rows = [facts.teardown[(place, state)] for _, place, _, state in parts]
    return minutes + sum(row.open_minutes + row.close_minutes for row in rows)


def _by_the_tables(facts: Facts, item: Item, act: str) -> tuple[float, str] | None:
    if act == item.act:
        return item.minutes, item.state
    after_water = [(r.minutes, r.state) for r in facts.catalogue.water_rules if (r.item, r.act) == (item.id, act)]
    puts_right = [
        (row.minutes or item.minutes, row.state or item.state)
        for row in facts.catalogue.remedies if row.act == act and row.at in (item.id, item.family)
    ]  # fmt: skip
    return min(after_water or puts_right, default=None)


def _not_of_water(facts: Facts, on: date, acts: Iterable[Act]) -> list[Act]:
    """The acts less those that a crossing made by then may have called for."""
    is_wet = any(row.crossed is not None and as_day(row.crossed) <= on for row in facts.trip.crossings)
    asked = {(rule.item, rule.act) for rule in facts.catalogue.water_rules} if is_wet else set()
    return [one for one in acts if (one[1], one[3]) not in asked]


def _is_road(facts: Facts, stop: Stop) -> bool:
    return facts.is_on_the_road({"kind": STOP, "after_leg": stop.after_leg})


def _factor(facts: Facts, stop: Stop) -> float:
    return float(facts.catalogue.assumed(f"place_factor_{stop.facility}").value) if _is_road(facts, stop) else 1.0


def _days_ahead(facts: Facts, stop: Stop) -> float:
    """The share of its days: arrival and departure count as one, the latter only where the rig leaves after noon."""
    first, last = as_day(stop.arrive), as_day(stop.leave)
    if facts.today <= first:
        return 1.0
    told = [stop.leave] + [leg.depart for leg in facts.trip.legs if leg.leg > stop.after_leg]
    hours = [one.hour for one in told if isinstance(one, datetime) and one.date() == last]
    ahead = max((last - facts.today).days, 0) + (1 if hours and min(hours) >= NOON_HOUR else 0)
    return min(ahead / max((last - first).days, 1), 1.0)


def left_of_days(facts: Facts, slot: Json) -> float:
    """The ceiling of a day for each day that a stop still has, less what is on record there from the first of them on."""
    told = (slot["place"], slot["after_leg"])
    done = sum(road_spent(facts, s, day(slot["date"])) for s in facts.trip.stops if (s.stop, s.after_leg) == told)
    return max(0.0, facts.road_minutes["road_day_limit_minutes"] * _days(slot) - done)


def _days(slot: Json) -> int:
    """Days spent at a stop, the day of arrival and of departure as one."""
    if slot["kind"] != STOP or slot["arrive"] is None or slot["leave"] is None:
        return 1
    first = max(day(slot["date"]), day(slot["arrive"]))
    return max(1, (day(slot["leave"]) - first).days)
