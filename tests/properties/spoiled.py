"""Good texts spoiled in ways that know their form: tables, TOML, calendars, tracks, JSON, words, bytes.

Each takes a chance and the good bytes, and gives others. Values are drawn from what the form
accepts as often as from what it must refuse, so that many cases get past the first look.
"""

import csv
import io
import json
import random
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date, timedelta
from typing import Any

from tests.properties.fuzz_everything import ICS_VALUES, ODD
from tripplan.files.refusals import columns_of, words_of
from tripplan.records.facts_in import Record

DAY, NUMBER = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII), re.compile(r"-?\d{1,12}(?:\.\d{1,9})?", re.ASCII)
LITTLE, FAR = 1e-6, ("1000000000", "1e300", "999999999999")
Spoil = Callable[[random.Random, bytes], bytes]
NUMBERS = (
    "0", "1", "2", "3", "0.5", "-1", "12", "40", "140", "300", "520", "999", "1000", "99999", "188200", "1e6", "1 000", "1,000.5",
    "0,7", "1.5 m", "70 cm", "12 km", "1e-9", "0.999999", "1.0001", "2147483648", "+5", "05", "5.", ".5", "10%", "1/2", "\u00bd",
)  # fmt: skip
DAYS = (
    "2026-07-03", "2026-07-03 07:00", "2026-07-06 14:30", "2026-07-12", "2026-07-20", "2026-06-20", "2026-06-19", "2025-12-31",
    "2024-02-29", "2026-7-3", "3/7/2026", "24/05/2026", "3 July 2026", "July 2026", "2026", "2026-07-06T14:30+09:30", "1989-12-31",
    "2100-12-31", "2026-10-04 02:30", "46000", "yesterday",
)  # fmt: skip
NAMES = (
    "wagon", "camper", "winch", "front_wheel_bearings", "engine_oil_filter", "trailer_bearings", "swivel_knuckle_reseal",
    "wheel_nuts", "coolant", "tyre_tread", "left", "right", "both", "front", "repack", "renew", "look", "grease", "reading",
    "drain and refill", "worn", "serviceable", "water in oil", "milky", "wheel bearing grease", "engine oil", "Red Pan", "Two Wells",
    "Ironbark", "Australia/Darwin", "Europe/Berlin", "yes", "no", "camp", "workshop", "town", "day.gpx", "day.kml", "rows",
)  # fmt: skip


def mutant(chance: random.Random, text: str) -> str:
    """A text with a letter or two changed."""
    for _ in range(chance.randint(1, 2)):
        spot = chance.randrange(len(text) + 1)
        kind = chance.randrange(5)
        if kind == 0:
            text = text[:spot] + text[spot + 1 :]
        elif kind == 1:
            text = (
                text[:spot] + chance.choice(" .,;:-/+0123456789aAeEzZ\u00e4\u00df\u0130\u0301\"'\t\x1f=") + text[spot:]
            )
        elif kind == 2:
            text = text[spot:] + text[:spot]
        elif kind == 3:
            text = text[:spot] + text[spot:].swapcase()
        else:
            text += text[: spot + 1]
    return text


def nudged(chance: random.Random, text: str) -> str:
    """A day some days off, a number somewhat larger or smaller; any other text with a letter changed."""
    if found := DAY.search(text):
        try:
            moved = date.fromisoformat(found.group()) + timedelta(
                days=chance.choice((-400, -30, -8, -3, -1, 1, 2, 5, 14, 60, 500))
            )
        except (ValueError, OverflowError):
            return mutant(chance, text)
        return text.replace(found.group(), moved.isoformat())
    if NUMBER.fullmatch(text):
        value = float(text) * chance.choice((0, 0.1, 0.5, 0.9, 1.01, 1.5, 2, 10, 100, -1)) + chance.choice(
            (0, 0, 1, -1)
        )
        return f"{value:.10g}"
    return mutant(chance, text)


def word(chance: random.Random, usual: str = "", known: Sequence[str] = ()) -> str:
    """A value for a cell, a key, a field or an option, as good as it is bad."""
    kind = chance.random()
    if known and kind < 0.4:
        return chance.choice(known)
    if kind < 0.55:
        return chance.choice(NUMBERS)
    if kind < 0.66:
        return chance.choice(DAYS)
    if kind < 0.76:
        return chance.choice(NAMES)
    if kind < 0.88:
        return nudged(chance, usual) if chance.random() < 0.7 else mutant(chance, usual)
    return chance.choice(ODD)


