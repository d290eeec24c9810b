"""The hands: one way each to write a record into a folder or a logbook, and what shows that the record is there.

A hand gets a store and a mark of its own, and gives True when it was acknowledged: the command
ended with status 0 or 1, or the page answered that it is saved.
"""

import atexit
import csv
import json
import shutil
import tempfile
import tomllib
import zlib
from collections.abc import Callable
from datetime import date, datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Any

from icalendar import Calendar

from tests.logbooks import line_of
from tests.support import HISTORY, TRIP, good_folder, leave_out_most, not_planned
from tests.track_texts import eastward, gpx, timed
from tripplan.commands import log_and_cross, route
from tripplan.commands.field_records import take_records
from tripplan.commands.grease import weigh_gun
from tripplan.commands.import_table import import_file
from tripplan.commands.leave_out import leave_out
from tripplan.commands.plan import plan
from tripplan.commands.sources import in_folder
from tripplan.files.field_records.text import FIRST
from tripplan.files.field_records.trip_key import trip_key
from tripplan.files.folder import Inputs, load
from tripplan.files.left_out import LEFT_OUT_FILE
from tripplan.files.logbook import book
from tripplan.records.problems import STOPS
from tripplan.sheets.outputs import OUTPUT_FILES

Hand = Callable[[Path, int], bool]
Seen = Callable[[Path, Inputs, int], bool]
TODAY = date(2026, 7, 7)  # two legs are driven
DAY = TODAY.isoformat()
DONE = (0, 1)
MARKS = 700
OUT, LAID = "out", "laid"
OLD_LOOKS = 24
EASY_ROAD = {
    "surface": "sealed", "corrugation": "none", "dust": "none", "heat_c": "30", "load": "normal", "towing": "no",
    "hubs": "free", "low_range_km": "0", "remote": "no",
}  # fmt: skip


def log(store: Path, mark: int) -> bool:
    """A look at the winch, written down with a note of its own."""
    told = ("wagon", ("winch",), "look", "2026-06-18")
    return in_folder(store, True, lambda trip: log_and_cross.log(
        trip, *told, note=f"n{mark}", today=DAY, as_json=True), keep=True) in DONE  # fmt: skip


def cross(store: Path, mark: int) -> bool:
    """A crossing made on leg 2, at a place of its own."""
    at = f"2026-07-06 {mark // 60 % 24:02d}:{mark % 60:02d}"
    return in_folder(store, True, lambda trip: log_and_cross.cross(
        trip, 2, 0.4, 2, "fresh", at, at_km=200 + mark % 200, as_json=True), keep=True) in DONE  # fmt: skip


