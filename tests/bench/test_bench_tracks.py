"""How fast a season's track is read, and that hostile files cost nothing.

Speed is measured and shown (`--benchmark-enable`), never asserted; the goal is 300 000 points
in less than 2 s on a machine that is not busy with something else.
"""

import subprocess
import sys
import tracemalloc
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from tests.track_texts import GPX_HEAD, KML_HEAD, eastward, gpx, timed
from tripplan.files.tracks.any_track import read_track
from tripplan.trip.route.measured_way import STRAIGHT, measure

POINTS = 300_000
FEW = 3_000
MOST_BYTES_A_POINT = 700
# The high water mark of the process's own memory, as /proc has it on Linux.
READS = """
import re, sys
from pathlib import Path
import lxml.etree, tripplan.files.tracks.any_track as tracks
def most_kb():
    return re.search(r"VmHWM:\\s+(\\d+)", Path("/proc/self/status").read_text()).group(1)
before = most_kb()
track, _ = tracks.read_track(Path(sys.argv[1]))
print(before, most_kb())
"""
SWELLING = "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 12))
HOSTILE = {
    "entities in entities": f'<!DOCTYPE gpx [<!ENTITY a0 "aaaa">{SWELLING}]><gpx><trk><name>&a11;</name></trk></gpx>',
    "one long entity often": f'<!DOCTYPE gpx [<!ENTITY a "{"a" * 50_000}">]><gpx><name>{"&a;" * 50_000}</name></gpx>',
    "another file": '<!DOCTYPE gpx [<!ENTITY a SYSTEM "file:///etc/hostname">]><gpx><name>&a;</name></gpx>',
    "another machine": '<!DOCTYPE gpx SYSTEM "http://127.0.0.1:9/a.dtd"><gpx/>',
    "deep nesting": GPX_HEAD + "<trk>" * 300_000,
    "a text without end": f"{GPX_HEAD}<trk><name>{'a' * 12_000_000}</name></trk></gpx>",
}  # fmt: skip


def season(folder: Path, points: int) -> Path:
    """A file of so many points, one a second."""
    rows = timed(eastward(points, lon=100.0, step_deg=1e-4), datetime(2026, 7, 3, tzinfo=UTC), 1)
    path = folder / "season.gpx"
    path.write_text(gpx(rows), encoding="utf-8")
    return path


def is_timed(request: pytest.FixtureRequest) -> bool:
    """True when the run was asked to take times."""
    return bool(request.config.getoption("benchmark_enable"))


@pytest.fixture(scope="module")
def few(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small file, so that the ordinary test run is short."""
    return season(tmp_path_factory.mktemp("few"), FEW)


def memory_mb(path: Path) -> dict[str, float]:
    """The most memory a process of its own takes to read the file, parser included, over what it has at its start."""
    if not Path("/proc/self/status").exists():
        return {}
    found = subprocess.run([sys.executable, "-c", READS, str(path)], capture_output=True, text=True, check=True)
    before_kb, after_kb = map(int, found.stdout.split())
    return {"memory_mb": round((after_kb - before_kb) / 1024, 1), "memory_at_start_mb": round(before_kb / 1024, 1)}


def test_reading(benchmark: Any, few: Path, request: pytest.FixtureRequest, tmp_path: Path) -> None:
    """A slow reader would make `check` something to wait for on every run."""
    path = season(tmp_path, POINTS) if is_timed(request) else few
    benchmark.extra_info |= memory_mb(path)
    track, problems = benchmark(read_track, path)
    assert track is not None and problems == ()


def test_reading_a_timed_line_of_the_other_form(
    benchmark: Callable[..., Any], request: pytest.FixtureRequest, tmp_path: Path
) -> None:
    """A season in one element must not take the square of its points to be dropped."""
    rows = timed(eastward(POINTS if is_timed(request) else FEW, step_deg=1e-4), datetime(2026, 7, 3, tzinfo=UTC), 1)
    body = "".join(f"<when>{row[3]}</when>" for row in rows)
    body += "".join(f"<gx:coord>{row[1]} {row[0]} {row[2]}</gx:coord>" for row in rows)
    path = tmp_path / "season.kml"
    path.write_text(f"{KML_HEAD}<Placemark><gx:Track>{body}</gx:Track></Placemark></Document></kml>", encoding="utf-8")
    track, problems = benchmark(read_track, path)
    assert track is not None and track.points == len(rows) and problems == ()


def test_measuring(benchmark: Callable[..., Any], few: Path, request: pytest.FixtureRequest, tmp_path: Path) -> None:
    """A slow measure would do the same."""
    track, _ = read_track(season(tmp_path, POINTS) if is_timed(request) else few)
    assert benchmark(measure, track, STRAIGHT).length_km > 0


def test_memory_grows_with_the_points_and_no_more(few: Path) -> None:
    """A reader that holds the whole document would need a gigabyte for a season."""
    read_track(few)
    tracemalloc.start()
    track, _ = read_track(few)
    peak_bytes = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert track is not None and peak_bytes / FEW < MOST_BYTES_A_POINT


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_files_are_refused(tmp_path: Path, name: str) -> None:
    """A file from a stranger could fill the memory, read other files or call another machine."""
    path = tmp_path / "hostile.gpx"
    path.write_text(HOSTILE[name], encoding="utf-8")
    tracemalloc.start()
    track, (problem,) = read_track(path)
    peak_bytes = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert track is None
    assert problem.code in ("X02", "X03")
    assert peak_bytes < 5_000_000
