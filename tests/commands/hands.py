"""Hands that write to one store at the same moment, and hands that are cut off while they write.

Each hand is one way to write a record, run in a process of its own as the command line or the
page runs it. It counts as acknowledged when the command ends with status 0 or 1, or the page
answers that it is saved, and from then on the record must be there, whatever happens beside
it. By hand, for as long as wished:

    python -m tests.commands.hands races 500
    python -m tests.commands.hands kills 2000 1800    (for 1800 s at most)
"""

import csv
import json
import os
import random
import select
import shutil
import signal
import sys
import tempfile
import time
import tomllib
import zlib
from collections import Counter
from collections.abc import Callable
from contextlib import redirect_stderr, redirect_stdout
from datetime import date, datetime, timedelta
from io import StringIO
from itertools import takewhile
from pathlib import Path

from icalendar import Calendar

from tests.logbooks import line_of, load_any
from tests.support import TRIP, good_folder
from tests.track_texts import eastward, gpx, timed
from tripplan.commands import log_and_cross, route
from tripplan.commands.field_records import take_records
from tripplan.commands.import_table import import_file
from tripplan.commands.plan import plan
from tripplan.commands.sources import in_folder
from tripplan.files.field_records.text import FIRST, trip_key
from tripplan.files.folder import Inputs
from tripplan.files.logbook.book import history_entries, take_in
from tripplan.files.whole_files import PART
from tripplan.sheets.outputs import OUTPUT_FILES

