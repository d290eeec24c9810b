"""The summary of a fleet to be read: who leaves without what, who stands where on which day, what to order first.

In the order in which somebody who runs the shed acts on it: rigs without a plan, work that is not done in time, the days,
the orders, and last what is worth a look, told once for all rigs at which it is the same.
"""

from collections.abc import Mapping, Sequence
from datetime import date

from tripplan.placing.yard import Shed
from tripplan.sheets import words
from tripplan.sheets.fleet_summary import MOST_NAMED, MOST_PROBLEMS, Fleet, Named, RigLine, day_rows, shopping_rows
from tripplan.sheets.materials import amount
from tripplan.sheets.text_lines import bullet, heading, wrap

FEW_RIGS, MOST_LOOKS = 40, 40
ORDERED_FOR = {
    "before departure": "for work before departure",
    "carry": "to carry",
    "after return": "for after the return",
}


def fleet_text(
    fleet: Fleet, today: date, shed: Shed | None, yard_lines: Sequence[str] = (), is_short: bool = False
) -> str:
    """The summary to be read.

    The short one, for a terminal, tells of more than a few rigs only those that have no plan.
    """
    is_short = is_short and len(fleet.rigs) > FEW_RIGS
    told = [*_head(fleet, today), *_without_plan(fleet), *_urgent(fleet, is_short)]
    if not is_short:
        told += [*_by_rig(fleet, bool(yard_lines)), *yard_lines, *(_too_full(fleet, shed) if shed else _by_day(fleet))]
    told += _to_order(fleet, today)
    if not is_short:
        told += _looks("Worth a look", fleet.looks)
    return "\n".join(words.printable(line).rstrip() for line in told) + "\n"


def _head(fleet: Fleet, today: date) -> list[str]:
    made = fleet.made
    told = f"{words.count(len(fleet.rigs), 'rig', 'rigs')}, as of {words.day(today)}: {len(made)} with a plan"
    told += f", {len(fleet.rigs) - len(made)} without." if len(made) < len(fleet.rigs) else "."
    work = words.duration(sum(day.minutes for day in fleet.days.values()))
    days = f" on {words.count(len(fleet.days), 'day', 'days')}" if fleet.days else ""
    told += f" Before departure there is {work} of work in the shed{days}."
    late = sum(rig["unmet"] > 0 for rig in made)
    return wrap(f"{told} {words.count(late, 'rig leaves', 'rigs leave')} with work not done in time." if late else told)


def _without_plan(fleet: Fleet) -> list[str]:
    without = [rig for rig in fleet.rigs if not rig.is_made]
    lines = heading("Without a plan") if without else []
    for rig in without:
        lines += bullet(f"{rig['name']}: no plan. Its folder is {rig['folder']}.")
        for where, found, _ in rig.problems[:MOST_PROBLEMS]:
            lines += wrap(f"{where}: {found}", "    ", "    ")
        if rig.looks > MOST_PROBLEMS:
            lines += wrap(f"and {rig.looks - MOST_PROBLEMS} more", "    ", "    ")
    return lines


def _urgent(fleet: Fleet, is_short: bool) -> list[str]:
    if is_short and fleet.urgent:
        rigs = words.count(sum(rig.urgent > 0 for rig in fleet.rigs), "rig has", "rigs have")
        return wrap(f"{rigs} something to be settled before leaving: see fleet.txt.")
    return _looks("To be settled before they leave", fleet.urgent)


def _by_rig(fleet: Fleet, is_shared: bool) -> list[str]:
    own = "; days as in its own plan" if is_shared else ""
    lines = heading(f"By rig, in the order they leave{own}") if fleet.made else []
    for rig in sorted(fleet.made, key=lambda rig: rig["depart"]):
        lines += bullet(_planned_words(rig))
    return lines


def _planned_words(rig: RigLine) -> str:
    own = "" if rig["name"].casefold() == rig["rig"].casefold() else f": {rig['rig']}"
    days = words.days(map(date.fromisoformat, rig.days))
    work = f"{words.duration(float(rig['minutes_before']))} in the shed on {days}" if days else "nothing in the shed"
    told = f"{rig['name']}{own}, leaves {words.day(date.fromisoformat(rig['depart']))}; {work}"
    if rig["order_by"]:
        told += f", parts to be ordered by {words.short_day(date.fromisoformat(rig['order_by']))}"
    told += f"; {words.count(rig['due'], 'item', 'items')} due"
    told += f", {rig.no_record} of them without a record" if rig.no_record else ""
    told += f", {rig['unmet']} of them not done in time" if rig["unmet"] else ""
    return f"{told}{f'; {rig.looks} to look at below' if rig.looks else ''}."


def _by_day(fleet: Fleet) -> list[str]:
    lines = heading("By day in the shed") if fleet.days else []
    for row in day_rows(fleet, None):
        told = f"{words.day(date.fromisoformat(row['date']))}: {words.duration(row['people_minutes'])} of work"
        bench = f", {words.duration(row['bench_minutes'])} of it at the bench" if row["bench_minutes"] else ""
        lines += bullet(f"{told}{bench}, {words.count(row['rigs'], 'rig', 'rigs')}.")
    return lines


def _too_full(fleet: Fleet, shed: Shed) -> list[str]:
    """The days that the shed could not give, were each rig worked on as its own plan has it."""
    rows = [row for row in day_rows(fleet, shed) if row["over"]]
    if not rows:
        return heading("By each rig's own plan") + wrap("On no day would the shed be too full.")
    lines = heading("Days that would be too full, were each rig worked on as its own plan has it")
    for row in rows:
        told = f"{words.day(date.fromisoformat(row['date']))}: {words.duration(row['people_minutes'])} of work"
        lines += bullet(f"{told} at {words.count(row['rigs'], 'rig', 'rigs')}; too much by {row['over']}.")
    return lines


def _to_order(fleet: Fleet, today: date) -> list[str]:
    dated = [row for row in shopping_rows(fleet) if row["order_by"]]
    if not dated:
        return []
    lines = heading("To be ordered first")
    for row in sorted(dated, key=lambda row: (row["order_by"], row["what"], row["when"]))[:MOST_NAMED]:
        last = date.fromisoformat(row["order_by"])
        by = f"By {words.day(last)}" if last > today else "At once"
        what = f"{row['what']}, {amount(float(row['quantity']), row['unit'])} in all"
        lines += bullet(
            f"{by}: {what}, {ORDERED_FOR.get(row['when'], row['when'])}, {words.count(row['rigs'], 'rig', 'rigs')}."
        )
    if len(dated) > MOST_NAMED:
        lines += wrap(f"{len(dated) - MOST_NAMED} more with a last day to order stand in shopping.csv.")
    return lines


def _looks(title: str, looks: Mapping[str, Named]) -> list[str]:
    """What is to be seen to, that of the most rigs first."""
    lines = heading(title) if looks else []
    for text, rigs in sorted(looks.items(), key=lambda look: (-look[1].count, look[1].first, look[0]))[:MOST_LOOKS]:
        lines += bullet(f"{', '.join(rigs.names)}: {text}")
    if len(looks) > MOST_LOOKS:
        lines += wrap(f"{len(looks) - MOST_LOOKS} more stand in fleet.json, at each rig.")
    return lines
