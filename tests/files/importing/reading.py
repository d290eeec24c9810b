"""Reading a small table for the sample rig, for the tests of the importer."""

from pathlib import Path
from typing import Any

from tests.support import TODAY, good_folder
from tripplan.files.data_tables import read_catalogue
from tripplan.files.folder import read_rig
from tripplan.files.importing.grid import read_sheets
from tripplan.files.importing.mapping import ColumnMap
from tripplan.files.importing.report import ImportReport
from tripplan.files.importing.table import import_rows, lay_out_all

SHIPPED, _ = read_catalogue()


def read_lines(place: Path, *lines: str, name: str = "log.csv", history: Any = (), **answers: Any) -> ImportReport:
    """The report of a CSV file of these lines for the sample rig; its sum is checked every time."""
    path = place / name
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    rig, _ = read_rig(good_folder(place / "rig") / "rig.toml")
    mapping = ColumnMap(**answers)
    sheets, problems = read_sheets(path)
    assert problems == ()
    report = import_rows(name, lay_out_all(sheets, mapping, TODAY), rig, history, SHIPPED, mapping, TODAY)
    assert report.adds_up, report
    return report


def asked(report: ImportReport) -> list[str]:
    """What is asked, in the order of the rows."""
    return [question.asked for question in report.questions]
