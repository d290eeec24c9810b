"""One place to grease, in full: what is there, what may go in, how much, how many strokes.

Pure: the ledger tells what is there, the gun is as the owner weighed it. Nothing here
knows a torque or a grade of the vehicle; those are in its maker's manual.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tripplan.catalogue import Catalogue, Item
from tripplan.ledger import Holds, Ledger
from tripplan.lubricants import FAST, GREASE, Cavity, GreaseGun, LubricantRow, OwnLubricant
from tripplan.mechanisms import grease
from tripplan.mixing import Verdict, may_go_in, suits
from tripplan.problems import OutOfRange
from tripplan.records import Origin, Unit

USUAL_DENSITY_KG_M3 = 900.0
BY_HAND = ("brushed", "poured")
WEIGH_FIRST = "strokes not known: weigh ten strokes first (tripplan grease gun FOLDER --weighed 10=13.2g)"


@dataclass(frozen=True, slots=True, kw_only=True)
class Amount:
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One lubricant: whether it may go on top of what is there, and into the place washed clean."""

    lubricant: LubricantRow
    on_top: Verdict
    clean: Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """Everything to know before the gun is picked up, for one space of one item."""

    item: Item
    unit: str
    position: str | None
    cavity: Cavity
    holds: Holds
    choices: tuple[Choice, ...]
    amount: Amount
    cautions: tuple[str, ...]

    def verdict(self, choice: Choice) -> Verdict:
        """The verdict for this act: on a washed place what is there no longer counts."""
        return choice.clean if self.cavity.washed else choice.on_top


def advise(
    item: Item, unit: str, position: str | None, ledger: Ledger, gun: GreaseGun | None,
    new: LubricantRow | None = None,
) -> tuple[Advice, ...]:  # fmt: skip
    """Advice for every space of an item; `new` is the one lubricant asked about."""
    return tuple(_advise(item, unit, position, cavity, ledger, gun, new) for cavity in ledger.cavities(item.id))


def _advise(
    item: Item, unit: str, position: str | None, cavity: Cavity, ledger: Ledger, gun: GreaseGun | None,
    new: LubricantRow | None,
) -> Advice:  # fmt: skip
    holds = ledger.holds(cavity, unit, position)
    asked = (new,) if new else candidates(cavity, ledger)
    choices = tuple(
        Choice(
            lubricant=one, on_top=may_go_in(one, holds.lubricant, cavity, ledger.pairs), clean=suits(one, cavity)
        )  # fmt: skip
        for one in asked
    )
    fitting = (c.lubricant for c in choices if c.clean.may and (new or isinstance(c.lubricant, OwnLubricant)))
    density = next((one.density_kg_m3 for one in fitting if one.density_kg_m3), USUAL_DENSITY_KG_M3)
    return Advice(
        item=item, unit=unit, position=position, cavity=cavity, holds=holds, choices=choices,
        amount=amount(item, cavity, gun, density), cautions=cautions(cavity),
    )  # fmt: skip


def candidates(cavity: Cavity, ledger: Ledger) -> tuple[LubricantRow, ...]:
    """The owner's lubricants of that kind; without any, the open classes that would suit."""
    own = tuple(row for row in ledger.own if row.kind == cavity.kind)
    return own or tuple(row for row in ledger.catalogue.lubricants if suits(row, cavity).may)


def amount(item: Item, cavity: Cavity, gun: GreaseGun | None, density_kg_m3: float = USUAL_DENSITY_KG_M3) -> Amount:
    """Grams and strokes, or litres. Raises OutOfRange for sizes no axle has."""
    if cavity.kind != GREASE:
        low, high = cavity.litres_low, cavity.litres_high
        carry = grease.oil_to_carry_l(high, cavity.spare_share or 0.0) if high else None
        how = "usual for this size; the litres are in your manual"
        return Amount(litres_low=low, litres_high=high, carry_l=carry, how=how, origin=cavity.origin)
    if not cavity.has_sizes:
        grams = _listed_g(item, cavity)
        return Amount(dry_g=grams, top_up_g=grams, how="usual amount", origin=item.origin)
    space_g, dry_g, top_up_g = _grams(cavity, density_kg_m3)
    how = "for an example of the space; measure yours"
    plain = Amount(dry_g=dry_g, top_up_g=top_up_g, how=how, origin=cavity.origin)
    return plain if gun is None or cavity.way in BY_HAND else _with_strokes(plain, cavity, gun, space_g)


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
    pairs = (text.split() for text in item.consumables)
    return next((float(quantity) for name, quantity in pairs if name == cavity.lubricant), None)


