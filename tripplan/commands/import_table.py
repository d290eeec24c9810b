"""`tripplan import`: read a foreign table, show what its columns are taken for, write what is sure."""

import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import date
from pathlib import Path

from tripplan.commands.sources import held_trip, kept
from tripplan.commands.status import day_of, tells_refusals
from tripplan.commands.terminal import ask, say, say_document
from tripplan.files.act_words import with_acts_meant
from tripplan.files.append import changed_table
from tripplan.files.data_tables import read_catalogue
from tripplan.files.folder import counted_and_undone, read_overrides, read_rig
from tripplan.files.held import folder_held
from tripplan.files.importing.columns import Laid
from tripplan.files.importing.grid import read_sheets
from tripplan.files.importing.mapping import ColumnMap, mapping_text, read_mapping
from tripplan.files.importing.report import QUESTION_COLUMNS, QUESTIONS_FILE, ImportReport, questions_csv
from tripplan.files.importing.table import Tick, history_name, import_rows, lay_out_all
from tripplan.files.logbook.text import texts_of
from tripplan.files.refusals import columns_of
from tripplan.files.tables import sound_records
from tripplan.files.whole_files import write_whole
from tripplan.records.catalogue import Catalogue
from tripplan.records.facts_in import HistoryRow, Origin, Rig
from tripplan.records.problem_codes import problem
from tripplan.records.problems import BadInput, stops
from tripplan.sheets.import_text import columns_text, report_rows, report_text

MAPPING_FILE = "import_mapping.toml"
LONG_IMPORT = 5000
ALL_SURE, WITH_QUESTIONS = 0, 1


def import_file(
    file: Path, into: Path, mapping: Path | None, yes: bool, as_json: bool, today: date,
    confirm: Callable[[str], bool] | None = None,
) -> int:  # fmt: skip
    """Import a table into a trip folder or logbook; 0 when every row is sure, 1 with questions.

    Columns are shown and confirmed first: by `confirm`, by `yes`, or by a mapping file.
    Mapping and questions are written into the folder, or beside the logbook.
    Raises BadInput for a file that cannot be read, or columns that nobody confirmed.
    """
    answers = read_mapping(mapping) if mapping else ColumnMap()
    sheets, problems = read_sheets(file, answers.encoding)
    if stops(problems):
        raise BadInput(problems)
    laid = lay_out_all(sheets, answers, today)
    notes = into.parent if into.is_file() else into
    _ask_for_columns(file, notes, laid, answers, yes or mapping is not None or _is_our_own(laid), confirm)
    if not into.exists():
        _put(into, {})
    with held_trip(into) as folder:
        rig, catalogue, history = _context(folder)
        rows = sum(len(sheet.rows) for sheet in sheets)
        with _progress(rows) as tick:
            report = import_rows(file.name, laid, rig, history, catalogue, answers, today, tick)
        if not report.adds_up:
            raise RuntimeError(f"{report.rows_in} rows came in and not all came out")
        _write(folder, notes, report, answers)
        kept(into, folder)
    if as_json:
        say_document(report_rows(report))
    else:
        say(f"{columns_text(laid)}\n\n{report_text(report)}")
        if report.questions:
            say(f"\nAnswers: fill in {notes / QUESTIONS_FILE} and import that file.")
    return WITH_QUESTIONS if report.questions else ALL_SURE


def _is_our_own(laid: Sequence[Laid]) -> bool:
    """True for the file of questions that an import wrote: its columns are ours and need no word."""
    ours = tuple(name.replace("_", " ") for name in QUESTION_COLUMNS)
    return [tuple(column.header for column in one.columns) for one in laid] == [ours]


def _ask_for_columns(
    file: Path, notes: Path, laid: tuple[Laid, ...], answers: ColumnMap, is_confirmed: bool,
    confirm: Callable[[str], bool] | None,
) -> None:  # fmt: skip
    if not any(column.holds == "date" for one in laid for column in one.columns):
        found = ", ".join(column.header for one in laid for column in one.columns)[:200]
        hint = 'name it in a mapping file: [columns] "your name" = "date"'
        raise _refusal("I03", file, found, "a column of dates", hint)
    if is_confirmed or (confirm is not None and confirm(columns_text(laid))):
        return
    _put(notes, {MAPPING_FILE: _mapping_of(laid, answers)})
    accepted = f"--yes to take them so, or --mapping with {notes / MAPPING_FILE} as you change it"
    raise _refusal("I02", file, f"these columns:\n{columns_text(laid)}", accepted)


def _context(into: Path) -> tuple[Rig | None, Catalogue, tuple[HistoryRow, ...]]:
    """The rig, the tables and the history that are there already."""
    rig: Rig | None = None
    if (into / "rig.toml").is_file():
        rig, problems = read_rig(into / "rig.toml")
        if rig is None:
            raise BadInput(problems)
    tables, _ = read_overrides(into)
    catalogue, _ = read_catalogue(tables)
    rows = sound_records(into / history_name(into), HistoryRow, "H")
    history, _ = counted_and_undone(with_acts_meant(rows, rig.units if rig else (), catalogue))
    return rig, catalogue, history


def _write(into: Path, notes: Path, report: ImportReport, answers: ColumnMap) -> None:
    """History, questions and mapping, each file whole or not at all."""
    if report.records:
        path = into / history_name(into)
        rows = [texts_of(row) for row in report.records]
        _put(into, {path.name: changed_table(path, added=rows, columns=list(columns_of(HistoryRow))).content})
    contents = {MAPPING_FILE: _mapping_of(report.sheets, answers)}
    if report.questions:
        contents[QUESTIONS_FILE] = questions_csv(report).encode("utf-8", "replace")
    _put(notes, contents)


def _put(into: Path, contents: dict[str, bytes]) -> None:
    """The files into the folder, which is made where it is not there. Raises BadInput I04 where that cannot be."""
    try:
        into.mkdir(parents=True, exist_ok=True)
        with folder_held(into):
            for name, content in contents.items():
                write_whole(into / name, content)
    except OSError as why:
        raise _refusal("I04", into, why.strerror or str(why), "a folder that can be written") from why


def _mapping_of(laid: tuple[Laid, ...], answers: ColumnMap) -> bytes:
    columns = {column.header: column.holds for one in laid for column in one.columns}
    orders = {column.header: column.order for one in laid for column in one.columns if column.order}
    return mapping_text(answers, columns, orders).encode("utf-8", "replace")


def _refusal(code: str, path: Path, found: str, accepted: str, hint: str = "") -> BadInput:
    return BadInput([problem(code, Origin(file=path.name), None, found, accepted, hint)])


@contextmanager
def _progress(rows: int) -> Iterator[Tick]:
    """What is told of each part of a long import that is read: a bar on the terminal; elsewhere nothing."""
    if rows < LONG_IMPORT or not sys.stderr.isatty():
        yield lambda done: None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("Reading rows", total=rows)
        yield lambda done: bar.advance(task, done)


@tells_refusals
def import_table(file: Path, into: Path, mapping: Path | None, yes: bool, today: str | None, as_json: bool) -> int:
    """Import an old spreadsheet into a trip folder or logbook; columns are confirmed first."""
    confirm = None if yes or as_json or not sys.stdin.isatty() else _ask
    return import_file(file, into, mapping, yes, as_json, day_of(today), confirm)


def _ask(shown: str) -> bool:
    say(shown)
    return ask("Are these columns right? yes or no: ").lower() in ("y", "yes")
