"""The plan.json that an earlier run left in a folder, and what of it a newer one has to carry on."""

from collections.abc import Collection
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import Any

from tripplan.files.way_in import NotRead, json_of, read_file
from tripplan.records.words import SlotKind

PLAN_FILE = "plan.json"
PASSED = "passed_slots"
JOB = ("item", "unit", "position", "act")
NEEDED = ("depart", "return", "legs", "crossings", "items", "slots", "totals", "warnings")


def issued_plan(out: Path) -> dict[str, Any] | None:
    """The plan.json left in a folder by an earlier run; None when there is none that can be read.

    It is for reading only: whoever asks again for the same file is given the same document.
    """
    try:
        return _document(read_file(out / PLAN_FILE))
    except NotRead:
        return None


@lru_cache(maxsize=1)
def _document(raw: bytes) -> dict[str, Any] | None:
    """The plan in these bytes; a command asks several times, and reading takes longer than all the rest of it."""
    document = json_of(raw)
    is_plan = isinstance(document, dict) and all(name in document for name in NEEDED)
    return document if is_plan else None


def planned_slots(document: dict[str, Any]) -> list[dict[str, Any]]:
    """The slots of an earlier plan on which work was meant to be done, those it carried on first."""
    return [slot for name in (PASSED, "slots") for slot in _listed(document.get(name)) if _is_slot(slot)]


def passed_slots(out: Path, trip: str, today: date, known: Collection[str]) -> list[dict[str, Any]]:
    """Slots with work of the plan left in `out` that are past and that a new plan, which knows others, has not any more.

    Whether that work was done is asked until the history answers, so the new plan carries them on: only
    when, where, and which jobs.
    """
    document = issued_plan(out)
    if document is None or document.get("trip") != trip:
        return []
    gone = {
        slot["id"]: {
            "id": slot["id"], "kind": slot["kind"], "date": slot["date"], "place": slot["place"],
            "jobs": [{name: job[name] for name in JOB} for job in slot["jobs"]],
        }
        for slot in planned_slots(document)
        if slot["id"] not in known and slot["jobs"] and date.fromisoformat(slot["date"]) <= today
    }  # fmt: skip
    return list(gone.values())


def _listed(found: Any) -> list[Any]:
    return found if isinstance(found, list) else []


def _is_slot(slot: Any) -> bool:
    """True for a slot on the way or before it that can be read; what follows the return is no day that passes."""
    if not isinstance(slot, dict) or not all(
        isinstance(slot.get(name), str) for name in ("id", "kind", "date", "place")
    ):
        return False
    try:
        date.fromisoformat(slot["date"])
    except ValueError:
        return False
    jobs = slot.get("jobs")
    return slot["kind"] != SlotKind.AFTER and isinstance(jobs, list) and all(map(_is_job, jobs))


def _is_job(job: Any) -> bool:
    return isinstance(job, dict) and all(
        isinstance(job.get(name), str) or (name == "position" and job.get(name) is None) for name in JOB
    )
