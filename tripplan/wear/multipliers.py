"""Wear multipliers: how much faster a leg uses an item up than normal driving does.

The product rule, in one place: the multipliers of all conditions the item is sensitive to
are multiplied. Each is taken as lognormal, its typical value the median and its high value
the bad one in twenty; medians multiply and the squared log-spreads add (see
`mechanisms/uncertain.py`). A mechanism gives the number where the leg says enough, a row
of `multipliers.csv` otherwise. A neutral grade is exactly 1.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field

from tripplan.records.catalogue import Assumption, Catalogue, ConditionGrade, Item, Multiplier
from tripplan.records.facts_in import EarlierLeg, Leg, Origin, Unit
from tripplan.records.plan import Factor
from tripplan.records.problems import OutOfRange
from tripplan.trip.distance_range import distance_factor
from tripplan.trip.timeline import Stretch, Timeline
from tripplan.wear.from_mechanisms import NEEDS, Cause, cause_of
from tripplan.wear.mechanisms.uncertain import combine

PRODUCT_RULE = (
    "Wear on a leg = use x the product of the multipliers of its conditions (1 = normal, 2 = each km "
    "counts as two). With reserve: the product of the typical values times exp of the root of the summed "
    "squared logs of high over typical, so that 19 of 20 trips wear less. Conditions are taken not to "
    "interact, so the product is held at product_cap (judgement)."
)
WATER_GRADES = ("none", "splash", "immersed")
LEG_CONDITIONS = ("dust", "corrugation", "surface", "heat", "load", "towing", "mud")
# What an item is like, as far as wear multipliers can tell: items alike share their factors.
# Sensitivities, family (where a leg gives a mechanism its numbers), unit kind, wet crossings.
Likeness = tuple[tuple[str, ...], str, str, tuple[int, ...]]
NEUTRAL = ("none", "no", "normal", "light", "sealed")


class MissingGrade(LookupError):
    """The tables hold no row for a grade that a leg states; `condition` and `grade` say which."""

    def __init__(self, condition: str, grade: str) -> None:
        self.condition, self.grade = condition, grade
        super().__init__(f"no row for {condition} {grade}")


@dataclass(frozen=True, slots=True)
class StretchWear:
    """Typical and reserve multiplier of one stretch."""

    typical: float
    low: float
    high: float


@dataclass(slots=True)
class Severity:
    """Multipliers of one trip, looked up once for each kind of item.

    `water_grades` of an item is one number a crossing, in the timeline's order: 0 the
    water did not come near, 1 splash, 2 the item's point was under water.
    """

    catalogue: Catalogue
    timeline: Timeline
    _grades: dict[tuple[str, str], ConditionGrade] = field(init=False)
    _rows: dict[tuple[str, str, str], Multiplier] = field(init=False)
    _heat: list[ConditionGrade] = field(init=False)
    notes: dict[str, None] = field(init=False, default_factory=dict)
    _cap: Assumption = field(init=False)
    _caused: frozenset[int] = field(init=False)
    _stated: dict[int, tuple[tuple[str, str], ...]] = field(init=False, default_factory=dict)
    _alike: list[int] = field(init=False)
    _of_leg: list[list[int]] = field(init=False)
    _likes: dict[tuple[str, str, tuple[int, ...]], Likeness] = field(init=False, default_factory=dict)
    _factors: dict[tuple[str, str, str], Factor | None] = field(init=False, default_factory=dict)
    _products: dict[tuple[int, Likeness], StretchWear] = field(init=False, default_factory=dict)
    _leg_parts: dict[tuple[int, Likeness], tuple[Factor, ...]] = field(init=False, default_factory=dict)
    _by_leg: dict[tuple[int, Likeness], tuple[Factor, ...]] = field(init=False, default_factory=dict)
    _leg_wear: dict[tuple[int, Likeness], StretchWear] = field(init=False, default_factory=dict)
    _by_trip: dict[Likeness, tuple[StretchWear, ...]] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        self._grades = {(row.condition, row.grade): row for row in self.catalogue.grades}
        self._rows = {(r.condition, r.grade, r.sensitivity): r for r in self.catalogue.multipliers}
        self._cap = self.catalogue.assumed("product_cap")
        self._heat = [row for row in self.catalogue.grades if row.condition == "heat"]
        columns = {column for needed in NEEDS.values() for column in needed}
        self._caused = frozenset(
            leg.leg for leg in self.timeline.legs if any(getattr(leg, c) is not None for c in columns)
        )
        self._alike = self._legs_alike()
        self._of_leg = [[] for _ in self.timeline.legs]
        for index, stretch in enumerate(self.timeline.stretches):
            self._of_leg[stretch.leg_index].append(index)

    def stretch_wear(self, item: Item, unit: Unit, water_grades: tuple[int, ...]) -> tuple[StretchWear, ...]:
        """The multiplier of every stretch of the trip, in order, for this kind of item."""
        like = self.likeness(item, unit, water_grades)
        if like not in self._by_trip:
            self._by_trip[like] = tuple(
                self._one_stretch(item, unit, stretch, like) for stretch in self.timeline.stretches
            )
        return self._by_trip[like]

    def likeness(self, item: Item, unit: Unit, water_grades: tuple[int, ...]) -> Likeness:
        """What decides the multipliers here; what cannot matter on this trip is left out."""
        key = (item.id, unit.kind, water_grades)
        if key not in self._likes:
            wet = water_grades if item.water != "none" and any(water_grades) else ()
            family = item.family if self._caused else ""
            senses = (item.dust, item.water, item.corrugation, item.heat, item.load)
            self._likes[key] = (senses, family, unit.kind, wet)
        return self._likes[key]

    def leg_factors(self, item: Item, unit: Unit, leg_index: int, water_grades: tuple[int, ...]) -> tuple[Factor, ...]:
        """All factors of one leg that are not 1; the water factor as its mean over the leg."""
        like = self.likeness(item, unit, water_grades)
        key = (leg_index, like)
        if key not in self._leg_parts:
            found = list(self._dry_factors(item, unit, leg_index, like))
            if like[3] and (wet := self._mean_water(item, leg_index, water_grades)):
                found.append(wet)
            cap = self._cap_factor(found, self.leg_wear(item, unit, leg_index, water_grades))
            self._leg_parts[key] = (*found, cap) if cap else tuple(found)
        return self._leg_parts[key]

    def _cap_factor(self, factors: list[Factor], mean: StretchWear) -> Factor | None:
        """What the cap takes off the product, as a factor below 1, so that the parts still multiply up."""
        typical, low, high = multiply(factors)
        if mean.typical >= typical * (1 - 1e-9):
            return None
        row = self._cap
        return Factor(
            condition="cap", grade=f"product held at {row.value:g}", multiplier=mean.typical / typical,
            low=mean.low / low, high=mean.high / high, basis=row.basis, source=row.source, origin=row.origin,
        )  # fmt: skip

    def leg_wear(self, item: Item, unit: Unit, leg_index: int, water_grades: tuple[int, ...]) -> StretchWear:
        """Multiplier of a whole leg: the mean over its stretches, by their length."""
        key = (leg_index, self.likeness(item, unit, water_grades))
        if key not in self._leg_wear:
            every = self.stretch_wear(item, unit, water_grades)
            parts = [(self.timeline.stretches[i].length_km, every[i]) for i in self._of_leg[leg_index]]
            if len(parts) == 1:
                self._leg_wear[key] = parts[0][1]
                return parts[0][1]
            whole_km = sum(km for km, _ in parts)
            self._leg_wear[key] = StretchWear(
                sum(km * wear.typical for km, wear in parts) / whole_km,
                sum(km * wear.low for km, wear in parts) / whole_km,
                sum(km * wear.high for km, wear in parts) / whole_km,
            )
        return self._leg_wear[key]

    def _one_stretch(self, item: Item, unit: Unit, stretch: Stretch, like: Likeness) -> StretchWear:
        """The product rule on one stretch, capped: the dry part once a leg, the water by its grade."""
        grade = max((like[3][i] for i in stretch.wet_by), default=0) if like[3] else 0
        key = (self._alike[stretch.leg_index], (*self._dry_like(stretch.leg_index, like), (grade,)))
        if key not in self._products:
            factors = list(self._dry_factors(item, unit, stretch.leg_index, like))
            if water := self._water_factor(item, grade):
                factors.append(water)
            typical, low, high = multiply(factors)
            top, top_high = self._cap.value, self._cap.high or self._cap.value
            self._products[key] = StretchWear(min(typical, top), min(low, top), min(high, top_high))
        return self._products[key]

    def _dry_factors(self, item: Item, unit: Unit, leg_index: int, like: Likeness) -> tuple[Factor, ...]:
        key = (self._alike[leg_index], (*self._dry_like(leg_index, like), ()))
        if key not in self._by_leg:
            leg = self.timeline.legs[leg_index]
            found = [
                self._factor(item, leg, name, grade)
                for name, grade in self._leg_grades(leg_index)
                if not (name == "towing" and unit.kind == "trailer")
            ]
            found += [self._low_range(item, leg), distance_factor(leg)]
            self._by_leg[key] = tuple(factor for factor in found if factor)
        return self._by_leg[key]

    def _dry_like(self, leg_index: int, like: Likeness) -> tuple[tuple[str, ...], str, str]:
        """What of a likeness counts on one leg: the family only where a mechanism works."""
        family = like[1] if self.timeline.legs[leg_index].leg in self._caused else ""
        return (like[0], family, like[2])

    def _legs_alike(self) -> list[int]:
        """For each leg the first leg of the trip that wears every item just as it does."""
        first: dict[tuple[object, ...], int] = {}
        found = []
        for index, leg in enumerate(self.timeline.legs):
            share = leg.low_range_km / leg.distance_km
            own = leg.leg if leg.leg in self._caused else None
            length = (leg.distance_km, leg.distance_low_km, leg.distance_high_km)
            is_told = share or leg.distance_high_km is not None
            found.append(first.setdefault((self._leg_grades(index), share, length if is_told else 0, own), index))
        return found

    def _leg_grades(self, leg_index: int) -> tuple[tuple[str, str], ...]:
        if leg_index not in self._stated:
            leg = self.timeline.legs[leg_index]
            self._stated[leg_index] = tuple((name, self.grade_of(leg, name)) for name in LEG_CONDITIONS)
        return self._stated[leg_index]

    def grade_of(self, leg: Leg, condition: str) -> str:
        """The grade a leg states for a condition, in the words of `grades.csv`."""
        if condition == "heat":
            return self._heat_grade(leg.heat_c)
        if condition == "towing":
            return "yes" if leg.towing else "no"
        if condition == "mud":
            return leg.mud or self._mud_of_crossings(leg)
        return str(getattr(leg, condition))

    def _heat_grade(self, heat_c: float) -> str:
        for row in self._heat:
            if row.lower is not None and row.upper is not None and row.lower <= heat_c < row.upper:
                return row.grade
        raise MissingGrade("heat", f"{heat_c:g} deg C")

    def _mud_of_crossings(self, leg: Leg) -> str:
        muddy = any(c.leg == leg.leg and c.water == "muddy" for c in self.timeline.crossings)
        return "light" if muddy else "none"

    def _factor(self, item: Item, leg: Leg, condition: str, grade: str) -> Factor | None:
        sensitivity = self._sensitivity(item, condition, grade)
        if sensitivity == "none":
            return None
        cause = self._cause(condition, sensitivity, item.family, leg) if leg.leg in self._caused else None
        if cause is None:
            return self._graded(condition, grade, sensitivity)
        if cause.typical == 1.0 and cause.high == 1.0:
            return None
        inputs = ", ".join(f"{name} {value:g} {unit}".rstrip() for name, value, unit in cause.inputs)
        return Factor(
            condition=condition, grade=f"{cause.formula}: {inputs}", multiplier=cause.typical, low=cause.low,
            high=cause.high, basis=cause.basis, source=cause.source, origin=leg.origin, shared=cause.shared,
        )  # fmt: skip

    def _cause(self, condition: str, sensitivity: str, family: str, leg: Leg) -> Cause | None:
        """The mechanism's answer; outside its range it is None, and a note says so."""
        try:
            return cause_of(condition, sensitivity, family, leg)
        except OutOfRange as error:
            of_trip = f" of {leg.trip}" if isinstance(leg, EarlierLeg) else ""
            self.notes.setdefault(f"Leg {leg.leg}{of_trip}, {condition}: {error}; the graded row is used instead.")
            return None

    def _graded(self, condition: str, grade: str, sensitivity: str) -> Factor | None:
        key = (condition, grade, sensitivity)
        if key not in self._factors:
            row = self._rows.get(key)
            if row is None and grade not in NEUTRAL:
                raise MissingGrade(condition, grade)
            self._factors[key] = _as_factor(row, row.typical, row.low, row.high, grade) if row else None
        return self._factors[key]

    def _sensitivity(self, item: Item, condition: str, grade: str) -> str:
        row = self._grades.get((condition, grade))
        if row is None:
            raise MissingGrade(condition, grade)
        return str(getattr(item, row.sensitivity))

    def _low_range(self, item: Item, leg: Leg) -> Factor | None:
        share = leg.low_range_km / leg.distance_km
        full = self._factor(item, leg, "low range", "yes") if share > 0 else None
        return _diluted(full, share, f"{leg.low_range_km:g} of {leg.distance_km:g} km") if full else None

    def _water_factor(self, item: Item, grade: int) -> Factor | None:
        return self._graded("water", WATER_GRADES[grade], item.water) if grade and item.water != "none" else None

    def _mean_water(self, item: Item, leg_index: int, water_grades: tuple[int, ...]) -> Factor | None:
        length_of: dict[int, float] = {}
        for stretch in self.timeline.stretches:
            if stretch.leg_index == leg_index:
                grade = max((water_grades[i] for i in stretch.wet_by), default=0)
                length_of[grade] = length_of.get(grade, 0.0) + stretch.length_km
        worst = max(length_of)
        factors = {grade: self._water_factor(item, grade) for grade in length_of}
        top = factors[worst]
        if top is None:
            return None
        whole_km = sum(length_of.values())
        means = [
            sum(km * (getattr(f, name) if f else 1.0) for grade, km in length_of.items() for f in (factors[grade],))
            / whole_km
            for name in ("multiplier", "low", "high")
        ]
        words = f"{WATER_GRADES[worst]} for {length_of[worst]:.0f} of {whole_km:.0f} km"
        return Factor(
            condition="water", grade=words, multiplier=means[0], low=means[1], high=means[2],
            basis=top.basis, source=top.source, origin=top.origin,
        )  # fmt: skip


def multiply(factors: Iterable[Factor]) -> tuple[float, float, float]:
    """The product rule: typical, low and high of all factors together."""
    listed = list(factors)
    return combine([f.multiplier for f in listed], [f.high for f in listed])


def _as_factor(row: Multiplier, typical: float, low: float, high: float, grade: str) -> Factor:
    source = row.source if row.locator is None else f"{row.source}, {row.locator}"
    return Factor(
        condition=row.condition, grade=grade, multiplier=typical, low=low, high=high,
        basis=row.basis, source=source, origin=Origin(file=row.origin.file, row=row.origin.row),
    )  # fmt: skip


def _diluted(full: Factor, share: float, words: str) -> Factor:
    """A factor that holds for a share of the leg's km only."""
    mean = [1 + share * (value - 1) for value in (full.multiplier, full.low, full.high)]
    return Factor(
        condition=full.condition, grade=words, multiplier=mean[0], low=mean[1], high=mean[2],
        basis=full.basis, source=full.source, origin=full.origin, shared=full.shared,
    )  # fmt: skip
