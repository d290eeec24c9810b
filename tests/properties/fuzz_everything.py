"""A fuzzer over all that comes in: the folder's tables, TOML, calendar, tracks and workbook, the logbook, plan.json, forms.

Each case is made from its number alone: a sample trip, a few changes that know the form of the
file they change, and one command or one form of the page. It fails when a command ends in
another way than status 0, 1 or 2, when the page answers with our fault, or when it takes too
long. By hand, from any number on, for as long as wished:

    python -m tests.properties.fuzz_everything 3600 [FIRST]
"""

import atexit
import csv
import io
import json
import random
import re
import shutil
import sqlite3
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable, Sequence
from contextlib import redirect_stderr, redirect_stdout
from datetime import date, datetime
from functools import cache
from pathlib import Path
from typing import Any

from tests.support import good_folder, leave_out_most
from tests.track_texts import eastward, gpx, timed
from tripplan.files import plan_folder
from tripplan.files.logbook import book
from tripplan.files.logbook.chain import chain_mark, own_mark
from tripplan.placing.greedy import place_greedily

TODAY = date(2026, 6, 20)
SLOWEST_S, MOST_KB = 10.0, 1_000_000
WHOLE_RIG_SHARE = 0.15  # the others leave most items out, for many cases in an hour
ODD = (
    "", " ", "0", "-1", "1e309", "nan", "inf", "-0", "1e-300", "9" * 400, "0x10", "1_000", "1,5", "\u0663", "1" * 39,
    "9999-12-31", "0001-01-01", "2026-02-30", "2026-07-03 24:00", "2026-07-03T07:00:00+25:00", "24:60", "yes", "no", "maybe",
    "=1+1", "@x", "'", '"', "\\", "../../etc", "a/b", "\0", "\x1b[31m", "\u202e", "\u2028", "\ud800", "\U0001f400", "x" * 3000,
    "wagon", "camper", "winch", "front_wheel_bearings", "left", "both", "repack", "look", "reading", "service", "worn", "water",
    "km", "1", "2", "3", "140", "0.5", "1000000", "-23.7", "180.1", "muddy", "salt", "workshop", "camp", "locked", "free",
    "Australia/Darwin", "Mars/Base", "UTC", "fitted=winch", "wings=two", "drive=|", "<b>", "&x;", "%s", "{0}", "[]", "{}", "null",
    "rows", "day.gpx", "day.geojson", "day.kml", ".", "..", "con", "a" * 300, "\r", "\n", "a\nb", "a,b", "a;b", "\t", "\ufeff",
)  # fmt: skip
ICS = """BEGIN:VCALENDAR\r\nVERSION:2.0\r\nBEGIN:VTIMEZONE\r\nTZID:Own\r\nBEGIN:STANDARD\r\nDTSTART:19700101T000000\r
TZOFFSETFROM:+0930\r\nTZOFFSETTO:+0930\r\nEND:STANDARD\r\nEND:VTIMEZONE\r\nBEGIN:VEVENT\r\nUID:a\r\nSUMMARY:away\r
DTSTART;TZID=Own:20260625T090000\r\nDTEND;TZID=Own:20260625T170000\r\nRRULE:FREQ=WEEKLY;BYDAY=TU,TH;COUNT=9\r
EXDATE;TZID=Own:20260630T090000\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nUID:a\r\nRECURRENCE-ID;TZID=Own:20260702T090000\r
DTSTART;TZID=Own:20260702T100000\r\nDURATION:PT3H\r\nEND:VEVENT\r\nBEGIN:VFREEBUSY\r\nFREEBUSY:20260626T000000Z/P1D\r
END:VFREEBUSY\r\nEND:VCALENDAR\r\n"""
ICS_VALUES = (
    "99991231T235959Z", "00010101", "20260230", "P9999999D", "-P1D", "PT", "FREQ=SECONDLY", "FREQ=YEARLY;BYMONTH=13",
    "FREQ=DAILY;INTERVAL=0", "FREQ=DAILY;UNTIL=99991231T000000Z", "FREQ=MONTHLY;BYDAY=53MO;BYSETPOS=-400", "+9999", "TRANSPARENT",
    "FREQ=DAILY;COUNT=999999999", "20260626T000000Z/19000101T000000Z", "DATE-TIME", "VEVENT", "VTIMEZONE",
)  # fmt: skip
KML = """<kml xmlns="http://www.opengis.net/kml/2.2"><Placemark><name>a</name><LineString><coordinates>133,-23,5 133.5,-23.2,6
134,-23.4</coordinates></LineString></Placemark></kml>"""
GEOJSON = {
    "type": "FeatureCollection",
    "features": [
        {"type": "Feature", "properties": {"name": "a"}, "geometry": {"type": "Point", "coordinates": [133, -23]}},
        {
            "type": "Feature",
            "properties": None,
            "geometry": {"type": "LineString", "coordinates": [[133, -23], [134, -23.4, 12]]},
        },
    ],
}
MORE = {
    "busy.ics": ICS, "lubricants.csv": "id,own_name,kind,thickener\nred_tin,red tin,grease,lithium complex\n",
    "shelf.csv": "what,quantity,unit_of_measure\nwheel bearing grease,400,g\n", "evidence.csv": "item,use,reason\nwinch,yes,opened often\n",
    "grease_gun.toml": "g_per_stroke = 1.3\nstrokes = 10\ndate = 2026-05-01\n", "tracks/day.kml": KML,
    "tracks/day.gpx": gpx(timed(eastward(60), datetime(2026, 7, 3, 7), 60.0)), "tracks/day.geojson": json.dumps(GEOJSON),
    "overrides/assumptions.csv": "name,value,unit,meaning,basis,source,locator\nwinding_factor,1.2,factor,road over line,judgement,none,our own tracks\n",
    "earlier_legs.csv": "trip,leg,from,to,depart,distance_km,speed_kmh,surface,corrugation,dust,heat_c,load,towing,hubs,low_range_km,remote\n"
    "Old,1,A,B,2025-07-01,300,60,gravel,light,light,25,normal,no,free,0,no\n",
}  # fmt: skip
CODE = re.compile(r"\[([A-Z]\d\d) (?:stops|worth)|\"code\": \"([A-Z]\d\d)\"")
reached: Counter[str] = Counter()
Change = Callable[[random.Random, Path], None]


