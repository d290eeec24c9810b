"""The catalogue: what is maintained, how long it lasts in normal use, what wears it faster.

Each table of `tripplan/data/` is a tuple of frozen records, one fact a row, each with its
basis and source. The files are read in `files/data_tables.py`; here is only their meaning.
"""

from collections.abc import Mapping
from functools import cached_property
from typing import Annotated, Any, Final, Literal, Self, get_args

from pydantic import BeforeValidator, Field

from tripplan.records import cell_values
from tripplan.records.facts_in import METERS, Facility, Finding, Meter, Number, Origin, Record, Unit, YesNo
from tripplan.records.grouped import grouped
from tripplan.records.item_cells import Amounts, FollowUps, Need, Needs
from tripplan.records.lubricants import Cavity, LubricantRow, PairRating
from tripplan.records.mending import Remedy, Spare
from tripplan.records.sourced import Basis as Basis
from tripplan.records.sourced import Source as Source
from tripplan.records.sourced import Sourced as Sourced
from tripplan.records.sourced import Words
from tripplan.records.sourced import words as words
from tripplan.records.words import SYSTEM_ORDER, WaterWindow

Grade = Literal["none", "low", "medium", "high"]
DustGrade = Literal["none", "low", "medium", "high", "drawn in"]
Sensitivity = Literal["dust", "water", "corrugation", "heat", "load"]
Place = Literal[
    "front wheel end", "rear wheel end", "trailer wheel end", "engine bay", "engine sump",
    "gearbox sump", "transfer sump", "front axle sump", "rear axle sump", "underbody",
    "cabin", "outside", "trailer body",
]  # fmt: skip
Family = Literal[
    "bearing", "joint", "bush", "seal", "fastener", "structure", "spring", "damper", "fluid",
    "filter", "belt", "hose", "brake", "tyre", "electrical", "mechanism", "body",
]  # fmt: skip
Harm = Literal["steering", "brakes", "wheels", "coupling", "fire"]

PLACES: tuple[str, ...] = get_args(Place)
FAMILIES: tuple[str, ...] = get_args(Family)
Rank = tuple[int, bool, str]
EVIDENCE_FILE, MOST_MONTHS, ORDERED_KINDS = "evidence.csv", 1200, ("part", "seal", "filter")


class Item(Sourced):
    """One maintained thing with the one act that keeps it going.

    Intervals are in normal use; several meters mean whichever runs out first. A meter
    left empty does not set the act. `needs` lists what a unit must have, as field=value
    (`drive=part-time|full-time`, `fitted=winch`); every entry must hold. `harms` says that a
    failure can hurt somebody, `harms_by` through what; `strands` is the share of the time to
    help that a failure costs: 1 = the rig stands until help comes, 0 = it goes on as before.
    """

    id: str = Field(pattern=r"^[a-z][a-z0-9_]*$")
    name: str
    short: str = ""
    system: str
    unit_kind: Literal["vehicle", "trailer"]
    needs: Needs = ()
    positions: Words = ()
    act: str
    verb: str = ""
    mended: str = ""
    act_note: str = ""
    km: Number | None = Field(None, gt=0)
    engaged_km: Number | None = Field(None, gt=0)
    towing_km: Number | None = Field(None, gt=0)
    low_range_km: Number | None = Field(None, gt=0)
    engine_hours: Number | None = Field(None, gt=0)
    months: Number | None = Field(None, gt=0, le=MOST_MONTHS)
    spread_low: Number = Field(gt=0, le=1)
    spread_high: Number = Field(ge=1)
    dust: DustGrade
    water: Grade
    corrugation: Grade
    heat: Grade
    load: Grade
    family: Family
    place: Place
    state: str
    minutes: Number = Field(gt=0)
    facility: Facility
    rhythm: Literal["service", "walk-round"]
    harms: Annotated[bool, BeforeValidator(cell_values.yes_no)]
    harms_by: Harm | None = None
    strands: Number = Field(ge=0, le=1)
    if_it_fails: str
    failure_basis: Basis
    failure_source: str = Field(min_length=1, description="a source id of sources.csv, or: none")
    life_shape: Number = Field(ge=1, le=6)
    covers: Words = ()
    follow_ups: FollowUps = ()
    consumables: Amounts = ()
    points: Words = ()
    parts_lead_days: Number = Field(ge=0, le=90)
    early_signs: str = ""
    cautions: Words = ()
    minutes_basis: Basis
    minutes_source: str = Field(min_length=1, description="a source id of sources.csv, or: none")
    minutes_locator: str = ""
    left_out: tuple[tuple[str, str], ...] = Field((), exclude=True)
    left_out_rows: tuple[Origin, ...] = Field((), exclude=True)

    @property
    def said(self) -> str:
        """The item as a person calls it, in few words."""
        return self.short or self.name

    def verb_of(self, act: str) -> str:
        """What a person calls an act at this item, where that is another word than the act's own; empty elsewhere."""
        return self.verb if act == self.act else ""

    @property
    def rank(self) -> Rank:
        """Where it stands in a list that a person reads: by system, in each what can hurt somebody first."""
        known = SYSTEM_ORDER.index(self.system) if self.system in SYSTEM_ORDER else len(SYSTEM_ORDER)
        return known, not self.harms, self.said

    @property
    def intervals(self) -> tuple[tuple[Meter, float], ...]:
        """The meters that set this act, with their intervals."""
        return tuple((meter, value) for meter in METERS if (value := getattr(self, meter)) is not None)

    @property
    def by_findings(self) -> bool:
        """True when the owner let findings set the interval; `locator` then tells them."""
        return self.origin.file == EVIDENCE_FILE

    def fits(self, unit: Unit) -> bool:
        """True when the unit has what the item needs and its owner does not leave it out there."""
        return not self.left_out_on(unit) and self.belongs_to(unit)

    def left_out_on(self, unit: Unit) -> str:
        """The owner's word for leaving it out on that unit; empty when it is planned."""
        return next((word for name, word in self.left_out if name in ("", unit.id)), "")

    def belongs_to(self, unit: Unit) -> bool:
        """True when the unit has what the item needs, left out or not."""
        return unit.kind == self.unit_kind and all(_holds(need, unit) for need in self.needs)


