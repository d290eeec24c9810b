"""A hundred and sixteen tables in the styles people use, each with the records a person would write.

All tables are invented, and the records beside them were written by hand from the tables
alone, never taken from the importer. A record that the person would not write is silently wrong; so is
a record missing from a row of which nothing is asked and no skip is told. `pytest -s` prints the table.
"""

import csv
import io
from collections import Counter
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import openpyxl
import pytest

from tests.support import TODAY, good_folder
from tripplan.files.data_tables import read_catalogue
from tripplan.files.folder import read_rig
from tripplan.files.importing.grid import read_sheets
from tripplan.files.importing.mapping import ColumnMap, read_mapping
from tripplan.files.importing.report import ImportReport
from tripplan.files.importing.table import import_rows, lay_out_all
from tripplan.records.facts_in import HistoryRow

CORPUS = Path(__file__).parent / "corpus"
CASES = sorted({path.name.split(".")[0] for path in CORPUS.iterdir()})
ASKED = "?"
SAME_KM = 1.0
LEAST_PRECISION, LEAST_RECALL = 1.0, 0.95
Fact = tuple[str, str, str, str, str, str, str]


@dataclass(frozen=True)
class Score:
    """One table held against its person."""

    name: str
    expected: int
    made: int
    right: int
    questions: int
    needless: int
    wrong: tuple[str, ...]
    missing: tuple[str, ...]


def sheets_of(name: str, folder: Path) -> Path:
    """The table as a file: a CSV as it is, a workbook made from its sheets; `@` marks a true date."""
    plain = CORPUS / f"{name}.csv"
    if plain.exists():
        return plain
    book = openpyxl.Workbook()
    book.remove(book.active)
    page = None
    for line in (CORPUS / f"{name}.sheets.txt").read_text(encoding="utf-8").splitlines():
        if line.startswith("=== "):
            page = book.create_sheet(line[4:])
        elif page is not None:
            [cells] = csv.reader([line])
            page.append([date.fromisoformat(cell[1:]) if cell.startswith("@") else cell for cell in cells])
    path = folder / f"{name}.xlsx"
    book.save(path)
    return path


def imported(name: str, folder: Path) -> ImportReport:
    """What the importer makes of one table for the sample rig, with the mapping that lies beside it."""
    rig, _ = read_rig(good_folder(folder / "rig") / "rig.toml")
    told = CORPUS / f"{name}.mapping.toml"
    mapping = read_mapping(told) if told.exists() else ColumnMap()
    sheets, problems = read_sheets(sheets_of(name, folder), mapping.encoding)
    assert problems == ()
    catalogue, _ = read_catalogue()
    report = import_rows(name, lay_out_all(sheets, mapping, TODAY), rig, (), catalogue, mapping, TODAY)
    assert report.adds_up
    return report


def expectation(name: str) -> list[dict[str, str]]:
    """The lines a person wrote; `?` for the item, or for a whole row, is what they would ask."""
    with (CORPUS / f"{name}.expected.csv").open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def fact(row: HistoryRow) -> Fact:
    """A record as its person would write it; an estimated reading is a blank one."""
    is_estimate = "estimate: odometer not written" in (row.note or "")
    km = "" if row.odometer_km is None or is_estimate else f"{row.odometer_km:.1f}"
    return (str(row.date), row.unit, km, row.item or "", row.position or "", row.act, row.finding or "")


def is_same(made: Fact, wanted: dict[str, str]) -> bool:
    """The same record, readings within a kilometre of rounding."""
    day, unit, km, *rest = made
    asked = [wanted[name] or "" for name in ("item", "position", "act", "finding")]
    near = (km == "") == (wanted["odometer_km"] == "") and (
        not km or abs(float(km) - float(wanted["odometer_km"])) <= SAME_KM
    )
    return (day, unit) == (wanted["date"], wanted["unit"]) and rest == asked and near


def place(sheet: str, row: int, is_book: bool) -> str:
    """A row as the expectations name it."""
    return f"{sheet}:{row}" if is_book else str(row)


def score(name: str, folder: Path) -> Score:
    """Precision, recall and questions of one table."""
    report = imported(name, folder)
    is_book = not (CORPUS / f"{name}.csv").exists()
    lines = expectation(name)
    wanted = [line for line in lines if line["date"] != ASKED]
    told = {place(q.sheet, q.row, is_book) for q in report.questions}
    told_or_skipped = told | {place(skip.sheet, skip.row, is_book) for skip in report.skips}
    left, wrong = list(wanted), []
    for row in report.records:
        found = next((line for line in left if is_same(fact(row), line)), None)
        if found is None:
            wrong.append(f"{fact(row)}")
        else:
            left.remove(found)
    missing = [line for line in left if line["row"] not in told_or_skipped]
    hoped = {line["row"] for line in lines if line["date"] == ASKED}
    unasked = hoped - told
    return Score(
        name=name, expected=len(wanted), made=len(report.records), right=len(wanted) - len(left), questions=len(told),
        needless=len(told - hoped), wrong=(*wrong, *(f"lost in silence: {line}" for line in missing),
                                           *(f"not asked: row {row}" for row in sorted(unasked))),
        missing=tuple(f"{line}" for line in left),
    )  # fmt: skip


@pytest.fixture(scope="module")
def scores(tmp_path_factory: pytest.TempPathFactory) -> list[Score]:
    """Every table, scored once."""
    return [score(name, tmp_path_factory.mktemp("corpus")) for name in CASES if name != "26_due_table_only"]


def test_nothing_is_read_wrong_in_silence(scores: list[Score]) -> None:
    """Otherwise work never done, or of another part, unit, day or reading, would count as done."""
    assert {one.name: one.wrong for one in scores if one.wrong} == {}


def test_most_of_what_a_person_would_write_is_read(scores: list[Score]) -> None:
    """Otherwise the importer would be safe by asking about everything."""
    print(table_of(scores))
    expected, made, right = (sum(getattr(one, name) for one in scores) for name in ("expected", "made", "right"))
    assert len(scores) >= 60 and expected > 140
    assert right / made >= LEAST_PRECISION
    assert right / expected >= LEAST_RECALL


def test_a_table_of_what_is_due_has_no_dates_of_work(tmp_path: Path) -> None:
    """Otherwise a plan of work to come would be read as work done."""
    sheets, _ = read_sheets(CORPUS / "26_due_table_only.csv")
    [laid] = lay_out_all(sheets, ColumnMap(), TODAY)
    assert Counter(column.holds for column in laid.columns)["date"] == 0


def table_of(scores: list[Score]) -> str:
    """The scores as a table, and their sum."""
    out = io.StringIO()
    out.write(f"\n{'table':<38}{'expected':>9}{'made':>6}{'right':>6}{'asked rows':>11}{'needless':>9}{'wrong':>6}\n")
    for one in scores:
        out.write(
            f"{one.name:<38}{one.expected:>9}{one.made:>6}{one.right:>6}{one.questions:>11}{one.needless:>9}{len(one.wrong):>6}\n"
        )
    expected, made, right, asked, needless = (
        sum(getattr(one, name) for one in scores) for name in ("expected", "made", "right", "questions", "needless")
    )
    wrong = sum(len(one.wrong) for one in scores)
    out.write(f"{'all':<38}{expected:>9}{made:>6}{right:>6}{asked:>11}{needless:>9}{wrong:>6}\n")
    out.write(f"precision {right / made:.3f}, recall {right / expected:.3f}, silently wrong {wrong}\n")
    return out.getvalue()
