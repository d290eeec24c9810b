"""Rules about what follows: looks that jobs bring with them, and acts that water calls for."""

from collections.abc import Iterable, Iterator
from datetime import date, timedelta

from tripplan.records.catalogue import Item, WaterRule
from tripplan.records.facts_in import Crossing, Unit, as_day
from tripplan.records.words import WaterWindow
from tripplan.verify.facts import (
    AFTER,
    AFTER_WATER,
    RECHECK,
    SMALL,
    WALK_ROUND,
    WORKSHOP,
    Broken,
    Facts,
    Json,
    as_much,
    day,
    key_of,
    named,
)
from tripplan.verify.slots import needed_open

REMOTE, DAYS = "before remote", "days"
OWED_AT_HOME = (WaterWindow.NIGHT, DAYS, REMOTE)
UNPLACED = "water work without a place"
HUBS = ("hub_centre", "axle_centre")
NIPPLES = ("knuckle_lower", "shackle", "shaft")
BREATHERS = ("diff_breather", "breather_end")
BESIDE = ("bell_housing_drain", "trailer_coupling")
IN_FRONT = ("airbox_seam", "alternator", "battery_tray", "brake_reservoir_cap", "fan_centre", "intake_mouth", "lamp",
            "sump_breather", "winch_motor")  # fmt: skip
INTAKE = ("airbox_seam", "intake_mouth")
MOST_AHEAD = 2
RENEWS_AHEAD = ("grease",)
ENTERED = ("water", "contaminated")


def follow_up_rules(facts: Facts) -> Iterator[Broken]:
    """Every look that a job brings with it is on the list, or done anyway."""
    for index, job in facts.jobs():
        for follow in facts.catalogued[job["item"]].follow_ups if facts.renews(job) else ():
            item = facts.catalogued[follow.item]
            if item.fits(facts.units[job["unit"]]):
                sides = (job["position"],) if job["position"] and item.positions else item.positions or (None,)
                for side in sides:
                    if not _is_looked_at(facts, index, (item.id, job["unit"], side), follow.low_km, follow.high_km):
                        where = f"{facts.slots[index]['id']}, {named(job)}"
                        yield Broken("follow-up", where, f"not looked at again: {follow} {side or ''}".rstrip())


def _is_looked_at(facts: Facts, index: int, key: tuple[str, str, str | None], low_km: float, high_km: float) -> bool:
    slot = facts.slots[index]
    for check in facts.plan["rechecks"]:
        follows = key_of(check) == key and check["after_slot"] == slot["id"]
        if follows and abs(check["from_km"] - slot["trip_km"] - low_km) < SMALL:
            return True
    spots = {facts.spot[name] for name in (facts.items[key]["placed"] if key in facts.items else [])}
    act = facts.catalogued[key[0]].act
    spots |= {
        spot for spot, job in facts.jobs()
        if key_of(job) == key and job["act"] == act and job["kind"] == AFTER_WATER
    }  # fmt: skip
    for other in sorted(spots):
        there = facts.slots[other]
        in_window = low_km - SMALL <= there["trip_km"] - slot["trip_km"] <= high_km + SMALL
        if other == index if high_km == 0 else other > index and (in_window or there["kind"] == WORKSHOP):
            return True
    return False


def recheck_rules(facts: Facts) -> Iterator[Broken]:
    """Every look said to fall in a slot is a job there."""
    there = {(facts.slots[index]["id"], *key_of(job)) for index, job in facts.jobs() if job["kind"] == RECHECK}
    due = {(check["slot"], *key_of(check)): check for check in facts.plan["rechecks"] if check["slot"] is not None}
    for key, check in due.items():
        if key not in there:
            yield Broken("follow-up", named(check), f"said to fall at {check['slot']}, where it is no job")


def once_rules(facts: Facts) -> Iterator[Broken]:
    """The same act at the same thing stands once at a place, whoever asks for it; the walk-round is told apart."""
    seen: set[object] = set()
    for index, job in facts.jobs():
        key = (index, *key_of(job), job["act"])
        if job["kind"] != WALK_ROUND and key in seen:
            yield Broken("told once", facts.slots[index]["id"], f"{named(job)}: {job['act']} stands there twice")
        seen.update(() if job["kind"] == WALK_ROUND else (key,))


