"""Every fact that goes out: the plan and its parts, as frozen records.

Field names and their order are those of `plan.json`: `sheets/plan_json.py` writes them unchanged; the
worksheet, lists and calendar are drawn from the same records. Distances km, times
minutes, dates ISO. None means unknown or does not happen.
"""

from datetime import date

from msgspec import Struct

from tripplan.records.facts_in import Origin
from tripplan.records.plan_kit import SparePart
from tripplan.records.plan_risk import ItemRisk, Risk
from tripplan.records.plan_work import PlanCrossing, Recheck, Slot
from tripplan.records.problems import Problem
from tripplan.records.words import Verdict, WarningKind

SCHEMA = 1

VERDICTS = NO_RECORD, DUE, ON_THE_WAY, LASTS = tuple(Verdict)
TRIP_OVER, FOUND_BAD, NO_PLACE, UNSEEN, GRADED, WATER_UNPLACED, HEIGHT_UNKNOWN, PARTS_LATE = WarningKind


class Reason(Struct, frozen=True, kw_only=True):
    """One sentence of the explanation, what kind of thing it tells, and the rows behind it.

    Whoever needs the fact reads `kind`; `text` is for people alone.
    """

    kind: str = ""
    text: str
    origins: tuple[Origin, ...] = ()


class Thing(Struct, frozen=True, kw_only=True):
    """An item at its position on a unit, by id."""

    item: str
    unit: str
    position: str | None = None


class PlanWarning(Struct, frozen=True, kw_only=True):
    """Something the plan cannot keep or cannot know: its kind, whom it is about, and a sentence.

    `item`, `unit` and `position` are set where it is about one thing; `about` names them all.
    """

    kind: str
    text: str
    about: tuple[Thing, ...] = ()

    @property
    def only(self) -> Thing | None:
        """The one thing it is about; None when there are several, or none."""
        return self.about[0] if len(self.about) == 1 else None


class Factor(Struct, frozen=True, kw_only=True):
    """One condition's part in a wear multiplier: 1 = normal; low and high bound it.

    Factors of one `mechanism` multiply; mechanisms add what they are above 1. `source`
    names the table row or formula, `basis` its standing.
    """

    condition: str
    mechanism: str
    grade: str
    multiplier: float
    low: float
    high: float
    source: str
    basis: str
    shared: bool = True
    origin: Origin


class Wear(Struct, frozen=True, kw_only=True):
    """What one leg takes out of one meter: use times multiplier, and what its crossings add once.

    `low` and `high` are the leg's own 5 and 95 % multiplier. `reserve` is what the leg adds
    to the 95 % value of the item's total, which is less than use times `high` for most.
    `water` are the crossings' factors, `water_use` what they add, in the meter's unit.
    """

    leg: int
    meter: str
    use: float
    multiplier: float
    low: float
    high: float
    reserve: float
    water_use: float
    parts: tuple[Factor, ...]
    water: tuple[Factor, ...] = ()


class Limit(Struct, frozen=True, kw_only=True):
    """One meter's interval, how much is used at `today`, and what is left of it.

    `used` is None when history does not tell. `at_departure` adds what is driven and
    what time passes between today and departure; `at_departure_reserve` is its 95 % value.
    """

    meter: str
    interval: float
    used: float | None
    left: float | None
    at_departure: float | None
    at_departure_reserve: float | None
    unit_of_measure: str
    origins: tuple[Origin, ...] = ()


class RunsOut(Struct, frozen=True, kw_only=True):
    """Where a limit is used up: leg, km in the leg, km of the trip, date, which meter."""

    leg: int
    leg_km: float
    trip_km: float
    date: date
    meter: str


class Wait(Struct, frozen=True, kw_only=True):
    """A slot that an item waits for past its interval, and the typical share used when it is reached.

    `parts_from` is the day from which its parts can be there, where it is due by the departure and that day comes after
    every day at home that could have taken it sooner; None where it waits because that is cheaper.
    """

    slot: str
    share: float
    parts_from: date | None = None


class LookInstead(Struct, frozen=True, kw_only=True):
    """The look that stands in for opening what has no record: its item, and the first slot it is done in."""

    item: str
    name: str
    slot: str


class PlanItem(Struct, frozen=True, kw_only=True):
    """One item at one position: verdict, limits, wear leg by leg, where placed, why.

    `found` is a bad finding that nothing has put right, of the day `found_on`; `act` is then what does. `verb` is what the act is called here,
    where that is another word.
    `highest_share` is the largest typical share of its interval used at any moment of the trip as
    planned; `can_wait` that it comes home past its interval; `waits` are the slots after departure
    that it reaches past its interval because waiting is cheaper; `unmet` that its limit cannot be kept.
    `left_shut` says that nobody has a record of this overhaul and that it waits for a look, `look_instead` which.
    `risk` is its part in what the trip risks.
    """

    item: str
    name: str
    unit: str
    position: str | None
    act: str
    verdict: str
    runs_out: RunsOut | None
    runs_out_reserve: RunsOut | None
    placed: tuple[str, ...]
    share_used_at_departure: float | None
    share_used_at_return: float | None
    rhythm: str
    harms: bool
    strands: float
    last_done: date | None = None
    last_done_origin: Origin | None = None
    found: str | None = None
    found_on: date | None = None
    highest_share: float | None = None
    can_wait: bool = False
    waits: tuple[Wait, ...] = ()
    unmet: bool = False
    left_shut: bool = False
    look_instead: LookInstead | None = None
    risk: ItemRisk | None = None
    verb: str = ""
    limits: tuple[Limit, ...]
    reasons: tuple[Reason, ...]
    wear: tuple[Wear, ...]

    @property
    def said_act(self) -> str:
        """The act as a person calls it here: rotate tyres, where the history says adjust."""
        return self.verb or self.act


