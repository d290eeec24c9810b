"""All rigs of a fleet together: by rig, by day in the shed, one shopping list, one calendar file.

Rows come one at a time and only what the summary shows is kept of them, so that ten thousand
rigs need no more memory than their own lines.
"""

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from icalendar import Timezone

from tripplan.placing.yard import Shed
from tripplan.records.words import SlotKind
from tripplan.sheets import words
from tripplan.sheets.calendar.file import PRODID
from tripplan.sheets.lists import csv_text
from tripplan.sheets.text_lines import bullet, heading, wrap

SCHEMA = 1
WORKSHOP = str(SlotKind.WORKSHOP)
RIG_COLUMNS = (
    "name", "rig", "trip", "depart", "return", "state", "due", "unmet", "minutes", "minutes_before", "first_day",
    "order_by", "cost", "gap", "warnings", "problems", "folder",
)  # fmt: skip
DAY_COLUMNS = (
    "date", "rigs", "rig_names", "people_minutes", "people_minutes_there", "bays", "bays_there", "bench_minutes", "over",
)  # fmt: skip
SHOPPING_COLUMNS = ("when", "what", "quantity", "unit", "rigs", "needed_by", "order_by", "for")
MOST_NAMED, MOST_PROBLEMS, FEW_RIGS = 12, 6, 40
CALENDAR_HEAD = f"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:{PRODID}\r\nCALSCALE:GREGORIAN\r\n"
CALENDAR_END = "END:VCALENDAR\r\n"
LEFT_OUT_OF_JSON = ("events", "zones", "years", "needs", "slots")


@dataclass(slots=True)
class Bought:
    """One line of the shopping list: how much for how many rigs, and the earliest days."""

    quantity: float = 0.0
    rigs: list[str] = field(default_factory=list)
    needed_by: str = ""
    order_by: str = ""


@dataclass(slots=True)
class ShedDay:
    """One day in the shed: who stands there and for how many minutes of work."""

    rigs: list[str] = field(default_factory=list)
    minutes: float = 0.0
    bench_minutes: float = 0.0


@dataclass(slots=True)
class Fleet:
    """What is gathered of all rigs, a row at a time, in the order given."""

    rigs: list[dict[str, Any]] = field(default_factory=list)
    days: dict[str, ShedDay] = field(default_factory=dict)
    bought: dict[tuple[str, str, str], Bought] = field(default_factory=dict)
    zones: set[str] = field(default_factory=set)
    years: set[int] = field(default_factory=set)

    def add(self, row: dict[str, Any]) -> None:
        """Take one rig in."""
        before = [slot for slot in row.get("slots", ()) if slot["kind"] == WORKSHOP and slot["jobs"]]
        told = {key: value for key, value in row.items() if key not in LEFT_OUT_OF_JSON}
        if row["is_made"]:
            told["minutes_before"] = sum(slot["minutes_planned"] for slot in before)
            told["first_day"] = min((slot["date"] for slot in before), default="")
            told["order_by"] = min((slot["order_by"] for slot in row["slots"] if slot["order_by"]), default="")
        self.rigs.append(told)
        for slot in before:
            day = self.days.setdefault(slot["date"], ShedDay())
            day.rigs.append(row["name"])
            day.minutes += slot["minutes_planned"]
            day.bench_minutes += slot["bench_minutes"]
        for need in row.get("needs", ()):
            self._buy(row["name"], need)
        self.zones.update(row.get("zones", ()))
        self.years.update(row.get("years", ()))

    def _buy(self, name: str, need: dict[str, Any]) -> None:
        line = self.bought.setdefault((need["when"], need["name"], need["unit"]), Bought())
        line.quantity += need["quantity"]
        if name not in line.rigs[-1:]:
            line.rigs.append(name)
        for key in ("needed_by", "order_by"):
            earlier = [day for day in (getattr(line, key), need[key]) if day]
            setattr(line, key, min(earlier, default=""))

    @property
    def made(self) -> list[dict[str, Any]]:
        """The rigs that have a plan."""
        return [rig for rig in self.rigs if rig["is_made"]]


def rigs_csv(fleet: Fleet) -> str:
    """One row a rig, in the order given."""
    return csv_text(RIG_COLUMNS, ({name: _cell(rig, name) for name in RIG_COLUMNS} for rig in fleet.rigs))


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
            "people_minutes_there": shed.people * shed.day_minutes if shed else "", "bays": len(one.rigs),
            "bays_there": shed.bays if shed else "", "bench_minutes": round(one.bench_minutes),
            "over": "; ".join(_over(one, shed)) if shed else "",
        }
        for day, one in sorted(fleet.days.items())
    ]  # fmt: skip


def _over(day: ShedDay, shed: Shed) -> list[str]:
    told = []
    if day.minutes > shed.people * shed.day_minutes + 0.5:
        told.append(f"{day.minutes - shed.people * shed.day_minutes:.0f} minutes of work")
    if len(day.rigs) > shed.bays:
        told.append(words.count(len(day.rigs) - shed.bays, "bay", "bays"))
    if day.bench_minutes > shed.benches * shed.day_minutes + 0.5:
        told.append(f"{day.bench_minutes - shed.benches * shed.day_minutes:.0f} minutes at the bench")
    return told


def shopping_rows(fleet: Fleet) -> list[dict[str, Any]]:
    """What all rigs need, each thing once, with the earliest day to order it."""
    found = []
    for (when, what, unit), line in sorted(fleet.bought.items()):
        names = line.rigs if len(line.rigs) <= MOST_NAMED else [*line.rigs[:MOST_NAMED], "and others"]
        found.append({
            "when": when, "what": what, "quantity": f"{round(line.quantity, 6):g}", "unit": unit, "rigs": len(line.rigs),
            "needed_by": line.needed_by, "order_by": line.order_by, "for": "; ".join(names),
        })  # fmt: skip
    return found


