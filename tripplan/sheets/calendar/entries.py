"""What the calendar says: one entry for each day with work, each order and the departure.

An entry's UID is made from the rig, the trip and the entry's own key, so that planning
again finds the same entry. No clock, no random numbers.
"""

import math
from collections import Counter
from collections.abc import Iterator, Mapping
from datetime import UTC, date, datetime, timedelta
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from msgspec import Struct
from msgspec.structs import replace

from tripplan.records.grouped import grouped
from tripplan.records.plan import OrderPart, Plan
from tripplan.records.plan_work import Slot
from tripplan.sheets import words
from tripplan.sheets.worksheet import work_order
from tripplan.sheets.worksheet.buying import AT_STOP, CARRY

NAMESPACE = UUID("6f1d8a52-3c0e-5b7a-9d44-2a7c90be1f35")
EVENT, TODO = "VEVENT", "VTODO"
ALL_DAY_ALARM = timedelta(hours=-15)
TIMED_ALARM = timedelta(days=-1)


class CalendarEntry(Struct, frozen=True, kw_only=True):
    """One event or to-do before it is written; `end` of an all-day event is the next day."""

    uid: str
    component: str
    summary: str
    description: str
    start: date | datetime
    end: date | datetime
    alarm: timedelta
    location: str = ""


def uid_for(plan: Plan, *key: str) -> str:
    """The UID of a record of this rig and trip: the same key gives the same UID."""
    return str(uuid5(NAMESPACE, "\x1f".join((plan.rig, plan.trip, *key))))


def event_entries(plan: Plan) -> tuple[CalendarEntry, ...]:
    """Orders, work days, departure, stops and the work after the return, by date."""
    found = [*_orders(plan), *_slots(plan), _departure(plan)]
    return tuple(sorted(found, key=lambda entry: (_day(entry.start), entry.uid)))


def todo_entries(plan: Plan) -> tuple[CalendarEntry, ...]:
    """One to-do a job; the first, second, ... time of the same act keeps its UID when it moves."""
    times: Counter[tuple[str, ...]] = Counter()
    found = []
    for slot in sorted(plan.slots, key=lambda slot: slot.date):
        for group in work_order.groups(slot):
            for job in group.jobs:
                key = (job.kind, job.unit, job.item, job.position or "", job.act)
                times[key] += 1
                name = words.doing(job.said_act, job.name, job.position) + work_order.of_unit(plan, job.unit)
                found.append(CalendarEntry(
                    uid=uid_for(plan, "todo", *key, str(times[key])), component=TODO, start=slot.date, end=slot.date,
                    summary=words.printable(name),
                    description=words.printable(f"{words.duration(job.minutes)}. {words.sentence(job.why)}"),
                    alarm=ALL_DAY_ALARM, location=words.printable(slot.place),
                ))  # fmt: skip
    return tuple(found)


def _day(value: date | datetime) -> date:
    return value.date() if isinstance(value, datetime) else value


def _all_day(plan: Plan, key: tuple[str, ...], day: date, summary: str, description: str) -> CalendarEntry:
    return CalendarEntry(
        uid=uid_for(plan, *key), component=EVENT, summary=words.printable(summary),
        description=words.printable(description), start=day, end=day + timedelta(days=1), alarm=ALL_DAY_ALARM,
    )  # fmt: skip


def _departure(plan: Plan) -> CalendarEntry:
    told = f"{plan.rig}. Return planned {words.day(plan.return_)}."
    return _all_day(plan, ("departure",), plan.depart, f"Departure: {plan.trip}", told)


def _orders(plan: Plan) -> Iterator[CalendarEntry]:
    """One entry a day on which something is to be ordered, named by the first day of work that waits for it."""
    names = {slot.id: work_order.slot_name(slot) for slot in plan.slots}
    times: Counter[str] = Counter()
    for day, same in sorted(grouped((part.order_by, part) for part in plan.orders).items()):
        first = same[0].slot
        times[first] += 1
        told = "\n".join(line for part in same for line in (_order_head(part, names), *part.what))
        title = _order_title(tuple(dict.fromkeys(what for part in same for what in part.what)))
        yield _all_day(plan, ("order", first, str(times[first])), day, title, told)


def _order_head(part: OrderPart, names: Mapping[str, str]) -> str:
    if part.when == CARRY:
        return "To carry:"
    place = names.get(part.slot, part.slot)
    return f"To be sent to the {place}:" if part.when == AT_STOP else f"For the {place}:"


def _order_title(what: tuple[str, ...]) -> str:
    more = f" and {len(what) - 1} more" if len(what) > 1 else ""
    return f"Order parts: {what[0]}{more}" if what else "Order parts"


def _slots(plan: Plan) -> Iterator[CalendarEntry]:
    for slot in plan.slots:
        if slot.jobs:
            day = _all_day(plan, ("slot", slot.id), slot.date, _slot_summary(slot), "\n".join(_slot_words(plan, slot)))
            day = replace(day, location=words.printable(slot.place))
            span = _span(plan, slot)
            yield replace(day, start=span[0], end=span[1], alarm=TIMED_ALARM) if span else day


def _slot_summary(slot: Slot) -> str:
    jobs = words.count(len(slot.jobs), "job", "jobs")
    return f"{work_order.slot_title(slot)}: {jobs}, {words.duration(slot.minutes_planned)}"


def _slot_words(plan: Plan, slot: Slot) -> Iterator[str]:
    for group in work_order.groups(slot):
        opened = "; ".join(step.words for step in group.opened)
        opening = sum(step.minutes for step in group.opened)
        minutes = f" ({words.duration(opening)} both ways)" if opened else ""
        yield f"{words.upper_first(group.title(work_order.has_units(plan)))}{': ' if opened else ''}{opened}{minutes}"
        for job in group.jobs:
            yield f"- {words.doing(job.said_act, job.name, job.position)}, {words.duration(job.minutes)}"
    for check in work_order.rechecks_at(plan, slot):
        yield f"- re-check: {words.item(check.name, check.position)}, {words.duration(check.minutes)}"
    yield "Cautions and what to look for: see the work sheet."


def _span(plan: Plan, slot: Slot) -> tuple[datetime, datetime] | None:
    """Start and end where the hour of arrival and its zone are known; else None = all day."""
    if not isinstance(slot.arrive, datetime):
        return None
    try:
        zone = ZoneInfo(slot.zone or plan.home_zone)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return None
    local = slot.arrive if slot.arrive.tzinfo else slot.arrive.replace(tzinfo=zone)
    start = local.astimezone(UTC)
    end = start + timedelta(minutes=max(math.ceil(slot.minutes_planned), 1))
    return start.astimezone(zone), end.astimezone(zone)
