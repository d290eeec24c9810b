"""One place to grease, in full: what is there, what may go in, how much, how many strokes.

Pure: the ledger tells what is there, the gun is as the owner weighed it. Nothing here
knows a torque or a grade of the vehicle; those are in its maker's manual.
"""

from collections.abc import Iterable, Sequence

from msgspec import Struct

from tripplan.grease.amounts import BY_HAND, LISTED, USUAL_DENSITY_KG_M3, Amount, amount, laid_out_g
from tripplan.grease.mixing import SHORTENED_SHARE, UNKNOWN, Verdict, may_go_in, suits
from tripplan.grease.what_is_in import Contents, Holds
from tripplan.records.catalogue import Catalogue, Item
from tripplan.records.facts_in import Unit
from tripplan.records.lubricants import FAST, GREASE, Cavity, GreaseGun, LubricantRow, OwnLubricant
from tripplan.records.plan_work import Filling

Suited = dict[tuple[str, str], tuple[tuple[LubricantRow, Verdict], ...]]
NOT_KNOWN = "It is not known to mix with what goes in:"
SOONER = f"and grease it again after {SHORTENED_SHARE:.0%} of its interval (common practice, no source)"
PURGE_WORDS = f"{NOT_KNOWN} purge until clean grease shows at every seal, {SOONER}"
DRAW_WORDS = f"{NOT_KNOWN} draw or wipe the old off as far as it comes, {SOONER}"
WEIGH_FIRST = "strokes not known: weigh ten strokes first (tripplan grease FOLDER --weighed 10=13.2g)"


class Choice(Struct, frozen=True, kw_only=True):
    """One lubricant: whether it may go on top of what is there, and into the place washed clean."""

    lubricant: LubricantRow
    on_top: Verdict
    clean: Verdict


class Advice(Struct, frozen=True, kw_only=True):
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
    item: Item, unit: str, position: str | None, ledger: Contents, gun: GreaseGun | None,
    new: LubricantRow | None = None, known: Suited | None = None,
) -> tuple[Advice, ...]:  # fmt: skip
    """Advice for every space of an item; `new` is the one lubricant asked about.

    `known` keeps what suits a space from one item position to the next.
    """
    seen: Suited = {} if known is None else known
    found = []
    for cavity in ledger.cavities(item.id):
        if new:
            asked: tuple[tuple[LubricantRow, Verdict], ...] = ((new, suits(new, cavity)),)
        else:
            key = (cavity.item, cavity.cavity)
            asked = seen[key] = seen.get(key) or candidates(cavity, ledger)
        found.append(_advise(item, unit, position, cavity, ledger, gun, asked, new is not None))
    return tuple(found)


def _advise(
    item: Item, unit: str, position: str | None, cavity: Cavity, ledger: Contents, gun: GreaseGun | None,
    asked: Sequence[tuple[LubricantRow, Verdict]], is_new: bool,
) -> Advice:  # fmt: skip
    holds = ledger.holds(cavity, unit, position)
    choices = tuple(
        Choice(lubricant=one, on_top=may_go_in(one, holds.lubricant, cavity, ledger.pairs), clean=clean)
        for one, clean in asked
    )
    fitting = (c.lubricant for c in choices if c.clean.may and (is_new or isinstance(c.lubricant, OwnLubricant)))
    density = next((one.density_kg_m3 for one in fitting if one.density_kg_m3), USUAL_DENSITY_KG_M3)
    return Advice(
        item=item, unit=unit, position=position, cavity=cavity, holds=holds, choices=choices,
        amount=amount(item, cavity, gun, density), cautions=cautions(cavity),
    )  # fmt: skip


def candidates(cavity: Cavity, ledger: Contents) -> tuple[tuple[LubricantRow, Verdict], ...]:
    """The owner's lubricants of that kind; without any, the open classes that would suit. Each with its verdict."""
    own = tuple((row, suits(row, cavity)) for row in ledger.own if row.kind == cavity.kind)
    listed = ((row, suits(row, cavity)) for row in ledger.catalogue.lubricants)
    return own or tuple((row, verdict) for row, verdict in listed if verdict.may)


def cautions(cavity: Cavity) -> tuple[str, ...]:
    """What to leave out and why, and how not to press a seal out of its seat."""
    return (*_left_out(cavity), *("; ".join(note) for note in (cavity.vent_note, cavity.seal_note) if note))


def _left_out(cavity: Cavity) -> tuple[str, ...]:
    said = []
    if cavity.kind == GREASE and cavity.motion == FAST:
        said.append("not grease with solid lubricant (DIN letter F): fast rollers and needles may skid")
    if cavity.solids_min_percent:
        said.append("not hub grease: joint grease is not hub grease")
    if cavity.base_oil:
        said.append("not mineral grease: brake rubber swells")
    if cavity.kind == GREASE and not cavity.washed:
        said.append("a grease known not to mix with what is there never goes on top of it: open and wash it out first")
    return tuple(said)


def fillings(
    item: Item, position: str | None, unit: str, ledger: Contents, gun: GreaseGun | None, known: Suited | None = None
) -> tuple[Filling, ...]:
    """What a job tells about each space of an item; none when the item takes no lubricant."""
    return tuple(map(_filling, advise(item, unit, position, ledger, gun, known=known)))


def all_fillings(
    pairs: Iterable[tuple[Unit, Item, str | None]], ledger: Contents, gun: GreaseGun | None
) -> dict[tuple[str, str, str], tuple[Filling, ...]]:
    """The fillings of every item position that has any, by item, unit and position ("" for none)."""
    known: Suited = {}
    found = {
        (item.id, unit.id, position or ""): fillings(item, position, unit.id, ledger, gun, known)
        for unit, item, position in pairs
    }
    return {thing: own for thing, own in found.items() if own}


