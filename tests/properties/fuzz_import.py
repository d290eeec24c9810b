"""A fuzzer over the import of foreign tables, guided by the branches it reaches.

Needs `pip install atheris` (Linux). Any length of run:

    python -m tests.properties.fuzz_import -max_total_time=600

Ends with a stack trace on an exception, or when the rows of a table are not all accounted for.
"""

import sys
import tempfile
from datetime import date
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["tripplan"]):
    from tripplan.files.data_tables import read_catalogue
    from tripplan.files.importing.grid import read_sheets
    from tripplan.files.importing.mapping import ColumnMap
    from tripplan.files.importing.report import questions_csv
    from tripplan.files.importing.table import import_rows, lay_out_all
    from tripplan.sheets.import_text import report_text

TODAY = date(2026, 6, 20)
CATALOGUE, _ = read_catalogue()
HEADERS = ("Date", "Odo", "Miles", "Work", "Notes", "Item", "Act", "Position", "Finding", "Unit", "")
WORDS = (
    "13/02/2018", "44197", "2021-05-06", "3/4/19", "315k", "1,234 km", "196 000", "100 mi", "front brgs + seals, both sides",
    "oil & filter", "odometer replaced", "=1+1", "total", "?", "worn", "camper", '"', "\n", ";", ",",
)  # fmt: skip
PLACE = Path(tempfile.mkdtemp()) / "log.csv"


def table(data: atheris.FuzzedDataProvider) -> bytes:
    """A table of known words and any others; or any bytes at all."""
    if data.ConsumeProbability() < 0.2:
        return bytes(data.ConsumeBytes(400))
    head = [HEADERS[data.ConsumeIntInRange(0, len(HEADERS) - 1)] for _ in range(data.ConsumeIntInRange(1, 6))]
    lines = [",".join(head)]
    for _ in range(data.ConsumeIntInRange(0, 6)):
        cells = []
        for _ in range(data.ConsumeIntInRange(0, len(head))):
            word = WORDS[data.ConsumeIntInRange(0, len(WORDS) - 1)]
            cells.append(word if data.ConsumeBool() else data.ConsumeUnicodeNoSurrogates(12))
        lines.append(",".join(cells))
    return "\n".join(lines).encode("utf-8")


def one_table(raw: bytes) -> None:
    """Read, laid out and imported; every row accounted for, both reports written."""
    PLACE.write_bytes(table(atheris.FuzzedDataProvider(raw)))
    sheets, problems = read_sheets(PLACE)
    assert bool(sheets) != bool(problems)
    answers = ColumnMap()
    if sheets:
        report = import_rows("log.csv", lay_out_all(sheets, answers, TODAY), None, (), CATALOGUE, answers, TODAY)
        assert report.adds_up
        assert report_text(report) and questions_csv(report)


def main() -> None:
    """Run until told to stop."""
    atheris.Setup(sys.argv, one_table)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
