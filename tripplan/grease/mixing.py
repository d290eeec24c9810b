"""May this grease go in here? The worst of what the charts, the place and the tin say.

Charts contradict each other, so the worst rating held decides. A pair that no chart rates,
a thickener nobody wrote down and a grease that is not known all mean: do not mix.
"""

from collections.abc import Iterable, Sequence

from msgspec import Struct

from tripplan.records.facts_in import Origin
from tripplan.records.lubricants import (
    FAST,
    GREASE,
    RATINGS,
    Cavity,
    LubricantRow,
    OwnLubricant,
    PairRating,
    ratings_of,
)
from tripplan.records.plan import Reason

GO = "go ahead"
PURGE = "purge and shorten the next interval"
STRIP = "strip and clean first"
UNKNOWN = "unknown: do not mix"
NOT_HERE = "not for this place"
VERDICTS = (GO, PURGE, STRIP, UNKNOWN, NOT_HERE)
OF_RATING = dict(zip(RATINGS, (GO, PURGE, STRIP), strict=True))
SHORTENED_SHARE = 0.5
POOR_IN_WATER = ("2-40", "3-40")
ODD_BASES = ("glycol ether", "polyglycol", "silicone", "perfluoropolyether")
NEXT_STEP = {
    GO: "Clean the nipple or plug, then bring in the new grease.",
    PURGE: "Press new grease in until only new grease shows, and grease again after "
    f"{SHORTENED_SHARE:.0%} of the interval.",
    STRIP: "Open it, wash out every trace of the old, look, then fill it afresh.",
    UNKNOWN: "Find out from the tin or its data sheet; else open it, wash out every trace, fill it afresh.",
    NOT_HERE: "Leave it out of this place and take one of the class asked for.",
}


class Verdict(Struct, frozen=True, kw_only=True):
    """May it go in: one of `VERDICTS`, what to do next, and every reason with its rows."""

    word: str
    next_step: str
    reasons: tuple[Reason, ...]

    @property
    def may(self) -> bool:
        """True when it may simply go in."""
        return self.word == GO


Finding = tuple[str, Reason]


def may_go_in(new: LubricantRow, there: LubricantRow | None, cavity: Cavity, pairs: Sequence[PairRating]) -> Verdict:
    """Whether `new` may be pressed or poured on top of what is there; None = not known what is."""
    return _worst([*_demands(new, cavity), *_meeting(new, there, pairs)])


def suits(new: LubricantRow, cavity: Cavity) -> Verdict:
    """Whether `new` belongs in this place once it is washed clean."""
    return _worst(list(_demands(new, cavity)))


def _worst(findings: Sequence[Finding]) -> Verdict:
    word = max((word for word, _ in findings), key=VERDICTS.index, default=UNKNOWN)
    ordered = sorted(findings, key=lambda finding: -VERDICTS.index(finding[0]))
    return Verdict(word=word, next_step=NEXT_STEP[word], reasons=tuple(reason for _, reason in ordered))


def _say(word: str, text: str, *origins: Origin) -> Finding:
    return word, Reason(kind="mixing", text=text, origins=origins)


def _meeting(new: LubricantRow, there: LubricantRow | None, pairs: Sequence[PairRating]) -> Iterable[Finding]:
    if there is None:
        yield _say(UNKNOWN, "what is in there now is not known", new.origin)
    elif new.kind != there.kind:
        yield _say(STRIP, f"{new.kind} does not mix with {there.kind}", new.origin, there.origin)
    elif isinstance(new, OwnLubricant) and new == there:
        yield _say(GO, f"{new.label} is what is in there already", new.origin)
    elif (new.base_oil in ODD_BASES or there.base_oil in ODD_BASES) and new.base_oil != there.base_oil:
        bases = f"{new.base_oil or 'a base not stated'} and {there.base_oil or 'a base not stated'}"
        yield _say(STRIP, f"the base fluids do not mix: {bases}", new.origin, there.origin)
    elif new.kind == GREASE:
        yield from _thickeners(new, there, pairs)
    else:
        yield _grades(new, there)


def _thickeners(new: LubricantRow, there: LubricantRow, pairs: Sequence[PairRating]) -> Iterable[Finding]:
    for row in dict.fromkeys((new, there)):
        if row.thickener is None:
            yield _say(UNKNOWN, f"the thickener of {row.label} is not known", row.origin)
    if new.thickener is None or there.thickener is None:
        return
    both = f"{new.thickener} with {there.thickener}"
    rated = ratings_of(new.thickener, there.thickener, pairs)
    if not rated:
        yield _say(UNKNOWN, f"no chart held rates {both}", new.origin, there.origin)
    for pair in rated:
        yield _say(OF_RATING[pair.rating], f"{both}: {pair.rating} in the chart {pair.chart}", pair.origin)


def _grades(new: LubricantRow, there: LubricantRow) -> Finding:
    """Oils and fluids: alike only when both tins say the same of class and grade."""
    if new.kind == "brake fluid" and new.base_oil and new.base_oil == there.base_oil:
        return _say(GO, f"both brake fluids are {new.base_oil}; the class on the cap rules", new.origin, there.origin)
    said = (new.sae, new.api)
    if None not in said and said == (there.sae, there.api):
        return _say(GO, f"both are {new.sae}, {new.api}", new.origin, there.origin)
    return _say(UNKNOWN, "grade and service class of both are not known to be the same", new.origin, there.origin)