def water_rules(facts: Facts) -> Iterator[Broken]:
    """Every crossing's immersed items and acts, and the slot of each act inside its window."""
    told = {(entry["leg"], entry["at_km"], entry["depth_m"]): entry for entry in facts.plan["crossings"]}
    for crossing in facts.trip.crossings:
        where = f"crossing on leg {crossing.leg} at km {crossing.at_km:g}"
        entry = told.get((crossing.leg, crossing.at_km, crossing.depth_m))
        if entry is None:
            yield Broken("immersed", where, "not in the plan")
            continue
        immersed = dict(_immersed(facts, crossing))
        if {key_of(part) for part in entry["immersed"]} != immersed.keys():
            odd = {key_of(part) for part in entry["immersed"]} ^ immersed.keys()
            yield Broken("immersed", where, f"heights and depth do not agree on {sorted(odd, key=str)[0]}")
        yield from _acts(facts, crossing, entry, immersed, where)


def _is_found_wet(facts: Facts, crossing: Crossing, act: Json, rules: Iterable[WaterRule]) -> bool:
    """True when water or dirt was found since by the act or a look that decides it, or by what does those on the way."""
    deciding = {act["item"], *(name for rule in rules for name, _ in rule.deciding)}
    tell = set[str]().union(*(facts.doing.get(name, {name}) for name in deciding))
    return crossing.crossed is not None and any(
        row.item in tell and row.unit == act["unit"] and row.finding in ENTERED and row.date >= as_day(crossing.crossed)
        for row in facts.history
    )  # fmt: skip


def _there(facts: Facts, crossing: Crossing) -> list[Unit]:
    towing = next(leg.towing for leg in facts.trip.legs if leg.leg == crossing.leg)
    return [unit for unit in facts.rig.units if unit.kind == "vehicle" or towing]


def _immersed(
    facts: Facts, crossing: Crossing, high: bool = False
) -> Iterator[tuple[tuple[str, str, str | None], Item]]:
    for unit in _there(facts, crossing):
        for item in facts.catalogue.items:
            if item.fits(unit) and _is_under(facts, unit, item.points, crossing, high):
                for position in item.positions or (None,):
                    yield (item.id, unit.id, position), item


def _is_under(facts: Facts, unit: Unit, points: Iterable[str], crossing: Crossing, high: bool) -> bool:
    """The line of each point by itself: the wave stands at the front of a vehicle."""
    for point in points:
        in_front = unit.kind == "vehicle" and point in IN_FRONT
        row = facts.catalogue.assumed("bow_wave_front" if in_front else "bow_wave_elsewhere")
        wave_m = row.high if high and row.high is not None else row.value
        height_m = _height_m(unit, point)
        if height_m is not None and crossing.depth_m > 0 and crossing.depth_m + wave_m >= height_m:
            return True
    return False


def _height_m(unit: Unit, point: str) -> float | None:
    if point in unit.heights_mm:
        return unit.heights_mm[point] / 1000
    return unit.tyre_diameter_mm / 2000 if point in HUBS and unit.tyre_diameter_mm else None


def _least_grade(facts: Facts, unit: Unit, crossing: Crossing, high: bool) -> int:
    """The grade without what is on record about seals, which could only make it a harder one."""
    value = {name: facts.catalogue.assumed(name).value for name in ("easy_depth", "easy_minutes", "stood_minutes")}

    def under(points: Iterable[str]) -> bool:
        return _is_under(facts, unit, points, crossing, high)

    minutes = crossing.minutes or 0.0
    if crossing.stalled or minutes > value["stood_minutes"] or (crossing.water == "salt" and under(HUBS)):
        return 5
    known = {*HUBS, *NIPPLES, *BREATHERS, *BESIDE}
    if under(point for item in facts.catalogue.items for point in item.points if point not in known) or under(
        ["door_sill"]
    ):
        return 4
    unknown = crossing.minutes is None and crossing.crossed is not None
    hard = unknown or minutes > value["easy_minutes"] or crossing.depth_m > value["easy_depth"]
    if under(BREATHERS) or (under(HUBS) and (hard or crossing.hubs_hot or crossing.water == "muddy")):
        return 3
    return 2 if under(HUBS) or under(BESIDE) else 1 if under(NIPPLES) else 0