def known_words(record: type[Record]) -> Mapping[str, Sequence[str]]:
    """The words that each column of a table accepts, and the ends of its range where it has one."""
    return {name: (*words_of(field.annotation), *_ends(field.metadata)) for name, field in columns_of(record).items()}


def _ends(limits: Iterable[Any]) -> Iterator[str]:
    """The ends of a range as they are accepted, those that are open as near as a number comes; far where there is none."""
    found = [
        (name, getattr(limit, name)) for limit in limits for name in ("ge", "le", "gt", "lt") if hasattr(limit, name)
    ]
    for name, end in found:
        nearer = {"gt": LITTLE, "lt": -LITTLE}.get(name, 0)
        yield f"{end + nearer:.10f}".rstrip("0").rstrip(".")
    if found and not any(name in ("le", "lt") for name, _ in found):
        yield from FAR


def edges(chance: random.Random, raw: bytes, known: Mapping[str, Sequence[str]], is_table: bool) -> bytes:
    """A few values at the ends of what is accepted; most such files are."""
    if not is_table:
        lines = raw.decode().splitlines()
        for _ in range(chance.choice((1, 1, 2, 4))):
            name = chance.choice([name for name, words in known.items() if words])
            value = chance.choice(known[name])
            text = value if NUMBER.fullmatch(value) or value in ("true", "false") else json.dumps(value)
            spots = [at for at, line in enumerate(lines) if line.partition("=")[0].strip() == name]
            if spots:
                lines[chance.choice(spots)] = f"{name} = {text}"
            else:
                ends = [at for at, line in enumerate(lines) if line.startswith("[")] or [len(lines)]
                lines.insert(
                    chance.choice([at + 1 for at in ends if lines[at : at + 1] == ["[[unit]]"]] or [ends[0]]),
                    f"{name} = {text}",
                )
        return utf8("\n".join(lines) + "\n")
    rows = list(csv.reader(io.StringIO(raw.decode(), newline="")))
    for _ in range(chance.choice((1, 1, 2, 4))):
        name = chance.choice([name for name, words in known.items() if words])
        if name not in rows[0]:
            for number, each in enumerate(rows):
                each.append("" if number else name)
        row = chance.choice(rows[1:])
        row[rows[0].index(name)] = chance.choice(known[name])
    out = io.StringIO(newline="")
    csv.writer(out, lineterminator="\n").writerows(rows)
    return utf8(out.getvalue())


def table(chance: random.Random, raw: bytes, known: Mapping[str, Sequence[str]] | None = None) -> bytes:
    """Cells, rows and columns changed; a column that the table may have and lacks put in."""
    known = known or {}
    rows = list(csv.reader(io.StringIO(raw.decode("utf-8", "replace"), newline="")))
    for _ in range(chance.choice((1, 1, 1, 2, 2, 3, 5))):
        rows = [row for row in rows if row] or [["a"]]
        at = chance.randrange(len(rows))
        row, kind = rows[at], chance.random()
        spot = chance.randrange(len(row))
        column = rows[0][spot].strip().lower() if spot < len(rows[0]) else ""
        if kind < 0.1 and at:  # as another row has it
            other = chance.choice(rows[1:])
            row[spot] = other[spot] if spot < len(other) else ""
        elif kind < 0.3 and at:
            row[spot] = nudged(chance, row[spot])
        elif kind < 0.68:
            row[spot] = word(chance, row[spot], known.get(column, ()) if at else tuple(known))
        elif kind < 0.76:
            rows.insert(chance.randrange(len(rows) + 1), list(row))
        elif kind < 0.8:
            rows.remove(row)
        elif kind < 0.83:
            row.insert(spot, word(chance))
        elif kind < 0.86:
            del row[spot]
        elif kind < 0.95:
            name = chance.choice([name for name in known if name not in rows[0]] or ["more"])
            for number, each in enumerate(rows):
                each.append(word(chance, "", known.get(name, ())) if number else name)
        else:
            for each in rows:
                del each[spot : spot + 1]
    if chance.random() < 0.01:
        del rows[1:]
    out = io.StringIO(newline="")
    mark = chance.choice((",", ",", ",", ",", ",", ",", ",", ",", ";", "\t"))
    csv.writer(out, lineterminator=chance.choice(("\n", "\r\n")), delimiter=mark).writerows(rows)
    return utf8(out.getvalue())


