"""Wear multipliers: how much faster a leg uses an item up than normal driving does.

The rule, in one place (`RULE`): conditions that act through the same mechanism multiply, and
separate mechanisms add their excess over 1. Which condition acts through which is
`MECHANISM_OF`. A physical model gives the number where the leg says enough, a row of
`multipliers.csv` otherwise. A neutral grade is exactly 1.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from tripplan.records.catalogue import Catalogue, ConditionGrade, Item, Multiplier
from tripplan.records.facts_in import EarlierLeg, Leg, Origin, Unit
from tripplan.records.plan import Factor
from tripplan.records.problems import OutOfRange
from tripplan.trip.distance_range import CONDITION as DISTANCE
from tripplan.trip.distance_range import distance_factor
from tripplan.trip.timeline import Timeline
from tripplan.wear.from_mechanisms import NEEDS, Cause, cause_of
from tripplan.wear.mechanisms.uncertain import MEDIAN, NODES, Z95, Array, excess_at, percentile
from tripplan.wear.total import piled

RULE = (
    "Wear on a leg = use x total multiplier (1 = normal, 2 = each km counts as two). Separate mechanisms add "
    "their excess over 1: grit (dust), mud, shaking (surface, corrugation), heat, load (load, towing, low range). "
    "What acts through the same mechanism multiplies. A water crossing adds once, where it is made, to what it "
    "reached. With reserve: the 95% value of the total from the last time the act was done up to the point asked, "
    "the doubt about the interval itself included, so that 19 of 20 trips wear less; it is not the sum of the "
    "legs' own 95% values."
)
MECHANISMS: Final = ("grit", "mud", "shaking", "heat", "load", "distance", "water")
MECHANISM_OF: Final[dict[str, str]] = {
    "dust": "grit", "mud": "mud", "surface": "shaking", "corrugation": "shaking", "heat": "heat",
    "load": "load", "towing": "load", "low range": "load", "distance": "distance", "water": "water",
}  # fmt: skip
WATER_GRADES = ("none", "splash", "immersed")
LEG_CONDITIONS = ("dust", "corrugation", "surface", "heat", "load", "towing", "mud")
LOW_RANGE = "low range"
NEUTRAL = ("none", "no", "normal", "light", "sealed")
_SPOT: Final = {name: spot for spot, name in enumerate(MECHANISMS)}


class MissingGrade(LookupError):
    """The tables hold no row for a grade that a leg states; `condition` and `grade` say which."""

    def __init__(self, condition: str, grade: str) -> None:
        self.condition, self.grade = condition, grade
        super().__init__(f"no row for {condition} {grade}")


@dataclass(frozen=True, slots=True)
class Kind:
    """All of an item that its wear multipliers depend on; items of one kind share theirs."""

    dust: str
    water: str
    corrugation: str
    heat: str
    load: str
    reached: tuple[str, ...]
    family: str


@dataclass(frozen=True, slots=True, eq=False)
class KindWear:
    """The multipliers of one kind of item: arrays with one entry a leg, crossings left out.

    `excess` has for each leg what each mechanism adds to 1, at each value of its doubt.
    `factors` are the conditions behind them, for those who ask why.
    """

    typical: Array
    low: Array
    high: Array
    excess: Array
    factors: tuple[tuple[Factor, ...], ...]


@dataclass(slots=True)
class Severity:
    """The multipliers of one trip: worked out once for each kind of item, for all legs together."""

    catalogue: Catalogue
    timeline: Timeline
    notes: dict[str, None] = field(init=False, default_factory=dict)
    _grades: dict[tuple[str, str], ConditionGrade] = field(init=False)
    _rows: dict[tuple[str, str, str], Factor] = field(init=False)
    _alike: tuple[int, ...] = field(init=False)
    _first: dict[int, tuple[Leg, tuple[tuple[str, str], ...]]] = field(init=False)
    _caused: frozenset[int] = field(init=False)
    _limited: tuple[ConditionGrade, ...] = field(init=False)
    _of_kind: dict[Kind, KindWear] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        self._grades = {(row.condition, row.grade): row for row in self.catalogue.grades}
        self._rows = {(r.condition, r.grade, r.sensitivity): _as_factor(r) for r in self.catalogue.multipliers}
        self._limited = tuple(row for row in self.catalogue.grades if row.reaches)
        columns = {column for needed in NEEDS.values() for column in needed}
        self._caused = frozenset(
            leg.leg for leg in self.timeline.legs if any(getattr(leg, c) is not None for c in columns)
        )
        self._tell_apart()

    def _tell_apart(self) -> None:
        """For each leg the first one that wears every item just as it does."""
        first: dict[object, int] = {}
        self._first, alike = {}, []
        for spot, leg in enumerate(self.timeline.legs):
            stated = tuple((name, self.grade_of(leg, name)) for name in LEG_CONDITIONS)
            own = leg.leg if leg.leg in self._caused or distance_factor(leg) else None
            alike.append(first.setdefault((stated, leg.low_range_km / leg.distance_km, own), spot))
            if alike[-1] == spot:
                self._first[spot] = (leg, stated)
        self._alike = tuple(alike)

    def of(self, item: Item, unit: Unit) -> KindWear:
        """The multipliers of this item on every leg."""
        kind = self._kind(item, unit)
        if kind not in self._of_kind:
            self._of_kind[kind] = self._kind_wear(item, kind)
        return self._of_kind[kind]

    def water(self, item: Item, grade: int, before: int = 0) -> Factor | None:
        """What a crossing that reached the item so far (1 splash, 2 immersed) multiplies its wear by, or None.

        Where a crossing before it had reached it to the grade `before`, what the harder one adds to that.
        """
        if grade == 0 or item.water == "none":
            return None
        factor = self._graded("water", WATER_GRADES[grade], item.water)
        return _beyond(factor, self.water(item, before)) if factor and before else factor

    def grade_of(self, leg: Leg, condition: str) -> str:
        """The grade a leg states for a condition, in the words of `grades.csv`."""
        if condition == "heat":
            return self._heat_grade(leg.heat_c)
        if condition == "towing":
            return "yes" if leg.towing else "no"
        if condition == "mud":
            return leg.mud or "none"
        return str(getattr(leg, condition))

    def _kind(self, item: Item, unit: Unit) -> Kind:
        reached = tuple(row.condition for row in self._limited if _reaches(row, item))
        family = item.family if self._caused else ""
        return Kind(item.dust, item.water, item.corrugation, item.heat, item.load, reached, family)

    def _kind_wear(self, item: Item, kind: Kind) -> KindWear:
        """All legs of one kind at once; legs alike in every grade are worked out together."""
        found = {spot: self._factors(item, leg, stated) for spot, (leg, stated) in self._first.items()}
        place = {spot: row for row, spot in enumerate(found)}
        return _spread(added_up(tuple(found.values())), [place[spot] for spot in self._alike])

    def _factors(self, item: Item, leg: Leg, stated: Sequence[tuple[str, str]]) -> tuple[Factor, ...]:
        found = [self._factor(item, leg, name, grade) for name, grade in stated]
        share = leg.low_range_km / leg.distance_km
        low_range = self._factor(item, leg, LOW_RANGE, "yes") if share > 0 else None
        if low_range:
            found.append(_diluted(low_range, share, f"{leg.low_range_km:g} of {leg.distance_km:g} km"))
        found.append(distance_factor(leg))
        return tuple(factor for factor in found if factor)

    def _heat_grade(self, heat_c: float) -> str:
        for row in self.catalogue.grades:
            within = row.lower is not None and row.upper is not None and row.lower <= heat_c < row.upper
            if row.condition == "heat" and within:
                return row.grade
        raise MissingGrade("heat", f"{heat_c:g} deg C")

    def _factor(self, item: Item, leg: Leg, condition: str, grade: str) -> Factor | None:
        row = self._grades.get((condition, grade))
        if row is None:
            raise MissingGrade(condition, grade)
        sensitivity = str(getattr(item, row.sensitivity))
        if sensitivity == "none" or not _reaches(row, item):
            return None
        cause = self._cause(condition, sensitivity, item.family, leg) if leg.leg in self._caused else None
        if cause is None:
            return self._graded(condition, grade, sensitivity)
        return None if cause.high == 1.0 else _as_caused(cause, leg)

    def _cause(self, condition: str, sensitivity: str, family: str, leg: Leg) -> Cause | None:
        """The model's answer; outside its range it is None, and a note says so."""
        try:
            return cause_of(condition, sensitivity, family, leg)
        except OutOfRange as error:
            of_trip = f" of {leg.trip}" if isinstance(leg, EarlierLeg) else ""
            self.notes.setdefault(f"Leg {leg.leg}{of_trip}, {condition}: {error}; the graded row is used instead.")
            return None

    def _graded(self, condition: str, grade: str, sensitivity: str) -> Factor | None:
        row = self._rows.get((condition, grade, sensitivity))
        if row is None and grade not in NEUTRAL:
            raise MissingGrade(condition, grade)
        return None if row is None or row.high == 1.0 else row


