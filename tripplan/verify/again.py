"""Rules about looks that follow work some km later: what they take, and that each place that could take one does.

A look in a slot takes the minutes of the place; one at a halt its own with what it opens, as in the field; one after return
those of the home shed. At one halt the same look is done once, whoever asks for it.
"""

from collections.abc import Iterator

from tripplan.records.catalogue import Item
from tripplan.verify.facts import NUTS, SMALL, STOP, WORKSHOP, Broken, Facts, Json, key_of, named
from tripplan.verify.slots import place_factor
from tripplan.verify.spent import left_of_days


def away_looks(facts: Facts) -> list[Json]:
    """The looks that fall at no slot, each once."""
    found: dict[object, Json] = {}
    for check in facts.plan["rechecks"]:
        if check["slot"] is None:
            found.setdefault((*key_of(check), check["from_km"]), check)
    return list(found.values())


def away_minutes(facts: Facts, check: Json) -> float:
    """What the tables give such a look."""
    factor = facts.catalogue.assumed("place_factor_halt").value if check["leg"] is not None else 1.0
    item = facts.catalogued[check["item"]]
    opening = 0.0 if item.id in facts.said_minutes else facts.opening_minutes(item.place, item.state)
    return float((look_minutes(facts, item) + opening) * factor)


def look_minutes(facts: Facts, item: Item) -> float:
    """What the tables give a look at an item that other work asks for, where nothing is opened for it."""
    return float(facts.said_minutes.get(item.id, item.minutes))


def again_rules(facts: Facts) -> Iterator[Broken]:
    """Minutes of each look by the tables, and no halt where a place in its window has the time."""
    end_km = facts.slots[-1]["trip_km"]
    for check in facts.plan["rechecks"]:
        if (check["from_km"] < end_km) != (check["leg"] is not None) and check["slot"] is None:
            yield Broken(
                "look again", named(check), f"from km {check['from_km']:g} of {end_km:g}: road or after return?"
            )
        slot = None if check["slot"] is None else facts.slots[facts.spot[check["slot"]]]
        minutes = (
            away_minutes(facts, check) if slot is None
            else look_minutes(facts, facts.catalogued[check["item"]]) * place_factor(facts, slot)
        )  # fmt: skip
        if abs(minutes - check["minutes"]) > SMALL:
            yield Broken("look again", named(check), f"takes {minutes:g} by the tables, said {check['minutes']:g}")
        if slot is None and check["leg"] is not None:
            yield from _passes_a_place_with_time(facts, check)


def _passes_a_place_with_time(facts: Facts, check: Json) -> Iterator[Broken]:
    """The first place in the window takes the look, where it could hold every look there is beside its work."""
    done, at_km, after = _work(facts, check)
    shaken = at_km <= 0.0 and facts.trip.shakedown_km >= check["from_km"] - at_km
    days = [slot for slot in after if shaken and slot["kind"] == WORKSHOP and slot["date"] > done]
    stops = [slot for slot in after if slot["kind"] == STOP and check["from_km"] <= slot["trip_km"] <= check["to_km"]]
    for slot in (*days[-1:], *stops)[:1]:
        most = float("inf") if slot["minutes_available"] is None else slot["minutes_available"]
        if facts.is_on_the_road(slot):
            most = min(most, left_of_days(facts, slot))
        if most >= slot["minutes_planned"] + _every_look_minutes(facts) * place_factor(facts, slot):
            yield Broken("look again", named(check), f"{slot['id']} lies in its window and has the time for every look")


def _work(facts: Facts, check: Json) -> tuple[str, float, list[Json]]:
    """The day and the trip km of the work that a look follows, of the plan or on record, and the slots behind it."""
    if check["after_slot"] is None:
        return check["work_day"], check["work_km"], facts.slots
    here = facts.spot[check["after_slot"]]
    return facts.slots[here]["date"], facts.slots[here]["trip_km"], facts.slots[here + 1 :]


def recorded_minutes(facts: Facts, slot: Json) -> float:
    """Minutes of the looks in a slot that work on record alone asks for."""
    checks = [check for check in facts.plan["rechecks"] if check["slot"] == slot["id"]]
    planned = {key_of(check) for check in checks if check["after_slot"] is not None}
    found = {key_of(check): check["minutes"] for check in checks if check["after_slot"] is None}
    return float(sum(minutes for key, minutes in found.items() if key not in planned))


def _every_look_minutes(facts: Facts) -> float:
    """Minutes of the home shed for all looks that follow some work, on every unit and side."""
    after = {follow.item for item in facts.catalogue.items for follow in item.follow_ups if follow.high_km > 0}
    after |= set(NUTS.values())
    return sum(
        look_minutes(facts, item) * max(1, len(item.positions))
        for item in facts.catalogue.items if item.id in after
        for unit in facts.rig.units if item.fits(unit)
    )  # fmt: skip
