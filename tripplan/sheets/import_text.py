"""What an import made of each row, for the terminal and for JSON."""

from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Any

from tripplan.files.importing.columns import Laid
from tripplan.files.importing.report import QUESTIONS_FILE, ImportReport, Question
from tripplan.sheets import words as say

SHOWN, ROWS_SHOWN, WORDS_SHOWN = 20, 8, 3
TURNED = "its days stand across, so it is read column by column: row 2 is column B"


def columns_text(sheets: tuple[Laid, ...]) -> str:
    """What each column is taken for, for the owner to confirm."""
    lines = []
    for one in sheets:
        head = "no header" if one.header_row is None else f"header in row {one.header_row}"
        lines.append(f"{one.sheet.name} ({TURNED if one.sheet.is_turned else head})")
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