def water_excess(factor: Factor) -> Array:
    """What a crossing's factor adds to 1, at each value of its mechanism's doubt; all mechanisms."""
    found = np.zeros((len(MECHANISMS), len(NODES)))
    found[_SPOT["water"]] = excess_at(factor.multiplier, factor.high, NODES)
    return found


def added_up(factors: Sequence[tuple[Factor, ...]]) -> KindWear:
    """The rule for all legs and every value of the doubts; one leg's own low and high with it."""
    excess = np.zeros((len(factors), len(MECHANISMS), len(NODES)))
    for spot, name in enumerate(MECHANISMS):
        own = [[f for f in of_leg if f.mechanism == name] for of_leg in factors]
        for layer in range(max(map(len, own), default=0)):
            pairs = [(f[layer].multiplier, f[layer].high) if layer < len(f) else (1.0, 1.0) for f in own]
            typical, high = np.array(pairs).T[..., None]
            excess[:, spot] += (1 + excess[:, spot]) * _excess(name, typical, high)
    middle = 1 + excess[..., MEDIAN].sum(axis=-1)
    excess[:, _SPOT[DISTANCE]] *= middle[:, None]
    total = piled(np.ones(len(factors)), excess)
    low = percentile(1 + total.mean, total.variance, total.third, -Z95)
    return KindWear(middle, np.minimum(low, middle), np.maximum(total.reserve(0.0), middle), excess, tuple(factors))