class Multiplier(Sourced):
    """How much faster one condition grade uses up an item of one sensitivity.

    `high` is the bad but believable value, 1 in 20; `low` its mirror image.
    """

    condition: str
    grade: str
    sensitivity: Literal["low", "medium", "high", "drawn in"]
    low: Number = Field(gt=0)
    typical: Number = Field(ge=1)
    high: Number = Field(ge=1)


class ConditionGrade(Sourced):
    """A grade in words a driver can judge; numeric grades have bounds [lower, upper).

    `reaches` names the systems or items that the condition acts on; empty = all.
    """

    condition: str
    grade: str
    words: str
    sensitivity: Sensitivity
    lower: Number | None = None
    upper: Number | None = None
    unit: str | None = None
    reaches: Words = ()


class Teardown(Sourced):
    """A state of opening at a place; `parent` must be open first, there or at what it shares. Minutes for one position."""

    place: Place
    state: str
    parent: str | None = None
    open_minutes: Number = Field(ge=0)
    close_minutes: Number = Field(ge=0)
    words: str


SHARED_PLACE: Final = "underbody"
"""Where what several places share is opened, such as the guard under three sumps."""


def opened_where(rows: Mapping[tuple[str, str], Teardown], place: str, state: str) -> tuple[str, str]:
    """The place and state that has to be open: a place without a row of its own shares that of the underbody."""
    return (place, state) if (place, state) in rows else (SHARED_PLACE, state)


class ActRule(Sourced):
    """An act, what it means, the acts that do it on the way (`done_by`), and the findings it puts right."""

    act: str
    words: str
    done_by: Words
    puts_right: Annotated[tuple[Finding, ...] | None, BeforeValidator(words)] = None


class Consumable(Sourced):
    """Something a job uses up, described by an open class, never by a brand.

    `container_size` is what one `pack` (cartridge, tube, bottle) holds as commonly sold, in the unit of the
    row; without it the thing is counted in that unit. `weight_kg` and `volume_l` are those of one such unit,
    packed. Parts, seals and filters are ordered; the rest any
    shop for cars has.
    """

    id: str
    name: str
    kind: Literal["grease", "oil", "fluid", "filter", "seal", "part", "cleaner", "sundry"]
    unit_of_measure: str
    open_class: str = ""
    pack: str = ""
    container_size: Number | None = Field(None, gt=0)
    weight_kg: Number | None = Field(None, gt=0)
    volume_l: Number | None = Field(None, gt=0)
    weight_basis: Basis = "judgement"
    weight_source: str = Field("none", min_length=1, description="a source id of sources.csv, or: none")

    @property
    def is_ordered(self) -> bool:
        """True for what is ordered by its number, and so takes its days."""
        return self.kind in ORDERED_KINDS