def toml(chance: random.Random, raw: bytes, known: Mapping[str, Sequence[str]] | None = None) -> bytes:
    """Values, keys and sections of a TOML text."""
    known = known or {}
    lines = raw.decode("utf-8", "replace").splitlines()
    for _ in range(chance.choice((1, 1, 2, 3))):
        spots = [spot for spot, line in enumerate(lines) if "=" in line or line.startswith("[")] or [0]
        lines = lines or [""]
        spot = chance.choice(spots)
        key, _, value = lines[spot].partition("=")
        plain = value.strip().strip('"')
        own = word(chance, plain, known.get(key.strip(), ()))
        near = nudged(chance, plain)
        new = chance.choice((own, json.dumps(own), json.dumps(own), near, near, near, json.dumps(near), f'["{own[:20]}"]', "[]", "{}", "[[[", "true", "{a = 1}", "[1, 'x']",
                             "2026-07-03", "2026-07-03T07:00:00Z", "07:00:00", "inf", "nan", "-1", "0", "1e400", "0x1f", "1_000",
                             "[" * 300, "9" * 60, '"""a\nb"""', value))  # fmt: skip
        if chance.random() < 0.25:
            new = json.dumps(word(chance, plain, known.get(key.strip(), ()))) if value.strip().startswith('"') else near
        lines[spot] = "" if chance.random() < 0.15 else chance.choice((
            f"{key}= {new}", f"{key}= {new}", f"{key}= {new}", f"{mutant(chance, key.strip())} = {value}", "", f"{key}.a = {value}",
            f"{lines[spot]}\n{lines[spot]}", f"[{word(chance)}]", f"[[{chance.choice(('unit', 'replaced', 'busy', 'a'))}]]",
            f'{chance.choice(("usual_km_per_week", "odometer", "date_order", "heights_mm", "words", "first_year"))} = {new}',
        ))  # fmt: skip
        lines = "\n".join(lines).split("\n")
        if chance.random() < 0.06:  # a section twice, or gone
            parts = re.split(r"(?m)^(?=\[)", "\n".join(lines))
            at = chance.randrange(len(parts))
            parts = chance.choice(([*parts, parts[at]], parts[:at] + parts[at + 1 :]))
            lines = "\n".join(parts).split("\n")
    return utf8("\n".join(lines) + "\n")


def calendar(chance: random.Random, raw: bytes) -> bytes:
    """Lines of a calendar: values, parameters, order, number."""
    lines = raw.decode("utf-8", "replace").split("\r\n")
    for _ in range(chance.randint(1, 4)):
        lines = lines or [""]
        spot, kind = chance.randrange(len(lines)), chance.random()
        name, sign, value = lines[spot].partition(":")
        new = chance.choice((*ICS_VALUES, mutant(chance, value), mutant(chance, value), word(chance, value)))
        if kind < 0.5:
            lines[spot] = f"{name}{sign}{new}"
        elif kind < 0.62:
            more = (
                "TZID=Mars",
                "TZID=Europe/Berlin",
                "VALUE=DATE",
                "VALUE=PERIOD",
                "RANGE=THISANDFUTURE",
                "X=" + word(chance),
            )
            lines[spot] = f"{name.partition(';')[0]};{chance.choice(more)}:{value}"
        elif kind < 0.74:
            other = ("RRULE:FREQ=DAILY;COUNT=5", "RDATE:20260628T090000", "EXDATE;VALUE=DATE:20260625", "STATUS:CANCELLED", "TRANSP:OPAQUE",
                     "DURATION:P1DT2H", "BEGIN:VEVENT", "END:VEVENT", "BEGIN:VALARM", "RRULE:FREQ=MONTHLY;BYDAY=-1FR;UNTIL=20270101",
                     "RRULE:FREQ=YEARLY;BYWEEKNO=53;BYDAY=MO;WKST=SU", "X-A;B=\"c:d\":e", " folded")  # fmt: skip
            lines.insert(spot, chance.choice(other))
        elif kind < 0.88:
            lines.insert(chance.randrange(len(lines)), lines[spot])
        else:
            del lines[spot]
    return utf8(chance.choice(("\r\n", "\r\n", "\r\n", "\n", "\r")).join(lines))


