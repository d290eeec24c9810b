"""An independent look at a finished plan: does it keep the rules it was made by?

`verify` takes the parsed `plan.json` and what the folder holds, and works everything out
again from the plan's own figures and the tables. It imports nothing of what places work.
"""

from collections.abc import Iterator, Sequence

from tripplan.records.catalogue import Catalogue
from tripplan.records.facts_in import HistoryRow, Rig, Trip
from tripplan.records.units import MINUTES_PER_HOUR
from tripplan.verify.facts import RECHECK, SMALL, Broken, Facts, Json, key_of
from tripplan.verify.limits import item_rules
from tripplan.verify.slots import slot_rules
from tripplan.verify.water import follow_up_rules, recheck_rules, water_rules

DEARER_SHARE = 0.005


def verify(plan: Json, rig: Rig, history: Sequence[HistoryRow], trip: Trip, catalogue: Catalogue) -> tuple[Broken, ...]:
    """Every rule that a plan breaks, each once, in the order of the rules; none = the plan holds."""
    facts = Facts(plan, rig, history, trip, catalogue)
    found = [*_head(facts)]
    if found:
        return tuple(found)
    for rules in (item_rules, slot_rules, follow_up_rules, recheck_rules, water_rules, _totals):
        found += rules(facts)
    return tuple(dict.fromkeys(found))


def _head(facts: Facts) -> Iterator[Broken]:
    """The plan is of this rig, this trip and these legs; otherwise nothing else can be judged."""
    plan, trip = facts.plan, facts.trip
    told = (plan["rig"], plan["trip"], plan["depart"], plan["return"])
    if told != (facts.rig.name, trip.name, trip.depart.isoformat(), trip.return_.isoformat()):
        yield Broken("same folder", "head", "rig, trip, departure or return is not the folder's")
    legs = sorted(trip.legs, key=lambda leg: leg.leg)
    listed = [(leg["number"], leg["distance_km"], leg["remote"], leg["driven"]) for leg in plan["legs"]]
    if listed != [(leg.leg, leg.distance_km, leg.remote, leg.date < facts.today) for leg in legs]:
        yield Broken("same folder", "legs", "the legs are not the folder's")
    for entry in plan["items"]:
        unknown = [slot for slot in entry["placed"] if slot not in facts.spot]
        if unknown:
            yield Broken("placed is a job", entry["item"], f"placed at {unknown[0]}, which is no slot")


def _totals(facts: Facts) -> Iterator[Broken]:
    """Minutes are those of the slots with the looks on the spot, without later re-checks; cost at least the labour."""
    totals = facts.plan["totals"]
    per_slot = [_own_minutes(facts, slot) for slot in facts.slots]
    if abs(sum(per_slot) - totals["plan"]["minutes"]) > SMALL * max(1.0, sum(per_slot)):
        yield Broken("totals", "minutes", f"the slots hold {sum(per_slot):g}, said {totals['plan']['minutes']:g}")
    labour = sum(per_slot) / MINUTES_PER_HOUR * facts.trip.rate_per_hour
    if totals["plan"]["cost"] < labour - SMALL * max(1.0, labour):
        yield Broken("totals", "cost", f"less than its own labour, {labour:.2f}")
    plain, own = totals["greedy"], totals["plan"]
    breaks_less = own.get("limits_broken", 0.0) < plain.get("limits_broken", 0.0)
    if own["cost"] > plain["cost"] * (1 + DEARER_SHARE) + SMALL and not breaks_less:
        yield Broken("no dearer than the plain rule", "cost", f"{own['cost']:.2f} against {plain['cost']:.2f}")
    if totals["gap"] is not None and totals["gap"] < 0:
        yield Broken("totals", "gap", "below zero")


def _own_minutes(facts: Facts, slot: Json) -> float:
    """Jobs, openings, and each look that comes with a job on the spot once."""
    minutes = slot["set_out_minutes"] + sum(part["minutes"] for part in slot["opened"])
    looks: dict[tuple[str, str, str | None], float] = {}
    for job in slot["jobs"]:
        if job["kind"] == RECHECK:
            continue
        minutes += job["minutes"]
        item = facts.catalogued[job["item"]]
        for follow in item.follow_ups if job["kind"] != "after water" else ():
            look = facts.catalogued[follow.item]
            if follow.high_km == 0 and look.fits(facts.units[job["unit"]]) and item.rhythm == "service":
                looks[(look.id, job["unit"], job["position"] if item.positions else None)] = look.minutes
    own = {key_of(job) for job in slot["jobs"] if job["kind"] not in (RECHECK, "after water")}
    return float(minutes + slot["place_factor"] * sum(m for key, m in looks.items() if key not in own))