class WaterRule(Sourced):
    """What to do at an item whose point was under water, from which grade of crossing on, and by when.

    `when` is bank, halt, night, days, before remote or later. Grades are those of `water/grades.py`:
    from `from_grade` on the act is asked for outright, from `told_from` on it is contingent: the looks
    in `decided_by` (item and act) settle it. `owner_from` takes the place of `from_grade` where the owner
    repacks trailer hubs after every wetting. `own_point` no means that the grade alone decides; `line`
    high that the high water line does, for looks only. `resets` says whether doing it renews the item's
    own interval; `sample` that after clean, cool fresh water one side tells; `once` that it is one act
    for the unit, called `name`. `look_for_towed` is what a trailer behind adds to `look_for`. `parts` are needed
    beside the item's own. `basis` and `source` are those of the act, `window_basis` that of its window.
    """

    item: str
    when: WaterWindow
    water: Literal["any", "muddy", "salt"]
    act: str
    from_grade: Number | None = Field(None, ge=0, le=5)
    told_from: Number | None = Field(None, ge=1, le=5)
    owner_from: Number | None = Field(None, ge=1, le=5)
    own_point: YesNo = True
    line: Literal["typical", "high"] = "typical"
    decided_by: Words = ()
    within_hours: Number | None = None
    within_days: Number | None = None
    within_km: Number | None = None
    minutes: Number = Field(gt=0)
    facility: Facility
    state: str
    parts: Amounts = ()
    name: str = ""
    look_for: str
    look_for_towed: str = ""
    if_clean: str
    if_found: str
    resets: YesNo
    sample: YesNo
    once: YesNo = False
    window_basis: Basis = "judgement"

    @property
    def first_grade(self) -> float | None:
        """The grade from which the act is asked for outright; a row that names no grade asks from 1 on."""
        return 1.0 if self.from_grade is None and self.told_from is None else self.from_grade

    @cached_property
    def deciding(self) -> tuple[tuple[str, str], ...]:
        """The looks that settle it: item and act."""
        return tuple((item, act) for item, _, act in (text.partition(" ") for text in self.decided_by))


class ServiceSheet(Sourced):
    """A periodic service as one line of history: act `service` does the act of every item listed.

    Sheets nest: one that `includes` another does all of that one as well.
    """

    id: str = Field(pattern=r"^[a-z][a-z0-9_]*$")
    name: str
    unit_kind: Literal["vehicle", "trailer"]
    months: Number = Field(gt=0)
    includes: Words = ()
    items: Words


class Assumption(Sourced):
    """A single number the planner leans on, with its unit and its meaning.

    It may well lie from `low` to `high`; beyond `least` and `most` nobody can have meant it.
    """

    name: str
    value: Number
    unit: str
    low: Number | None = None
    high: Number | None = None
    least: Number | None = None
    most: Number | None = None
    meaning: str


