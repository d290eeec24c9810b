"""Rules of the trade: hubs and wheels that were off, sides of an axle together, the owner's hours on the road.

Common practice, no source.
"""

from collections.abc import Iterator

from tripplan.records.catalogue import Item, WaterRule
from tripplan.records.grouped import grouped
from tripplan.verify.again import away_looks, away_minutes, recorded_minutes
from tripplan.verify.facts import (
    AFTER_WATER,
    HUB_OFF,
    NUTS,
    SIDES,
    SMALL,
    WHEEL_OFF,
    WORKSHOP,
    Broken,
    Facts,
    Json,
    Key,
    key_of,
    named,
)
from tripplan.verify.slots import needed_open
from tripplan.verify.spent import left_of_days, road_spent_in_all

WITH_THE_HUB = ("repack", "renew")
NUTS_LOW_KM, NUTS_HIGH_KM = 50.0, 100.0
ABOUT_AS_FAR = 0.25


def trade_rules(facts: Facts) -> Iterator[Broken]:
    """Every rule of the trade that the work in a slot can break."""
    for index, slot in enumerate(facts.slots):
        yield from _nuts(facts, index, slot)
        yield from _open_hub(facts, slot)
    yield from _sides(facts)
    yield from _ceilings(facts)


def is_with_the_hub(item: Item) -> bool:
    """True for what is done whenever the hub is off: bearings packed, seals new."""
    return item.state == HUB_OFF and item.act in WITH_THE_HUB


def _nuts(facts: Facts, index: int, slot: Json) -> Iterator[Broken]:
    """Whoever had a wheel off, water work too: the nuts are looked at again after 50 to 100 km."""
    for unit in sorted({part["unit"] for part in slot["opened"] if part["state"] == WHEEL_OFF}):
        item = facts.catalogued.get(NUTS[facts.units[unit].kind])
        if item is not None and item.fits(facts.units[unit]) and not _nuts_are_looked_at(facts, index, item, unit):
            says = (
                f"a wheel of {unit} was off and its nuts are not looked at after {NUTS_LOW_KM:g} to {NUTS_HIGH_KM:g} km"
            )
            yield Broken("wheel off", slot["id"], says)


def _nuts_are_looked_at(facts: Facts, index: int, item: Item, unit: str) -> bool:
    here = facts.slots[index]
    low, high = here["trip_km"] + NUTS_LOW_KM, here["trip_km"] + NUTS_HIGH_KM
    for check in facts.plan["rechecks"]:
        same = (check["item"], check["unit"], check["after_slot"]) == (item.id, unit, here["id"])
        if same and low - SMALL <= check["from_km"] and check["to_km"] <= high + SMALL:
            return True
    done = [facts.spot[slot] for position in item.positions or (None,)
            for slot in facts.items.get((item.id, unit, position), {"placed": ()})["placed"]]  # fmt: skip
    shaken = here["kind"] == WORKSHOP and facts.trip.shakedown_km >= NUTS_LOW_KM
    return any(
        spot > index
        and (low <= facts.slots[spot]["trip_km"] <= high or (shaken and facts.slots[spot]["kind"] == WORKSHOP))
        for spot in done
    )


def _open_hub(facts: Facts, slot: Json) -> Iterator[Broken]:
    """Look, clean, repack, new seal: everything that belongs to a hub is done while it is off."""
    done = {key_of(job) for job in slot["jobs"] if facts.renews(job)}
    for part in slot["opened"]:
        for item in facts.catalogue.items if part["state"] == HUB_OFF else ():
            unit = facts.units[part["unit"]]
            if item.place == part["place"] and is_with_the_hub(item) and item.fits(unit):
                side = part["position"] if item.positions else None
                keys: set[Key] = {(other, unit.id, side) for other in facts.doing[item.id]}
                if not keys & done:
                    says = (
                        f"the hub of {' '.join(k for k in (unit.id, side) if k)} is off, without: {item.act} {item.id}"
                    )
                    yield Broken("hub off", slot["id"], says)


def _sides(facts: Facts) -> Iterator[Broken]:
    """Two sides about as far gone are worked on at one place, or the plan says they are not."""
    for entry in facts.plan["items"]:
        other = facts.items.get((entry["item"], entry["unit"], SIDES[1]))
        if entry["position"] != SIDES[0] or other is None or not _about_as_far(entry, other):
            continue
        sampled = _opened_on_one_side(facts, entry)
        here, there = (facts.places_of(one) - sampled for one in (entry, other))
        if here != there and not any(_in_words(facts, entry) in text for text in facts.plan["assumptions"]):
            yield Broken("both sides", named(entry), f"at {sorted(here)}, its other side at {sorted(there)}")