def filling_words(found: Iterable[Filling]) -> str:
    """Fillings in one paragraph."""
    return " ".join(
        " ".join((f"{one.space}: {one.needs}.", *(f"{'; '.join(clauses)}." for clauses in one.told))) for one in found
    )


def _filling(advice: Advice) -> Filling:
    cavity = advice.cavity
    choices = _choice_words(advice) if cavity.kind == GREASE else ()
    mind = (*_left_out(cavity), *cavity.vent_note, *cavity.seal_note)
    told = (_begun(amount_clauses(advice)), (f"In it now: {advice.holds.words}",), *choices, _begun(mind))
    return Filling(
        space=capital(cavity.cavity), needs=cavity.needs, told=tuple(clauses for clauses in told if clauses),
        brief=_brief(advice) if cavity.kind == GREASE else (),
    )  # fmt: skip


def _brief(advice: Advice) -> tuple[str, ...]:
    """What happens to the old grease, which of the owner's greases may go in, and the strokes."""
    if advice.cavity.washed:
        old = "wipe the old off first" if advice.cavity.way in BY_HAND else "every trace of the old out first"
    else:
        old = "purge until it comes out clean" if advice.cavity.way == "nipple" else "draw or wipe the old off"
    own = [c for c in advice.choices if isinstance(c.lubricant, OwnLubricant)]
    may = [c.lubricant.label for c in own if advice.verdict(c).may]
    which = (f"takes your {' or '.join(may)}",) if may else ("none of your greases suits",) if own else ()
    strokes = advice.amount.dry_strokes if advice.cavity.washed else advice.amount.top_up_strokes
    return (old, *which, *((f"{strokes} strokes",) if strokes else ()))


def _begun(clauses: Sequence[str]) -> tuple[str, ...]:
    """The clauses as a sentence begins; an owner's name for a tin keeps its letters."""
    return (capital(clauses[0]), *clauses[1:]) if clauses else ()


def _choice_words(advice: Advice) -> tuple[tuple[str, ...], ...]:
    """What the owner's greases may do here, with the worst reason; washing comes with some acts."""
    said = []
    for choice in (c for c in advice.choices if isinstance(c.lubricant, OwnLubricant)):
        verdict = advice.verdict(choice)
        why = "" if verdict.may else f" ({verdict.reasons[0].text})"
        word = "not known" if verdict.word == UNKNOWN else verdict.word
        said.append(f"{choice.lubricant.label}: {word}{why}")
    wiped = "Wipe the old off first" if advice.cavity.way in BY_HAND else "The old comes out first, every trace"
    washed = (wiped,) if advice.cavity.washed else ()
    named = tuple(said) or (() if advice.cavity.washed else (_without_own(advice),))
    own = [advice.verdict(c) for c in advice.choices if isinstance(c.lubricant, OwnLubricant)]
    doubtful = bool(own) and not any(v.may for v in own) and any(v.word == UNKNOWN for v in own)
    sooner = (_sooner(advice),) if doubtful and not advice.cavity.washed else ()
    return washed, named, sooner


def _without_own(advice: Advice) -> str:
    may = [c.lubricant.label for c in advice.choices if c.on_top.may]
    if may:
        return f"On top of it may go: {', '.join(may)}"
    return _sooner(advice)


def _sooner(advice: Advice) -> str:
    """What to do where nobody knows whether they mix: the job is done all the same, and comes again sooner."""
    return PURGE_WORDS if advice.cavity.way == "nipple" else DRAW_WORDS


def amount_words(advice: Advice) -> str:
    """Grams and strokes, or litres, in words, for the act of the item."""
    return "; ".join(amount_clauses(advice))


def amount_clauses(advice: Advice) -> tuple[str, ...]:
    """The same clause by clause."""
    found, way = advice.amount, advice.cavity.way
    if found.litres_low is not None and found.litres_high is not None:
        carry = f", {found.carry_l:.1f} L with a spare share" if found.carry_l else ""
        return (f"{found.litres_low:g} to {found.litres_high:g} L{carry} ({found.how})",)
    grams, strokes = (
        (found.dry_g, found.dry_strokes) if advice.cavity.washed else (found.top_up_g, found.top_up_strokes)
    )
    if grams is None:
        return ("amount not known",)
    words = f"about {laid_out_g(grams):.0f} g, {way} ({found.how})"
    if strokes is None:
        return (words,) if way in BY_HAND or found.how == LISTED else (words, WEIGH_FIRST)
    return (words, *_stroke_words(found, strokes, advice))


def _stroke_words(found: Amount, strokes: int, advice: Advice) -> tuple[str, ...]:
    count = int(advice.cavity.points)
    words = f"{'or ' if advice.cavity.way == 'packed by hand' else ''}{strokes} strokes of your gun"
    words += f", {strokes // count} at each of {count} points" if count > 1 else ""
    if advice.cavity.washed and found.before_bearing_strokes:
        words += f", of which the first {found.before_bearing_strokes} only fill the space before the bearing"
    if found.most_strokes is None:
        return (words,)
    return words, f"beyond {found.most_strokes} the space is full and presses on its seal"


def capital(text: str) -> str:
    """The text with its first letter large."""
    return text[:1].upper() + text[1:]


def cavity_items(catalogue: Catalogue) -> tuple[str, ...]:
    """Ids of the items that take grease, oil or another fluid."""
    return tuple(dict.fromkeys(row.item for row in catalogue.cavities))
