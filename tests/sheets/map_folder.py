"""A good trip folder with a track for one leg and two ends for the others. Invented."""

from functools import lru_cache
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.support import FILES, TODAY, good_folder
from tests.track_texts import gpx
from tripplan.files.folder import load
from tripplan.planner import make_plan
from tripplan.records.plan import Plan
from tripplan.sheets.route_places import Places, read_places

# leg: its ends. The middle leg has a track of about 410 km instead.
ENDS = {1: (-20.0, 129.0, -20.5, 133.2), 2: (-20.5, 133.2, -23.7, 134.6), 3: (-23.7, 134.6, -20.0, 129.0)}
# something that runs out on the way whatever the road does: three months are over on 13 July
NUTS = "2026-04-13,wagon,186500,wheel_nuts,,torque,as new,,\n"
TRACK = [(-20.5 - 3.2 * n / 200, 133.2 + 1.4 * n / 200 + 0.25 * (n % 20 - 10 if n % 40 < 20 else 10 - n % 20) / 20)
         for n in range(201)]  # fmt: skip


def map_folder(folder: Path, shift_deg: float = 0.0) -> Path:
    """The good folder on the map; `shift_deg` moves all of it east."""
    good_folder(folder)
    with (folder / "history.csv").open("a", encoding="utf-8") as file:
        file.write(NUTS)
    head, *rows = FILES["legs.csv"].splitlines()
    lines = [f"{head},track,from_lat,from_lon,to_lat,to_lon"]
    for number, row in enumerate(rows, 1):
        lat1, lon1, lat2, lon2 = ENDS[number]
        ends = f"{lat1},{_turned(lon1 + shift_deg):.3f},{lat2},{_turned(lon2 + shift_deg):.3f}"
        lines.append(f"{row},{'way.gpx' if number == 2 else ''},{ends}")
    (folder / "legs.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    (folder / "tracks").mkdir()
    moved = [(round(lat, 5), round(_turned(lon + shift_deg), 5)) for lat, lon in TRACK]
    (folder / "tracks" / "way.gpx").write_text(gpx(moved), encoding="utf-8")
    return folder


def _turned(lon: float) -> float:
    return (lon + 180) % 360 - 180


@lru_cache(maxsize=1)
def plan_on_map() -> Plan:
    """The plan of the folder, made once: where it lies on the map changes nothing in it."""
    with TemporaryDirectory() as folder:
        inputs, catalogue, problems = load(map_folder(Path(folder)), TODAY)
        assert inputs is not None
        return make_plan(inputs.rig, inputs.history, inputs.trip, catalogue, TODAY, problems)


def places_in(folder: Path) -> Places:
    """The places of that plan, on the map of this folder."""
    inputs, catalogue, _ = load(folder, TODAY)
    assert inputs is not None
    return read_places(folder, inputs.trip, plan_on_map(), catalogue)