@cache
def sample(kind: str) -> Path:
    """A whole trip to be copied and changed: as a folder, a logbook, or with its plan.json; "few" with few items planned."""
    place = Path(tempfile.mkdtemp(prefix="fuzz-"))
    atexit.register(shutil.rmtree, place, ignore_errors=True)
    folder = good_folder(place / "trip")
    if kind != "folder":
        leave_out_most(folder)
    if kind == "logbook":
        book.take_in(place / "rig.logbook", folder, TODAY)
    if kind == "planned":
        run(["plan", str(folder), "--out", str(place / "out"), "--today", str(TODAY)])
    put_more(folder)
    return place


def put_more(folder: Path) -> None:
    """The files that a small trip does without."""
    for name, text in MORE.items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8", newline="")


def odd(chance: random.Random) -> str:
    """A value that a cell, a key or a field should not have, or a good one in the wrong place."""
    text = chance.choice(ODD)
    return text if chance.random() < 0.9 else text + chance.choice(ODD)


def change_table(chance: random.Random, path: Path) -> None:
    """Cells, rows and columns of a table, put wrong."""
    rows = list(csv.reader(io.StringIO(_text(path), newline="")))
    if not rows or not any(rows):
        return
    for _ in range(chance.randint(1, 3)):
        row = chance.choice([row for row in rows if row])
        spot, kind = chance.randrange(len(row)), chance.random()
        if kind < 0.7:
            row[spot] = odd(chance)
        elif kind < 0.78:
            rows.insert(chance.randrange(len(rows) + 1), list(row))
        elif kind < 0.84:
            rows.remove(row)
        elif kind < 0.9:
            row.insert(spot, odd(chance))
        else:
            del row[spot]
        rows = [row for row in rows if row] or [[""]]
    out = io.StringIO(newline="")
    csv.writer(out, lineterminator=chance.choice(("\n", "\r\n"))).writerows(rows)
    _write(path, out.getvalue())


