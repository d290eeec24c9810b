"""The logbook as the rest sees it: take a trip folder in, write it out, load it, add to it.

The trip folder is the logbook's text form. History rows, crossings, legs driven and issued
calendars are entries, only ever added; the rig, the trip and the owner's tables are
documents with versions. `load_logbook` reads that text form as any folder is read, so a
message names the file and row that `write_out` gives.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace
from pydantic import ValidationError

from tripplan.files.folder import EARLIER_CROSSINGS, EARLIER_LEGS, HISTORY_FILES, PHOTOS
from tripplan.files.held import folder_held, logbook_held
from tripplan.files.logbook import store
from tripplan.files.logbook import text_form as form
from tripplan.files.logbook.basis import Basis, Since, keep_basis, marks_of, read_basis, since
from tripplan.files.logbook.chain import DOCUMENT, ENTRY
from tripplan.files.logbook.pairing import by_all_but_place, by_leg, by_leg_and_moment, by_place, paired
from tripplan.files.logbook.problems import damage_problems, damaged, logbook_problem, refusal
from tripplan.files.logbook.text import body_of, record_of, texts_of, texts_of_body, unguarded
from tripplan.files.tables import SomeRecord, records_in, sound_records
from tripplan.files.way_in import NotRead, content, read_file
from tripplan.files.whole_files import keep_copies, write_whole
from tripplan.records.facts_in import Crossing, EarlierCrossing, EarlierLeg, HistoryRow, Leg, Origin, Record
from tripplan.records.problems import BadInput, Problem

OUTPUTS = frozenset(("tasks.csv", "shopping.csv", "calendar.ics", "calendar_todo.ics"))
AS_ENTRIES = frozenset((*HISTORY_FILES, form.CROSSINGS_FILE, EARLIER_LEGS, EARLIER_CROSSINGS))
UNDOABLE = (form.HISTORY, form.CROSSING)
DOCUMENT_SUFFIXES = frozenset((".toml", ".csv", ".ics"))
MOST_DOCUMENT_BYTES = 50_000_000
SETTLE = (
    "nothing was taken in, and the folder is as you left it; write the logbook out into another folder, "
    "carry your changes over, and take that in"
)


class TakenIn(Struct, frozen=True, kw_only=True):
    """What taking in a folder added: entries by kind, those already there, documents by version.

    `struck_out` counts history entries that the folder says no longer count. `left_behind` are
    the photos of the folder: every command opens and lays out the whole logbook, so it holds none.
    """

    added: dict[str, int]
    already_there: dict[str, int]
    documents: dict[str, int]
    struck_out: int = 0
    left_behind: tuple[str, ...] = ()


def take_in(path: Path, folder: Path, today: date, crossings_before: bytes | None = None) -> TakenIn:
    """Take a trip folder into the logbook at `path`, which is made when it is not there.

    A row already in the logbook is not written again, counted or struck out; one that is
    only in the logbook stays. A row struck out in the folder is struck out here too. A
    crossing or leg with the same number and other facts corrects the old one, and so does a
    crossing made at the same moment at another place. A crossing made stays though the folder
    has it no more, but for those of `crossings_before`, the file as a save found it. A file that
    the folder has as it was when both last agreed says nothing; one that was changed on both
    sides since is refused with J09, and nothing is taken in.
    """
    if not folder.is_dir():
        raise refusal("J08", path, f"{folder}, which is no folder that can be opened")
    with logbook_held(path), folder_held(folder, is_needed=False):
        read = _read(folder, today)
        with store.changing(path, create=True) as log, store.writing(log):
            before = dict(form.files_of(log, path))
            changed = since(read_basis(folder, _chain(log)), read.files, _but_history(before))
            if changed.clash:
                raise refusal("J09", path, f"changed on both sides: {', '.join(changed.clash)}", SETTLE)
            taken = _take(log, path, read, changed, before, _taken_out(crossings_before, read.crossings))
            after = dict(form.files_of(log, path))
            head = _chain(log)[-1:]
        keep_basis(folder, "".join(head), read.files, _but_history(after))
        return replace(taken, left_behind=_photos_in(folder))


class _Folder(Struct, frozen=True, kw_only=True):
    """All that a folder gives to a logbook."""

    trip: str
    rows: list[HistoryRow]
    crossings: list[Crossing]
    driven: list[Leg]
    old_legs: dict[str, list[Record]]
    old_crossings: dict[str, list[Record]]
    documents: dict[str, bytes]
    files: dict[str, bytes]


def _read(folder: Path, today: date) -> _Folder:
    documents_in = dict(_documents_of(folder))
    others = {
        name: content(folder / name)
        for name in (form.CROSSINGS_FILE, EARLIER_LEGS, EARLIER_CROSSINGS, form.REGISTER_FILE)
    }
    return _Folder(
        trip=form.name_in(documents_in.get(form.TRIP_FILE, b"")), rows=_rows(_history_path(folder), HistoryRow, "H"),
        crossings=_rows(folder / form.CROSSINGS_FILE, Crossing, "C"),
        driven=[leg for leg in _rows(folder / form.LEGS_FILE, Leg, "L") if leg.date < today],
        old_legs=_by_trip(_rows(folder / EARLIER_LEGS, EarlierLeg, "L"), Leg),
        old_crossings=_by_trip(_rows(folder / EARLIER_CROSSINGS, EarlierCrossing, "C"), Crossing),
        documents=documents_in, files=documents_in | {name: raw for name, raw in others.items() if raw is not None},
    )  # fmt: skip


def _take(
    log: store.Log, path: Path, read: _Folder, changed: Since, before: Mapping[str, bytes], taken_out: Counter[str]
) -> TakenIn:
    new, struck = _history_in(store.entries(log, form.HISTORY), read.rows)
    numbers = store.append(log, path, [store.Fresh(kind=form.HISTORY, body=body_of(_counted(row))) for row in new])
    strikes = {**struck, **{n: row.undone for n, row in zip(numbers, new, strict=True) if row.undone}}
    store.append(
        log,
        path,
        [store.Fresh(kind=form.HISTORY, body=store.STRUCK, replaces=n, reason=why) for n, why in strikes.items()],
    )
    name = read.trip if changed.counts(form.TRIP_FILE) else form.name_in(before.get(form.TRIP_FILE, b""))
    fresh = list(_keyed(log, read, changed, name, taken_out))
    store.append(log, path, fresh)
    now = store.documents(log)
    wanted = {**dict.fromkeys(now), **read.documents}
    versions = store.save_documents(log, {doc: raw for doc, raw in wanted.items() if changed.counts(doc)})
    added = Counter({**Counter(entry.kind for entry in fresh), **({form.HISTORY: len(new)} if new else {})})
    given = {form.HISTORY: len(read.rows), form.CROSSING: len(read.crossings), form.LEG: len(read.driven)}
    there = {kind: max(0, number - added[kind]) for kind, number in given.items()}
    return TakenIn(added=dict(added), already_there=there, documents=versions, struck_out=len(strikes))


def _keyed(log: store.Log, read: _Folder, changed: Since, name: str, taken_out: Counter[str]) -> Iterator[store.Fresh]:
    """Crossings, legs and the calendar: what the files say that count."""
    by_moment = by_leg_and_moment if changed.is_known else by_all_but_place
    if changed.counts(form.CROSSINGS_FILE):
        old = store.in_force(log, form.CROSSING, name)
        pairs, left = paired(old, read.crossings, by_place, by_moment)
        yield from _corrected(form.CROSSING, name, pairs)
        yield from _withdrawn(left, taken_out)
    if changed.counts(form.LEGS_FILE):
        yield from _corrected(form.LEG, name, paired(store.in_force(log, form.LEG, name), read.driven, by_leg)[0])
    if changed.counts(form.REGISTER_FILE):
        yield from _new_calendar(log, read.files.get(form.REGISTER_FILE))
    for trip, legs in read.old_legs.items() if changed.counts(EARLIER_LEGS) else ():
        yield from _corrected(form.LEG, trip, paired(store.in_force(log, form.LEG, trip), legs, by_leg)[0])
    for trip, rows in read.old_crossings.items() if changed.counts(EARLIER_CROSSINGS) else ():
        pairs, _ = paired(store.in_force(log, form.CROSSING, trip), rows, by_place, by_moment)
        yield from _corrected(form.CROSSING, trip, pairs)


def _chain(log: store.Log) -> list[str]:
    """The chain marks, by which a logbook knows a folder that it had to do with; the last is where it stands."""
    return [row.chain for table in (DOCUMENT, ENTRY) for row in log.rows(table)]


def _but_history(files: Mapping[str, bytes]) -> dict[str, bytes]:
    """The files of which one state takes the place of another; rows of the history are only added."""
    return {name: raw for name, raw in files.items() if name not in HISTORY_FILES}


def write_out(path: Path, folder: Path) -> tuple[Path, ...]:
    """Write the logbook as a trip folder; each file whole or not at all. Gives the paths.

    What the folder had in their place is kept in `.before` there, and so is a file that the
    logbook has no more and nobody touched since both agreed. Of a damaged logbook all
    that is whole is written; ask `damage` what is not.
    """
    with logbook_held(path, is_needed=False):
        files, chain, _ = _laid(path)
        if (folder / HISTORY_FILES[1]).exists() and HISTORY_FILES[0] in files:
            raise refusal("J08", path, f"{folder.name} already has {HISTORY_FILES[1]}", "write into an empty folder")
        try:
            folder.mkdir(parents=True, exist_ok=True)
            with folder_held(folder):
                gone = _gone(folder, read_basis(folder, chain), files)
                keep_copies(folder, files, gone)
                written = _put_files(folder, files, chain)
                for name in gone:
                    (folder / name).unlink(missing_ok=True)
                return written
        except OSError as why:
            raise refusal("J03", path, f"{folder}: {why.strerror or why}") from why


def _gone(folder: Path, basis: Basis, files: Mapping[str, bytes]) -> list[str]:
    """The files that both had when they last agreed, that the folder has as they were, and the logbook has no more."""
    there = {name: content(folder / name) for name in basis.book if name not in files}
    marks = marks_of({name: raw for name, raw in there.items() if raw is not None})
    return [name for name, mark in marks.items() if mark == basis.folder.get(name)]


def lay_out(path: Path, folder: Path) -> tuple[Problem, ...]:
    """Write the logbook into a passing folder that nobody else knows; gives what is damaged in it."""
    files, chain, found = _laid(path)
    try:
        _put_files(folder, files, chain)
    except OSError as why:
        raise refusal("J03", path, f"{folder}: {why.strerror or why}") from why
    return found


def damage(path: Path) -> tuple[Problem, ...]:
    """What is damaged in a logbook that can be read, a Problem each."""
    with store.opened(path) as log:
        return damage_problems(path, log.damage)


def refuse_damage(path: Path) -> None:
    """Raise BadInput J01 for a logbook that must be mended before it is added to."""
    with store.opened(path) as log:
        if log.damage:
            raise damaged(path, log.damage)


def _laid(path: Path) -> tuple[dict[str, bytes], list[str], tuple[Problem, ...]]:
    """Every file of the trip folder, the chain marks up to where the logbook stands, and what is damaged."""
    with store.opened(path) as log:
        return dict(form.files_of(log, path)), _chain(log), damage_problems(path, log.damage)


def _put_files(folder: Path, files: Mapping[str, bytes], chain: Sequence[str]) -> tuple[Path, ...]:
    for name, new in files.items():
        if content(folder / name) != new:
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            write_whole(folder / name, new)
    keep_basis(folder, "".join(chain[-1:]), _but_history(files), _but_history(files))
    return tuple(folder / name for name in files)


def correct(path: Path, number: int, row: HistoryRow | None, reason: str) -> int:
    """Replace a history entry by another, or strike it out with None; both stay readable."""
    body = "" if row is None else body_of(row)
    with store.changing(path) as log:
        fresh = store.Fresh(kind=form.HISTORY, body=body, replaces=number, reason=reason)
        return store.append(log, path, [fresh])[0]


def strike_out(path: Path, number: int, reason: str) -> int:
    """Strike out work of the history or a crossing, by the number of its entry; it stays readable."""
    with store.changing(path) as log:
        kinds = {entry.number: kind for kind in UNDOABLE for entry in store.entries(log, kind)}
        if number not in kinds:
            raise refusal("J07", path, f"entry {number}, which is no work of the history and no crossing")
        fresh = store.Fresh(kind=kinds[number], body=store.STRUCK, replaces=number, reason=reason)
        return store.append(log, path, [fresh])[0]


def made_crossings(path: Path) -> tuple[tuple[store.Entry, Crossing], ...]:
    """The crossings made, of this trip and of earlier ones, with their entry numbers."""
    with store.opened(path) as log:
        found = store.in_force(log, form.CROSSING)
    made = [entry for entry in found if "crossed" in texts_of_body(entry.body)]
    return tuple((entry, _record(entry, Crossing, form.CROSSINGS_FILE, None)) for entry in made)


def history_entries(path: Path) -> tuple[tuple[store.Entry, HistoryRow], ...]:
    """The history in force with its entry numbers, in the order and with the rows of history.csv."""
    with store.opened(path) as log:
        found = list(form.history_out(log))
    lines = enumerate(found, 2)
    return tuple((e, _record(e, HistoryRow, HISTORY_FILES[0], row)) for row, (e, undone) in lines if undone is None)


def state_of(path: Path) -> str:
    """A mark of all that the logbook holds: another entry or document, another mark."""
    with store.opened(path, looks=False) as log:
        last = log.execute("SELECT COALESCE(MAX(number), 0) FROM entry").fetchone()[0]
        versions = log.execute("SELECT COUNT(*) FROM document").fetchone()[0]
    return f"{last}-{versions}"


def _history_path(folder: Path) -> Path:
    present = [name for name in HISTORY_FILES if (folder / name).is_file()]
    return folder / (present[0] if present else HISTORY_FILES[0])


def _rows(path: Path, record: type[SomeRecord], letter: str) -> list[SomeRecord]:
    """The records of one file with the guards taken off; none when there is no such file."""
    return list(map(_bare, sound_records(path, record, letter)))


def bare_records(raw: bytes, name: str, record: type[SomeRecord], letter: str) -> list[SomeRecord]:
    """The same of the content of a file, less the rows that cannot be read."""
    return list(map(_bare, records_in(raw, name, record, letter)[0])) if raw else []


def _bare(row: SomeRecord) -> SomeRecord:
    texts = {name: unguarded(text) for name, text in texts_of(row).items()}
    return record_of(texts, type(row), getattr(row, "origin"))  # noqa: B009 - every row has one


def _documents_of(folder: Path) -> Iterator[tuple[str, bytes]]:
    """The files kept as documents: those of the trip folder's contract that are not entries."""
    for place in (folder, *(folder / name for name in form.INNER_FOLDERS)):
        for path in sorted(place.iterdir()) if place.is_dir() else ():
            name = path.relative_to(folder).as_posix()
            is_inner = place is not folder
            skipped = name in AS_ENTRIES | OUTPUTS or not (is_inner or path.suffix.lower() in DOCUMENT_SUFFIXES)
            if skipped or path.name.startswith(".") or not path.is_file():
                continue
            try:
                yield name, read_file(path, MOST_DOCUMENT_BYTES)
            except NotRead as why:
                raise refusal("J08", path, f"{name}: {why.found}") from None


