"""Rules about looks that work on record asks for: what nobody looked at since stands in the plan.

Held to it is only work whose km can be no more than the look may wait: by its own reading and the legs and usual km
since the last one, or by its day where no reading is younger.
"""

from collections.abc import Iterator
from datetime import date
from functools import lru_cache

from msgspec import Struct

from tripplan.records.catalogue import Catalogue, Item
from tripplan.records.facts_in import HistoryRow, Unit, as_day
from tripplan.records.lookups import item_index
from tripplan.records.words import Line
from tripplan.verify.facts import HUB_OFF, NUTS, SMALL, WHEEL_OFF, Broken, Facts, Json, Key, as_much, key_of, named

PLAY = {
    place: f"{place.split()[0]}_bearing_play" for place in ("front wheel end", "rear wheel end", "trailer wheel end")
}
LOW_KM, HIGH_KM = 50.0, 100.0
BOTH = (None, "both", "all")


class Asked(Struct, frozen=True):
    """A look that a row asks for, and between which km after it."""

    row: HistoryRow
    key: Key
    low_km: float
    high_km: float


def recorded_rules(facts: Facts) -> Iterator[Broken]:
    """No look is missing that work on record asks for, and none is there without such work."""
    asked = [one for row in facts.history for one in _asked(facts, row)]
    there = {key_of(check) for check in facts.plan["rechecks"]}
    there |= {key for key, entry in facts.items.items() if entry["placed"]}
    for one in asked:
        if one.key not in there and _km_since(facts, one.row) <= one.high_km and not _is_seen(facts, one):
            says = f"the work of {one.row.date} asks for it after {one.low_km:g} to {one.high_km:g} km, nobody looked since"
            yield Broken("look that work asked for", " ".join(part for part in one.key if part), says)
    for check in facts.plan["rechecks"]:
        if check["after_slot"] is None and not any(_is_of(check, one) for one in asked):
            yield Broken("look that work asked for", named(check), f"no work of {check['work_day']} asks for it")


def _is_of(check: Json, one: Asked) -> bool:
    """True when a look of the plan is the one that the row asks for, and not before its km."""
    same = key_of(check) == one.key and check["work_day"] == one.row.date.isoformat()
    return same and check["from_km"] >= check["work_km"] + one.low_km - SMALL


def _asked(facts: Facts, row: HistoryRow) -> Iterator[Asked]:
    """The looks that one row asks for some km later, a side each."""
    unit = facts.units.get(row.unit)
    for item in _items_of(facts, row) if unit is not None else ():
        if unit is None or not item.fits(unit) or item.rhythm != "service":
            continue
        own = _does(facts.catalogue, row.act, item.act)
        state = item.state if own else _water_state(facts, row, item)
        if state is None:
            continue
        windows = [(one.item, one.low_km, one.high_km) for one in item.follow_ups if own and one.high_km > 0]
        for name, low_km, high_km in dict.fromkeys((*windows, *_of_the_wheel(facts, item, unit, state, own))):
            look = facts.catalogued.get(name)
            if look is not None and look.fits(unit):
                for side in _sides(item, row, look):
                    yield Asked(row, (look.id, unit.id, side), low_km, high_km)


def _items_of(facts: Facts, row: HistoryRow) -> list[Item]:
    """The items that a row names, by themselves or as a service sheet."""
    names = _names(facts.catalogue)
    return [
        facts.catalogued[name]
        for name in names.get((row.item or "").strip().casefold(), ())
        if name in facts.catalogued
    ]


@lru_cache(maxsize=4)
def _names(catalogue: Catalogue) -> dict[str, tuple[str, ...]]:
    """Item ids by what a row may call them: an item, or a service sheet with those it includes."""
    found: dict[str, tuple[str, ...]] = {name: (item.id,) for name, item in item_index(catalogue).items()}
    sheets = {sheet.id: sheet for sheet in catalogue.services}
    for sheet in catalogue.services:
        held, queue = dict.fromkeys(sheet.items), list(sheet.includes)
        while queue:
            inner = sheets[queue.pop()]
            held |= dict.fromkeys(inner.items)
            queue += inner.includes
        found[sheet.id] = tuple(held)
    return found