def change_toml(chance: random.Random, path: Path) -> None:
    """One value or key of a TOML file, put wrong."""
    lines = _text(path).splitlines()
    spots = [spot for spot, line in enumerate(lines) if "=" in line or line.startswith("[")]
    if not spots:
        return
    spot = chance.choice(spots)
    key, _, value = lines[spot].partition("=")
    new = chance.choice((odd(chance), f'"{odd(chance)}"', "[[[", "true", "{a = 1}", "[1, 'x', 2026-01-01]", "2026-01-01T00:00:00Z",
                         "inf", "nan", "-1", "1e400", "[" * 3000, value))  # fmt: skip
    lines[spot] = chance.choice(
        (f"{key}={new}", f"{odd(chance)} ={value}", lines[spot] + "\n" + lines[spot], "", f"[{odd(chance)}]")
    )
    _write(path, "\n".join(lines) + "\n")


def change_lines(chance: random.Random, path: Path) -> None:
    """Lines of a calendar: their values, their order, their number."""
    lines = _text(path).split("\r\n")
    for _ in range(chance.randint(1, 4)):
        spot, kind = chance.randrange(len(lines)), chance.random()
        name, sign, value = lines[spot].partition(":")
        new = chance.choice((*ICS_VALUES, odd(chance)))
        if kind < 0.6:
            lines[spot] = f"{name}{sign}{new}"
        elif kind < 0.75:
            lines[spot] = (
                f"{name.partition(';')[0]};{chance.choice(('TZID=Mars', 'VALUE=DATE', 'X=' + odd(chance)))}:{value}"
            )
        elif kind < 0.9:
            lines.insert(chance.randrange(len(lines)), lines[spot])
        else:
            del lines[spot]
            lines = lines or [""]
    _write(path, "\r\n".join(lines))


def change_marked(chance: random.Random, path: Path) -> None:
    """Numbers, tags and texts of a track."""
    text = _text(path)
    parts = list(re.finditer(r"-?\d+(?:\.\d+)?|<[^>]*>|[A-Za-z]{3,}", text))
    for match in sorted(chance.sample(parts, min(len(parts), chance.randint(1, 3))), key=lambda m: -m.start()):
        new = chance.choice(
            (odd(chance), "&undeclared;", "<!DOCTYPE a [<!ENTITY b 'c'>]>", "<a>" * 300, match.group() * 2, "", "NaN")
        )
        text = text[: match.start()] + new + text[match.end() :]
    _write(path, text)


def change_json(chance: random.Random, path: Path) -> None:
    """Values of a JSON file, at any depth."""
    try:
        document = json.loads(_text(path))
    except ValueError:
        return
    for _ in range(chance.randint(1, 3)):
        _change_value(chance, document)
    _write(path, json.dumps(document))


def _change_value(chance: random.Random, value: Any) -> None:
    while isinstance(value, (dict, list)) and value:
        key = chance.choice(list(value)) if isinstance(value, dict) else chance.randrange(len(value))
        inner = value[key]
        if not isinstance(inner, (dict, list)) or not inner or chance.random() < 0.25:
            value[key] = chance.choice((None, [], {}, -1, 10**30, 1e300, True, "x", odd(chance), [[]], {"a": 1}, inner))
            if isinstance(value, dict) and chance.random() < 0.2:
                del value[key]
            return
        value = inner


def change_bytes(chance: random.Random, path: Path) -> None:
    """Bytes of any file: flipped, cut, doubled, or all of them others."""
    raw = bytearray(path.read_bytes())
    kind = chance.random()
    if kind < 0.5 and raw:
        for _ in range(chance.randint(1, 8)):
            raw[chance.randrange(len(raw))] ^= 1 << chance.randrange(8)
    elif kind < 0.7:
        raw = raw[: chance.randrange(len(raw) + 1)]
    elif kind < 0.8:
        raw += raw[chance.randrange(len(raw) + 1) :]
    elif kind < 0.9:
        spot = chance.randrange(len(raw) + 1)
        raw[spot:spot] = chance.choice(
            (b"\xff\xfe", b"\xef\xbb\xbf", b"\0", b"\x80", b"\r", b"[" * 5000, b"\xed\xa0\x80")
        )
    else:
        raw = bytearray(chance.randbytes(chance.randrange(300)))
    path.write_bytes(bytes(raw))


