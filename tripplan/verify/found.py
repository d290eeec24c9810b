"""Rules about what was found: a known fault is put right at the first place with the time.

What can hurt somebody or stop the rig, before the rig goes on: common practice, no source. Water in an oil or a
grease, within the days and km of the row of `water_rules.csv` that puts it right, else a manual's days after deep
fording. Where no place lies inside that, at the first one that can do it. What `remedies.csv` puts right on both
sides of an axle is put right there together, whichever side was found bad.
"""

from collections.abc import Iterator
from datetime import date, timedelta

from tripplan.records.lookups import SERVICE
from tripplan.verify.facts import HUB_OFF, SIDES, Broken, Facts, Json, as_much, day, key_of, named, rank
from tripplan.verify.parts import days_with_shelf, meets_the_rig
from tripplan.verify.remedies import ending_acts, remedies_at, seen_at
from tripplan.verify.slots import place_factor
from tripplan.verify.spent import left_of_days, road_spent_in_all

WATER = "water"


def found_rules(facts: Facts) -> Iterator[Broken]:
    """No place with the time is passed by with a fault that is known."""
    for entry in facts.plan["items"]:
        item = facts.catalogued[entry["item"]]
        if entry["found"] == WATER or (entry["found"] is not None and (item.harms or item.strands > 0)):
            yield from _passed_by(facts, entry)
        if entry["found"] is not None and entry["position"] in SIDES and _is_in_pairs(facts, entry):
            yield from _other_side(facts, entry)


def _is_in_pairs(facts: Facts, entry: Json) -> bool:
    return any(row.sides == "both" for row in remedies_at(facts, entry))


def _other_side(facts: Facts, entry: Json) -> Iterator[Broken]:
    """The other side is done by the same act at the same places, or was done since it was found."""
    other = facts.other_side(entry)
    if other is None:
        return
    if other["found"] is None:
        apart = not _done_since(facts, entry, other)
    else:
        apart = (entry["act"], facts.places_of(entry)) != (other["act"], facts.places_of(other))
    if apart:
        says = f"put right at {entry['placed']}, the {other['position']} side at {other['placed']}"
        yield Broken("fault of an axle", named(entry), says)


def _done_since(facts: Facts, entry: Json, other: Json) -> bool:
    """True when a row since then does on the other side what puts such a finding right."""
    found = _found_on(facts, entry)
    cures = {SERVICE, *ending_acts(facts, entry)}
    return found is not None and any(
        row.act in cures and row.date >= found and row.position in (None, "both", "all", other["position"])
        for row in facts.history if row.unit == entry["unit"]
    )  # fmt: skip


def _passed_by(facts: Facts, entry: Json) -> Iterator[Broken]:
    found = _found_on(facts, entry)
    able = [index for index, slot in enumerate(facts.slots) if _is_able(facts, entry, slot)]
    if found is None or not able:
        return
    inside = [index for index in able if _is_soon_enough(facts, entry, index, found)]
    last, done = inside[-1] if inside else able[0], _done(facts, entry)
    for index in able:
        slot = facts.slots[index]
        if last < done and _is_before(facts, slot, done) and _has_room(facts, entry, slot):
            later = facts.slots[done]["id"] if done < len(facts.slots) else "nothing"
            says = f"found on {found}, and {slot['id']} has the time for it before {later}"
            yield Broken("fault known", named(entry), says)
            return


def _is_before(facts: Facts, slot: Json, done: int) -> bool:
    """True when the rig is driven on from there before that slot."""
    return done == len(facts.slots) or bool(slot["trip_km"] < facts.slots[done]["trip_km"])


def _is_soon_enough(facts: Facts, entry: Json, index: int, found: date) -> bool:
    if entry["found"] != WATER:
        return index < facts.chances()
    days, km = _span(facts, entry)
    from_km = sum(leg["distance_km"] for leg in facts.plan["legs"] if day(leg["date"]) <= found)
    slot = facts.slots[index]
    return bool((day(slot["date"]) - found).days <= days and (km is None or slot["trip_km"] - from_km <= km))


def _found_on(facts: Facts, entry: Json) -> date | None:
    told, there = (entry["unit"], entry["found"]), seen_at(facts, entry)
    rows = [row.date for row in facts.history if row.item in there and (row.unit, row.finding) == told]
    return max(rows, default=None)


def _span(facts: Facts, entry: Json) -> tuple[float, float | None]:
    enough = as_much(facts.catalogue, entry["act"])
    for rule in facts.catalogue.water_rules:
        if rule.item == entry["item"] and rule.resets and rule.act in enough and rule.within_days:
            return rule.within_days, rule.within_km
    return facts.catalogue.assumed("water_found_days").value, None


def _most(facts: Facts, entry: Json) -> tuple[float, int, float]:
    """The most that the act, or what puts the finding right, may ask for: minutes, facility, days for parts."""
    item, remedies = facts.catalogued[entry["item"]], remedies_at(facts, entry)
    rows = [row for row in facts.catalogue.water_rules if row.item == item.id and row.resets]
    facilities = (item.facility, *(row.facility or item.facility for row in remedies), *(row.facility for row in rows))
    return (
        max([item.minutes, *(row.minutes or 0.0 for row in remedies), *(row.minutes for row in rows)]),
        max(map(rank, facilities)),
        max([item.parts_lead_days, *(row.parts_lead_days for row in remedies)]),
    )


def _is_able(facts: Facts, entry: Json, slot: Json) -> bool:
    _, needed, days = _most(facts, entry)
    ready = facts.today + timedelta(days=days_with_shelf(facts, entry, days))
    return rank(slot["facility"]) >= needed and meets_the_rig(facts, ready, slot)


def _done(facts: Facts, entry: Json) -> int:
    """The first slot that puts it right; where the item's own act does not, no greater act does it on the way either."""
    own = entry["act"] == facts.catalogued[entry["item"]].act
    spots = [facts.spot[slot] for slot in entry["placed"]] if own else []
    spots += [index for index, job in facts.jobs() if key_of(job) == key_of(entry) and facts.puts_right(job, entry)]
    return min(spots, default=len(facts.slots))


def _has_room(facts: Facts, entry: Json, slot: Json) -> bool:
    """True when it fits beside all that is planned there, both sides, with all its opening, whatever else a hub brings."""
    item = facts.catalogued[entry["item"]]
    states = {item.state, *(row.state or item.state for row in remedies_at(facts, entry))}
    minutes = _most(facts, entry)[0] + max(facts.opening_minutes(item.place, state) for state in sorted(states))
    if any(row.state == HUB_OFF for state in sorted(states) for row in facts.states_to(item.place, state)):
        minutes += sum(one.minutes for one in facts.catalogue.items if one.place == item.place)
    minutes = (minutes * (len(SIDES) if entry["position"] else 1) + 10.0) * place_factor(facts, slot)
    most = float("inf") if slot["minutes_available"] is None else slot["minutes_available"]
    if facts.is_on_the_road(slot):
        most = min(most, left_of_days(facts, slot))
        days = (facts.trip.return_ - facts.trip.depart).days + 1
        spent = sum(other["minutes_planned"] for other in facts.slots if facts.is_on_the_road(other))
        spent += sum(check["minutes"] for check in facts.plan["rechecks"] if check["slot"] is None)
        given = facts.road_minutes["road_daily_minutes"] * days - road_spent_in_all(facts)
        if spent + minutes > given:
            return False
    return bool(slot["minutes_planned"] + minutes <= most)