def shopping_csv(fleet: Fleet) -> str:
    """One row a thing to buy or carry, for all rigs together."""
    return csv_text(SHOPPING_COLUMNS, shopping_rows(fleet))


def calendar_ics(fleet: Fleet, events: Iterable[Sequence[str]]) -> bytes:
    """One calendar of all rigs: the events of each as its own calendar has them, its name in front."""
    body = "".join(text for of_rig in events for text in of_rig)
    return "".join((CALENDAR_HEAD, *_zones(fleet), body, CALENDAR_END)).encode("utf-8", "replace")


def _zones(fleet: Fleet) -> Iterable[str]:
    if not fleet.years:
        return
    first, last = date(min(fleet.years) - 1, 1, 1), date(max(fleet.years) + 2, 1, 1)
    for name in sorted(fleet.zones):
        yield Timezone.from_tzid(name, first_date=first, last_date=last).to_ical().decode()


def fleet_json(fleet: Fleet, today: date, shed: Shed | None, yard: Sequence[dict[str, Any]] = ()) -> str:
    """The summary as JSON: rigs, days and shopping; the plans themselves lie beside it."""
    document = {
        "schema": SCHEMA, "today": today.isoformat(), "rigs": fleet.rigs, "shed_days": day_rows(fleet, shed),
        "shared_days": list(yard), "shopping": shopping_rows(fleet),
    }  # fmt: skip
    return f"{json.dumps(document, indent=1, ensure_ascii=False)}\n"


def fleet_text(
    fleet: Fleet, today: date, shed: Shed | None, yard_lines: Sequence[str] = (), is_short: bool = False
) -> str:
    """The summary to be read: who has a plan, who stands where on which day, what to order first.

    The short one, for a terminal, tells of more than a few rigs only those that have no plan.
    """
    is_short = is_short and len(fleet.rigs) > FEW_RIGS
    told = [rig for rig in fleet.rigs if not (is_short and rig["is_made"])]
    days = [] if is_short else [*_by_day(fleet, shed), *yard_lines]
    lines = [*_head(fleet, today), *_by_rig(told), *days, *_to_order(fleet, today)]
    return "\n".join(words.printable(line).rstrip() for line in lines) + "\n"


def _head(fleet: Fleet, today: date) -> list[str]:
    made = fleet.made
    told = f"{words.count(len(fleet.rigs), 'rig', 'rigs')}, as of {words.day(today)}: {len(made)} with a plan"
    told += f", {len(fleet.rigs) - len(made)} without." if len(made) < len(fleet.rigs) else "."
    work = words.duration(sum(rig["minutes_before"] for rig in made))
    return wrap(f"{told} Before departure there is {work} of work in the shed.")


def _by_rig(rigs: Sequence[dict[str, Any]]) -> list[str]:
    lines = heading("By rig") if rigs else []
    for rig in rigs:
        lines += bullet(_planned_words(rig)) if rig["is_made"] else _without_plan(rig)
    return lines


def _without_plan(rig: dict[str, Any]) -> list[str]:
    lines = bullet(f"{rig['name']}: no plan.")
    for found in rig["problems"][:MOST_PROBLEMS]:
        where = found["file"] if found["row"] is None else f"{found['file']} row {found['row']}"
        lines += wrap(f"{where} ({found['code']}): {found['found']}", "    ", "    ")
    more = len(rig["problems"]) - MOST_PROBLEMS
    return lines + (wrap(f"and {more} more", "    ", "    ") if more > 0 else [])


def _planned_words(rig: dict[str, Any]) -> str:
    leaves = f"{rig['name']}: {rig['rig']}, leaves {words.day(date.fromisoformat(rig['depart']))}"
    work = f"{rig['due']} due before departure, {words.duration(rig['minutes_before'])} in the shed"
    first = f" from {words.short_day(date.fromisoformat(rig['first_day']))}" if rig["first_day"] else ""
    order_by = rig["order_by"] and words.short_day(date.fromisoformat(rig["order_by"]))
    order = f", parts to be ordered by {order_by}" if order_by else ""
    looks = len(rig["warnings"]) + len(rig["problems"])
    tail = f"; {words.count(looks, 'thing', 'things')} worth a look" if looks else ""
    return f"{leaves}; {work}{first}{order}{tail}."


def _by_day(fleet: Fleet, shed: Shed | None) -> list[str]:
    rows = day_rows(fleet, shed)
    if not rows:
        return []
    lines = heading("By day in the shed, as each rig would have it alone")
    for row in rows:
        told = f"{words.day(date.fromisoformat(row['date']))}: {words.duration(row['people_minutes'])} of work"
        bench = f", {words.duration(row['bench_minutes'])} of it at the bench" if row["bench_minutes"] else ""
        over = f"; more than the shed has by {row['over']}" if row["over"] else ""
        lines += bullet(f"{told}{bench}, {words.count(row['rigs'], 'rig', 'rigs')}{over}.")
    return lines


def _to_order(fleet: Fleet, today: date) -> list[str]:
    dated = sorted(
        (row for row in shopping_rows(fleet) if row["order_by"]), key=lambda row: (row["order_by"], row["what"])
    )
    if not dated:
        return []
    lines = heading("To be ordered first")
    for row in dated[:MOST_NAMED]:
        last = date.fromisoformat(row["order_by"])
        by = f"By {words.day(last)}" if last > today else "At once"
        amount = f"{row['quantity']} {row['unit']}, {words.count(row['rigs'], 'rig', 'rigs')}"
        lines += bullet(f"{by}: {row['what']}, {amount}.")
    return lines
