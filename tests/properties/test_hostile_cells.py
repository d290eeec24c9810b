"""Whatever a cell holds, reading ends in records or in problems, never in an exception."""

import csv
import io
import tempfile
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.files.test_bad_input import spreadsheet
from tests.support import FILES, TODAY, good_folder
from tripplan.files.folder import load
from tripplan.files.tables import read_records
from tripplan.records.facts_in import HistoryRow
from tripplan.records.problem_codes import CODES
from tripplan.records.problems import stops

TABLES = sorted(name for name in FILES if name.endswith(".csv"))
TOML_FILES = sorted(name for name in FILES if name.endswith(".toml"))
NEARLY_RIGHT = st.sampled_from(
    ["0", "-1", "1e9", "99999999999999999999", "0.00000000000000000001", "2026-02-30", "9999-12-31",
     "0001-01-01", "2026-07-06 15:20", "9999-12-31 23:59", "yes", "locked", "1,5", "=1+1", '"', '""', "'",
     ";", "\t", "\r", "NULL", "\u202e", "\ufeff", "١٨٤", "½", "wagon", "camper", "left", "reading",
     "odometer replaced", "winch", "٣"],
)  # fmt: skip
ANY_TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=30) | NEARLY_RIGHT


def holds(folder: Path) -> None:
    """Reading gives either inputs without a stopping problem, or problems with listed codes."""
    inputs, catalogue, problems = load(folder, TODAY)
    assert inputs is not None or stops(problems)
    assert catalogue.items
    assert {problem.code for problem in problems} <= set(CODES)
    assert all(problem.as_text() for problem in problems)


@settings(max_examples=150, deadline=None)
@given(name=st.sampled_from(TABLES), text=ANY_TEXT, spot=st.integers(0, 10_000), quoted=st.booleans())
def test_any_text_in_any_cell(name: str, text: str, spot: int, quoted: bool) -> None:
    """Otherwise one odd cell would end in a traceback instead of a row and a column."""
    rows = list(csv.reader(io.StringIO(FILES[name])))
    row = rows[spot % len(rows)]
    row[spot // len(rows) % len(row)] = text
    with tempfile.TemporaryDirectory() as place:
        folder = good_folder(Path(place))
        with (folder / name).open("w", encoding="utf-8", newline="") as file:
            if quoted:
                csv.writer(file).writerows(rows)
            else:
                file.write("\n".join(",".join(cells) for cells in rows))
        holds(folder)


@settings(max_examples=100, deadline=None)
@given(name=st.sampled_from(TOML_FILES), text=ANY_TEXT, spot=st.integers(0, 10_000))
def test_any_text_after_any_key(name: str, text: str, spot: int) -> None:
    """Otherwise a slip in the rig or trip would end in a traceback instead of a key."""
    lines = FILES[name].splitlines()
    keyed = [number for number, line in enumerate(lines) if "=" in line]
    number = keyed[spot % len(keyed)]
    lines[number] = f"{lines[number].partition('=')[0]}= {text}"
    with tempfile.TemporaryDirectory() as place:
        folder = good_folder(Path(place))
        (folder / name).write_text("\n".join(lines), encoding="utf-8", newline="")
        holds(folder)


@settings(max_examples=100, deadline=None)
@given(name=st.sampled_from(sorted(FILES)), raw=st.binary(max_size=200), spot=st.integers(0, 10_000))
def test_any_bytes_in_any_file(name: str, raw: bytes, spot: int) -> None:
    """Otherwise a damaged file would end in a traceback instead of its name."""
    good = FILES[name].encode("utf-8")
    spot %= len(good)
    with tempfile.TemporaryDirectory() as place:
        folder = good_folder(Path(place))
        (folder / name).write_bytes(good[:spot] + raw + good[spot + len(raw) // 2 :])
        holds(folder)


@settings(max_examples=60, deadline=None)
@given(spot=st.integers(0, 100_000), raw=st.binary(min_size=1, max_size=20))
def test_damaged_spreadsheets(spot: int, raw: bytes) -> None:
    """Otherwise a spreadsheet cut short by a bad disk would end in a traceback."""
    spot %= len(GOOD_SPREADSHEET)
    damaged = GOOD_SPREADSHEET[:spot] + raw + GOOD_SPREADSHEET[spot + len(raw) :]
    with tempfile.TemporaryDirectory() as place:
        path = Path(place) / "history.xlsx"
        path.write_bytes(damaged)
        rows, problems = read_records(path, HistoryRow, "H")
        assert rows or problems


GOOD_SPREADSHEET = spreadsheet(
    {"history": [["date", "unit", "odometer_km", "act"], ["2026-06-14", "wagon", 188150, "reading"]]}
)
