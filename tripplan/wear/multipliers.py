"""Wear multipliers: how much faster a leg uses an item up than normal driving does.

The rule, in one place (`RULE`): conditions that act through the same mechanism multiply, and
separate mechanisms add their excess over 1. Which condition acts through which is
`MECHANISM_OF`. A physical model gives the number where the leg says enough, a row of
`multipliers.csv` otherwise. A neutral grade is exactly 1.
"""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass, field
from typing import Final

import msgspec
import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from tripplan.records.catalogue import Catalogue, ConditionGrade, Item, Multiplier
from tripplan.records.facts_in import EarlierLeg, Leg, Origin, Unit
from tripplan.records.plan import Factor
from tripplan.records.problems import OutOfRange
from tripplan.trip.distance_range import CONDITION as DISTANCE
from tripplan.trip.distance_range import distance_factor
from tripplan.trip.timeline import Timeline
from tripplan.wear.from_mechanisms import NEEDS, Cause, cause_of, goes_by
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
CONDITIONS = (*LEG_CONDITIONS, LOW_RANGE)
NEUTRAL = ("none", "no", "normal", "light", "sealed")
MEASURED: Final = tuple(dict.fromkeys(column for needed in NEEDS.values() for column in needed))
_SPOT: Final = {name: spot for spot, name in enumerate(MECHANISMS)}


class MissingGrade(LookupError):
    """The tables hold no row for a grade that a leg states; `condition` and `grade` say which."""

    def __init__(self, condition: str, grade: str) -> None:
        self.condition, self.grade = condition, grade
        super().__init__(f"no row for {condition} {grade}")


class Felt(Struct, frozen=True, eq=False):
    """One condition as all items that are alike in it feel it: arrays with one entry a leg that differs from the others.

    `factors` says why, None where a leg adds nothing; `excess` is what each adds to 1, at each value of its doubt.
    """

    mechanism: str
    factors: tuple[Factor | None, ...]
    excess: Array


class KindWear(Struct, frozen=True, eq=False):
    """The multipliers of all items that feel the same: arrays with one entry a leg, crossings left out.

    `excess` has for each leg what each mechanism adds to 1, at each value of its doubt.
    `factors` are the conditions behind them, for those who ask why.
    """

    typical: Array
    excess: Array
    factors: tuple[tuple[Factor, ...], ...]
    _ends: list[tuple[Array, Array]] = msgspec.field(default_factory=list)

    @property
    def low(self) -> Array:
        """The multiplier of each leg by itself that 19 in 20 exceed."""
        return self._low_and_high()[0]

    @property
    def high(self) -> Array:
        """The multiplier of each leg by itself that 1 in 20 exceeds."""
        return self._low_and_high()[1]

    def _low_and_high(self) -> tuple[Array, Array]:
        """Worked out once however many ask, and not at all if nobody does."""
        if not self._ends:
            total = piled(np.ones(len(self.typical)), self.excess)
            low = percentile(1 + total.mean, total.variance, total.third, -Z95)
            self._ends.append((np.minimum(low, self.typical), np.maximum(total.reserve(0.0), self.typical)))
        return self._ends[0]