def as_workbook(chance: random.Random, path: Path) -> None:
    """The history as a workbook, with values of other kinds, far cells and merged ones."""
    import openpyxl

    made = openpyxl.Workbook()
    sheet = made.worksheets[0]
    for row in csv.reader(io.StringIO(_text(path), newline="")):
        sheet.append([re.sub(r"[^\x20-\ud7ff\ue000-\ufffd]", "?", cell)[:30000] for cell in row])
    for _ in range(chance.randint(0, 4)):
        place = chance.choice(
            (f"{chance.choice('ABCDEFGHI')}{chance.randint(1, 12)}", "XFD1", "A1048576", "XFD1048576", "ZZ9000")
        )
        sheet[place] = chance.choice(
            (1e308, -1, True, None, datetime(1900, 1, 1), date(9999, 12, 31), "=1/0", "=A1", "x" * 2000, 5.5)
        )
    made.save(path.with_suffix(".xlsx"))
    if chance.random() < 0.9:
        path.unlink()


def odd_kind(chance: random.Random, path: Path) -> None:
    """Something else where a file should be: a folder, a pipe, a device, a link in a circle, nothing."""
    import os

    path.unlink(missing_ok=True)
    kind = chance.randrange(6)
    if kind == 0:
        path.mkdir()
    elif kind == 1:
        os.mkfifo(path)
    elif kind < 5:
        path.symlink_to(("/dev/zero", path.name, "/proc/self/mem")[kind - 2])


def change_logbook(chance: random.Random, path: Path) -> None:
    """Entries of a logbook with odd bodies, well marked or not; or its bytes."""
    if chance.random() < 0.4:
        change_bytes(chance, path)
        return
    columns = ("date", "unit", "act", "item", "leg", "at_km", "depth_m", "from", "to", "depart", "distance_km", "note")
    log = sqlite3.connect(path)
    odd_entries(chance, log, columns, odd, lambda _, texts: chance.choice(
        (texts, "x", "[]", "[" * 5000, '{"a": 1}', "", json.dumps({"unit": "9" * 400}))
    ))  # fmt: skip
    log.close()


def odd_entries(
    chance: random.Random, log: sqlite3.Connection, columns: Sequence[str], word: Callable[[random.Random], str],
    body: Callable[[str, str], str],
) -> None:  # fmt: skip
    """A few entries more, each well marked and of a body that is given its kind and odd texts as JSON."""
    before, number = log.execute("SELECT chain, number FROM entry ORDER BY number DESC LIMIT 1").fetchone()
    for _ in range(chance.randint(1, 3)):
        number += 1
        kind = chance.choice(("history", "crossing", "leg", "calendar", "other"))
        texts = {column: word(chance).encode("utf-8", "replace").decode() for column in chance.sample(columns, 5)}
        said = body(kind, json.dumps(texts))
        values = (number, kind, chance.choice(("", "North by the old road", "Old")), said, "2026-06-20",
                  chance.choice((None, None, 1, number - 1)), "why")  # fmt: skip
        own = own_mark(values)
        before = chain_mark(before, own)
        try:
            log.execute("INSERT INTO entry VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)", (*values, own, before))
        except sqlite3.IntegrityError:
            break
    log.commit()


def _text(path: Path) -> str:
    return path.read_bytes().decode("utf-8", "replace")


def _write(path: Path, text: str) -> None:
    path.write_bytes(text.encode("utf-8", "surrogatepass"))


CHANGES: dict[str, Change] = {
    ".csv": change_table, ".toml": change_toml, ".ics": change_lines, ".gpx": change_marked, ".kml": change_marked,
    ".geojson": change_json, ".json": change_json,
}  # fmt: skip