def _spread(wear: KindWear, rows: Sequence[int]) -> KindWear:
    """What was worked out for legs that differ, one entry for every leg."""
    return KindWear(
        wear.typical[rows], wear.low[rows], wear.high[rows], wear.excess[rows],
        tuple(wear.factors[row] for row in rows),
    )  # fmt: skip


def _excess(mechanism: str, typical: Array, high: Array) -> Array:
    """A distance may turn out shorter as well as longer; every other doubt is of an excess over 1."""
    if mechanism == DISTANCE:
        return np.asarray(high ** (NODES / Z95) - 1)
    return excess_at(typical, high, NODES)


def _reaches(row: ConditionGrade, item: Item) -> bool:
    """True when a condition acts on the item's part of the rig; a grade that names no parts acts on all."""
    return not row.reaches or item.system in row.reaches or item.id in row.reaches


def _as_factor(row: Multiplier) -> Factor:
    source = row.source if row.locator is None else f"{row.source}, {row.locator}"
    return Factor(
        condition=row.condition, mechanism=MECHANISM_OF[row.condition], grade=row.grade, multiplier=row.typical,
        low=row.low, high=row.high, basis=row.basis, source=source,
        origin=Origin(file=row.origin.file, row=row.origin.row),
    )  # fmt: skip


def _beyond(harder: Factor, lighter: Factor | None) -> Factor | None:
    """What a harder grade adds to a lighter one of the same mechanism, whose doubt is the same; None where nothing."""
    if lighter is None:
        return harder
    high = max(0.0, harder.high - lighter.high)
    typical = min(max(0.0, harder.multiplier - lighter.multiplier), high)
    low = min(max(0.0, harder.low - lighter.low), typical)
    if high == 0.0:
        return None
    words = f"{harder.grade} beyond {lighter.grade}"
    return replace(harder, grade=words, multiplier=1 + typical, low=1 + low, high=1 + high)


def _as_caused(cause: Cause, leg: Leg) -> Factor:
    inputs = ", ".join(f"{name} {value:g} {unit}".rstrip() for name, value, unit in cause.inputs)
    return Factor(
        condition=cause.condition, mechanism=MECHANISM_OF[cause.condition], grade=f"{cause.formula}: {inputs}",
        multiplier=cause.typical, low=cause.low, high=cause.high, basis=cause.basis, source=cause.source,
        origin=leg.origin,
    )  # fmt: skip


def _diluted(full: Factor, share: float, words: str) -> Factor:
    """A factor that holds for a share of the leg's km only."""
    mean = (1 + share * (value - 1) for value in (full.multiplier, full.low, full.high))
    multiplier, low, high = mean
    return replace(full, grade=words, multiplier=multiplier, low=low, high=high)
