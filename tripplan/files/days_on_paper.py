"""Days of work that are past and of which nothing is recorded: done on paper only, perhaps.

Which they are is seen from the folder and the plan last written; what was to be done on them
stands in that plan, or is planned again as it was on the first of those days.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from tripplan.files.folder import Inputs
from tripplan.files.plan_file import home_slot, planned_slots
from tripplan.files.plan_folder import unproven_plan
from tripplan.placing.problem import stop_id
from tripplan.records.catalogue import Catalogue
from tripplan.records.facts_in import as_day
from tripplan.records.problem_codes import nearest
from tripplan.records.problems import STOPS, BadInput, Problem
from tripplan.records.words import SlotKind

TOLD_BY = ("date", "unit", "item", "position", "act")
Slot = Mapping[str, Any]
Row = dict[str, str]


class PaperDay(Struct, frozen=True):
    """A day for work that is past: its slot, when, where, and how many jobs if the plan is at hand."""

    slot: str
    day: date
    place: str
    jobs: int | None
    since: date | None

    @property
    def told(self) -> tuple[str, date | None, date, int | None]:
        """What is asked of it: slot, last record, day, jobs."""
        return self.slot, self.since, self.day, self.jobs


def unrecorded(inputs: Inputs, issued: Mapping[str, Any] | None, today: date) -> tuple[PaperDay, ...]:
    """The days before `today` with work on them, on and since which no work is recorded."""
    last = last_work(inputs, today)
    shed = [
        PaperDay(f"{SlotKind.WORKSHOP}-{row.date}", row.date, "home", None, last) for row in inputs.trip.workshop_days
    ]
    found = {one.slot: one for one in shed}
    for slot in _slots(inputs, issued):
        day = date.fromisoformat(slot["date"])
        found[slot["id"]] = PaperDay(slot["id"], day, slot["place"], len(slot["jobs"]), last)
    open_days = [
        one for one in found.values() if (last is None or last < one.day) and one.day < today and one.jobs != 0
    ]
    return tuple(sorted(open_days, key=lambda one: (one.day, one.slot)))


def last_work(inputs: Inputs, today: date) -> date | None:
    """The latest day on which work is recorded; readings are no work."""
    return max((row.date for row in inputs.history if row.item and row.date <= today), default=None)


def rows_done(
    inputs: Inputs, catalogue: Catalogue, issued: Mapping[str, Any] | None, slots: Sequence[str],
    excepted: Sequence[str] = (), on: date | None = None, today: date | None = None,
) -> list[Row]:  # fmt: skip
    """The history rows of whole slots done as planned, less the items excepted (`item` or `item:position`).

    The work after the return is done on the day `on`, or `today`; before the return, and without that day, there is no such
    slot. Without it among the slots they are all done on the day `on`, or each on its own without one. What the history has of
    that day already is left out, and a look that two jobs of a day bring stands once.

    Raises BadInput for a slot that is not known, or an exception that no slot has.
    """
    known = {slot["id"]: slot for slot in (*_slots(inputs, issued), *_at_home(inputs, issued, on or today))}
    missing = [name for name in slots if name not in known]
    if missing:
        known |= {slot["id"]: slot for slot in _planned_then(inputs, catalogue, missing)}
    wrong = [_no_slot(name, known) for name in slots if name not in known]
    if wrong:
        raise BadInput(wrong)
    if on is not None and SlotKind.AFTER not in slots:
        known = {name: {**slot, "date": on.isoformat()} for name, slot in known.items()}
    jobs = [(known[name], job) for name in dict.fromkeys(slots) for job in known[name]["jobs"]]
    names = {name for _, job in jobs for name in _names(job)}
    unknown = [_no_item(name, names) for name in excepted if name not in names]
    if unknown:
        raise BadInput(unknown)
    rows = [_row(slot, job) for slot, job in jobs if not set(_names(job)) & set(excepted)]
    there = {(str(row.date), row.unit, row.item, row.position or "", row.act) for row in inputs.history}
    once = {tuple(row[name] for name in TOLD_BY): row for row in rows}
    return [row for told, row in once.items() if told not in there]


def as_of(inputs: Inputs, day: date) -> Inputs:
    """The folder as it was on the morning of a day: nothing recorded or crossed from then on."""
    crossings = tuple(
        row.model_copy(update={"crossed": None}) if row.crossed and as_day(row.crossed) >= day else row
        for row in inputs.trip.crossings
    )
    history = tuple(row for row in inputs.history if row.date < day)
    return replace(inputs, history=history, trip=inputs.trip.model_copy(update={"crossings": crossings}))


def _planned_then(inputs: Inputs, catalogue: Catalogue, missing: Iterable[str]) -> list[Slot]:
    """The slots as they were planned on the first of the missing days; none of a name that the trip has not."""
    days = [row.date for row in inputs.trip.workshop_days if f"{SlotKind.WORKSHOP}-{row.date}" in missing]
    days += [row.date for row in inputs.trip.stops if stop_id(row) in missing]
    if not days:
        return []
    plan = unproven_plan(as_of(inputs, min(days)), catalogue, min(days))
    return [
        {"id": slot.id, "date": slot.date.isoformat(),
         "jobs": [{"item": j.item, "unit": j.unit, "position": j.position, "act": j.act} for j in slot.jobs]}
        for slot in plan.slots if slot.kind != SlotKind.AFTER
    ]  # fmt: skip


def _slots(inputs: Inputs, issued: Mapping[str, Any] | None) -> list[Slot]:
    """The slots of the plan last written, if it is of this trip, and those it carried on; no stop that is struck out."""
    if issued is None or issued.get("trip") != inputs.trip.name:
        return []
    stops = {stop_id(row) for row in inputs.trip.stops}
    return [slot for slot in planned_slots(dict(issued)) if slot["kind"] != SlotKind.STOP or slot["id"] in stops]


def _at_home(inputs: Inputs, issued: Mapping[str, Any] | None, day: date | None) -> Iterator[Slot]:
    """What the plan last written has for after the return, dated on the day it was done."""
    if issued is None or issued.get("trip") != inputs.trip.name or day is None or day < inputs.trip.return_:
        return
    if (slot := home_slot(dict(issued))) is not None:
        yield {**slot, "date": day.isoformat()}


def _names(job: Mapping[str, Any]) -> tuple[str, str]:
    return job["item"], f"{job['item']}:{job['position']}"


def _row(slot: Slot, job: Mapping[str, Any]) -> Row:
    return {"date": slot["date"], "unit": job["unit"], "odometer_km": "", "item": job["item"],
            "position": job["position"] or "", "act": job["act"], "finding": "", "lubricant": "",
            "note": "as planned"}  # fmt: skip


def _no_slot(name: str, known: Iterable[str]) -> Problem:
    listed = ", ".join(sorted(known)) or "none: no plan of this trip was written, and no such shed day is in the folder"
    return Problem(code="A41", weight=STOPS, file="command line", found=name, accepted=f"a slot such as {listed}")


def _no_item(name: str, names: Iterable[str]) -> Problem:
    listed = nearest(name, (known for known in names if ":" not in known), 8)
    return Problem(code="A42", weight=STOPS, file="command line", found=name,
                   accepted=f"an item of those slots, or item:position, e.g. {listed}")  # fmt: skip