def marked(chance: random.Random, raw: bytes) -> bytes:
    """Numbers, tags, attributes and texts of a marked-up text."""
    text = raw.decode("utf-8", "replace")
    parts = list(re.finditer(r"-?\d+(?:\.\d+)?|<[^>]*>|[A-Za-z]{3,}", text))
    for match in sorted(chance.sample(parts, min(len(parts), chance.randint(1, 3))), key=lambda one: -one.start()):
        own = match.group()
        new = chance.choice((
            word(chance, own), mutant(chance, own), "&undeclared;", "<!DOCTYPE a [<!ENTITY b 'c'>]>", "<a>" * 150, own * 2, "", "NaN",
            "<!-- -->", "<![CDATA[<x>]]>", "<?p q?>", "&#0;", "&#x41;", f"{own}<trkpt lat='1' lon='2'/>", "</trkseg><trkseg>",
        ))  # fmt: skip
        text = text[: match.start()] + new + text[match.end() :]
    return utf8(text)


def as_json(chance: random.Random, raw: bytes) -> bytes:
    """Values of a JSON text, at any depth; or the text itself."""
    if chance.random() < 0.08:
        text = raw.decode("utf-8", "replace")
        spot = chance.randrange(len(text) + 1)
        new = chance.choice(
            ("1" * 400, "[" * 300, "NaN", "1e999", '"\\ud800"', ",", "}", '{"a":1,"a":2}', "\x00", "tru")
        )
        return utf8(text[:spot] + new + text[spot + chance.randrange(4) :])
    try:
        document = json.loads(raw)
    except ValueError:  # spoiled before
        return raw_bytes(chance, raw)
    for _ in range(chance.randint(1, 3)):
        _change(chance, document)
    return json.dumps(document, ensure_ascii=chance.random() < 0.7).encode("utf-8", "surrogatepass")


def _change(chance: random.Random, value: Any) -> None:
    while isinstance(value, dict | list) and value:
        key = chance.choice(list(value)) if isinstance(value, dict) else chance.randrange(len(value))
        inner = value[key]
        if not isinstance(inner, dict | list) or not inner or chance.random() < 0.2:
            kind = chance.random()
            if kind < 0.1:
                del value[key]
            elif kind < 0.2 and isinstance(value, list):
                value.insert(key, inner)
            elif kind < 0.3 and isinstance(value, dict):
                value[word(chance, str(key))] = inner
            else:
                usual = inner if isinstance(inner, str) else ""
                value[key] = chance.choice((None, [], {}, -1, 0, 1, 10**30, 1e300, -0.0, True, "", word(chance, usual), word(chance, usual),
                                            mutant(chance, usual), [[]], {"a": 1}, [None], [inner, inner], {"0": inner}))  # fmt: skip
            return
        value = inner


def raw_bytes(chance: random.Random, raw: bytes) -> bytes:
    """Bytes flipped, cut, doubled, put in, or all of them others."""
    found, kind = bytearray(raw), chance.random()
    spot = chance.randrange(len(found) + 1)
    if kind < 0.45 and found:
        for _ in range(chance.randint(1, 8)):
            found[chance.randrange(len(found))] ^= 1 << chance.randrange(8)
    elif kind < 0.6:
        found = found[:spot]
    elif kind < 0.7:
        found += found[spot:]
    elif kind < 0.9:
        found[spot:spot] = chance.choice(
            (
                b"\xff\xfe",
                b"\xef\xbb\xbf",
                b"\0",
                b"\x80",
                b"\r",
                b"[" * 300,
                b"\xed\xa0\x80",
                b'"',
                b"\x1a",
                b"\xc2\x85",
                b"\xf4\x90\x80\x80",
            )
        )
    elif kind < 0.95:
        found = bytearray(
            raw.decode("utf-8", "replace").encode(
                chance.choice(("utf-16", "cp1252", "utf-8-sig", "utf-32", "utf-7")), "replace"
            )
        )
    else:
        found = bytearray(chance.randbytes(chance.randrange(300)))
    return bytes(found)


def utf8(text: str) -> bytes:
    """The text in bytes, halves of pairs too."""
    return text.encode("utf-8", "surrogatepass")


BY_SUFFIX: dict[str, Spoil] = {
    ".csv": table, ".toml": toml, ".ics": calendar, ".gpx": marked, ".kml": marked, ".geojson": as_json, ".json": as_json,
}  # fmt: skip


def spoiled(chance: random.Random, name: str, raw: bytes, known: Mapping[str, Sequence[str]] | None = None) -> bytes:
    """A file's bytes spoiled by its form, or, one time in eight, as bytes."""
    if chance.random() < 0.12:
        return raw_bytes(chance, raw)
    suffix = name[name.rfind(".") :]
    if suffix == ".csv":
        return table(chance, raw, known)
    if suffix == ".toml":
        return toml(chance, raw, known)
    return BY_SUFFIX.get(suffix, raw_bytes)(chance, raw)