Hand = Callable[[Path, int], bool]
Seen = Callable[[Path, Inputs, int], bool]
TODAY = date(2026, 7, 7)  # two legs are driven
DAY = TODAY.isoformat()
DONE = (0, 1)
MARKS = 700
OUT = "out"
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
    """Two records of a phone in one text: a look and a crossing, in two tables."""
    at, text = f"2026-07-06T{mark // 60 % 24:02d}:{mark % 60:02d}", store.with_name(f"sent-{mark}.txt")
    both = (
        {"id": f"hand-{mark:06d}a", "kind": "work", "at": f"{at}:00+09:30", "unit": "wagon", "item": "winch", "act": "look",
         "note": f"n{mark}"},
        {"id": f"hand-{mark:06d}b", "kind": "crossing", "at": f"{at}:01+09:30", "when": at, "leg": 2,
         "at_km": 200 + 7 * mark % 200, "depth_m": 0.4, "minutes": 2, "water": "fresh"},
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
        trip, None, (), None, None, undo=str(2 + mark % 4), because=f"n{mark}", today=DAY, as_json=True,
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
    take_in(store, folder, TODAY)
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


def _page(store: Path, path: str, fields: dict[str, str]) -> bool:
    """Send a form of the page as a browser does that has just opened it."""
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
    shown = visitor.get(path).text
    if path == "/water" and 'name="version"' not in shown:
        return False  # the trip cannot be planned as it stands, and the page says so
    whole = (
        visitor.form(path) if path != "/water" else {"version": shown.split('name="version" value="')[1].split('"')[0]}
    )
    answer = visitor.post(path, whole | fields | {"do": "save"})
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


def has_track(store: Path, _: Inputs, mark: int) -> bool:
    """The track lies in the folder, whole, and the legs name it."""
    name = f"day-{mark}.gpx"
    kept = store / "tracks" / name
    rows = (store / "legs.csv").read_text(encoding="utf-8").count(name)
    return rows == 1 and kept.is_file() and kept.read_bytes() == store.with_name(name).read_bytes()


def has_outputs(store: Path, _: Inputs, mark: int) -> bool:
    """Every output is there and whole."""
    out = store.parent / OUT
    json.loads((out / "plan.json").read_text(encoding="utf-8"))
    Calendar.from_ical((out / "calendar.ics").read_bytes())
    return all((out / name).stat().st_size for name in OUTPUT_FILES)


BOTH: dict[str, tuple[Hand, Seen]] = {
    "log": (log, noted), "cross": (cross, crossed), "undo": (undo, struck), "import": (table, noted),
    "page row": (page_row, noted), "page leg": (page_leg, leg_noted), "page water": (page_water, crossed),
    "plan": (planned, has_outputs), "log from": (sent, both_there),
}  # fmt: skip
WAYS: dict[str, dict[str, tuple[Hand, Seen]]] = {
    "folder": BOTH | {"route add": (track_added, has_track)}, "logbook": BOTH | {"take in": (taken_in, noted)},
}  # fmt: skip


def fresh(place: Path, kind: str) -> Path:
    """A store of its own with the sample trip in it."""
    place.mkdir(parents=True)
    folder = good_folder(place / "trip")
    if kind == "folder":
        return folder
    take_in(place / "rig.logbook", folder, TODAY)
    return place / "rig.logbook"


def started(hand: Hand, store: Path, mark: int, gate: int) -> tuple[int, int]:
    """A process that waits for the gate and then writes; its number, and where it acknowledges."""
    told, tells = os.pipe()
    child = os.fork()
    if child:
        os.close(tells)
        return child, told
    status = 1
    try:
        with Path(os.devnull).open("w") as nowhere, redirect_stdout(nowhere), redirect_stderr(nowhere):
            select.select([gate], [], [])
            if hand(store, mark):
                os.write(tells, b"kept")
            status = 0
    except BaseException as error:
        os.write(tells, f"!{type(error).__name__}: {error}"[:400].encode())
    finally:
        os._exit(status)


def ended(child: int, told: int) -> str:
    """What the process acknowledged before its end."""
    said = b""
    while part := os.read(told, 4096):
        said += part
    os.close(told)
    os.waitpid(child, 0)
    return said.decode()


def state(store: Path) -> Inputs:
    """The store as it is read afterwards; it must be whole."""
    if store.is_dir():
        _fill_in(store / "legs.csv")
    inputs, _, problems = load_any(store, TODAY)
    assert inputs is not None, problems
    if store.is_file():
        assert not any(found.code in ("J01", "J10") for found in problems), problems
        history_entries(store)
    return inputs


def _fill_in(legs: Path) -> None:
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


def races(count: int, seed: int, most_s: float = 7200.0) -> dict[str, object]:
    """So many pairs of hands let go at the same moment; what was acknowledged and is not there."""
    end = time.monotonic() + most_s
    chance, lost, failed = random.Random(seed), [], []
    done: Counter[str] = Counter()
    pairs = [(kind, one, two) for kind, ways in WAYS.items() for one in ways for two in ways]
    for number in takewhile(lambda _: time.monotonic() < end, range(count)):
        kind, one, two = pairs[number % len(pairs)] if count >= len(pairs) else chance.choice(pairs)
        with tempfile.TemporaryDirectory(prefix="hands-") as place:
            store = fresh(Path(place) / "at", kind)
            gate, opens = os.pipe()
            marks = (chance.randrange(MARKS), MARKS + chance.randrange(MARKS))
            hands = [
                started(WAYS[kind][name][0], store, mark, gate) for name, mark in zip((one, two), marks, strict=True)
            ]
            time.sleep(0.02)
            os.write(opens, b"go")
            answers = [ended(*hand) for hand in hands]
            os.close(gate)
            os.close(opens)
            inputs = state(store)
            for name, mark, answer in zip((one, two), marks, answers, strict=True):
                done[f"{kind} acknowledged" if answer == "kept" else f"{kind} refused"] += 1
                if answer.startswith("!") and not answer.startswith("!BadInput"):
                    failed.append(f"{kind}: {name} beside {(one, two)}: {answer}")
                if answer == "kept" and not WAYS[kind][name][1](store, inputs, mark):
                    lost.append(f"{kind}: {name} of {(one, two)}")
    return {"races": number + 1, "lost": lost, "failed": failed, **done}


def kills(count: int, seed: int, most_s: float = 7200.0) -> dict[str, object]:
    """So many hands killed at a moment of their work; what was acknowledged and is not there, and what stayed behind."""
    end = time.monotonic() + most_s
    chance, lost, left = random.Random(seed), [], []
    done: Counter[str] = Counter()
    ways = [(kind, name) for kind, own in WAYS.items() for name in own]
    usual: dict[tuple[str, str], float] = {}
    place = Path(tempfile.mkdtemp(prefix="hands-"))
    for number in takewhile(lambda _: time.monotonic() < end, range(count)):
        kind, name = way = ways[number % len(ways)]
        hand, seen = WAYS[kind][name]
        if not number % (8 * len(ways)):
            shutil.rmtree(place)
            stores = {each: fresh(place / each, each) for each in WAYS}
            told_of: dict[str, list[tuple[str, int]]] = {each: [] for each in WAYS}
        store, mark, gate = stores[kind], number % 1400, os.open(os.devnull, os.O_RDONLY)
        begun = time.monotonic()
        child, told = started(hand, store, mark, gate)
        is_killed = way in usual
        if is_killed:
            time.sleep(chance.uniform(0.3, 1.05) * usual[way])
            os.kill(child, signal.SIGKILL)
        answer = ended(child, told)
        if not is_killed:
            usual[way] = time.monotonic() - begun
        os.close(gate)
        done["killed" if is_killed and answer != "kept" else "ended first"] += 1
        if answer == "kept" and name not in ("page leg", "undo"):
            told_of[kind].append((name, mark))
            done["acknowledged"] += 1
        inputs = state(store)
        if answer == "kept" and not seen(store, inputs, mark):
            lost.append(f"{kind}: {name}")
        lost += [f"{kind}: {old}, later" for old, mark in told_of[kind] if not WAYS[kind][old][1](store, inputs, mark)]
    for store in stores.values():
        with redirect_stdout(StringIO()):
            assert log(store, 1399) and table(store, 1399)  # the next start sweeps what the kills left behind
        halves = (path for path in store.parent.rglob("*") if PART.fullmatch(path.name))
        left += [path.name for path in halves if not path.parent.name.startswith("own-")]  # nobody starts there again
    shutil.rmtree(place)
    return {"hands": number + 1, "lost": lost, "left behind": left, **done}


if __name__ == "__main__":
    what, number = sys.argv[1], int(sys.argv[2])
    most_s = float(sys.argv[3]) if len(sys.argv) > 3 else 7200.0
    print(json.dumps({"races": races, "kills": kills}[what](number, 20260620, most_s)))
