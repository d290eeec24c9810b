"""All rigs of a fleet together: by rig, by day in the shed, one shopping list, one calendar file.

Rows come one at a time and only a line of each is kept; what is long - a rig's part of the JSON and of the
calendar - is written as the rows come a second time, so that ten thousand rigs need hardly more memory than ten.
"""

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from icalendar import Timezone
from msgspec import Struct, field

from tripplan.placing.yard import Shed
from tripplan.records.words import SlotKind, Verdict
from tripplan.sheets import words
from tripplan.sheets.calendar.file import PRODID
from tripplan.sheets.lists import csv_text

SCHEMA = 1
WORKSHOP, LATER = str(SlotKind.WORKSHOP), "after return"
RIG_COLUMNS = (
    "name", "rig", "trip", "depart", "return", "state", "due", "unmet", "minutes", "minutes_before", "first_day",
    "order_by", "cost", "gap", "warnings", "problems", "folder",
)  # fmt: skip
DAY_COLUMNS = (
    "date", "rigs", "rig_names", "people_minutes", "people_minutes_there", "bays", "bays_there", "bench_minutes", "over",
)  # fmt: skip
SHOPPING_COLUMNS = ("when", "what", "quantity", "unit", "rigs", "needed_by", "order_by", "for")
MOST_NAMED, MOST_PROBLEMS = 12, 6
CALENDAR_HEAD = f"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:{PRODID}\r\nCALSCALE:GREGORIAN\r\n"
CALENDAR_END = "END:VCALENDAR\r\n"
LEFT_OUT_OF_JSON = ("events", "zones", "years", "needs", "slots")


class Named(Struct):
    """Rigs counted, and the first few by name."""

    count: int = 0
    first: list[str] = field(default_factory=list)
    last: str = ""

    def add(self, name: str) -> None:
        """One more rig, once where it comes again right away."""
        if self.count and name == self.last:
            return
        self.count, self.last = self.count + 1, name
        if len(self.first) < MOST_NAMED:
            self.first.append(name)

    @property
    def names(self) -> list[str]:
        """The first few, and that there are others."""
        return [*self.first, "and others"] if self.count > len(self.first) else self.first


class Bought(Struct):
    """One line of the shopping list: how much for which rigs, and the earliest days."""

    quantity: float = 0.0
    rigs: Named = field(default_factory=Named)
    needed_by: str = ""
    order_by: str = ""


class ShedDay(Struct):
    """One day in the shed: who stands there, and each one's minutes of work."""

    rigs: list[str] = field(default_factory=list)
    each_minutes: list[float] = field(default_factory=list)
    bench_minutes: float = 0.0

    @property
    def minutes(self) -> float:
        """All work of the day."""
        return sum(self.each_minutes)


class RigLine(Struct, frozen=True):
    """What is kept of one rig: a line of the table and of the text, and why it has no plan."""

    cells: tuple[Any, ...]
    days: tuple[str, ...] = ()
    no_record: int = 0
    looks: int = 0
    urgent: int = 0
    problems: tuple[tuple[str, str, str], ...] = ()

    def __getitem__(self, column: str) -> Any:
        return self.cells[RIG_COLUMNS.index(column)]

    @property
    def is_made(self) -> bool:
        """True when it has a plan."""
        return bool(self["depart"])