class Catalogue(Record):
    """All tables together. `edition` is the date and content hash of the shipped files."""

    edition: str
    items: tuple[Item, ...]
    multipliers: tuple[Multiplier, ...]
    grades: tuple[ConditionGrade, ...]
    teardown: tuple[Teardown, ...]
    acts: tuple[ActRule, ...]
    consumables: tuple[Consumable, ...]
    water_rules: tuple[WaterRule, ...]
    remedies: tuple[Remedy, ...] = ()
    spares: tuple[Spare, ...] = ()
    services: tuple[ServiceSheet, ...] = ()
    lubricants: tuple[LubricantRow, ...] = ()
    thickener_pairs: tuple[PairRating, ...] = ()
    cavities: tuple[Cavity, ...] = ()
    assumptions: tuple[Assumption, ...]
    sources: tuple[Source, ...]

    def item(self, item_id: str) -> Item:
        """The item of that id; KeyError when there is none."""
        return self._items_by_id[item_id]

    def find(self, item_id: str) -> Item | None:
        """The item of that id, if the tables have it."""
        return self._items_by_id.get(item_id)

    def remedy(self, item: Item, finding: str) -> Remedy | None:
        """The row that says what is done after such a finding at this item; None where its own act puts it right.

        A row of the item goes before its act, and that before a row of its family.
        """
        own = self._remedies.get((item.id, finding))
        return own or (None if item.act in self.puts_right(finding) else self._remedies.get((item.family, finding)))

    def puts_right(self, finding: str) -> frozenset[str]:
        """The acts that put such a finding right where no row of `remedies.csv` says otherwise."""
        return self._puts_right.get(finding, frozenset())

    @property
    def sending(self) -> Mapping[str, tuple[Item, ...]]:
        """For each item the items whose findings are put right by its job."""
        return self._sending

    def assumed(self, name: str) -> Assumption:
        """The assumption of that name; KeyError when there is none."""
        return self._assumed_by_name[name]

    @property
    def acts_doing(self) -> Mapping[str, frozenset[str]]:
        """For each act itself and the acts that do it on the way."""
        return self._acts_doing

    @property
    def stock(self) -> Mapping[str, Consumable]:
        """The consumables by id."""
        return self._stock_by_id

    def lead_days(self, item: Item) -> float:
        """The days that the parts of an act take to come; a look or an adjustment takes none, whatever it may find."""
        is_ordered = any(
            self._stock_by_id[one.what].is_ordered for one in item.consumables if one.what in self._stock_by_id
        )
        return item.parts_lead_days if is_ordered else 0.0

    def opening_minutes(self, place: str, state: str) -> float:
        """Minutes of all opening and closing down to that state of a place, for one position."""
        rows = self._teardown_by_state
        row, minutes = rows.get(opened_where(rows, place, state)), 0.0
        while row is not None:
            minutes += row.open_minutes + row.close_minutes
            row = rows.get(opened_where(rows, place, row.parent or ""))
        return minutes

    def look_minutes(self, item: Item) -> float:
        """Minutes of the look at an item that other work asks for: its own act, or what a follow-up says of it."""
        return self._look_minutes.get(item.id, item.minutes)

    def halt_minutes(self, item: Item) -> float:
        """The same at a halt, with what has to be opened for it there."""
        opening = 0.0 if item.id in self._look_minutes else self.opening_minutes(item.place, item.state)
        return self.look_minutes(item) + opening

    def model_copy(self, *, update: Mapping[str, Any] | None = None, deep: bool = False) -> Self:
        """The same with other tables; what was looked up in the old ones is forgotten."""
        copied = super().model_copy(update=update, deep=deep)
        for name in copied.__dict__.keys() - Catalogue.model_fields.keys():
            del copied.__dict__[name]
        return copied

    @cached_property
    def _acts_doing(self) -> Mapping[str, frozenset[str]]:
        return {rule.act: frozenset((rule.act, *rule.done_by)) for rule in self.acts}

    @cached_property
    def _remedies(self) -> dict[tuple[str, str], Remedy]:
        return {(row.at, finding): row for row in self.remedies for finding in row.found}

    @cached_property
    def _puts_right(self) -> dict[str, frozenset[str]]:
        found = grouped((finding, rule.act) for rule in self.acts for finding in rule.puts_right or ())
        return {finding: frozenset(acts) for finding, acts in found.items()}

    @cached_property
    def _sending(self) -> dict[str, tuple[Item, ...]]:
        sent = ((by, item) for row in self.remedies for by in row.by if (item := self.find(row.at)) is not None)
        return {by: tuple(dict.fromkeys(items)) for by, items in grouped(sent).items()}

    @cached_property
    def _stock_by_id(self) -> dict[str, Consumable]:
        return {row.id: row for row in self.consumables}

    @cached_property
    def _teardown_by_state(self) -> dict[tuple[str, str], Teardown]:
        return {(row.place, row.state): row for row in self.teardown}

    @cached_property
    def _look_minutes(self) -> dict[str, float]:
        follow_ups = [one for item in self.items for one in item.follow_ups]
        return {one.item: one.minutes for one in follow_ups if one.minutes is not None}

    @cached_property
    def _items_by_id(self) -> dict[str, Item]:
        return {item.id: item for item in self.items}

    @cached_property
    def _assumed_by_name(self) -> dict[str, Assumption]:
        return {row.name: row for row in self.assumptions}


def _holds(need: Need, unit: Unit) -> bool:
    is_fitted = any(word in unit.fitted for word in need.words)
    return is_fitted if need.fact == "fitted" else getattr(unit, need.fact) in need.words
