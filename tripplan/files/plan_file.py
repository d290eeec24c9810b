"""What an earlier run left: where its outputs are, and what of its `plan.json` a newer plan has to carry on."""

from collections.abc import Collection
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import Any

from msgspec import MsgspecError, Raw
from msgspec.json import Decoder, encode

from tripplan.files.way_in import NotRead, content, json_of, read_file
from tripplan.files.whole_files import write_whole
from tripplan.records.words import SlotKind

PLACE_FILE = "outputs_place.txt"
INSIDE = "outputs"
MOST_BYTES = 16384
PLAN_FILE = "plan.json"
PASSED = "passed_slots"
JOB = ("item", "unit", "position", "act")
_PARTS, _ITEMS = Decoder(dict[str, Raw]), Decoder(list[dict[str, Raw]])
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
    document = json_of(_without_wear(raw))
    is_plan = isinstance(document, dict) and all(name in document for name in NEEDED)
    return document if is_plan else None


def _without_wear(raw: bytes) -> bytes:
    """The same without the wear of each leg, most of its bytes, which nobody asks an earlier plan for."""
    try:
        document = _PARTS.decode(raw)
        items = [
            {name: part for name, part in item.items() if name != "wear"} for item in _ITEMS.decode(document["items"])
        ]
        return encode(document | {"items": items})
    except (MsgspecError, RecursionError, KeyError):
        return raw  # no plan of ours: what is wrong with it is for whoever reads it to say


def planned_slots(document: dict[str, Any]) -> list[dict[str, Any]]:
    """The slots of an earlier plan, before the trip and on the way, those it carried on first.

    What follows the return is no day that passes.
    """
    lists = [document.get(name) for name in (PASSED, "slots")]
    every = [slot for found in lists if isinstance(found, list) for slot in found if _is_slot(slot)]
    return [slot for slot in every if slot["kind"] != SlotKind.AFTER]


def home_slot(document: dict[str, Any]) -> dict[str, Any] | None:
    """What an earlier plan had to be done after the return; None where it cannot be read."""
    found = document["slots"] if isinstance(document.get("slots"), list) else []
    return next((slot for slot in found if _is_slot(slot) and slot["kind"] == SlotKind.AFTER), None)


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


def _is_slot(slot: Any) -> bool:
    """True for a slot that can be read."""
    if not isinstance(slot, dict) or not all(
        isinstance(slot.get(name), str) for name in ("id", "kind", "date", "place")
    ):
        return False
    try:
        date.fromisoformat(slot["date"])
    except ValueError:
        return False
    jobs = slot.get("jobs")
    return isinstance(jobs, list) and all(map(_is_job, jobs))


def _is_job(job: Any) -> bool:
    return isinstance(job, dict) and all(
        isinstance(job.get(name), str) or (name == "position" and job.get(name) is None) for name in JOB
    )


def remembered_place(folder: Path) -> Path | None:
    """The folder the outputs went to last, if it is still there and was written down for this folder."""
    text, owner = _place_told(folder)
    try:
        is_ours = _is_inside(folder, folder / text) or owner == str(folder.resolve())
        return folder / text if text and is_ours and (folder / text).is_dir() else None
    except (OSError, ValueError):
        return None


def forget_copied_place(folder: Path) -> str:
    """Forget a place outside that was not written down for this folder, as in a copy of another; what to say of it, or nothing."""
    text, owner = _place_told(folder)
    try:
        if not text or _is_inside(folder, folder / text) or owner == str(folder.resolve()):
            return ""
        (folder / PLACE_FILE).unlink()
    except (OSError, ValueError):
        return ""
    whose = f"of {owner}" if owner else "of no named folder"
    return f"{PLACE_FILE} was {whose} and is forgotten: {text} keeps its plan. --out names a place for this one."


def _place_told(folder: Path) -> tuple[str, str]:
    """The place that stands in the folder's file, and the folder it was written down for; empty where it says neither."""
    raw = content(folder / PLACE_FILE, MOST_BYTES) or b""
    text, _, owner = raw.decode("utf-8", "replace").strip().partition("\n")
    return text.strip(), owner.strip()


def _is_inside(folder: Path, place: Path) -> bool:
    return place.resolve().is_relative_to(folder.resolve())


def remember_place(folder: Path, out: Path) -> None:
    """Keep the place: relative where it lies inside, else with the folder it is kept for, so that a copy does not write there.

    A folder that cannot be written forgets it.
    """
    inside = _is_inside(folder, out)
    place = out.resolve().relative_to(folder.resolve()) if inside else out.resolve()
    told = f"{place.as_posix()}\n" if inside else f"{place.as_posix()}\n{folder.resolve()}\n"
    try:
        if (folder / PLACE_FILE).exists() or place != Path(INSIDE):
            write_whole(folder / PLACE_FILE, told.encode())
    except OSError:
        return


def place_of(folder: Path) -> Path | None:
    """Where outputs are kept up to date: the place last written to, else `outputs` in the folder if it is there."""
    usual = folder / INSIDE
    return remembered_place(folder) or (usual if (usual / "plan.json").is_file() else None)


def kept_place(folder: Path, out: Path | None) -> Path | None:
    """The place asked for, which is remembered, else the one remembered; a logbook remembers none."""
    if not folder.is_dir():
        return out
    if out is None:
        return place_of(folder)
    remember_place(folder, out)
    return out
