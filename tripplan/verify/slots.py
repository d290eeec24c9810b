"""Rules about the slots: real, long enough, well enough equipped, opened once and closed again."""

from collections.abc import Iterator
from datetime import timedelta

from tripplan.records.catalogue import Item
from tripplan.records.facts_in import as_day
from tripplan.verify.facts import (
    AFTER,
    AFTER_WATER,
    HUB_OFF,
    RECHECK,
    SIDES,
    SMALL,
    STOP,
    WALK_ROUND,
    WORKSHOP,
    Broken,
    Facts,
    Json,
    day,
    named,
    rank,
)
from tripplan.verify.parts import days_for_parts, parts_rules
from tripplan.verify.remedies import remedies_of

DELICATE = ("bearing", "brake")
FACTOR = {"camp": "place_factor_camp", "town": "place_factor_town", "workshop": "place_factor_workshop"}
Part = tuple[str, str, str | None, str]


def slot_rules(facts: Facts) -> Iterator[Broken]:
    """Every rule that a slot or its jobs can break."""
    for index, slot in enumerate(facts.slots):
        yield from _real(facts, slot)
        yield from _place(facts, slot)
        yield from _minutes(facts, slot)
        yield from _opened(facts, index, slot)
        for job in slot["jobs"]:
            yield from _job(facts, slot, job)
    yield from parts_rules(facts)
    yield from _in_time_order(facts)
    yield from _passed(facts)
    yield from _near_departure(facts)


def _real(facts: Facts, slot: Json) -> Iterator[Broken]:
    trip, where, at = facts.trip, slot["id"], day(slot["date"])
    if slot["kind"] == WORKSHOP:
        if at not in {d.date for d in trip.workshop_days if facts.today <= d.date <= trip.depart}:
            yield Broken("slot is real", where, "no such workshop day from today to departure in the folder")
    elif slot["kind"] == STOP:
        stops = {
            (s.stop, s.after_leg, s.facility, max(s.date, facts.today))
            for s in trip.stops if as_day(s.leave) >= facts.today
        }  # fmt: skip
        if (slot["place"], slot["after_leg"], slot["facility"], at) not in stops:
            yield Broken("slot is real", where, "no such stop still ahead in the folder")
    elif slot["kind"] != AFTER or at != max(trip.return_ + timedelta(days=1), facts.today):
        yield Broken("slot is real", where, "neither a workshop day, a stop, nor the day after return")


def _passed(facts: Facts) -> Iterator[Broken]:
    """A crossing made lies behind the rig, and so does every place before it."""
    made = [crossing for crossing in facts.plan["crossings"] if crossing["crossed"]]
    reached_km = max((crossing["trip_km"] for crossing in made), default=0.0)
    for slot in facts.slots:
        if slot["trip_km"] < reached_km - SMALL:
            yield Broken("place still ahead", slot["id"], f"the rig crossed water at trip km {reached_km:.0f} already")


def _in_time_order(facts: Facts) -> Iterator[Broken]:
    order = [(slot["trip_km"], slot["date"]) for slot in facts.slots]
    if order != sorted(order) or len(facts.spot) != len(facts.slots):
        yield Broken("slot is real", "slots", "not in time order, or one listed twice")
    legs = {leg["number"]: leg["trip_km_start"] + leg["distance_km"] for leg in facts.plan["legs"]}
    for slot in facts.slots:
        if abs(slot["trip_km"] - (0.0 if slot["kind"] == WORKSHOP else legs[slot["after_leg"]])) > SMALL:
            yield Broken("slot is real", slot["id"], "its trip km is not where its leg ends")


def place_factor(facts: Facts, slot: Json) -> float:
    """How many minutes one of the home shed takes in a slot."""
    return float(facts.catalogue.assumed(FACTOR[slot["facility"]]).value) if facts.is_on_the_road(slot) else 1.0


def _place(facts: Facts, slot: Json) -> Iterator[Broken]:
    """Minutes are those of the place; setting out and clearing up count once a spell, where anything is done."""
    factor = place_factor(facts, slot)
    if abs(slot["place_factor"] - factor) > SMALL:
        says = f"a minute of the shed takes {factor:g} there, said {slot['place_factor']:g}"
        yield Broken("place factor", slot["id"], says)
    works = bool(slot["opened"]) or any(job["minutes"] > 0 and job["kind"] != RECHECK for job in slot["jobs"])
    both = sum(facts.catalogue.assumed(name).value for name in ("set_out_minutes", "clean_up_minutes"))
    wanted = both * factor if works else 0.0
    if abs(slot["set_out_minutes"] - wanted) > SMALL:
        yield Broken("set out once", slot["id"], f"setting out takes {wanted:g}, said {slot['set_out_minutes']:g}")