def sent(store: Path, mark: int) -> bool:
    """Two records of a phone in one text: a look and a crossing, in two tables.

    The crossing stands where no other hand's does: near one of the same half hour it would be taken as that one.
    """
    at, text = f"2026-07-06T{mark // 60 % 24:02d}:{mark % 60:02d}", store.with_name(f"sent-{mark}.txt")
    both = (
        {"id": f"hand-{mark:06d}a", "kind": "work", "at": f"{at}:00+09:30", "unit": "wagon", "item": "winch", "act": "look",
         "note": f"n{mark}"},
        {"id": f"hand-{mark:06d}b", "kind": "crossing", "at": f"{at}:01+09:30", "when": at, "leg": 2,
         "at_km": 2 + 13 * mark % 115 + mark // 115 % 20 / 20, "depth_m": 0.4, "minutes": 2, "water": "fresh"},
    )  # fmt: skip
    head = {
        "rig": "Wagon and camper",
        "trip": tomllib.loads(TRIP)["name"],
        "depart": str(tomllib.loads(TRIP)["depart"]),
    }
    lines = "\n".join([f"{FIRST}1", line_of({"key": trip_key(*head.values()), **head}), *map(line_of, both)])
    text.write_text(f"{lines}\nend 2 {zlib.crc32(lines.encode()):08x}\n", encoding="ascii")
    return in_folder(store, True, lambda trip: take_records(trip, text, None, DAY, True), keep=True) in DONE


def both_there(store: Path, inputs: Inputs, mark: int) -> bool:
    """The look and the crossing of a phone's text are there."""
    return noted(store, inputs, mark) and crossed(store, inputs, mark)


def undo(store: Path, mark: int) -> bool:
    """A row of the history struck out, with a reason of its own."""
    return in_folder(store, True, lambda trip: log_and_cross.log(
        trip, None, (), None, None, undo=str(_old_look(mark)), because=f"n{mark}", today=DAY, as_json=True,
    ), keep=True) in DONE  # fmt: skip


def table(store: Path, mark: int) -> bool:
    """An old table of one row, imported."""
    old = store.with_name(f"old-{mark}.csv")
    day = date(2022, 1, 1) + timedelta(days=mark)  # a row of a day and item already there is no new one
    old.write_text(f"Date,Unit,Work,Notes\n{day},wagon,winch looked at,n{mark}\n", encoding="utf-8")
    return import_file(old, store, None, True, True, TODAY) in DONE


def page_row(store: Path, mark: int) -> bool:
    """A row of the history, saved in the page."""
    new = {"date": "2026-06-17", "unit": "wagon", "act": "look", "item": "winch", "note": f"n{mark}"}
    return _page(store, "/history", {f"history.new1.{column}": text for column, text in new.items()})


def page_leg(store: Path, mark: int) -> bool:
    """A note at a leg, saved in the page; the second hand's is another leg, so that neither may go."""
    return _page(store, "/trip", {f"legs.{2 if mark < MARKS else 3}.note": f"n{mark}"})


def page_water(store: Path, mark: int) -> bool:
    """A crossing made, told to the page."""
    told = {"leg": "2", "depth": "0.4", "minutes": "2", "water": "fresh", "day": "2026-07-06",
            "time": f"{mark // 60 % 24:02d}:{mark % 60:02d}", "at_km": str(200 + mark % 200)}  # fmt: skip
    return _page(store, "/water", told)


def taken_in(store: Path, mark: int) -> bool:
    """A folder with one more row, taken into the logbook."""
    folder = store.with_name(f"own-{mark}")
    good_folder(folder)
    with (folder / "history.csv").open("a", encoding="utf-8") as file:
        file.write(f"2026-06-16,wagon,,winch,,look,,,n{mark}\n")
    book.take_in(store, folder, TODAY)
    return True


def track_added(store: Path, mark: int) -> bool:
    """A track of one day, put into the folder with its rows of `legs.csv`."""
    track = store.with_name(f"day-{mark}.gpx")
    begun = datetime(2026, 7, 13) + timedelta(minutes=mark)
    track.write_text(gpx(timed(eastward(40, lat=-23 - mark / 1000), begun, 10)), encoding="utf-8")
    return route.add(store, track, "overnight", None, True, True) in DONE


def planned(store: Path, mark: int) -> bool:
    """All outputs written anew, into one place that every hand of this kind writes to."""
    return in_folder(store, True, lambda trip: plan(trip, store.parent / OUT, DAY, True), alone=True) in DONE


def struck_out(store: Path, mark: int) -> bool:
    """An entry of the logbook struck out by its number."""
    book.correct(store, _old_look(mark) - 1, None, f"n{mark}")
    return True


def written_out(store: Path, _: int) -> bool:
    """The logbook written out into one place that every hand of this kind writes to."""
    return bool(book.write_out(store, store.parent / LAID))


def left(store: Path, mark: int) -> bool:
    """An item left out of every plan, with a reason of its own; the second hand's is another item."""
    return in_folder(
        store, True, lambda trip: leave_out(trip, _left_item(mark), "never", f"n{mark}", None, False, DAY, True), keep=True,
    ) in DONE  # fmt: skip


def weighed(store: Path, mark: int) -> bool:
    """A grease gun weighed."""
    return weigh_gun(store, f"10={_weight_g(mark):g}g", DAY, True) in DONE


def page_rig(store: Path, mark: int) -> bool:
    """Another name of the rig, saved in the page."""
    return _page(store, "/rig", {"rig.name": f"n{mark}"})


def page_left(store: Path, mark: int) -> bool:
    """An item left out, in the page."""
    return _page(store, f"/item/{_left_item(mark)}/leave-out", {"as": "never", "because": f"n{mark}"}, form="")


def page_back(store: Path, mark: int) -> bool:
    """A note at a leg, saved in the page and taken back there."""
    return _page(store, "/trip", {"legs.1.note": f"n{mark}"}, back=True)


def _old_look(mark: int) -> int:
    """The row of one of the old looks at the winch."""
    return len(HISTORY.splitlines()) + 1 + mark % OLD_LOOKS


def _left_item(mark: int) -> str:
    """An item for this mark; never the same for the two hands of a race."""
    items = not_planned()[mark < MARKS :: 2]
    return items[mark % len(items)]


def _weight_g(mark: int) -> float:
    return 5 + mark / 100  # a stroke then has at most four figures, which are written


def _page(store: Path, path: str, fields: dict[str, str], form: str | None = None, back: bool = False) -> bool:
    """Send a form of the page as a browser does that has just opened it; with `back`, and then take it back."""
    from fastapi.testclient import TestClient

    from tests.web.conftest import ADDRESS, Visitor
    from tripplan.web.app import create_app
    from tripplan.web.saves.logbook_folder import Bound

    bound = Bound(store) if store.is_file() else None
    visitor = Visitor.__new__(Visitor)
    visitor.folder = bound.folder if bound else store
    app = create_app(visitor.folder, TODAY, bound=bound)
    app.state.desk._solver.ask = lambda *_: None  # the quick plan will do
    visitor.client = TestClient(app, base_url=ADDRESS)
    whole: dict[str, str] = {}
    if path == "/water":
        shown = visitor.get(path).text
        if 'name="version"' not in shown:
            return False  # the trip cannot be planned as it stands, and the page says so
        whole = {"version": shown.split('name="version" value="')[1].split('"')[0]}
    elif form is None:
        whole = visitor.form(path)
    answer = visitor.post(path, whole | fields | {"do": "save"})
    if back and _is_saved(answer):
        answer = visitor.post("/undo", {"number": answer.url.params["said"], "back": "/trip"})
    return _is_saved(answer)


def _is_saved(answer: Any) -> bool:
    return answer.status_code == 200 and "said=" in str(answer.url)


def noted(_: Path, inputs: Inputs, mark: int) -> bool:
    """The row with that note is there."""
    return any(f"n{mark}" in (row.note or "").split("; ") for row in (*inputs.history, *inputs.undone))


def crossed(_: Path, inputs: Inputs, mark: int) -> bool:
    """The crossing of that minute is there."""
    return any(str(row.crossed).endswith(f"{mark // 60 % 24:02d}:{mark % 60:02d}:00") for row in inputs.trip.crossings)


def struck(_: Path, inputs: Inputs, mark: int) -> bool:
    """A row is struck out for that reason."""
    return any((row.undone or "").endswith(f"n{mark}") for row in inputs.undone)


def leg_noted(_: Path, inputs: Inputs, mark: int) -> bool:
    """The leg has that note."""
    return any(row.note == f"n{mark}" for row in inputs.trip.legs)


def left_out(_: Path, inputs: Inputs, mark: int) -> bool:
    """The item is left out for that reason."""
    table = inputs.override_tables.get(LEFT_OUT_FILE)
    rows = table.rows if table else ()
    return any(row["item"] == _left_item(mark) and row["reason"] == f"n{mark}" for _, row in rows)


def gun_weighed(_: Path, inputs: Inputs, mark: int) -> bool:
    """The gun gives what was weighed, to the four figures that are written."""
    return inputs.kit.gun is not None and f"{inputs.kit.gun.g_per_stroke:g}" == f"{_weight_g(mark) / 10:.4g}"


def rig_named(_: Path, inputs: Inputs, mark: int) -> bool:
    """The rig has that name."""
    return inputs.rig.name == f"n{mark}"


def not_noted(store: Path, inputs: Inputs, mark: int) -> bool:
    """No leg has that note any more."""
    return not leg_noted(store, inputs, mark)


def is_laid_out(store: Path, _: Inputs, __: int) -> bool:
    """What was written out can be read as a trip."""
    found, _, problems = load(store.parent / LAID, TODAY)
    return found is not None and not any(problem.weight == STOPS for problem in problems)


def has_track(store: Path, _: Inputs, mark: int) -> bool:
    """The track lies in the folder, whole, and the legs name it."""
    name = f"day-{mark}.gpx"
    kept = store / "tracks" / name
    rows = (store / "legs.csv").read_text(encoding="utf-8").count(name)
    return rows == 1 and kept.is_file() and kept.read_bytes() == store.with_name(name).read_bytes()


def has_outputs(store: Path, _: Inputs, mark: int) -> bool:
    """Every output is there and whole."""
    out = store.parent / OUT
    if not all((out / name).is_file() for name in OUTPUT_FILES):
        return False
    json.loads((out / "plan.json").read_text(encoding="utf-8"))
    Calendar.from_ical((out / "calendar.ics").read_bytes())
    return all((out / name).stat().st_size for name in OUTPUT_FILES)


BOTH: dict[str, tuple[Hand, Seen]] = {
    "log": (log, noted), "cross": (cross, crossed), "undo": (undo, struck), "import": (table, noted),
    "page row": (page_row, noted), "page leg": (page_leg, leg_noted), "page water": (page_water, crossed),
    "plan": (planned, has_outputs), "log from": (sent, both_there), "leave out": (left, left_out),
    "page rig": (page_rig, rig_named), "page left out": (page_left, left_out), "page back": (page_back, not_noted),
}  # fmt: skip
WAYS: dict[str, dict[str, tuple[Hand, Seen]]] = {
    "folder": BOTH | {"route add": (track_added, has_track), "weighed": (weighed, gun_weighed)},
    "logbook": BOTH | {
        "take in": (taken_in, noted), "strike out": (struck_out, struck), "write out": (written_out, is_laid_out),
    },
}  # fmt: skip
# Where one value stands, a later hand's takes its place: of two at once one is there, and of an earlier one nothing is asked.
ONE_VALUE = ("weighed", "page rig")
# Hands that change the same file, of whom one could write over the other.
RIVALS: tuple[tuple[str, ...], ...] = (
    ("log", "undo", "import", "page row", "log from", "take in", "strike out"), ("cross", "page water", "log from"),
    ("page leg", "page back", "route add"), ("leave out", "page left out"), ("page rig",), ("weighed",), ("plan",),
)  # fmt: skip
REPLACED = ("page leg", "leave out", "page left out", "plan", "write out", *ONE_VALUE)


@cache
def _made(kind: str) -> Path:
    """A store as it is at first, in a folder of its own, to be copied."""
    place = Path(tempfile.mkdtemp(prefix="hands-"))
    atexit.register(shutil.rmtree, place, ignore_errors=True)
    folder = good_folder(place / "trip")
    with (folder / "history.csv").open("a", encoding="utf-8") as file:
        file.writelines(f"2021-03-{day + 1:02d},wagon,,winch,,look,,,old\n" for day in range(OLD_LOOKS))
    leave_out_most(folder)
    if kind == "logbook":
        book.take_in(place / "rig.logbook", folder, TODAY)
    return place


def fresh(place: Path, kind: str) -> Path:
    """A store of its own: the sample trip with few items in the plan, and many looks in the history."""
    shutil.copytree(_made(kind), place)
    return place / ("trip" if kind == "folder" else "rig.logbook")


def fill_in(legs: Path) -> None:
    """What no track tells, filled in as the owner would do it between two hands."""
    with legs.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    if all(row["surface"] for row in rows):
        return
    for number, row in enumerate(rows):
        row.update({name: text for name, text in EASY_ROAD.items() if not row[name]})
        if row.get("track"):  # one behind the other
            row["depart"] = f"{datetime(2026, 7, 13) + timedelta(hours=number):%Y-%m-%d %H:%M}"
    with legs.open("w", encoding="utf-8", newline="") as file:
        table = csv.DictWriter(file, rows[0])
        table.writeheader()
        table.writerows(rows)