class Fleet(Struct):
    """What is gathered of all rigs, a row at a time, in the order given."""

    rigs: list[RigLine] = field(default_factory=list)
    days: dict[str, ShedDay] = field(default_factory=dict)
    bought: dict[tuple[str, str, str], Bought] = field(default_factory=dict)
    urgent: dict[str, Named] = field(default_factory=dict)
    looks: dict[str, Named] = field(default_factory=dict)
    zones: set[str] = field(default_factory=set)
    years: set[int] = field(default_factory=set)

    def add(self, row: dict[str, Any]) -> None:
        """Take one rig in."""
        self.rigs.append(_line(row))
        for slot in before_departure(row):
            day = self.days.setdefault(slot["date"], ShedDay())
            day.rigs.append(row["name"])
            day.each_minutes.append(slot["minutes_planned"])
            day.bench_minutes += slot["bench_minutes"]
        for need in row.get("needs", ()):
            self._buy(row["name"], need)
        self._look_at(row)
        self.zones.update(row.get("zones", ()))
        self.years.update(row.get("years", ()))

    def _buy(self, name: str, need: dict[str, Any]) -> None:
        line = self.bought.setdefault((need["when"], need["name"], need["unit"]), Bought())
        line.quantity += need["quantity"]
        line.rigs.add(name)
        for key in ("needed_by", "order_by"):
            earlier = [day for day in (getattr(line, key), need[key]) if day]
            setattr(line, key, min(earlier, default=""))

    def _look_at(self, row: dict[str, Any]) -> None:
        """What a plan warns of, once for all rigs at which it is the same."""
        if not row["is_made"]:
            return
        for text in row["warnings"]:
            (self.urgent if text in row["urgent"] else self.looks).setdefault(text, Named()).add(row["name"])
        for found in row["problems"]:
            self.looks.setdefault(": ".join(_place_and_found(found)), Named()).add(row["name"])

    @property
    def made(self) -> list[RigLine]:
        """The rigs that have a plan."""
        return [rig for rig in self.rigs if rig.is_made]


