"""How long reading takes; measured with `pytest tests/bench --benchmark-enable`, never asserted."""

from datetime import date, timedelta
from pathlib import Path
from typing import Any

from tests.support import TODAY, good_folder
from tripplan.commands.import_table import import_file
from tripplan.files.folder import load

ROWS = 100_000
ROWS_WHEN_NOT_MEASURED = 500


def row_count(benchmark: Any) -> int:
    """All of them when time is measured, a few when the run only shows that it works."""
    return ROWS if benchmark.enabled else ROWS_WHEN_NOT_MEASURED


def test_bench_history_of_100000_rows(benchmark: Any, tmp_path: Path) -> None:
    """A history nobody has, read and checked whole."""
    folder = good_folder(tmp_path / "trip")
    first = date(2000, 1, 1)
    rows = (f"{first + timedelta(days=n // 12)},wagon,{n + 1},,,reading,,," for n in range(row_count(benchmark)))
    head = (folder / "history.csv").read_text(encoding="utf-8").splitlines()[0]
    (folder / "history.csv").write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    benchmark.pedantic(load, args=(folder, TODAY), rounds=1)


def test_bench_import_of_100000_rows(benchmark: Any, tmp_path: Path) -> None:
    """Somebody's spreadsheet of a hundred thousand lines."""
    folder = good_folder(tmp_path / "trip")
    table = tmp_path / "old.csv"
    lines = (
        f"{date(2000, 1, 1) + timedelta(days=n // 30)},{n + 1} km,engine oil and filter changed"
        for n in range(row_count(benchmark))
    )
    table.write_text("\n".join(["Date,Odometer,Work", *lines]) + "\n", encoding="utf-8")
    benchmark.pedantic(import_file, args=(table, folder, None, True, True, TODAY), rounds=1)