def _photos_in(folder: Path) -> tuple[str, ...]:
    place = folder / PHOTOS
    found = sorted(place.iterdir()) if place.is_dir() else ()
    return tuple(path.relative_to(folder).as_posix() for path in found if path.is_file())


def _history_in(old: Sequence[store.Entry], rows: Iterable[HistoryRow]) -> tuple[list[HistoryRow], dict[int, str]]:
    """Rows that the logbook does not have yet, and its entries that the folder strikes out, with why.

    Equal rows are matched one by one, those struck out first: so work struck out and then
    written down again counts once, and an older copy of the folder brings nothing back.
    """
    replaced = {entry.replaces for entry in old}
    live: dict[str, list[int]] = {}
    gone: Counter[str] = Counter(entry.body for entry in old if entry.number in replaced)
    for entry in old:
        if entry.number not in replaced and entry.body != store.STRUCK:
            live.setdefault(entry.body, []).append(entry.number)
    new: list[HistoryRow] = []
    struck: dict[int, str] = {}
    for row in sorted(rows, key=lambda row: row.undone is None):
        body = body_of(_counted(row))
        counting = live.get(body, [])
        if row.undone is None and counting:
            counting.pop(0)
        elif gone[body]:
            gone[body] -= 1
        elif row.undone is not None and counting:
            struck[counting.pop(0)] = row.undone
        else:
            new.append(row)
    return sorted(new, key=lambda row: row.origin.row or 0), struck