def spoil(chance: random.Random, folder: Path) -> None:
    """One to three files of the folder, each changed in a way of its own."""
    files = [path for path in sorted(folder.rglob("*")) if path.is_file() and not path.name.startswith(".")]
    for path in chance.sample(files, chance.choice((1, 1, 1, 2, 3))):
        kind = chance.random()
        if path.name == "history.csv" and kind < 0.15:
            as_workbook(chance, path)
        elif kind < 0.8:
            CHANGES.get(path.suffix, change_bytes)(chance, path)
        elif kind < 0.95:
            change_bytes(chance, path)
        else:
            odd_kind(chance, path)


def run(words: list[str]) -> int:
    """The command line in this process: its status."""
    from tripplan.__main__ import main

    sys.argv = ["tripplan", *words]
    try:
        with redirect_stdout(io.StringIO()) as shown, redirect_stderr(io.StringIO()) as said:
            main()
    except SystemExit as ended:
        reached.update({one or other for one, other in CODE.findall(shown.getvalue() + said.getvalue())})
        status = int(ended.code or 0)
        if status not in (0, 1, 2):
            raise AssertionError(f"status {status}: {said.getvalue()[-300:]}") from None
        return status
    raise AssertionError("no status")


def a_command(chance: random.Random, place: Path, store: Path) -> list[str]:
    """One command on a store, with words that may be odd too."""

    def word(usual: str) -> str:
        return odd(chance).replace("\0", "") if chance.random() < 0.15 else usual

    day, out = ["--today", word(str(TODAY))], ["--out", str(place / "out")]
    form = ["--json"] if chance.random() < 0.3 else []
    at = str(store)
    log = ["log", at, "--date", word("2026-06-18"), "--unit", word("wagon"), "--item", word("winch"), "--act", word("look"),
           "--note", word("n"), "--odometer", word("188200")]  # fmt: skip
    cross = ["cross", at, "--leg", word("2"), "--depth", word("0.4"), "--water", word("fresh"), "--at", word("2026-06-19"),
             "--at-km", word("60"), "--minutes", word("2")]  # fmt: skip
    weighed = ["grease", at, "--weighed", word("10=13g"), *day]
    track = [
        "route",
        "add",
        at,
        str(next(iter(sorted(place.rglob("day.*"))), place)),
        "--by",
        word("km"),
        "--km-a-day",
        "200",
    ]
    old = sorted(place.rglob("*.csv"))
    imported = ["import", str(chance.choice(old)) if old else at, "--into", at, "--yes", *day]
    book_file = str(place / "new.logbook")
    every = (
        ["check", at, *day], ["check", at, *day], ["plan", at, *out, *day], ["why", at, word("winch"), *day], ["review", at, *day],
        ["grease", at, word("front_wheel_bearings"), *day], [*log, *day], [*cross, *day], weighed, track, imported,
        ["log", at, "--undo", word("3"), "--because", word("slip"), *day], ["route", "export", at, *out, *day],
        ["plan", at, *day, "--leg", word("2 dust=heavy"), "--depart", word("2026-07-04"), "--without-stop", word("Red Pan")],
        ["logbook", "take-in", book_file, at], ["check", at, "--plan", str(place / "out" / "plan.json"), *day],
    )  # fmt: skip
    if store.is_file():
        every = (*every, ["logbook", "entries", at], ["logbook", "mend", at], ["logbook", "write-out", at, str(place / "laid")],
                 ["logbook", "undo", at, "--number", str(chance.randint(0, 12)), "--because", "x"])  # fmt: skip
    return [*chance.choice(every), *form]


