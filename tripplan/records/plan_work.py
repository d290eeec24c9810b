"""The work of a plan, as frozen records: jobs and what they use, slots, re-checks, and what water calls for.

Field names are those of `plan.json`. Times minutes, distances km, heights m.
"""

from datetime import date, datetime

from msgspec import Struct

from tripplan.records.facts_in import Origin
from tripplan.records.plan_risk import Skip

DayOrMoment = datetime | date
CLOSED = ("", "none", "closed")


class Material(Struct, frozen=True, kw_only=True):
    """What a job uses up: so much of a consumable, in its measure, of an open class where one is asked for."""

    what: str
    name: str
    quantity: float
    measure: str
    grade: str | None = None


class Filling(Struct, frozen=True, kw_only=True):
    """One space that a job greases or fills: what it takes, and what else is told, a sentence a row of clauses.

    `brief` is what a person with the gun in hand must know of it, in a few words.
    """

    space: str
    needs: str
    told: tuple[tuple[str, ...], ...]
    brief: tuple[str, ...] = ()


class Job(Struct, frozen=True, kw_only=True):
    """One act at one item position in one slot, with all a person needs to do it.

    Where water calls for it, `crossing_km` is the km of the trip at which that crossing lies, and
    `cause` is `why` without the crossing, for whoever tells that once for many jobs. `fillings` are
    what `lubrication` tells in one paragraph. `at_work` says that it is a look again where and when the work it
    follows is done. `verb` is what the act is called here, where that is another word. `skip` is what leaving it out adds to what the trip risks; None
    where that is not worked out, as for a look again.
    """

    item: str
    name: str
    unit: str
    position: str | None
    act: str
    act_note: str
    minutes: float
    kind: str
    materials: tuple["Material", ...]
    cautions: tuple[str, ...]
    early_signs: str
    why: str
    place: str
    state: str
    origins: tuple[Origin, ...] = ()
    moves: str = ""
    lubrication: str = ""
    crossing_km: float | None = None
    cause: str = ""
    fillings: tuple[Filling, ...] = ()
    skip: Skip | None = None
    verb: str = ""
    at_work: bool = False

    @property
    def said_act(self) -> str:
        """The act as a person calls it here: rotate tyres, where the history says adjust."""
        return self.verb or self.act

    @property
    def is_closed(self) -> bool:
        """True for what needs nothing opened."""
        return self.state in CLOSED


class Opened(Struct, frozen=True, kw_only=True):
    """A wheel end, sump or cover opened once in a slot, and the minutes spent on it that day.

    `kept_open` means it stays open overnight, at home only; `was_open` that it was open
    already. The minutes then lack the closing or the opening. `parent` is the state that is open before it. `shared_by` are the places of the
    work that needs it, where it is not one of theirs, such as the guard under three sumps.
    """

    unit: str
    place: str
    position: str | None
    state: str
    minutes: float
    words: str
    kept_open: bool = False
    was_open: bool = False
    parent: str | None = None
    shared_by: tuple[str, ...] = ()


class Contingent(Struct, frozen=True, kw_only=True):
    """Work that a look after water will decide: told with all it would take, filling no slot.

    `crossing` is its place in the plan's list of crossings, counted from 0. `look_for` is what calls
    for it, `decided_by` the looks that settle it. `minutes` are those of the act and `opening_minutes`
    those of opening and closing for it alone, both as in the home shed. `likelihood` is as a document
    words it; nobody publishes a rate. `slot` is where it would fall; None = no place in its window.
    """

    item: str
    name: str
    unit: str
    position: str | None
    act: str
    minutes: float
    opening_minutes: float
    look_for: str
    if_found: str
    crossing: int
    decided_by: tuple[str, ...]
    materials: tuple[Material, ...]
    likelihood: str
    likelihood_source: str
    window: str
    slot: str | None
    basis: str
    source: str
    origins: tuple[Origin, ...] = ()


class Slot(Struct, frozen=True, kw_only=True):
    """An opportunity to work, with what is opened and what is done, in order.

    `minutes_available` are those that are left: less the work on record there, and at a stop under way at most the share of
    its days still ahead; None = no limit. `contingent` would come on top if a look calls for it: it takes no minute of the slot. `materials_cost`
    is what its materials cost by the owner's prices, their share of a container each, and `unpriced` how many
    have no price; None where no price is given at all.
    """

    id: str
    kind: str
    date: date
    place: str
    facility: str
    after_leg: int
    trip_km: float
    minutes_available: float | None
    minutes_planned: float
    opened: tuple[Opened, ...]
    jobs: tuple[Job, ...]
    zone: str | None = None
    arrive: DayOrMoment | None = None
    leave: DayOrMoment | None = None
    contingent: tuple[Contingent, ...] = ()
    place_factor: float = 1.0
    set_out_minutes: float = 0.0
    materials_cost: float | None = None
    unpriced: int = 0


class Recheck(Struct, frozen=True, kw_only=True):
    """A look that another job brings with it, after some km, of the plan or on record.

    `act` is what is done, `because_of` names that job's item and side, `follows` the item alone. Work of the plan is
    done in `after_slot`; work on record has a day, `work_day`, and the trip km of it, `work_km`: below 0 = so many
    km before departure.
    """

    item: str
    name: str
    unit: str
    position: str | None
    act: str
    because_of: str
    follows: str
    after_slot: str | None
    from_km: float
    to_km: float
    leg: int | None
    where: str
    slot: str | None
    minutes: float
    work_day: date | None = None
    work_km: float | None = None
    origins: tuple[Origin, ...] = ()


class WaterAct(Struct, frozen=True, kw_only=True):
    """What a crossing calls for at one item, and by when.

    `window_kind` is by when, `window` the same in words; `within_days` and `within_km` are None when
    not given. `basis` is that of the act, `window_basis` that of its window.
    """

    item: str
    name: str
    unit: str
    position: str | None
    act: str
    window: str
    window_kind: str
    within_days: float | None
    within_km: float | None
    look_for: str
    if_found: str
    slot: str | None
    by: date | None
    basis: str
    source: str
    origins: tuple[Origin, ...] = ()
    if_clean: str = ""
    window_basis: str = ""
    verb: str = ""

    @property
    def said_act(self) -> str:
        """The act as a person calls it here: rotate tyres, where the history says adjust."""
        return self.verb or self.act


class Immersed(Struct, frozen=True, kw_only=True):
    """One item position that the water reached, and the point that decided it."""

    item: str
    name: str
    unit: str
    position: str | None
    point: str
    height_m: float
    water_line_m: float


class PlanCrossing(Struct, frozen=True, kw_only=True):
    """A crossing, what it wets and what that calls for. Never a word about safety.

    `notes` are things to know at once: an engine that stopped in water, hubs that went in hot.
    `grade` is how hard it was, 0 to 5, on the unit it was hardest on, and `because` what made it so.
    """

    leg: int
    at_km: float
    trip_km: float
    depth_m: float
    water: str
    date: date
    crossed: DayOrMoment | None
    immersed: tuple[Immersed, ...]
    acts: tuple[WaterAct, ...]
    unknown_points: tuple[str, ...]
    origin: Origin
    notes: tuple[str, ...] = ()
    grade: int = 0
    grade_words: str = ""
    because: tuple[str, ...] = ()
    contingent: tuple[Contingent, ...] = ()
