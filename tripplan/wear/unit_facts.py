"""Whether the rig says what chooses its items, and its legs whether the hubs are locked."""

from collections.abc import Iterator

from tripplan.records.catalogue import Catalogue
from tripplan.records.facts_in import Rig, Trip, Unit
from tripplan.records.item_cells import Need
from tripplan.records.problem_codes import nearest, problem
from tripplan.records.problems import Problem

WITH_FREE_HUBS = "part-time"
VEHICLE_FACTS = ("drive", "front_axle", "fuel", "gearbox")
ANY_WORDS = ("fuel",)


def check_units(rig: Rig) -> Iterator[Problem]:
    """The rig has one vehicle, and each unit has its own id."""
    vehicles = [unit.id for unit in rig.units if unit.kind == "vehicle"]
    if len(vehicles) != 1:
        found = f"{len(vehicles)} vehicles{': ' if vehicles else ''}{', '.join(vehicles)}"
        yield problem("R10", rig.origin, "unit.kind", found, "one unit of kind vehicle")
    seen: set[str] = set()
    for number, unit in enumerate(rig.units, 1):
        if unit.id in seen:
            yield problem("R11", rig.origin, f"unit[{number}].id", unit.id, "an id that no other unit has")
        seen.add(unit.id)


def check_unit_facts(rig: Rig, catalogue: Catalogue) -> Iterator[Problem]:
    """What chooses the items of each unit is known, and each thing fitted has an item."""
    for number, unit in enumerate(rig.units, 1):
        yield from _missingfacts_of(rig, number, unit, catalogue)
        yield from _odd_fittings(rig, number, unit, catalogue)
        if unit.usual_km_per_week is None:
            column = f"unit[{number}].usual_km_per_week"
            yield problem("R15", rig.origin, column, "nothing", "km driven in a usual week, 0 if it stands")


def _missingfacts_of(rig: Rig, number: int, unit: Unit, catalogue: Catalogue) -> Iterator[Problem]:
    kin = [item for item in catalogue.items if item.unit_kind == unit.kind]
    options: dict[str, set[str]] = {fact: set() for fact in VEHICLE_FACTS if unit.kind == "vehicle"}
    for item in kin:
        open_needs = [need for need in item.needs if _is_open(need, unit)]
        if item.fits(unit.model_copy(update={need.fact: need.words[0] for need in open_needs})):
            for need in open_needs:
                options.setdefault(need.fact, set()).update(need.words)
    for key, words in options.items():
        if getattr(unit, key) is None:
            accepted = nearest("", words) or "a word"
            accepted += " (or another word)" if key in ANY_WORDS else ""
            hint = "without it the items of the unit cannot be chosen"
            yield problem("R12", rig.origin, f"unit[{number}].{key}", "nothing", accepted, hint)


def _odd_fittings(rig: Rig, number: int, unit: Unit, catalogue: Catalogue) -> Iterator[Problem]:
    needs = [need for i in catalogue.items if i.unit_kind == unit.kind for need in i.needs]
    used = {word for need in needs if need.fact == "fitted" for word in need.words}
    for word in unit.fitted:
        if word not in used:
            yield problem("R17", rig.origin, f"unit[{number}].fitted", word, nearest(word, used, 6) or "none")


def _is_open(need: Need, unit: Unit) -> bool:
    """True where the fact is not known; hubs are no question but with part-time drive."""
    is_no_question = need.fact == "fitted" or (need.fact == "hubs" and unit.drive != WITH_FREE_HUBS)
    return not is_no_question and getattr(unit, need.fact) is None


def check_leg_hubs(rig: Rig, trip: Trip) -> Iterator[Problem]:
    """Whether the hubs are locked is asked only where the rig has the choice."""
    vehicle = next((unit for unit in rig.units if unit.kind == "vehicle"), None)
    if vehicle is None or (vehicle.drive, vehicle.hubs) != (WITH_FREE_HUBS, "free-wheeling"):
        return
    for leg in (*trip.earlier_legs, *trip.legs):
        if leg.hubs is None:
            hint = f"{vehicle.id} has free-wheeling hubs and part-time drive; any other rig may leave it empty"
            accepted = "locked, free, or the share locked from 0 to 1"
            yield problem("L02", leg.origin, "hubs", "nothing", accepted, hint)