def a_form(chance: random.Random, folder: Path) -> str:
    """One form of the page, its fields as they stand but for a few; what the page said."""
    from fastapi.testclient import TestClient

    from tests.web.conftest import ADDRESS, Visitor
    from tripplan.web.app import create_app

    visitor = Visitor.__new__(Visitor)
    app = create_app(folder, TODAY)
    app.state.desk._solver.ask = lambda *_: None
    visitor.folder, visitor.client = folder, TestClient(app, base_url=ADDRESS, raise_server_exceptions=False)
    path = chance.choice(
        ("/trip", "/history", "/rig", "/water", "/jobs/after", "/jobs/after/close", "/undo", "/seen-from", "/start/rig")
    )
    page = path if path in ("/trip", "/history", "/rig", "/water") else "/jobs"
    shown = visitor.get(page)
    fields = dict(re.findall(r'name="([^"]+)" value="([^"]*)"', shown.text)) | {"do": "save"}
    fields |= {"leg": "2", "depth": "0.4", "water": "fresh", "day": "2026-06-19", "date": "2026-06-19", "number": "1"}
    for name in chance.sample(sorted(fields), min(len(fields), chance.randint(1, 5))):
        fields[name] = odd(chance).encode("utf-8", "replace").decode()
    token = visitor.client.get("/trip").text.partition('name="csrf" value="')[2].partition('"')[0]
    answers = [
        shown,
        visitor.client.post(path, data=fields | {"csrf": token}),
        visitor.get(page),
        visitor.get("/plan.json"),
    ]
    codes = [answer.status_code for answer in answers]
    assert all(code < 500 or code == 503 for code in codes), f"{path}: {codes} {answers[1].text[:300]}"
    return path


def case(number: int) -> str:
    """One case; what was done, for a count. Raises whatever it ends in."""
    chance = random.Random(number)
    kind = chance.choices(("folder", "logbook", "planned", "page"), (6, 2, 1, 2))[0]
    place = Path(tempfile.mkdtemp(prefix="fuzz-"))
    try:
        is_whole_rig = kind == "folder" and chance.random() < WHOLE_RIG_SHARE
        origin = sample(kind if is_whole_rig or kind in ("logbook", "planned") else "few")
        shutil.copytree(origin, place, dirs_exist_ok=True)
        if kind == "logbook":
            change_logbook(chance, place / "rig.logbook")
        elif kind == "planned":
            change_json(chance, place / "out" / "plan.json")
            return f"check --plan {run(['check', str(place / 'trip'), '--plan', str(place / 'out' / 'plan.json'), '--today', str(TODAY)])}"
        elif kind == "folder" or chance.random() < 0.5:
            spoil(chance, place / "trip")
        if kind == "page":
            return f"page {a_form(chance, place / 'trip')}"
        words = a_command(chance, place, place / ("rig.logbook" if kind == "logbook" else "trip"))
        return f"{kind} {words[0]} {run(words)}"
    finally:
        shutil.rmtree(place, ignore_errors=True)


def cases(first: int, most: int, seconds: float) -> tuple[Counter[str], list[str]]:
    """So many cases, or for so long; what was done, and what was wrong."""
    plan_folder.plan_of.__defaults__ = ((), place_greedily)
    done: Counter[str] = Counter()
    wrong: list[str] = []
    end = time.monotonic() + seconds
    for number in range(first, first + most):
        worked = time.process_time()
        if time.monotonic() > end:
            break
        try:
            done[case(number)] += 1
        except BaseException as error:
            if isinstance(error, KeyboardInterrupt):
                raise
            where = traceback.extract_tb(error.__traceback__)[-1]
            wrong.append(f"case {number}: {type(error).__name__}: {error} at {where.filename}:{where.lineno}")
        if (took := time.process_time() - worked) > SLOWEST_S:
            wrong.append(f"case {number}: {took:.0f} s")
    return done, wrong


def memory_kb() -> int:
    """The most memory this process has held."""
    import resource

    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss


if __name__ == "__main__":
    found, faults = cases(int(sys.argv[2]) if len(sys.argv) > 2 else 0, 10**9, float(sys.argv[1]))
    print(json.dumps(found.most_common(), indent=1))
    print(f"{len(reached)} problem codes reached: {' '.join(sorted(reached))}")
    print("\n".join(faults[:60]), f"\n{found.total() + len(faults)} cases, {len(faults)} wrong, {memory_kb()} kB")