def _counted(row: HistoryRow) -> HistoryRow:
    """The row as it counts or counted: what it says without the word that struck it out."""
    return row if row.undone is None else row.model_copy(update={"undone": None})


def _corrected(kind: str, trip: str, pairs: Iterable[tuple[store.Entry | None, Record]]) -> Iterator[store.Fresh]:
    """New rows, and rows that differ from the entry they go with, which they replace."""
    for before, row in pairs:
        body = body_of(row)
        if before is None:
            yield store.Fresh(kind=kind, body=body, trip=trip)
        elif before.body != body:
            yield store.Fresh(kind=kind, body=body, trip=trip, replaces=before.number, reason="changed in the folder")


def _withdrawn(left: Iterable[store.Entry], taken_out: Counter[str]) -> Iterator[store.Fresh]:
    """Crossings that the folder no longer has: the planned ones, and the made ones that a save took out."""
    for entry in left:
        is_planned = "crossed" not in texts_of_body(entry.body)
        if is_planned or taken_out[entry.body] > 0:
            taken_out[entry.body] -= 1
            reason = "no longer planned" if is_planned else "taken out"
            yield store.Fresh(kind=form.CROSSING, body="", trip=entry.trip, replaces=entry.number, reason=reason)


def _taken_out(before: bytes | None, now: Iterable[Crossing]) -> Counter[str]:
    """The bodies of crossings that were in the file before, each as often as it stood there more than now."""
    rows = bare_records(before or b"", form.CROSSINGS_FILE, Crossing, "C")
    return Counter(map(body_of, rows)) - Counter(map(body_of, now))