def _acts(
    facts: Facts, crossing: Crossing, entry: Json, immersed: dict[tuple[str, str, str | None], Item], where: str
) -> Iterator[Broken]:
    same_day = [one for one in facts.plan["crossings"] if one["date"] == entry["date"]]
    called = {_told(act) for one in same_day for act in one["acts"]}
    for key, rule in () if _worked_on_since(facts, crossing) else _wanted(facts, crossing):
        if (*key, rule.act, rule.within_days, rule.within_km) not in called:
            yield Broken("water act", where, f"{rule.act} {key[0]} {key[2] or ''} is not called for")
    intake = {
        (item.id, facts.rig.vehicle.id) for item in facts.catalogue.items if set(INTAKE).intersection(item.points)
    }
    reached = (
        (intake if crossing.stalled else set())
        | {key[:2] for key in immersed}
        | {key[:2] for key, _ in _immersed(facts, crossing, high=True)}
    )
    for act in entry["acts"]:
        window = (act["within_days"], act["within_km"])
        rules = [rule for rule in facts.rules_of(act) if (rule.within_days, rule.within_km) == window]
        dry = (act["item"], act["unit"]) not in reached and all(rule.own_point for rule in rules)
        if not rules or (dry and not _is_found_wet(facts, crossing, act, rules)):
            yield Broken("water act", where, f"{act['act']} {named(act)}: no rule calls for it")
        elif crossing.crossed is None and _is_too_much(facts, act, rules):
            yield Broken("water ahead", where, f"{act['act']} {named(act)} is booked for water not yet met")
        elif act["slot"] is not None:
            yield from _slot_of_act(facts, entry, act, rules, where)
        elif _is_back(facts) and act["window_kind"] in OWED_AT_HOME:
            yield Broken("water act", where, f"{act['act']} {named(act)} is owed at home, and is no job there")
        elif act["window_kind"] in (REMOTE, DAYS) and not _is_homeless_said(facts, act):
            yield Broken("water act warned", where, f"{act['act']} {named(act)} has no slot, which is not said")
    yield from _contingent(facts, entry, where)


def _is_back(facts: Facts) -> bool:
    """True once the return lies behind: what no place was in time for is done at home, late."""
    return facts.today > facts.trip.return_


def _is_too_much(facts: Facts, act: Json, rules: list[WaterRule]) -> bool:
    """Water still ahead books looks and nipples alone, unless the owner asks for more at a trailer's hubs."""
    asked = facts.trip.trailer_hubs_after_water == "repack" and any(rule.owner_from is not None for rule in rules)
    beyond = any(rule.resets for rule in rules) and act["act"] not in RENEWS_AHEAD and not asked
    return beyond or all(_first_grade(facts, rule) > MOST_AHEAD for rule in rules)


def _told(act: Json) -> tuple[str, str, str | None, str, float | None, float | None]:
    return (act["item"], act["unit"], act["position"], act["act"], act["within_days"], act["within_km"])


def _first_grade(facts: Facts, rule: WaterRule) -> float:
    repacks = facts.trip.trailer_hubs_after_water == "repack" and rule.owner_from is not None
    grade = rule.owner_from if repacks else rule.from_grade
    if grade is None:
        return 1 if rule.told_from is None else float("inf")
    return grade


def _wanted(facts: Facts, crossing: Crossing) -> Iterator[tuple[tuple[str, str, str | None], WaterRule]]:
    """What the crossing asks for outright, whatever the seals were like before."""
    for unit in _there(facts, crossing) if crossing.depth_m > 0 else ():
        for rule in facts.catalogue.water_rules:
            item, high = facts.catalogued[rule.item], rule.line == "high"
            grade = _least_grade(facts, unit, crossing, high)
            grade = min(grade, MOST_AHEAD) if crossing.crossed is None else grade
            asks = rule.water in ("any", crossing.water) and grade >= _first_grade(facts, rule)
            second = rule.when == "later" and rule.decided_by
            there = not rule.own_point or _is_under(facts, unit, item.points, crossing, high)
            if item.fits(unit) and asks and there and not second and not rule.sample:
                for position in (None,) if rule.once else item.positions or (None,):
                    yield (item.id, unit.id, position), rule