def before_departure(row: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The days at home on which a rig's plan works, in order."""
    found = [slot for slot in row.get("slots", ()) if slot["kind"] == WORKSHOP and slot["jobs"]]
    return sorted(found, key=lambda slot: slot["date"])


def _told(row: dict[str, Any]) -> dict[str, Any]:
    """What the JSON says of a rig."""
    told = {key: value for key, value in row.items() if key not in LEFT_OUT_OF_JSON}
    if row["is_made"]:
        before = before_departure(row)
        told["minutes_before"] = sum(slot["minutes_planned"] for slot in before)
        told["first_day"] = min((slot["date"] for slot in before), default="")
        orders = (need["order_by"] for need in row["needs"] if need["order_by"] and need["when"] != LATER)
        told["order_by"] = min(orders, default="")
    return told


def _line(row: dict[str, Any]) -> RigLine:
    told = _told(row)
    cells = tuple(_cell(told, name) for name in RIG_COLUMNS)
    if not row["is_made"]:
        several = tuple((*_place_and_found(found), found["code"]) for found in row["problems"][: MOST_PROBLEMS + 1])
        return RigLine(cells, looks=len(row["problems"]), problems=several)
    days = tuple(slot["date"] for slot in before_departure(row))
    looks = len(row["warnings"]) + len(row["problems"])
    return RigLine(cells, days, row["verdicts"].get(Verdict.NO_RECORD, 0), looks, len(row["urgent"]))


def _place_and_found(found: dict[str, Any]) -> tuple[str, str]:
    row = "" if found["row"] is None else f" row {found['row']}"
    hint = f"; {found['hint']}" if found["hint"] else ""
    column = f", column {found['column']}" if found["column"] else ""
    return f"{found['file']}{row}{column} ({found['code']})", f"{found['found']}; accepted: {found['accepted']}{hint}"


def rigs_csv(fleet: Fleet) -> str:
    """One row a rig, in the order given."""
    return csv_text(RIG_COLUMNS, (dict(zip(RIG_COLUMNS, rig.cells, strict=True)) for rig in fleet.rigs))


def _cell(rig: dict[str, Any], name: str) -> Any:
    if name == "state":
        return state_of(rig)
    value = rig.get(name, "")
    if name in ("warnings", "problems"):
        return len(value or ())
    if isinstance(value, float):
        return f"{value:.4f}" if name == "gap" else f"{value:.0f}"
    return "" if value is None else value


def state_of(rig: dict[str, Any]) -> str:
    """How a rig's run ended, in words."""
    if not rig["is_made"]:
        return "no plan"
    return "planned, worth a look" if rig["warnings"] or rig["problems"] else "planned"


def days_csv(fleet: Fleet, shed: Shed | None) -> str:
    """One row a day on which a rig stands in the shed; what is there where the shed was told."""
    return csv_text(DAY_COLUMNS, day_rows(fleet, shed))


def day_rows(fleet: Fleet, shed: Shed | None) -> list[dict[str, Any]]:
    """The days in order: rigs, minutes of work, bays taken, and what is over the shed's."""
    return [
        {
            "date": day, "rigs": len(one.rigs), "rig_names": "; ".join(one.rigs), "people_minutes": round(one.minutes),
            "people_minutes_there": shed.people * shed.day_minutes if shed else "", "bays": _bays(one, shed),
            "bays_there": shed.bays if shed else "", "bench_minutes": round(one.bench_minutes),
            "over": "; ".join(_over(one, shed)) if shed else "",
        }
        for day, one in sorted(fleet.days.items())
    ]  # fmt: skip


def _bays(day: ShedDay, shed: Shed | None) -> int:
    """How many bays the rigs of a day need, one after the other in each while its minutes last; each its own without a shed.

    The longest first, each into the first bay that takes it.
    """
    if shed is None:
        return len(day.rigs)
    left: list[float] = []
    for minutes in sorted(day.each_minutes, reverse=True):
        at = next((at for at, room in enumerate(left) if minutes <= room), None)
        if at is None:
            left.append(shed.day_minutes - minutes)
        else:
            left[at] -= minutes
    return len(left)


def _over(day: ShedDay, shed: Shed) -> list[str]:
    told, bays = [], _bays(day, shed)
    if day.minutes > shed.people * shed.day_minutes + 0.5:
        told.append(f"{words.duration(day.minutes - shed.people * shed.day_minutes)} of work")
    if bays > shed.bays:
        told.append(words.count(bays - shed.bays, "bay", "bays"))
    if day.bench_minutes > shed.benches * shed.day_minutes + 0.5:
        told.append(f"{words.duration(day.bench_minutes - shed.benches * shed.day_minutes)} at the bench")
    return told


def shopping_rows(fleet: Fleet) -> list[dict[str, Any]]:
    """What all rigs need, each thing once, with the earliest day to order it."""
    found = []
    for (when, what, unit), line in sorted(fleet.bought.items()):
        found.append({
            "when": when, "what": what, "quantity": f"{round(line.quantity, 6):g}", "unit": unit, "rigs": line.rigs.count,
            "needed_by": line.needed_by, "order_by": line.order_by, "for": "; ".join(line.rigs.names),
        })  # fmt: skip
    return found


def shopping_csv(fleet: Fleet) -> str:
    """One row a thing to buy or carry, for all rigs together."""
    return csv_text(SHOPPING_COLUMNS, shopping_rows(fleet))


def calendar_pieces(fleet: Fleet, events: Iterable[str]) -> Iterator[bytes]:
    """One calendar of all rigs: the events of each as its own calendar has them, its name in front."""
    for text in (CALENDAR_HEAD, *_zones(fleet)):
        yield text.encode("utf-8", "replace")
    for text in events:
        yield text.encode("utf-8", "replace")
    yield CALENDAR_END.encode()


def _zones(fleet: Fleet) -> Iterable[str]:
    if not fleet.years:
        return
    first, last = date(min(fleet.years) - 1, 1, 1), date(max(fleet.years) + 2, 1, 1)
    for name in sorted(fleet.zones):
        yield Timezone.from_tzid(name, first_date=first, last_date=last).to_ical().decode()


def json_pieces(
    fleet: Fleet, rows: Iterable[dict[str, Any]], today: date, shed: Shed | None, yard: Sequence[dict[str, Any]] = ()
) -> Iterator[bytes]:
    """The summary as JSON, a rig at a time: rigs, days and shopping; the plans themselves lie beside it."""
    between = f'{{\n "schema": {SCHEMA},\n "today": "{today.isoformat()}",\n "rigs": [\n  '
    for row in rows:
        yield between.encode() + _json(_told(row)).replace(b"\n", b"\n  ")
        between = ",\n  "
    rest = {"shed_days": day_rows(fleet, shed), "shared_days": list(yard), "shopping": shopping_rows(fleet)}
    yield b"\n ]," + _json(rest)[1:] + b"\n"


def _json(value: dict[str, Any]) -> bytes:
    return json.dumps(value, indent=1, ensure_ascii=False).encode("utf-8", "replace")
