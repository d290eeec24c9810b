"""How much goes into one space: grams and strokes of the weighed gun, or litres.

Sizes come from `cavities.csv` and are those of an example; the owner's own go into
`overrides/`. A gun that was not weighed gives no strokes.
"""

from collections.abc import Sequence
from math import ceil

from msgspec import Struct

from tripplan.records.catalogue import Item
from tripplan.records.facts_in import Origin
from tripplan.records.lubricants import GREASE, Cavity, GreaseGun
from tripplan.records.problems import OutOfRange
from tripplan.wear.mechanisms import grease

USUAL_DENSITY_KG_M3 = 900.0
LAID_OUT_STEP_G = 5.0
BY_HAND = ("brushed", "poured")
LISTED = "usual amount"


class Amount(Struct, frozen=True, kw_only=True):
    """How much goes in: grams dry and as a top-up, strokes of the gun, or litres."""

    dry_g: float | None = None
    top_up_g: float | None = None
    dry_strokes: int | None = None
    top_up_strokes: int | None = None
    before_bearing_strokes: int | None = None
    most_strokes: int | None = None
    litres_low: float | None = None
    litres_high: float | None = None
    carry_l: float | None = None
    how: str = ""
    origin: Origin


def amount(item: Item, cavity: Cavity, gun: GreaseGun | None, density_kg_m3: float = USUAL_DENSITY_KG_M3) -> Amount:
    """Grams and strokes, or litres. Raises OutOfRange for sizes no axle has."""
    if cavity.kind != GREASE:
        low, high = cavity.litres_low, cavity.litres_high
        carry = grease.oil_to_carry_l(high, cavity.spare_share or 0.0) if high else None
        how = "usual for this size; the litres are in your manual"
        return Amount(litres_low=low, litres_high=high, carry_l=carry, how=how, origin=cavity.origin)
    if not cavity.has_sizes:
        grams = _listed_g(item, cavity)
        return Amount(dry_g=grams, top_up_g=grams, how=LISTED, origin=item.origin)
    space_g, dry_g, top_up_g = _grams(cavity, density_kg_m3)
    how = "for an example of the space; measure yours"
    plain = Amount(dry_g=dry_g, top_up_g=top_up_g, how=how, origin=cavity.origin)
    return plain if gun is None or cavity.way in BY_HAND else _with_strokes(plain, cavity, gun, space_g)


def laid_out_g(grams: float) -> float:
    """Grams as they are told and laid out: the next 5 g up, the same in a job and in its note."""
    return LAID_OUT_STEP_G * ceil(round(grams / LAID_OUT_STEP_G, 6))


def _with_strokes(plain: Amount, cavity: Cavity, gun: GreaseGun, space_g: float) -> Amount:
    """The amount in strokes of the weighed gun, for all points of the item together."""
    points, each = cavity.points, gun.g_per_stroke
    dry, top_up = (
        int(points) * grease.strokes_for((grams or 0.0) / points, each) for grams in (plain.dry_g, plain.top_up_g)
    )
    before = cavity.before_bearing_share
    is_closed = cavity.fill_share is not None and cavity.fill_share < 1
    return Amount(
        dry_g=plain.dry_g, top_up_g=plain.top_up_g, dry_strokes=dry, top_up_strokes=top_up,
        before_bearing_strokes=grease.strokes_for(before * (plain.dry_g or 0.0), each) if before else None,
        most_strokes=grease.most_strokes(space_g, each) if is_closed else None,
        how=plain.how, origin=plain.origin,
    )  # fmt: skip


def _grams(cavity: Cavity, density_kg_m3: float) -> tuple[float, float, float]:
    """Grams that fill one space wholly, and those of a dry fill and a top-up of all points."""
    space_cm3 = grease.cavity_cm3(cavity.bore_mm or 0, cavity.shaft_mm or 0, cavity.length_mm or 0)
    packed_g, topped_g = 0.0, 0.0
    if cavity.bearings and cavity.bearing_outer_mm and cavity.bearing_width_mm:
        packed_g = cavity.bearings * grease.purge_g(cavity.bearing_outer_mm, cavity.bearing_width_mm)
        topped_g = cavity.bearings * grease.relubrication_g(cavity.bearing_outer_mm, cavity.bearing_width_mm)
    space_g = packed_g + grease.fill_g(space_cm3, 1.0, density_kg_m3)
    dry_g = packed_g + grease.fill_g(space_cm3, cavity.fill_share or 0.0, density_kg_m3)
    top_up_g = topped_g or dry_g * (cavity.top_up_share or 1.0)
    return space_g, cavity.points * dry_g, cavity.points * top_up_g


def _listed_g(item: Item, cavity: Cavity) -> float | None:
    """Grams of this lubricant in the item's own list of materials."""
    return next((amount.quantity for amount in item.consumables if amount.what == cavity.lubricant), None)


def space_faults(cavities: Sequence[Cavity]) -> tuple[tuple[Cavity, str, OutOfRange], ...]:
    """Cavity rows whose sizes cannot be: the row, what is wrong, and the bounds it breaks."""
    found = []
    for row in cavities:
        if row.kind == GREASE and row.has_sizes:
            try:
                _grams(row, USUAL_DENSITY_KG_M3)
            except OutOfRange as error:
                found.append((row, error.name, error))
    return tuple(found)