def _does(catalogue: Catalogue, done: str, wanted: str) -> bool:
    return done == Line.SERVICE or done in as_much(catalogue, wanted)


def _water_state(facts: Facts, row: HistoryRow, item: Item) -> str | None:
    """What is open for a look after water; None where no rule has such an act."""
    rules = [rule for rule in facts.catalogue.water_rules if (rule.item, rule.act) == (item.id, row.act)]
    return rules[0].state if rules else None


def _of_the_wheel(facts: Facts, item: Item, unit: Unit, state: str, own: bool) -> Iterator[tuple[str, float, float]]:
    """Nuts where a wheel was off, play where the hub was, or where the wheel was off because of water."""
    opened = {row.state for row in facts.states_to(item.place, state)}
    if WHEEL_OFF in opened:
        yield NUTS[unit.kind], LOW_KM, HIGH_KM
    if item.place in PLAY and (HUB_OFF in opened or (WHEEL_OFF in opened and not own)):
        yield PLAY[item.place], LOW_KM, HIGH_KM


def _sides(item: Item, row: HistoryRow, look: Item) -> tuple[str | None, ...]:
    if not look.positions:
        return (None,)
    return look.positions if row.position in BOTH or not item.positions else (row.position,)


def _is_seen(facts: Facts, one: Asked) -> bool:
    """True when a later row is that look or does it on the way: by both readings, else on a later day."""
    return any(_sees(facts, row, one) for row in facts.history if row.unit == one.key[1] and row is not one.row)


def _sees(facts: Facts, row: HistoryRow, one: Asked) -> bool:
    look = facts.catalogued[one.key[0]]
    does = [
        item
        for item in _items_of(facts, row)
        if item.id in facts.doing[look.id] and _does(facts.catalogue, row.act, item.act)
    ]
    if not does or not (row.position in (*BOTH, one.key[2]) or not all(item.positions for item in does)):
        return False
    if row.odometer_km is None or one.row.odometer_km is None:
        return row.date > one.row.date
    least_km = one.low_km * (1 - facts.catalogue.assumed("tolerance_share").value)
    return _true_km(facts, one.key[1], one.row.odometer_km, row.odometer_km) >= least_km - SMALL


def _true_km(facts: Facts, unit: str, first_km: float, then_km: float) -> float:
    factor = facts.units[unit].odometer_factor
    return (then_km - first_km) * (1.0 if factor is None else factor)


def _km_since(facts: Facts, row: HistoryRow) -> float:
    """The most km that can have been driven since a row; endless where nobody can tell."""
    rows = [
        one for one in facts.history if one.unit == row.unit and one.odometer_km is not None and one.date >= row.date
    ]
    if any(one.act == Line.ODOMETER_REPLACED for one in rows):
        return float("inf")
    if row.odometer_km is None:
        return float("inf") if rows else _most_km(facts, row.unit, row.date)
    last = max(rows, key=lambda one: (one.date, one.odometer_km))
    since_km = _true_km(facts, row.unit, row.odometer_km, last.odometer_km or 0.0)
    return since_km + _most_km(facts, row.unit, last.date) if since_km >= 0 else float("inf")


def _most_km(facts: Facts, unit: str, since: date) -> float:
    """Legs of the trip from that day on, and as much usual use as its days allow."""
    trip, usual = facts.trip, facts.units[unit].usual_km_per_week
    if usual is None and since < trip.depart:
        return float("inf")
    legs = sum(leg.distance_km for leg in trip.legs if since <= leg.date < facts.today)
    legs += max(
        (ford.at_km for ford in trip.crossings if ford.crossed and as_day(ford.crossed) == facts.today), default=0.0
    )
    return legs + (usual or 0.0) * (facts.today - since).days / 7
