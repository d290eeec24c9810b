"""Whether the rig says what chooses its items, its legs whether the hubs are locked, and heights that can be heights."""

from collections.abc import Iterator

from tripplan.records.catalogue import Catalogue
from tripplan.records.facts_in import Rig, Trip, Unit
from tripplan.records.item_cells import Need
from tripplan.records.lookups import HALF_TYRE_POINTS, HUB_CENTRE, INTAKE_MOUTH, ROOF
from tripplan.records.problem_codes import figure, nearest, problem
from tripplan.records.problems import Problem

WITH_FREE_HUBS = "part-time"
VEHICLE_FACTS = ("drive", "front_axle", "fuel", "gearbox")
ANY_WORDS = ("fuel",)
USUAL_FUELS = ("diesel", "petrol", "lpg")
# Where heights of rigs of this kind lie, mm; whoever has others is asked and not stopped (judgement, no source).
LOWEST_MM, HIGHEST_MM, HIGHEST_ROOF_MM = 100.0, 2500.0, 4300.0
HALF_TYRE_MM = (150.0, 1000.0)  # the halves of the tyre diameters that are taken
OF_HALF_TYRE = (0.75, 1.1)  # a laden tyre stands lower than its half, a worn one too
PORTAL_RISE = 1.6  # an axle above its hubs
ABOVE_HUBS = frozenset((
    "airbox_seam", "battery_tray", "brake_reservoir_cap", "door_sill", "fan_centre", "gearbox_breather", INTAKE_MOUTH,
    "lamp", "sump_breather", "transfer_breather",
))  # fmt: skip
OTHER_UNITS = (
    (10.0, "is in centimetres"),
    (25.4, "is in inches"),
    (1000.0, "is in metres"),
    (0.1, "has a digit too many"),
)


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
        yield from _odd_fuel(rig, number, unit, catalogue)
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
    used = _words_needed(catalogue, unit, "fitted")
    for word in unit.fitted:
        if word not in used:
            yield problem("R17", rig.origin, f"unit[{number}].fitted", word, nearest(word, used, 6) or "none")


def _odd_fuel(rig: Rig, number: int, unit: Unit, catalogue: Catalogue) -> Iterator[Problem]:
    """A fuel that no item needs and that is none of the usual: a misspelt one would leave out in silence what its engine has."""
    needed = _words_needed(catalogue, unit, "fuel")
    fuels = needed.union(USUAL_FUELS)
    if needed and unit.fuel is not None and unit.fuel not in fuels:
        accepted = f"{nearest(unit.fuel, fuels)}; with any other word, items that only one of them has are left out"
        yield problem("R21", rig.origin, f"unit[{number}].fuel", unit.fuel, accepted, "look at each letter")


def _words_needed(catalogue: Catalogue, unit: Unit, fact: str) -> set[str]:
    """The words of a fact that items of such a unit need."""
    needs = [need for item in catalogue.items if item.unit_kind == unit.kind for need in item.needs]
    return {word for need in needs if need.fact == fact for word in need.words}


def check_odd_heights(rig: Rig) -> Iterator[Problem]:
    """A height that no such point has is asked about: one in centimetres would have every hub under water."""
    for number, unit in enumerate(rig.units, 1):
        for point, height_mm in unit.heights_mm.items():
            low_mm, high_mm, why = _heights_mm(unit, point)
            if low_mm <= height_mm <= high_mm:
                continue
            meant = [
                f"{height_mm * factor:.0f}, if {figure(height_mm)} {said}"
                for factor, said in OTHER_UNITS if low_mm <= height_mm * factor <= high_mm
            ]  # fmt: skip
            hint = f"did you mean {' or '.join(meant)}" if meant else "look at the unit and at each digit"
            accepted = f"mm above the ground, most likely {low_mm:.0f} to {high_mm:.0f}{why}"
            yield problem("R20", rig.origin, f"unit[{number}].heights_mm.{point}", figure(height_mm), accepted, hint)


def _heights_mm(unit: Unit, point: str) -> tuple[float, float, str]:
    """From where to where a point of a unit can lie, and what says so."""
    half_mm = unit.tyre_diameter_mm / 2 if unit.tyre_diameter_mm else None
    if point in HALF_TYRE_POINTS:
        if half_mm is None:
            return *HALF_TYRE_MM, ", half of a tyre"
        most = OF_HALF_TYRE[1] if point == HUB_CENTRE else PORTAL_RISE
        return half_mm * OF_HALF_TYRE[0], half_mm * most, f", as the tyre is {half_mm * 2:.0f} high"
    hub_mm = unit.heights_mm.get(HUB_CENTRE, half_mm)
    lowest_mm, why = LOWEST_MM, ""
    if point in ABOVE_HUBS and hub_mm is not None and LOWEST_MM <= hub_mm <= HALF_TYRE_MM[1]:
        lowest_mm, why = hub_mm, ", above the hubs"
    return lowest_mm, HIGHEST_ROOF_MM if point in (ROOF, INTAKE_MOUTH) else HIGHEST_MM, why


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