def _minutes(facts: Facts, slot: Json) -> Iterator[Broken]:
    """The sum is right and fits; what a look may yet decide is no part of it."""
    spent = sum(job["minutes"] for job in slot["jobs"]) + sum(part["minutes"] for part in slot["opened"])
    spent += slot["set_out_minutes"]
    if abs(spent - slot["minutes_planned"]) > SMALL * max(1.0, spent):
        says = f"jobs and openings take {spent:g}, said {slot['minutes_planned']:g}"
        yield Broken("minutes add up", slot["id"], says)
    limit = slot["minutes_available"]
    if limit is not None and spent > limit + SMALL:
        yield Broken("minutes available", slot["id"], f"{spent:g} minutes of work in {limit:g}")


def needed_open(facts: Facts, job: Json) -> set[Part]:
    """Everything a job needs open, from the outermost state in; a wheel end without a side means both."""
    sides = SIDES if job["position"] is None and job["place"].endswith("wheel end") else (job["position"],)
    return {
        (job["unit"], row.place, side if row.place == job["place"] else None, row.state)
        for row in facts.states_to(job["place"], job["state"]) for side in sides
    }  # fmt: skip


def _opened(facts: Facts, index: int, slot: Json) -> Iterator[Broken]:
    where = slot["id"]
    parts: dict[Part, Json] = {}
    for part in slot["opened"]:
        key = (part["unit"], part["place"], part["position"], part["state"])
        if key in parts:
            yield Broken("opened once", where, f"{_words(key)} is listed twice")
        parts[key] = part
    needed: set[Part] = set()
    for job in slot["jobs"]:
        needs = set() if job["kind"] == WALK_ROUND else needed_open(facts, job)
        needed |= needs
        for key in sorted(needs - parts.keys(), key=str):
            yield Broken("opened for the job", where, f"{named(job)} needs {_words(key)}, which is not opened")
    for key in sorted(parts.keys() - needed, key=str):
        yield Broken("opened for the job", where, f"{_words(key)} is opened and no job needs it")
    for key, part in parts.items():
        yield from _part_minutes(facts, index, key, part)


def _part_minutes(facts: Facts, index: int, key: Part, part: Json) -> Iterator[Broken]:
    where, row = facts.slots[index]["id"], facts.teardown[(key[1], key[3])]
    kept, was = part.get("kept_open", False), _kept(facts, index - 1, key)
    if bool(part.get("was_open", False)) != was:
        yield Broken("opened once", where, f"{_words(key)} was left {'open' if was else 'closed'} the day before")
    minutes = (0.0 if was else row.open_minutes) + (0.0 if kept else row.close_minutes)
    minutes *= place_factor(facts, facts.slots[index])
    if abs(minutes - part["minutes"]) > SMALL:
        says = f"{_words(key)} takes {minutes:g} by the tables, said {part['minutes']:g}"
        yield Broken("opening minutes", where, says)
    if kept and not facts.may_stay_open(index):
        yield Broken("kept apart", where, f"{_words(key)} stays open where the rig has to be whole")
    if kept and _find(facts, index + 1, key) is None:
        yield Broken("kept apart", where, f"{_words(key)} stays open and nothing closes it the day after")
    outer = next(facts.states_to(key[1], row.parent), None)
    side = key[2] if outer is not None and outer.place == key[1] else None
    if kept and outer is not None and not _kept(facts, index, (key[0], outer.place, side, outer.state)):
        yield Broken("kept apart", where, f"{_words(key)} stays open behind {row.parent}, which is closed")


def _find(facts: Facts, index: int, key: Part) -> Json | None:
    if not 0 <= index < len(facts.slots):
        return None
    parts = facts.slots[index]["opened"]
    return next((p for p in parts if (p["unit"], p["place"], p["position"], p["state"]) == key), None)


def _kept(facts: Facts, index: int, key: Part) -> bool:
    part = _find(facts, index, key)
    return part is not None and bool(part.get("kept_open", False))


def _words(key: Part) -> str:
    return " ".join(part for part in key if part)


def _job(facts: Facts, slot: Json, job: Json) -> Iterator[Broken]:
    where = f"{slot['id']}, {named(job)}"
    item = facts.catalogued.get(job["item"])
    unit = facts.units.get(job["unit"])
    if item is None or unit is None or not item.fits(unit):
        yield Broken("slot is real", where, "no such item on this rig")
        return
    if job["kind"] == AFTER_WATER:
        yield from _water_job(facts, slot, job, where)
    elif job["kind"] != RECHECK:
        yield from _service_job(facts, slot, job, item, where)