def _in_words(facts: Facts, entry: Json) -> str:
    """The item as the plan's sentences name it: with its unit where the rig has more than one."""
    return f"{entry['name']} ({entry['unit']})" if len(facts.units) > 1 else str(entry["name"])


def _about_as_far(one: Json, other: Json) -> bool:
    if one["act"] != other["act"]:
        return False  # what was found on one side asks for more there
    shares = [entry["share_used_at_return"] for entry in (one, other)]
    if one["verdict"] != other["verdict"] or any(share is None for share in shares):
        return bool(one["verdict"] == other["verdict"] and shares[0] == shares[1])
    return bool(abs(shares[0] - shares[1]) <= ABOUT_AS_FAR)


def _opened_on_one_side(facts: Facts, entry: Json) -> set[int]:
    """Slots where one side is opened, as far as this item needs it, for its own sake: as a sample after water, or further gone."""
    place = facts.catalogued[entry["item"]].place
    sides = grouped(
        (max(index, len(facts.home_days) - 1), job["position"]) for index, job in facts.jobs()
        if (job["unit"], job["place"]) == (entry["unit"], place) and job["position"]
        and _is_of_one_side(facts, job) and _opens_as_far(facts, job, entry)
    )  # fmt: skip
    return {index for index, found in sides.items() if len(set(found)) == 1}


def _opens_as_far(facts: Facts, job: Json, entry: Json) -> bool:
    deep = {"closed", *(part[3] for part in needed_open(facts, job))}
    does_it = job["item"] in facts.doing[entry["item"]]
    return job["kind"] == AFTER_WATER or does_it or facts.catalogued[entry["item"]].state in deep


def _is_of_one_side(facts: Facts, job: Json) -> bool:
    if job["kind"] == AFTER_WATER:
        return True
    one, other = (facts.items.get((job["item"], job["unit"], side)) for side in SIDES)
    return one is not None and other is not None and not _about_as_far(one, other)


def _ceilings(facts: Facts) -> Iterator[Broken]:
    """What the owner gives of the road: in a day, and over the trip with one longer spell; looks at halts count.

    What work on record asks for is never too much.
    """
    trip, water_met = facts.trip, _water_met_minutes(facts)
    halts = [check for check in away_looks(facts) if check["leg"] is not None]
    recorded = [check for check in halts if check["after_slot"] is None]
    total, least = (sum(away_minutes(facts, check) for check in checks) for checks in (halts, recorded))
    given = facts.road_minutes
    for slot in facts.slots:
        if facts.is_on_the_road(slot):
            asked = recorded_minutes(facts, slot)
            least += asked
            spent, most = float(slot["minutes_planned"]), left_of_days(facts, slot)
            total += spent
            if facts.legs[slot["after_leg"]]["date"] == slot["date"]:
                spent += sum(away_minutes(facts, check) for check in halts if check["leg"] == slot["after_leg"])
                asked += sum(away_minutes(facts, check) for check in recorded if check["leg"] == slot["after_leg"])
            most = max(most, asked) + water_met * slot["place_factor"]
            if spent > most + 0.1:
                yield Broken(
                    "ceiling of a day", slot["id"], f"{spent:g} minutes of work where the owner gives {most:g}"
                )
    days = (trip.return_ - trip.depart).days + 1
    given_in_all = given["road_daily_minutes"] * days + given["road_long_spell_minutes"]
    most = max(least, given_in_all - road_spent_in_all(facts))
    most += water_met * max((slot["place_factor"] for slot in facts.slots), default=1.0)
    if total > most + 0.1 * len(facts.slots):
        yield Broken("ceiling of the trip", "slots", f"{total:g} minutes on the road where the owner gives {most:g}")


def _water_met_minutes(facts: Facts) -> float:
    """Minutes of all that crossings made ask for, each opened by itself: they may come on top of the ceilings."""
    acts = [act for entry in facts.plan["crossings"] if entry["crossed"] for act in entry["acts"]]
    alone = ([one.minutes + _opening(facts, one) for one in facts.rules_of(act)] for act in acts)
    return sum(max(minutes, default=0.0) for minutes in alone)


def _opening(facts: Facts, rule: WaterRule) -> float:
    return facts.opening_minutes(facts.catalogued[rule.item].place, rule.state)