class PlanLeg(Struct, frozen=True, kw_only=True):
    """One leg as planned: number, places, date, km, where it starts on the trip.

    `distance_low_km` and `distance_high_km` bound a distance that is only estimated.
    `standing_hours` is how long a stop here is taken to last. On the map also known: the
    greatest distance to help, its hours of driving, and the stretches, in km of the leg,
    beyond the distance that the owner accepts.
    """

    number: int
    from_: str
    to: str
    date: date
    distance_km: float
    trip_km_start: float
    remote: bool
    driven: bool
    surface: str
    corrugation: str
    dust: str
    distance_low_km: float | None = None
    distance_high_km: float | None = None
    standing_hours: float | None = None
    help_km: float | None = None
    help_hours: float | None = None
    remote_stretches_km: tuple[tuple[float, float], ...] = ()

    @property
    def end_km(self) -> float:
        """The trip km at which it ends."""
        return self.trip_km_start + self.distance_km


class Use(Struct, frozen=True, kw_only=True):
    """What a material is for: an act at an item, or a spare for it (`act` None)."""

    act: str | None
    name: str
    unit: str
    position: str | None = None


class Need(Struct, frozen=True, kw_only=True):
    """Something to buy or carry: how much, for which jobs, and by when to order it.

    `on_shelf` is what the owner's shelf gives to this line, `from_opened` what is left for it in a container
    bought for an earlier list. `containers` (each a `pack`) of
    `container_size` are to be bought, as the shelf file tells the size, else the table of consumables;
    None when neither does. `price` is that of one container, or of one unit where there are none, and
    `cost` of what is to be bought; None when the owner gives no price. `order_by` is for what is ordered,
    `buy_by` for what any shop has. `send_to` is the stop where ordered parts meet the rig that come too late to go along.
    """

    what: str
    name: str
    kind: str
    quantity: float
    unit_of_measure: str
    uses: tuple["Use", ...]
    when: str
    needed_by: date | None = None
    order_by: date | None = None
    basis: str = ""
    on_shelf: float = 0.0
    from_opened: float = 0.0
    containers: int | None = None
    container_size: float | None = None
    pack: str = ""
    buy_by: date | None = None
    send_to: str = ""
    price: float | None = None
    cost: float | None = None


class Total(Struct, frozen=True, kw_only=True):
    """Minutes of work and what they cost under one way of placing."""

    minutes: float
    cost: float


class Totals(Struct, frozen=True, kw_only=True):
    """This plan beside three others; `gap` is the proven share above the best possible."""

    plan: Total
    greedy: Total
    each_alone: Total
    all_before: Total
    gap: float | None = None
    method: str


class Solver(Struct, frozen=True, kw_only=True):
    """What placed the work: its name and version. No solver's version changes a plan."""

    name: str
    version: str


class OrderPart(Struct, frozen=True, kw_only=True):
    """Parts for one slot that must be ordered on or before a day; of one thing for many slots all by the same day.

    `when` is the list they stand on. What is carried counts to the last day of work before departure. `lead_days` are
    the days that the slowest of them takes to come, by the tables; 0 for what any shop has.
    """

    slot: str
    order_by: date
    what: tuple[str, ...]
    when: str = ""
    lead_days: float = 0.0


class BeyondRoadTime(Struct, frozen=True, kw_only=True):
    """A job that only the owner's ceiling on road work keeps from a stop, by itself beside the plan as it stands.

    `minutes` and `cost` are what doing it at `slot` would take, `leaving_costs` what not doing it there costs.
    `keeps_limit` says that a limit is passed otherwise, and that this is what makes it dear.
    """

    about: tuple[Thing, ...]
    slot: str
    minutes: float
    cost: float
    leaving_costs: float
    keeps_limit: bool = False


class Plan(Struct, frozen=True, kw_only=True):
    """The whole answer. The same inputs give an equal plan."""

    schema: int = SCHEMA
    rig: str
    trip: str
    today: date
    depart: date
    return_: date
    home_zone: str
    units: tuple[str, ...]
    edition: str
    product_rule: str
    solver: Solver = Solver(name="", version="")
    totals: Totals
    risk: Risk | None = None
    warnings: tuple[PlanWarning, ...]
    ways_out: tuple[str, ...]
    beyond_road_time: tuple[BeyondRoadTime, ...] = ()
    problems: tuple[Problem, ...]
    assumptions: tuple[str, ...]
    legs: tuple[PlanLeg, ...]
    slots: tuple[Slot, ...]
    crossings: tuple[PlanCrossing, ...]
    rechecks: tuple[Recheck, ...]
    currency: str = ""
    walkround: tuple[str, ...]
    walkround_minutes: float
    shopping: tuple[Need, ...]
    carry: tuple[Need, ...]
    orders: tuple[OrderPart, ...]
    spares: tuple[SparePart, ...] = ()
    items: tuple[PlanItem, ...]

    @property
    def trip_km(self) -> float:
        """The length of the whole trip."""
        return max((leg.end_km for leg in self.legs), default=0.0)

    @property
    def driven_km(self) -> float:
        """How far of it is driven."""
        return max((leg.end_km for leg in self.legs if leg.driven), default=0.0)

    @property
    def is_over(self) -> bool:
        """True when it is seen from a day after the return: what is left is work at home."""
        return self.today > self.return_

    @property
    def is_under_way(self) -> bool:
        """True when it is seen from a day of the trip behind the departure."""
        return self.depart < self.today <= self.return_

    @property
    def over(self) -> str:
        """That the trip lies behind, and what to do; empty for one that does not."""
        return next((warning.text for warning in self.warnings if warning.kind == TRIP_OVER), "")