def _service_job(facts: Facts, slot: Json, job: Json, item: Item, where: str) -> Iterator[Broken]:
    if rank(slot["facility"]) < rank(item.facility) and not _has_hub_off_for_water(facts, slot, job):
        yield Broken("facility", where, f"needs a {item.facility}, the slot is a {slot['facility']}")
    remedies = remedies_of(facts, job)
    states = {item.state, *(row.state for row in remedies if row.state)}
    acts = {item.act, *(row.act for row in remedies if row.act)}
    if job["place"] != item.place or job["state"] not in states or job["act"] not in acts:
        yield Broken("opened for the job", where, "act, place or state is not the table's")
    minutes = {0.0 if item.rhythm == WALK_ROUND else item.minutes, *(row.minutes or item.minutes for row in remedies)}
    told = {round(each * place_factor(facts, slot), 3) for each in minutes}
    if round(job["minutes"], 3) not in told:
        says = f"takes {sorted(minutes)[-1]:g} minutes by the tables, said {job['minutes']:g}"
        yield Broken("minutes add up", where, says)


def _has_hub_off_for_water(facts: Facts, slot: Json, job: Json) -> bool:
    """True where a look after water has that hub off there: what belongs to it is done while it is."""
    side = (job["unit"], job["place"], job["position"])
    if job["state"] != HUB_OFF:
        return False
    for act in (act for entry in facts.plan["crossings"] for act in entry["acts"] if act["slot"] == slot["id"]):
        there = (act["unit"], facts.catalogued[act["item"]].place, act["position"])
        rules = facts.rules_of(act) if there == side else []
        if any(rule.state == HUB_OFF and rank(slot["facility"]) >= rank(rule.facility) for rule in rules):
            return True
    return False


def _water_job(facts: Facts, slot: Json, job: Json, where: str) -> Iterator[Broken]:
    told = (job["item"], job["act"], job["state"])
    rules = [rule for rule in facts.catalogue.water_rules if (rule.item, rule.act, rule.state) == told]
    if not any(rank(slot["facility"]) >= rank(rule.facility) for rule in rules):
        yield Broken("facility", where, "no rule for this act after water allows it at such a place")
    if not any(abs(rule.minutes * place_factor(facts, slot) - job["minutes"]) <= SMALL for rule in rules):
        yield Broken("minutes add up", where, "no rule for this act after water takes so many minutes")


def _near_departure(facts: Facts) -> Iterator[Broken]:
    """Bearings and brakes opened in the last days though an earlier day had room for all that shares their opening."""
    quiet = facts.catalogue.assumed("opening_near_departure_days").value
    for index in facts.home_days:
        slot = facts.slots[index]
        if (facts.trip.depart - day(slot["date"])).days > quiet:
            continue
        for job in slot["jobs"]:
            item = facts.catalogued[job["item"]]
            if job["kind"] in (RECHECK, AFTER_WATER) or item.family not in DELICATE or not needed_open(facts, job):
                continue
            together, minutes = _with_its_opening(facts, slot, job)
            ready = facts.today + timedelta(
                days=max(days_for_parts(facts, facts.catalogued[j["item"]], j) for j in together)
            )
            for earlier in facts.slots[:index]:
                far = (facts.trip.depart - day(earlier["date"])).days > quiet
                fees = slot.get("set_out_minutes", 0.0) if earlier["minutes_planned"] == 0 else 0.0
                room = earlier["minutes_available"] - earlier["minutes_planned"] - fees
                if far and day(earlier["date"]) >= ready and room >= minutes - SMALL:
                    where = f"{slot['id']}, {named(job)}"
                    yield Broken("near departure", where, f"opened in the last days, {earlier['id']} has room")
                    break


def _with_its_opening(facts: Facts, slot: Json, job: Json) -> tuple[list[Json], float]:
    """All jobs of a slot that need a part of what this one has open, and the minutes they take anywhere else."""
    needs = needed_open(facts, job)
    together = [other for other in slot["jobs"] if (other["unit"], other["place"]) == (job["unit"], job["place"])]
    together = [other for other in together if other["kind"] != RECHECK and needed_open(facts, other)] or [job]
    for other in together:
        needs |= needed_open(facts, other)
    rows = [facts.teardown[(place, state)] for _, place, _, state in needs]
    minutes = sum(row.open_minutes + row.close_minutes for row in rows)
    done = {(other["item"], other["position"]) for other in together}
    for other in together:
        minutes += other["minutes"]
        for look in facts.catalogued[other["item"]].follow_ups:
            found = facts.catalogued[look.item]
            sides = (other["position"],) if other["position"] else found.positions or (None,)
            new = [(look.item, side) for side in sides if look.high_km == 0 and (look.item, side) not in done]
            done |= set(new)
            minutes += found.minutes * len(new)
    return together, minutes
