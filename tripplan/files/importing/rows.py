"""One row of a foreign table: a draft of records, a question for its owner, or a stated skip."""

import re
from datetime import date

from msgspec import Struct
from msgspec.structs import replace

from tripplan.files.importing.came_to import Doubt, Match
from tripplan.files.importing.cells import lacks_year, read_day, read_km
from tripplan.files.importing.columns import READINGS
from tripplan.files.importing.findings import BENIGN, finding_of, proposed_finding
from tripplan.files.importing.grid import NO_RESULT
from tripplan.files.importing.known import Known
from tripplan.files.importing.mapping import AS_ABOVE, ASK, LEAVE_OUT, TRUST
from tripplan.files.importing.raw import RawRow
from tripplan.files.importing.report import Question, Skip
from tripplan.files.importing.ticks import OPEN, said_done
from tripplan.files.importing.work import done_in_finding, noted_work, work_of
from tripplan.records.cell_values import FIRST_YEAR
from tripplan.records.lookups import WITHOUT_ITEM

FIGURE = r"(\d{4,7}|\d{1,3},\d{3})(?:\s?(?:kms?|mi|miles)\b)?"
SAID_AT = re.compile(rf"(?:\bat|@)\s*((?:{FIGURE}))(?![\d,.])", re.IGNORECASE)
SAID_FIRST = re.compile(r"^\s*((?:\d{4,7}|\d{1,3},\d{3})\s?(?:kms?|mi|miles)\b)\s*[-:,.\u2013]", re.IGNORECASE)
SAID_DUE = re.compile(r"\b(?:next|due|every|until|again at)\b", re.IGNORECASE)


class Draft(Struct, frozen=True, kw_only=True):
    """A row understood: one record for each match, or a bare reading.

    With a `question` the row waits for its owner, and its reading is evidence all the same.
    """

    raw: RawRow
    day: date
    unit: str
    km: float | None
    old_km: float | None
    matches: tuple[Match, ...] = ()
    bare_act: str = "reading"
    finding: str | None = None
    remarks: tuple[str, ...] = ()
    doubts: tuple[Doubt, ...] = ()
    question: Question | None = None


def draft_of(raw: RawRow, above: date | None, known: Known) -> Draft | Question | Skip:
    """What a row says. `above` is the day of the row above it, where that is known."""
    if NO_RESULT in (*raw.texts.values(), *raw.notes, *(cell for _, cell in raw.ticks)):
        return raw.question("a formula was saved without its result; what does it show in the spreadsheet?")
    day = _day(raw, above, known)
    if isinstance(day, Question):
        return day
    raw = replace(raw, day=day)
    unit = _unit(raw, known)
    if isinstance(unit, Question):
        return unit
    if unit == LEAVE_OUT:
        return Skip(sheet=raw.sheet, row=raw.row, why="about a unit that is left out")
    kms = _kms(raw)
    if isinstance(kms, str):
        return raw.question(kms)
    km, old_km, remarks = kms
    if raw.year and lacks_year(raw.texts.get("date", "")):
        remarks += (f"year {raw.year} as its sheet or heading says",)
    draft = Draft(raw=raw, day=day, unit=unit, km=km, old_km=old_km, remarks=remarks)
    return _by_status(draft, known) if raw.has_status else _with_work(draft, known)


def _by_status(draft: Draft, known: Known) -> Draft | Skip:
    """A row with a column that says whether it was done."""
    raw, status = draft.raw, draft.raw.texts.get("status", "")
    is_done = said_done(status)
    if is_done:
        return _with_work(draft, known)
    if is_done is False or status.casefold() in OPEN:
        return Skip(sheet=raw.sheet, row=raw.row, why="said to be not done")
    return replace(draft, question=raw.question(f"was it done? The column for that says {status or 'nothing'}"))


def _with_work(draft: Draft, known: Known) -> Draft | Skip:
    """The draft with its work, its finding, and what is asked of them."""
    raw = draft.raw
    if open_note := next((note for note in raw.notes if note.rpartition(": ")[2].strip().casefold() in OPEN), ""):
        return replace(draft, question=raw.question(f"{open_note!r}: was it done?"))
    read = work_of(raw, draft.unit, known)
    if isinstance(read, Question):
        return replace(draft, question=read)
    bare_act = raw.texts.get("act", "").strip().lower() if not read.matches else ""
    bare_act = bare_act if bare_act in WITHOUT_ITEM else "reading"
    if not read.matches and draft.km is None and not raw.notes:
        return Skip(sheet=raw.sheet, row=raw.row, why="a date, and neither work nor reading")
    doubts = (*read.doubts, *noted_work(raw, draft.unit, read.matches, known))
    draft = replace(draft, matches=read.matches, doubts=doubts, bare_act=bare_act)
    return _with_finding(draft, known)


