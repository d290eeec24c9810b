"""One rig of a fleet in a row of plain values: what the summary of all rigs is made of.

Plain text, numbers and lists, so that it goes from process to process and into a file unchanged.
"""

from collections import Counter
from datetime import date, timedelta
from typing import Any
from uuid import UUID, uuid5

from icalendar import Calendar, Event, vDate, vText

from tripplan.records.plan import DUE, FOUND_BAD, NO_PLACE, NO_RECORD, PARTS_LATE, Need, Plan
from tripplan.records.plan_work import Slot
from tripplan.records.problems import Problem, problem_row
from tripplan.records.words import Act, SlotKind
from tripplan.sheets import words
from tripplan.sheets.calendar.entries import EVENT, uid_for
from tripplan.sheets.words import printable
from tripplan.sheets.worksheet.buying import CARRY

URGENT = (FOUND_BAD, NO_PLACE, PARTS_LATE)
"""Kinds of warnings that a yard has to act on before the rig leaves."""
NAMESPACE = UUID("2b0b6b53-6a59-5c0e-8d0c-0f0b7a2f4f11")
BENCH_ACTS = (Act.REPACK,)
"""Acts done at the bench, off the rig. Common practice, no source."""


def made_row(name: str, folder: str, plan: Plan, calendar: bytes) -> dict[str, Any]:
    """The row of a rig that has a plan; `calendar` is its own calendar file."""
    verdicts = Counter(str(item.verdict) for item in plan.items)
    overdue = sum(item.unmet for item in plan.items)
    parts = _calendar_parts(name, plan.rig, calendar)
    at = {uid: index for index, uid in enumerate(parts.pop("uids"))}
    return {
        "name": name, "folder": folder, "is_made": True, "rig": plan.rig, "trip": plan.trip,
        "depart": plan.depart.isoformat(), "return": plan.return_.isoformat(), "edition": plan.edition,
        "verdicts": dict(sorted(verdicts.items())), "due": verdicts[DUE] + verdicts[NO_RECORD], "unmet": overdue,
        "minutes": plan.totals.plan.minutes, "cost": plan.totals.plan.cost, "gap": plan.totals.gap,
        "warnings": [warning.text for warning in plan.warnings],
        "urgent": [warning.text for warning in plan.warnings if warning.kind in URGENT],
        "problems": [_problem(found) for found in plan.problems],
        "slots": [
            {**_slot(slot, plan), "event": at.get(_uid(name, uid_for(plan, "slot", slot.id)))}
            for slot in plan.slots if slot.jobs or slot.kind == SlotKind.WORKSHOP
        ],
        "needs": [_need(need) for need in (*plan.shopping, *plan.carry)], **parts,
    }  # fmt: skip


def stopped_row(name: str, folder: str, problems: tuple[Problem, ...]) -> dict[str, Any]:
    """The row of a rig that has no plan, with every reason."""
    return {"name": name, "folder": folder, "is_made": False, "problems": [_problem(found) for found in problems]}


def _problem(found: Problem) -> dict[str, Any]:
    return {**problem_row(found), "text": found.as_text()}


def _slot(slot: Slot, plan: Plan) -> dict[str, Any]:
    bench = sum(job.minutes for job in slot.jobs if job.act in BENCH_ACTS)
    parts = [part for part in plan.orders if part.slot == slot.id and part.when != CARRY]
    order_by, lead_days = (
        min((part.order_by for part in parts), default=None),
        max((part.lead_days for part in parts), default=0.0),
    )
    ready = (plan.today + timedelta(days=lead_days)).isoformat() if lead_days else None
    return {
        "id": slot.id, "kind": str(slot.kind), "date": slot.date.isoformat(), "place": slot.place,
        "minutes_available": slot.minutes_available, "minutes_planned": slot.minutes_planned, "bench_minutes": bench,
        "jobs": len(slot.jobs), "order_by": None if order_by is None else order_by.isoformat(), "ready": ready,
    }  # fmt: skip


def _need(need: Need) -> dict[str, Any]:
    return {
        "when": need.when, "what": need.what, "name": need.name, "quantity": need.quantity,
        "unit": need.unit_of_measure, "needed_by": None if need.needed_by is None else need.needed_by.isoformat(),
        "order_by": None if need.order_by is None else need.order_by.isoformat(),
    }  # fmt: skip


def _calendar_parts(name: str, rig: str, calendar: bytes) -> dict[str, Any]:
    """The events of the rig's own calendar, each naming the rig, their UIDs, and the zones and years they need."""
    events, uids, zones, years = [], [], set(), set()
    for event in Calendar.from_ical(calendar).walk(EVENT):
        start = event.decoded("dtstart")
        years.add(start.year)
        if "TZID" in event["DTSTART"].params:
            zones.add(str(event["DTSTART"].params["TZID"]))
        uids.append(_uid(name, str(event["UID"])))
        event["UID"] = vText(uids[-1])
        event["SUMMARY"] = vText(printable(f"{rig}: {event['SUMMARY']}"))
        events.append(event.to_ical().decode("utf-8", "replace"))
    span = [min(years), max(years)] if years else []
    return {"events": events, "uids": uids, "zones": sorted(zones), "years": span}


def _uid(name: str, uid: str) -> str:
    """The UID of a rig's entry in the calendar of all."""
    return str(uuid5(NAMESPACE, "\x1f".join((name, uid))))


def on_its_shared_day(event: str, planned: date, spot: tuple[date, int] | None, order_by: date | None = None) -> str:
    """An event of work at home on the day and in the bay that the shed has for it, or saying that there is none."""
    (moved,) = Event.from_ical(event, multiple=True)
    told = "The shed has no place for this before the rig leaves."
    if spot is not None:
        day, bay = spot
        told = f"Bay {bay + 1}."
        if day != planned:
            told += f" Moved from {words.day(planned)}, the day of its own plan."
            told += f" Its parts are to be ordered by {words.day(order_by)}." if order_by else ""
            moved["DTSTART"], moved["DTEND"] = vDate(day), vDate(day + timedelta(days=1))
            for key in ("DTSTART", "DTEND"):
                moved[key].params["VALUE"] = "DATE"
    moved["DESCRIPTION"] = vText(f"{told}\n{moved.get('DESCRIPTION', '')}")
    return str(moved.to_ical().decode("utf-8", "replace"))