def _demands(new: LubricantRow, cavity: Cavity) -> Iterable[Finding]:
    """What the place asks for, one finding each; a met demand says so once."""
    if new.kind != cavity.kind:
        yield _say(NOT_HERE, f"{cavity.cavity} takes {cavity.kind}, this is {new.kind}", cavity.origin, new.origin)
        return
    if new.kind != GREASE:
        yield _fluid_grade(new, cavity)
        return
    unmet = [*_base(new, cavity), *_solids(new, cavity), *_marks(new, cavity), *_limits(new, cavity)]
    yield from unmet
    if not unmet:
        said = f"{new.label} meets what {cavity.cavity} asks for: {cavity.needs}{_heat(new)}"
        yield _say(GO, said, cavity.origin, new.origin)


def _heat(new: LubricantRow) -> str:
    return f"; {new.good_for}" if new.good_for else ""


def _fluid_grade(new: LubricantRow, cavity: Cavity) -> Finding:
    """An oil or fluid with its class stated may go in if the maker's manual names that class."""
    rows = (cavity.origin, new.origin)
    stated = [part for part in (new.sae, new.api) if part]
    if stated or new.boil_dry_c is not None:
        named = f"{new.label} {' '.join(stated)}".rstrip()
        return _say(GO, f"{named}, if it is what is asked for: {cavity.needs}{_heat(new)}", *rows)
    return _say(UNKNOWN, f"grade and service class of {new.label} are not known: {cavity.needs}", *rows)


def _base(new: LubricantRow, cavity: Cavity) -> Iterable[Finding]:
    rows = (cavity.origin, new.origin)
    if cavity.base_oil and new.base_oil is None:
        yield _say(UNKNOWN, f"the base of {new.label} is not known: {cavity.needs}", *rows)
    elif cavity.base_oil and new.base_oil not in cavity.base_oil:
        yield _say(NOT_HERE, f"{new.base_oil} base; {' or '.join(cavity.base_oil)} is asked for", *rows)


def _solids(new: LubricantRow, cavity: Cavity) -> Iterable[Finding]:
    rows = (cavity.origin, new.origin)
    high, low = cavity.solids_max_percent, cavity.solids_min_percent
    is_fast = cavity.motion == FAST
    if high == 0 and new.has_solids:
        why = "fast rollers and needles may skid on it" if is_fast else "it is asked for without"
        yield _say(NOT_HERE, f"{new.label} holds solid lubricant; {why}", *rows)
    elif is_fast and new.has_solids is None:
        yield _say(UNKNOWN, f"whether {new.label} holds solid lubricant is not known", *rows)
    elif high is not None and new.solids_percent is not None and new.solids_percent > high:
        yield _say(NOT_HERE, f"{new.solids_percent:g}% solid lubricant; at most {high:g}% here", *rows)
    if low and new.has_solids is None:
        yield _say(UNKNOWN, f"whether {new.label} holds solid lubricant is not known", *rows)
    elif low and (new.has_solids is False or (new.solids_percent is not None and new.solids_percent < low)):
        yield _say(NOT_HERE, f"{new.label} holds too little solid lubricant: {cavity.needs}", *rows)


def _marks(new: LubricantRow, cavity: Cavity) -> Iterable[Finding]:
    rows, wanted = (cavity.origin, new.origin), set(cavity.astm_d4950)
    asked = " or ".join(sorted(wanted))
    if wanted and not new.marks:
        yield _say(UNKNOWN, f"the service mark of {new.label} is not known; {asked} is asked for", *rows)
    elif wanted and not wanted & new.marks:
        yield _say(NOT_HERE, f"marked {new.astm_d4950}; {asked} is asked for", *rows)
    if cavity.nlgi and new.nlgi is None:
        yield _say(UNKNOWN, f"how stiff {new.label} is (NLGI) is not known", *rows)
    elif cavity.nlgi and new.nlgi not in cavity.nlgi:
        yield _say(NOT_HERE, f"NLGI {new.nlgi}; {' or '.join(cavity.nlgi)} is asked for", *rows)


def _limits(new: LubricantRow, cavity: Cavity) -> Iterable[Finding]:
    rows, hot = (cavity.origin, new.origin), cavity.temp_high_c
    if hot is not None and new.temp_high_c is None:
        yield _say(UNKNOWN, f"how hot {new.label} may get is not known; {hot:g} deg C is asked for", *rows)
    elif hot is not None and new.temp_high_c is not None and new.temp_high_c < hot:
        yield _say(NOT_HERE, f"good to {new.temp_high_c:g} deg C; {hot:g} deg C is asked for", *rows)
    if cavity.water and new.water_grade is None:
        yield _say(UNKNOWN, f"how {new.label} stands water is not known", *rows)
    elif cavity.water and new.water_grade in POOR_IN_WATER:
        yield _say(NOT_HERE, f"water grade {new.water_grade} washes out of a place that meets water", *rows)