@dataclass(slots=True)
class Severity:
    """The multipliers of one trip: each condition is worked out once for all items that feel it alike."""

    catalogue: Catalogue
    timeline: Timeline
    _notes: dict[str, tuple[int, int]] = field(init=False, default_factory=dict)
    _grades: dict[tuple[str, str], ConditionGrade] = field(init=False)
    _rows: dict[tuple[str, str, str], Factor] = field(init=False)
    _legs: tuple[Leg, ...] = field(init=False)
    _caused: frozenset[int] = field(init=False)
    _alike: tuple[int, ...] = field(init=False)
    _stated: dict[str, tuple[str, ...]] = field(init=False)
    _met: dict[str, tuple[ConditionGrade, ...]] = field(init=False)
    _felt: dict[tuple[str, tuple[str, ...], Hashable], Felt | None] = field(init=False, default_factory=dict)
    _of_kind: dict[tuple[Felt | None, ...], KindWear] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        self._grades = {(row.condition, row.grade): row for row in self.catalogue.grades}
        self._rows = {(r.condition, r.grade, r.sensitivity): _as_factor(r) for r in self.catalogue.multipliers}
        self._tell_apart()

    def _tell_apart(self) -> None:
        """The legs that differ in how they wear, what they state, and for each leg of the trip which of them it is like.

        A leg that gives a number of its own, or a range of its distance, is like no other, whatever it is called:
        the legs of several trips carry the same numbers.
        """
        legs: dict[object, tuple[int, Leg]] = {}
        alike = []
        for number, leg in enumerate(self.timeline.legs):
            stated = tuple(self.grade_of(leg, name) for name in CONDITIONS)
            own = number if _is_measured(leg) or distance_factor(leg) else None
            spot, _ = legs.setdefault((stated, leg.low_range_km / leg.distance_km, own), (len(legs), leg))
            alike.append(spot)
        self._alike, self._legs = tuple(alike), tuple(leg for _, leg in legs.values())
        self._caused = frozenset(spot for spot, leg in enumerate(self._legs) if _is_measured(leg))
        self._stated = {name: tuple(self.grade_of(leg, name) for leg in self._legs) for name in CONDITIONS}
        self._met = {
            name: tuple(self._row(name, grade) for grade in dict.fromkeys(found))
            for name, found in self._stated.items()
        }

    @property
    def notes(self) -> tuple[str, ...]:
        """What the legs give that no model was made for, the legs in order."""
        return tuple(sorted(self._notes, key=self._notes.__getitem__))

    def of(self, item: Item, unit: Unit) -> KindWear:
        """The multipliers of this item on every leg."""
        felt = tuple(self._feels(item, name) for name in CONDITIONS)
        if felt not in self._of_kind:
            distance = felt_of(DISTANCE, [distance_factor(leg) for leg in self._legs])
            self._of_kind[felt] = together([*felt, distance], self._alike)
        return self._of_kind[felt]

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
        if condition == LOW_RANGE:
            return "yes" if leg.low_range_km > 0 else "no"
        return str(getattr(leg, condition))

    def _feels(self, item: Item, condition: str) -> Felt | None:
        """One condition as this item feels it on the legs that differ; None where none of them adds anything."""
        open_to = {row.grade: _open_to(row, item) for row in self._met[condition]}
        key = condition, tuple(open_to.values()), goes_by(condition, item.family) if self._caused else None
        if key not in self._felt:
            self._felt[key] = felt_of(condition, [
                self._factor(spot, condition, grade, open_to[grade], item.family)
                for spot, grade in enumerate(self._stated[condition])
            ])  # fmt: skip
        return self._felt[key]

    def _row(self, condition: str, grade: str) -> ConditionGrade:
        row = self._grades.get((condition, grade))
        if row is None:
            raise MissingGrade(condition, grade)
        return row

    def _heat_grade(self, heat_c: float) -> str:
        for row in self.catalogue.grades:
            within = row.lower is not None and row.upper is not None and row.lower <= heat_c < row.upper
            if row.condition == "heat" and within:
                return row.grade
        raise MissingGrade("heat", f"{heat_c:g} deg C")

    def _factor(self, spot: int, condition: str, grade: str, sensitivity: str, family: str) -> Factor | None:
        if sensitivity == "none":
            return None
        leg = self._legs[spot]
        cause = self._cause(condition, sensitivity, family, spot) if spot in self._caused else None
        if cause is not None:
            return None if cause.high == 1.0 else _as_caused(cause, leg)
        row = self._graded(condition, grade, sensitivity)
        return _diluted(row, leg) if row and condition == LOW_RANGE else row

    def _cause(self, condition: str, sensitivity: str, family: str, spot: int) -> Cause | None:
        """The model's answer; outside its range it is None, and a note says so."""
        leg = self._legs[spot]
        try:
            return cause_of(condition, sensitivity, family, leg)
        except OutOfRange as error:
            of_trip = f" of {leg.trip}" if isinstance(leg, EarlierLeg) else ""
            note = f"Leg {leg.leg}{of_trip}, {condition}: {error}; the graded row is used instead."
            self._notes[note] = spot, CONDITIONS.index(condition)
            return None

    def _graded(self, condition: str, grade: str, sensitivity: str) -> Factor | None:
        row = self._rows.get((condition, grade, sensitivity))
        if row is None and grade not in NEUTRAL:
            raise MissingGrade(condition, grade)
        return None if row is None or row.high == 1.0 else row


def _is_measured(leg: Leg) -> bool:
    """True when the leg gives a number that a model may go by."""
    return any(getattr(leg, column) is not None for column in MEASURED)


def water_excess(factor: Factor) -> Array:
    """What a crossing's factor adds to 1, at each value of its mechanism's doubt; all mechanisms."""
    found = np.zeros((len(MECHANISMS), len(NODES)))
    found[_SPOT["water"]] = excess_at(factor.multiplier, factor.high, NODES)
    return found


def felt_of(condition: str, factors: Sequence[Factor | None]) -> Felt | None:
    """One condition with its factor on each leg that differs; None where none of them adds anything."""
    if not any(factors):
        return None
    pairs = [(factor.multiplier, factor.high) if factor else (1.0, 1.0) for factor in factors]
    typical, high = np.array(pairs).T[..., None]
    mechanism = MECHANISM_OF[condition]
    return Felt(mechanism, tuple(factors), _excess(mechanism, typical, high))


def together(felt: Sequence[Felt | None], legs: Sequence[int]) -> KindWear:
    """The rule for all conditions at once and every value of their doubts; `legs` tells which entry is each leg's."""
    conditions = [one for one in felt if one]
    excess = np.zeros((max(legs, default=-1) + 1, len(MECHANISMS), len(NODES)))
    for one in conditions:
        own = excess[:, _SPOT[one.mechanism]]
        own += (1 + own) * one.excess
    middle = 1 + excess[..., MEDIAN].sum(axis=-1)
    excess[:, _SPOT[DISTANCE]] *= middle[:, None]
    factors = [tuple(f for one in conditions if (f := one.factors[spot])) for spot in range(len(excess))]
    spots = list(legs)
    return KindWear(middle[spots], excess[spots], tuple(factors[spot] for spot in spots))


def _excess(mechanism: str, typical: Array, high: Array) -> Array:
    """A distance may turn out shorter as well as longer; every other doubt is of an excess over 1."""
    if mechanism == DISTANCE:
        return np.asarray(high ** (NODES / Z95) - 1)
    return excess_at(typical, high, NODES)


def _open_to(row: ConditionGrade, item: Item) -> str:
    """How open the item is to a grade: not at all where that acts on other parts of the rig; naming none it acts on all."""
    is_reached = not row.reaches or item.system in row.reaches or item.id in row.reaches
    return str(getattr(item, row.sensitivity)) if is_reached else "none"


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


def _diluted(full: Factor, leg: Leg) -> Factor:
    """A factor that holds for the leg's km in low range only."""
    share = leg.low_range_km / leg.distance_km
    multiplier, low, high = (1 + share * (value - 1) for value in (full.multiplier, full.low, full.high))
    words = f"{leg.low_range_km:g} of {leg.distance_km:g} km"
    return replace(full, grade=words, multiplier=multiplier, low=low, high=high)