def _contingent(facts: Facts, entry: Json, where: str) -> Iterator[Broken]:
    """What a look decides is told at its slot, asked for by a rule, and is never a job as well."""
    acts = {_told(act)[:4] for act in entry["acts"]}
    for one in entry["contingent"]:
        if not any(rule.told_from is not None and rule.minutes == one["minutes"] for rule in facts.rules_of(one)):
            yield Broken("contingent", where, f"{one['act']} {named(one)}: no rule tells it")
        if (one["item"], one["unit"], one["position"], one["act"]) in acts:
            yield Broken("contingent", where, f"{one['act']} {named(one)} is asked for and left to a look at once")
        if one["slot"] is not None and one not in facts.slots[facts.spot[one["slot"]]]["contingent"]:
            yield Broken("contingent", where, f"{one['act']} {named(one)} is not told at {one['slot']}")


def _worked_on_since(facts: Facts, crossing: Crossing) -> bool:
    """True when history may have settled something: any row of work since the crossing was made."""
    made = crossing.crossed
    return made is not None and any(row.item and row.date >= as_day(made) for row in facts.history)


def _slot_of_act(facts: Facts, entry: Json, act: Json, rules: list[WaterRule], where: str) -> Iterator[Broken]:
    spot = facts.spot.get(act["slot"])
    if spot is None:
        yield Broken("water window", where, f"{named(act)}: no slot {act['slot']}")
        return
    slot, crossed_km = facts.slots[spot], entry["trip_km"]
    if not any(_does(facts, job, act, rules) for job in slot["jobs"]):
        yield Broken("water window", where, f"{act['act']} {named(act)} is no job at {act['slot']}")
    if _is_back(facts) and slot["kind"] == AFTER:
        return
    by_km, by_day = _window(facts, act, rules, crossed_km, day(entry["date"]))
    if act["window_kind"] == WaterWindow.NIGHT and day(slot["arrive"] or slot["date"]) > day(entry["date"]):
        yield Broken(
            "water window", where, f"{act['act']} {named(act)}: {act['slot']} is not where the rig stands that night"
        )
    before = slot["kind"] == WORKSHOP or slot["trip_km"] < crossed_km - SMALL
    if before or slot["trip_km"] > by_km + SMALL or day(slot["date"]) > by_day:
        yield Broken("water window", where, f"{act['act']} {named(act)}: {act['slot']} lies outside its window")


def _does(facts: Facts, job: Json, act: Json, rules: list[WaterRule]) -> bool:
    """True for the job itself, and for a greater act at the same item, on its side, that opens as far."""
    if job["item"] != act["item"] or job["unit"] != act["unit"] or job["position"] not in (None, act["position"]):
        return False
    if job["kind"] == AFTER_WATER and job["act"] == act["act"]:
        return True
    opened = {"closed", *(state for *_, state in needed_open(facts, job))}
    enough = as_much(facts.catalogue, act["act"])
    return job["act"] in enough and facts.renews(job) and any(rule.state in opened for rule in rules)


def _window(facts: Facts, act: Json, rules: list[WaterRule], crossed_km: float, crossed: date) -> tuple[float, date]:
    limits_km = [crossed_km + act["within_km"]] if act["within_km"] is not None else []
    if any(rule.when == REMOTE for rule in rules) and act["window_kind"] == REMOTE:
        remote_km = [leg["trip_km_start"] for leg in facts.plan["legs"] if leg["remote"]]
        limits_km += [at_km for at_km in remote_km if at_km > crossed_km][:1]
    days = act["within_days"]
    if days is None:
        hours = [rule.within_hours for rule in rules if rule.within_hours is not None]
        days = max(hours) // 24 if hours else None
    return min(limits_km, default=float("inf")), date.max if days is None else crossed + timedelta(days=int(days))


def _is_homeless_said(facts: Facts, act: Json) -> bool:
    """True where as many warnings name the thing as there are crossings with work for it that has no slot."""
    thing = {name: act[name] for name in ("item", "unit", "position")}
    said = sum(told["kind"] == UNPLACED and thing in told["about"] for told in facts.plan["warnings"])
    lost = sum(
        any(key_of(one) == key_of(act) and one["slot"] is None and one["window_kind"] in (REMOTE, DAYS)
            for one in entry["acts"])
        for entry in facts.plan["crossings"]
    )  # fmt: skip
    return bool(said >= lost)
