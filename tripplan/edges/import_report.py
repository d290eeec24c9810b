"""What an import made of each row: a record, a question or a stated skip, and the sum of them."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from tripplan.edges import say
from tripplan.edges.import_columns import Laid
from tripplan.edges.logbook_text import table_text
from tripplan.records import HistoryRow

QUESTION_COLUMNS = (
    "from row", "date", "unit", "odometer_km", "odometer_mi", "item", "position", "act", "finding", "lubricant", "work",
    "note", "old_odometer_km", "asked", "may mean",
)  # fmt: skip
SHOWN, ROWS_SHOWN, WORDS_SHOWN = 20, 8, 3
QUESTIONS_FILE = "import_questions.csv"


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """Something only the owner can say. A whole question keeps its row out of the history."""

    sheet: str
    row: int
    found: str
    asked: str
    may_mean: tuple[str, ...] = ()
    is_whole: bool = True
    texts: Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Skip:
    """A row that is no record, and why."""

    sheet: str
    row: int
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ImportReport:
    """An import as a whole. `rows_recorded` counts rows of the table, of which one may give several records."""

    file: str
    rows_in: int
    rows_recorded: int
    records: tuple[HistoryRow, ...]
    questions: tuple[Question, ...]
    skips: tuple[Skip, ...]
    sheets: tuple[Laid, ...]
    estimates: int

    @property
    def rows_asked(self) -> int:
        """Rows of the table that wait for an answer."""
        return len({(one.sheet, one.row) for one in self.questions if one.is_whole})

    @property
    def adds_up(self) -> bool:
        """True when every row is accounted for once."""
        return self.rows_in == self.rows_recorded + self.rows_asked + len(self.skips)


def columns_text(sheets: tuple[Laid, ...]) -> str:
    """What each column is taken for, for the owner to confirm."""
    lines = []
    for one in sheets:
        head = "no header" if one.header_row is None else f"header in row {one.header_row}"
        lines.append(f"{one.sheet.name} ({head})")
        for column in one.columns:
            order = f", {column.order}" if column.order else ""
            example = f"   e.g. {column.example[:40]}" if column.example else ""
            lines.append(f"    {column.header:<24} {column.holds}{order} ({column.found_by}){example}")
    return "\n".join(lines)


def report_text(report: ImportReport) -> str:
    """The report for the terminal."""
    lines = [
        f"{report.file}: {say.count(report.rows_in, 'row', 'rows')}",
        f"    {report.rows_recorded} as records ({say.count(len(report.records), 'record', 'records')} made)",
        f"    {report.rows_asked} as questions",
        f"    {len(report.skips)} skipped",
        *(f"        {count}: {why}" for why, count in Counter(skip.why for skip in report.skips).most_common()),
    ]
    if report.estimates:
        lines.append(f"    odometer readings that are estimates, marked so: {report.estimates}")
    if report.questions:
        lines += ["", "Questions:"]
        groups = _alike(report.questions)
        lines += [f"    {_asked(group)}" for group in groups[:SHOWN]]
        if len(groups) > SHOWN:
            lines.append(f"    and {len(groups) - SHOWN} more; {QUESTIONS_FILE} and --json hold all")
    return say.printable("\n".join(lines))


def _alike(questions: Iterable[Question]) -> list[list[Question]]:
    """Questions that ask the same, together, in the order of the first of each."""
    groups: dict[tuple[object, ...], list[Question]] = {}
    for one in questions:
        groups.setdefault((one.sheet, one.asked, one.may_mean, one.is_whole), []).append(one)
    return list(groups.values())


def _asked(group: Sequence[Question]) -> str:
    """One question for all the rows that ask it, with the words found where they are few and short."""
    first, rows = group[0], list(dict.fromkeys(str(one.row) for one in group))
    more = f" and {len(rows) - ROWS_SHOWN} more" if len(rows) > ROWS_SHOWN else ""
    where = f"{'row' if len(rows) == 1 else 'rows'} {', '.join(rows[:ROWS_SHOWN])}{more}"
    words = list(dict.fromkeys(one.found for one in group))
    is_said = first.asked.startswith(first.found) or (first.is_whole and len(words) > 1)
    found = "" if is_said else f"{', '.join(repr(text[:60]) for text in words[:WORDS_SHOWN])}: "
    meant = f" May mean: {' or '.join(first.may_mean)}." if first.may_mean else ""
    kept = "" if first.is_whole else " (the rest of the row is recorded)"
    end = "" if first.asked.endswith(("?", ")")) else "."
    return f"{first.sheet} {where}: {found}{first.asked}{end}{meant}{kept}"


def report_rows(report: ImportReport) -> dict[str, Any]:
    """The report for JSON."""
    return {
        "file": report.file, "rows": report.rows_in, "rows_recorded": report.rows_recorded,
        "rows_asked": report.rows_asked, "rows_skipped": len(report.skips), "records": len(report.records),
        "estimates": report.estimates,
        "questions": [
            {"sheet": q.sheet, "row": q.row, "found": q.found, "asked": q.asked, "may_mean": list(q.may_mean),
             "whole_row": q.is_whole}
            for q in report.questions
        ],
        "skips": [{"sheet": skip.sheet, "row": skip.row, "why": skip.why} for skip in report.skips],
        "columns": [
            {"sheet": one.sheet.name, "column": c.header, "holds": c.holds, "found_by": c.found_by, "order": c.order}
            for one in report.sheets
            for c in one.columns
        ],
    }  # fmt: skip


def questions_csv(report: ImportReport) -> str:
    """The questions as a table: fill in item and act (and what else is asked) and import that table."""
    return table_text(QUESTION_COLUMNS, _question_rows(report))


def _question_rows(report: ImportReport) -> Iterator[dict[str, str]]:
    for one in report.questions:
        texts = {name: text for name, text in one.texts.items() if name in QUESTION_COLUMNS}
        work = texts.get("work", "") if one.is_whole else one.found
        said = {"from row": f"{one.row}", "asked": one.asked, "may mean": " or ".join(one.may_mean)}
        yield {**texts, "work": work, **said}