def _with_finding(draft: Draft, known: Known) -> Draft | Skip:
    """The finding of the column of findings, and the one that words of wear in a note propose."""
    raw, names = draft.raw, tuple(dict.fromkeys(match.item for match in draft.matches))
    text = "" if done_in_finding(raw, known) else raw.texts.get("finding", "")
    found, proposed = finding_of(text, known.book)
    if text and proposed:
        return replace(draft, question=raw.question(f"{text!r}: was the finding {proposed}?", (proposed,)))
    if text and not found:
        doubt = Doubt(text, "which finding is that?", tuple(dict.fromkeys(known.book.findings.values())))
        draft = replace(draft, doubts=(*draft.doubts, doubt))
    if found and found not in BENIGN and len(names) > 1:
        return replace(draft, question=raw.question(f"on which of these was {text!r} found?", names))
    has_own = bool(found) or any(match.finding for match in draft.matches)
    words, proposed = ("", "") if has_own else proposed_finding("; ".join(raw.notes), known.book)
    if proposed:
        of_what = f" on {' or '.join(names)}" if names else "; of which item"
        return replace(
            draft, question=raw.question(f"the note says {words!r}: was the finding {proposed}{of_what}?", names)
        )
    if draft.doubts and not draft.matches and draft.km is None:
        asked = "; ".join(f"{doubt.part}: {doubt.why}" for doubt in draft.doubts)
        return replace(draft, question=raw.question(asked, draft.doubts[0].candidates))
    if not draft.matches and draft.km is None:
        return Skip(sheet=raw.sheet, row=raw.row, why="a date and a note, and neither work nor reading")
    return replace(draft, finding=found)


def _day(raw: RawRow, above: date | None, known: Known) -> date | Question:
    text = raw.texts.get("date", "")
    if not text:
        if known.mapping.blank_date == AS_ABOVE and above:
            return above
        hint = f"; is it {above}, the day of the row above? (then set blank_date to {AS_ABOVE!r})" if above else ""
        return raw.question(f"no date{hint}")
    read = read_day(text, raw.dated.order if raw.dated else None, known.today, raw.year)
    if read.day is None:
        return raw.question(f"date {text}: {read.why}", tuple(str(day) for day in read.readings))
    asks = known.mapping.true_dates == ASK
    if asks and raw.is_true_date and raw.may_be_swapped and read.day.day != read.day.month:
        other = read.day.replace(month=read.day.day, day=read.day.month)
        asked = f"{read.day} or {other}: the spreadsheet may have swapped day and month where it could "
        asked += f"(if not, set true_dates to {TRUST!r})"
        return raw.question(asked, (str(read.day), str(other)))
    if read.day > known.today:
        return raw.question(f"date {text}: {read.day} is in the future")
    if read.day.year < known.mapping.first_year:
        hint = f" (then set first_year = {read.day.year})" if read.day.year >= FIRST_YEAR else ""
        return raw.question(f"date {text}: is {read.day.year} right?{hint}")
    return read.day


def _unit(raw: RawRow, known: Known) -> str | Question:
    """The unit of a row: by its own cell, else by what stands above it or names its sheet."""
    text = raw.texts.get("unit", "").strip()
    if not text and not raw.about:
        return known.vehicle
    name = text or raw.about
    found = known.unit_named(name)
    if found is not None:
        ids = [unit.id for unit in known.rig.units] if known.rig else [found]
        return found if found in (*ids, LEAVE_OUT) else raw.question(f"{found!r} is no unit of the rig", tuple(ids))
    if known.rig is None:
        return name.lower().replace(" ", "_")
    ids = [unit.id for unit in known.rig.units]
    asked = f'which unit is {name!r}? Say it once in the mapping file: [units] "{name.lower()}" = "{ids[0]}" or "{LEAVE_OUT}"'
    return raw.question(asked, tuple(ids))


def _kms(raw: RawRow) -> tuple[float | None, float | None, tuple[str, ...]] | str:
    """The reading, the last one of an old instrument, and what is rough; or what is asked."""
    found: dict[str, float | None] = {}
    remarks: list[str] = []
    is_told = bool(raw.texts.get("odometer_km") or raw.texts.get("odometer_mi"))
    for name in (*READINGS, "old_odometer_km"):
        text = raw.texts.get(name, "")
        if text and is_told and name == "odometer":
            remarks.append(f"also written: {text}")
        elif text:
            read = read_km(text, name == "odometer_mi")
            if read.km is None:
                return f"odometer {text}: {read.why}"
            if not read.has_unit and name in raw.asks:
                return raw.asks[name]
            found[name] = read.km
            remarks += [read.remark] if read.remark else []
    if not found and (said := _said_reading(raw)):
        read = read_km(said, False)
        if not read.has_unit and raw.is_unit_open:
            return f"{said} in the words: kilometres or miles?"
        if read.km is not None:
            return read.km, None, (f"odometer as the words say: {said}",)
    km = next((found[name] for name in ("odometer_km", "odometer", "odometer_mi") if name in found), None)
    return km, found.get("old_odometer_km"), tuple(remarks)


def _said_reading(raw: RawRow) -> str:
    """A reading written into the words, as in `at 152300 km`; none where something is due at it."""
    text = raw.texts.get("work", "")
    match = SAID_AT.search(text) or SAID_FIRST.search(text)
    return match[1].strip() if match and not SAID_DUE.search(text) else ""
