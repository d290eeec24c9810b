"""Parts that need not be ordered: what the owner's shelf holds on a day, against what the jobs take from it.

A job that comes sooner than parts ordered today must find all of its parts on the shelf on its day, beside the jobs
before it; so must one at a stop whose parts come after the last day at home and are sent to no shop before it. Which
job is given which part is not asked: there must be enough for all.
"""

from collections.abc import Iterable, Iterator, Mapping
from datetime import date, timedelta

from tripplan.records.catalogue import Item
from tripplan.records.mending import Remedy
from tripplan.records.shelf import meant, unit_factor
from tripplan.verify.facts import AFTER, AFTER_WATER, RECHECK, STOP, WORKSHOP, Broken, Facts, Json, day, key_of, named
from tripplan.verify.remedies import remedies_of

ORDERED = ("part", "seal", "filter")


def parts_rules(facts: Facts) -> Iterator[Broken]:
    """No job comes before its parts: those ordered today, or those of the shelf."""
    spent: dict[str, float] = {}
    for index, job in facts.jobs():
        item, slot = facts.catalogued.get(job["item"]), facts.slots[index]
        if item is None or slot["kind"] == AFTER or job["kind"] in (AFTER_WATER, RECHECK):
            continue
        wanted, on = taken_by(facts, item, job), day(slot["date"])
        ready = facts.today + timedelta(days=days_for_parts(facts, item, job))
        if meets_the_rig(facts, ready, slot) or facts.is_warned(facts.items.get(key_of(job), job)):
            continue
        more = _sum(spent, wanted)
        if all(more[what] <= there(facts, what, on) for what in wanted):
            spent = more
        else:
            yield Broken("parts arrive", f"{slot['id']}, {named(job)}", f"parts ordered today are there on {ready}")


def meets_the_rig(facts: Facts, ready: date, slot: Json) -> bool:
    """True where parts that come on that day are there: at home, along from home, or sent to a stop with shops at or before this one."""
    on = day(slot["date"])
    if slot["kind"] != STOP or on < ready:
        return on >= ready
    at_home = [day(slot["date"]) for slot in facts.slots if slot["kind"] == WORKSHOP]
    if ready <= max([facts.today, *at_home] if at_home else [facts.today, facts.trip.depart]):
        return True
    shops = {stop.stop for stop in facts.trip.stops if stop.facility in ("town", "workshop")}
    return any(
        slot["kind"] == STOP and slot["place"] in shops and ready <= day(slot["date"]) <= on for slot in facts.slots
    )


def days_for_parts(facts: Facts, item: Item, job: Json) -> float:
    """Days that parts ordered today take, where the job takes any that have to be ordered: its own, or for what was found."""
    if not taken_by(facts, item, job):
        return 0.0
    return max([item.parts_lead_days, *(row.parts_lead_days for row in remedies_of(facts, job))])


def taken_by(facts: Facts, item: Item, job: Json) -> dict[str, float]:
    """The parts that a job takes and that have to be ordered: of the item's own act, and of what puts a finding right."""
    return _with_remedies(facts, item, remedies_of(facts, job))


def there(facts: Facts, what: str, on: date | None) -> float:
    """How much of a thing lies on the shelf on that day; None counts all that is ordered."""
    known, found = {row.id: row for row in facts.catalogue.consumables}, 0.0
    for row in facts.shelf:
        one = meant(row.what, facts.catalogue.consumables)
        factor = unit_factor(row.unit_of_measure, known[what].unit_of_measure) if one and one.id == what else None
        if factor is not None and (row.arrives is None or on is None or row.arrives <= on):
            found += row.quantity * factor
    return found


def days_with_shelf(facts: Facts, entry: Json, days: float) -> float:
    """The days until the parts of what was found can be there: those of the table, or less where the shelf has enough of them for all faults."""
    wanted = taken_by(facts, facts.catalogued[entry["item"]], entry)
    total: dict[str, float] = {}
    for other in facts.plan["items"]:
        if other["found"] is not None:
            total = _sum(total, taken_by(facts, facts.catalogued[other["item"]], other))
    if not wanted or any(total[what] > there(facts, what, None) for what in wanted):
        return days
    comes = [row.arrives for row in facts.shelf if row.arrives is not None and row.arrives > facts.today]
    if all(total[what] <= there(facts, what, facts.today) for what in wanted):
        return 0.0
    return float((max(comes) - facts.today).days)


def _with_remedies(facts: Facts, item: Item, remedies: Iterable[Remedy]) -> dict[str, float]:
    """The ordered parts of the item, with those of its remedies; of the same thing what the remedy says."""
    amounts = {
        one.what: one.quantity for one in (*item.consumables, *(one for row in remedies for one in row.consumables))
    }
    return _added(facts, amounts.items())


def _added(facts: Facts, amounts: Iterable[tuple[str, float]]) -> dict[str, float]:
    kinds = {row.id: row.kind for row in facts.catalogue.consumables}
    found: dict[str, float] = {}
    for what, amount in amounts:
        if kinds.get(what) in ORDERED:
            found = _sum(found, {what: amount})
    return found


def _sum(one: Mapping[str, float], other: Mapping[str, float]) -> dict[str, float]:
    return {**one, **{what: one.get(what, 0.0) + amount for what, amount in other.items()}}