def cautions(cavity: Cavity) -> tuple[str, ...]:
    """What to leave out and why, and how not to press a seal out of its seat."""
    said = []
    if cavity.kind == GREASE and cavity.motion == FAST:
        said.append("not grease with solid lubricant (DIN letter F): fast rollers and needles may skid")
    if cavity.solids_min_percent:
        said.append("not hub grease: joint grease is not hub grease")
    if cavity.base_oil:
        said.append("not mineral grease: brake rubber swells")
    if cavity.kind == GREASE and not cavity.washed:
        said.append("not a grease of unknown or other thickener on top of what is there")
    return tuple([*said, *(note for note in (cavity.vent_note, cavity.seal_note) if note)])


def grease_line(item: Item, position: str | None, unit: str, ledger: Ledger, gun: GreaseGun | None) -> str:
    """The lubrication part of a job in one paragraph; empty when the item takes none."""
    found = advise(item, unit, position, ledger, gun)
    return " ".join(_line(advice) for advice in found)


def grease_lines(
    pairs: Iterable[tuple[Unit, Item, str | None]], ledger: Ledger, gun: GreaseGun | None
) -> dict[tuple[str, str, str], str]:
    """The lubrication line of every item position, by item, unit and position ("" for none)."""
    lines = {
        (item.id, unit.id, position or ""): grease_line(item, position, unit.id, ledger, gun)
        for unit, item, position in pairs
    }
    return {thing: line for thing, line in lines.items() if line}


def _line(advice: Advice) -> str:
    cavity = advice.cavity
    parts = [f"{capital(cavity.cavity)}: {cavity.needs}.", f"{capital(amount_words(advice))}."]
    parts.append(f"In it now: {advice.holds.words}.")
    if cavity.kind == GREASE:
        parts.append(_choice_words(advice))
    parts.append(f"{capital('; '.join(advice.cautions))}." if advice.cautions else "")
    return " ".join(part for part in parts if part)


def _choice_words(advice: Advice) -> str:
    """What the owner's greases may do here, with the worst reason; washing comes with some acts."""
    said = []
    for choice in (c for c in advice.choices if isinstance(c.lubricant, OwnLubricant)):
        verdict = advice.verdict(choice)
        why = "" if verdict.may else f" ({verdict.reasons[0].text})"
        said.append(f"{choice.lubricant.label}: {verdict.word}{why}")
    wiped = "Wipe the old off first." if advice.cavity.way in BY_HAND else "The old comes out first, every trace."
    washed = wiped if advice.cavity.washed else ""
    named = f"{'; '.join(said)}." if said else "" if advice.cavity.washed else _without_own(advice)
    return " ".join(part for part in (washed, named) if part)


def _without_own(advice: Advice) -> str:
    may = [c.lubricant.label for c in advice.choices if c.on_top.may]
    if may:
        return f"On top of it may go: {', '.join(may)}."
    return "Nothing goes on top of it until both thickeners are known; else open and wash it out first."


def amount_words(advice: Advice) -> str:
    """Grams and strokes, or litres, in words, for the act of the item."""
    found, way = advice.amount, advice.cavity.way
    if found.litres_low is not None and found.litres_high is not None:
        carry = f", {found.carry_l:.1f} L with a spare share" if found.carry_l else ""
        return f"{found.litres_low:g} to {found.litres_high:g} L{carry} ({found.how})"
    grams, strokes = (
        (found.dry_g, found.dry_strokes) if advice.cavity.washed else (found.top_up_g, found.top_up_strokes)
    )
    if grams is None:
        return "amount not known"
    words = f"about {grams:.0f} g, {way} ({found.how})"
    if strokes is None:
        return words if way in BY_HAND or found.how == "usual amount" else f"{words}; {WEIGH_FIRST}"
    return f"{words}; {_stroke_words(found, strokes, advice)}"


def _stroke_words(found: Amount, strokes: int, advice: Advice) -> str:
    count = int(advice.cavity.points)
    words = f"{'or ' if advice.cavity.way == 'packed by hand' else ''}{strokes} strokes of your gun"
    words += f", {strokes // count} at each of {count} points" if count > 1 else ""
    if advice.cavity.washed and found.before_bearing_strokes:
        words += f", of which the first {found.before_bearing_strokes} only fill the space before the bearing"
    if found.most_strokes is not None:
        words += f"; beyond {found.most_strokes} the space is full and presses on its seal"
    return words


def capital(text: str) -> str:
    """The text with its first letter large."""
    return text[:1].upper() + text[1:]


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


def cavity_items(catalogue: Catalogue) -> tuple[str, ...]:
    """Ids of the items that take grease, oil or another fluid."""
    return tuple(dict.fromkeys(row.item for row in catalogue.cavities))
