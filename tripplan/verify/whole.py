"""An independent look at a finished plan: does it keep the rules it was made by?

`verify` takes the parsed `plan.json` and what the folder holds, and works everything out
again from the plan's own figures and the tables. It imports nothing of what places work.
"""

from collections.abc import Iterator, Sequence

from tripplan.records.catalogue import Catalogue
from tripplan.records.facts_in import HistoryRow, Rig, Trip
from tripplan.records.shelf import ShelfRow
from tripplan.records.units import MINUTES_PER_HOUR
from tripplan.verify.again import again_rules, away_looks, away_minutes
from tripplan.verify.facts import SMALL, Broken, Facts, Json
from tripplan.verify.figures import figure_rules
from tripplan.verify.found import found_rules
from tripplan.verify.limits import limit_rules
from tripplan.verify.recorded import recorded_rules
from tripplan.verify.slots import slot_rules
from tripplan.verify.spent import spent_rules
from tripplan.verify.trade import trade_rules
from tripplan.verify.water import follow_up_rules, once_rules, recheck_rules, water_rules

DEARER_SHARE = 0.005


def verify(
    plan: Json, rig: Rig, history: Sequence[HistoryRow], trip: Trip, catalogue: Catalogue, shelf: Sequence[ShelfRow] = ()
) -> tuple[Broken, ...]:  # fmt: skip
    """Every rule that a plan breaks, each once, in the order of the rules; none = the plan holds.

    `shelf` is what the owner has of the parts, or has ordered.
    """
    facts = Facts(plan, rig, history, trip, catalogue, shelf)
    found = [*_head(facts)]
    if found:
        return tuple(found)
    placing = (figure_rules, limit_rules, found_rules, slot_rules, spent_rules, trade_rules)
    follow = (follow_up_rules, recorded_rules, recheck_rules, once_rules, again_rules)
    for rules in (*placing, *follow, water_rules, _totals):
        found += rules(facts)
    return tuple(dict.fromkeys(found))


def _head(facts: Facts) -> Iterator[Broken]:
    """The plan is of this rig, this trip and these legs, and names no others; otherwise nothing else can be judged."""
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
        beside = [wear["leg"] for wear in entry["wear"] if wear["leg"] not in facts.legs]
        if beside:
            yield Broken("wear", entry["item"], f"worn on leg {beside[0]}, which the plan does not have")


def _totals(facts: Facts) -> Iterator[Broken]:
    """Minutes are those of the slots and of the looks that fall at none; cost at least the labour."""
    totals = facts.plan["totals"]
    per_slot = [float(slot["minutes_planned"]) for slot in facts.slots]
    every = sum(per_slot) + sum(away_minutes(facts, check) for check in away_looks(facts))
    if abs(every - totals["plan"]["minutes"]) > SMALL * max(1.0, every):
        yield Broken("totals", "minutes", f"slots and halts hold {every:g}, said {totals['plan']['minutes']:g}")
    labour = sum(
        minutes / MINUTES_PER_HOUR * _hour(facts, slot) for minutes, slot in zip(per_slot, facts.slots, strict=True)
    )
    if totals["plan"]["cost"] < labour - SMALL * max(1.0, labour):
        yield Broken("totals", "cost", f"less than its own labour, {labour:.2f}")
    if totals["plan"]["cost"] > totals["greedy"]["cost"] * (1 + DEARER_SHARE) + SMALL:
        says = f"{totals['plan']['cost']:.2f} against {totals['greedy']['cost']:.2f}"
        yield Broken("no dearer than the plain rule", "cost", says)
    if totals["each_alone"]["minutes"] < totals["plan"]["minutes"] - SMALL * max(1.0, totals["plan"]["minutes"]):
        yield Broken("totals", "each alone", "less work when every job opens for itself")
    if totals["gap"] is not None and totals["gap"] < 0:
        yield Broken("totals", "gap", "below zero")


def _hour(facts: Facts, slot: Json) -> float:
    """What an hour is worth there: at home, or of holiday."""
    trip = facts.trip
    home = max(trip.rate_per_hour, 1.0)
    if not facts.is_on_the_road(slot):
        return home
    given = trip.holiday_rate_per_hour
    return home * facts.catalogue.assumed("holiday_hour_factor").value if given is None else max(given, 1.0)