def _new_calendar(log: store.Log, raw: bytes | None) -> Iterator[store.Fresh]:
    if raw is not None:
        text = raw.decode("utf-8", "replace").replace("\r\n", "\n")
        last = store.in_force(log, form.CALENDAR)
        if text and (not last or last[-1].body != text):
            yield store.Fresh(kind=form.CALENDAR, body=text)


def _by_trip(rows: Iterable[EarlierLeg | EarlierCrossing], record: type[Record]) -> dict[str, list[Record]]:
    """Rows of earlier trips as what they were on their own trip, by its name."""
    found: dict[str, list[Record]] = {}
    for row in rows:
        texts = {name: text for name, text in texts_of(row).items() if name != "trip"}
        trip = "" if row.trip == form.UNNAMED else row.trip
        found.setdefault(trip, []).append(record_of(texts, record, row.origin))
    return found


def _record(entry: store.Entry, record: type[SomeRecord], file: str, row: int | None) -> SomeRecord:
    try:
        return record_of(texts_of_body(entry.body), record, Origin(file=file, row=row))
    except ValidationError as error:
        first = error.errors(include_url=False)[0]["msg"]
        found = f"entry {entry.number} ({entry.kind}), which cannot be a record: {first}"
        raise BadInput([logbook_problem("J01", Path(file), found)]) from None
