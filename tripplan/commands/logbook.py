"""`tripplan logbook`: take a folder in, write it out, list its history and crossings made, strike an entry out, mend."""

from datetime import date
from pathlib import Path

from msgspec.structs import asdict

from tripplan.commands.status import MADE, MADE_WITH_WARNINGS, refused, tells_refusals
from tripplan.commands.terminal import say, say_document
from tripplan.records.facts_in import Crossing, HistoryRow

PHOTOS_STAY = "A logbook holds no photos: those left behind are in the folder alone, so keep it."
ACCEPTED = "take-in FILE FOLDER, write-out FILE FOLDER, entries FILE, mend FILE, or undo FILE --number N --because WHY"


@tells_refusals
def logbook(what: str, file: Path, folder: Path | None, number: int | None, because: str, as_json: bool) -> int:
    """Take a folder into a logbook, write it out, list its history and crossings made, or strike one of these out."""
    from tripplan.files.logbook.book import damage, history_entries, made_crossings, strike_out, take_in, write_out

    told: dict[str, object]
    if what == "take-in" and folder:
        taken = take_in(file, folder, date.today())
        told = {**asdict(taken), "left_behind": list(taken.left_behind)}
    elif what == "write-out" and folder:
        told = {"written": [str(path) for path in write_out(file, folder)]}
    elif what == "entries":
        told = {str(entry.number): _entry_words(row) for entry, row in history_entries(file)}
        told |= {str(entry.number): _crossing_words(row, entry.trip) for entry, row in made_crossings(file)}
    elif what == "undo" and number is not None and because:
        told = {"struck out": number, "by entry": strike_out(file, number, because)}
    elif what == "mend":
        told = _mended(file)
    else:
        raise refused("A09", what, ACCEPTED)
    problems = damage(file) if what in ("write-out", "entries") else ()
    for found in problems:
        say(f"{found.as_text()}\n", error=True)
    if as_json:
        say_document(told)
    else:
        say("\n".join(f"{name.replace('_', ' ')}: {_plainly(value)}" for name, value in told.items()))
        if told.get("left_behind"):
            say(PHOTOS_STAY)
    return MADE_WITH_WARNINGS if problems else MADE


def _mended(file: Path) -> dict[str, object]:
    from tripplan.files.logbook.mend import mend

    done = mend(file)
    kept_as = str(done.kept_as) if done.kept_as else "none, for nothing was damaged"
    return {"damaged": list(done.damage), "entries": done.entries, "documents": done.documents, "damaged file": kept_as}


def _plainly(value: object) -> str:
    """A value of a report as a person reads it, without brackets."""
    if isinstance(value, dict):
        return ", ".join(f"{name} {number}" for name, number in value.items()) or "none"
    return ("; ".join(map(str, value)) or "none") if isinstance(value, list) else str(value)


def _entry_words(row: HistoryRow) -> str:
    at = "" if row.odometer_km is None else f"{row.odometer_km:g} km"
    row_number, more = f"row {row.origin.row}", (row.item, row.position, row.finding, row.note)
    return " | ".join(filter(None, (row_number, str(row.date), row.unit, at, row.act, *more)))


def _crossing_words(row: Crossing, trip: str) -> str:
    return " | ".join(
        filter(None, ("crossing", trip, f"leg {row.leg} at {row.at_km:g} km", f"made {row.crossed}", row.note))
    )
