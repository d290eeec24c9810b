"""The order in which the work of a slot is done, and what a reader must be told first.

Every output that lists work takes its order from here: the groups of a slot are what is
open together, in the order of their first job.
"""

from collections.abc import Iterable, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from tripplan.placing.trade_rules import NUTS, PLAY
from tripplan.records.grouped import grouped
from tripplan.records.plan import DUE, LASTS, NO_RECORD, ON_THE_WAY, Limit, Plan, PlanItem, RunsOut
from tripplan.records.plan_work import Job, Opened, Recheck, Slot, WaterAct
from tripplan.records.words import JobKind, WaterWindow
from tripplan.sheets import words as say

WALK_ROUND = JobKind.WALK_ROUND
UNDERBODY = "underbody"
LAST_OF_ALL = "last of all, wheels on the ground"
WINDOWS = tuple(WaterWindow)
WITH_FIGURES = (WaterWindow.DAYS, WaterWindow.BEFORE_REMOTE, WaterWindow.LATER)
CROSSING_NOTE = (
    "Depth and flow cannot be judged by this sheet. Look at the water where you stand; "
    "turning round is always an answer."
)
MANUAL_NOTE = (
    "Torques, clearances and fluid grades come from the vehicle maker's manual. "
    "Some work is for licensed people: local rules."
)
KIND_WORDS = {"workshop": "workshop day", "stop": "stop", "after": "after the return"}
SHORT_MONTHS, DAYS_A_MONTH = 2.0, 30.4


class Group(Struct, frozen=True, kw_only=True):
    """What is open together at one place of one unit, and the jobs done while it is.

    `is_beside` marks jobs that need nothing open at a place that is opened for others.
    """

    unit: str
    place: str
    position: str | None
    opened: tuple[Opened, ...]
    jobs: tuple[Job, ...]
    is_beside: bool = False

    @property
    def minutes(self) -> float:
        """Opening, the jobs, and closing again."""
        return sum(step.minutes for step in self.opened) + sum(job.minutes for job in self.jobs)

    @property
    def is_walk_round(self) -> bool:
        """True for the small looks that need no opening and stand together."""
        return self.place == WALK_ROUND

    def title(self, is_unit_told: bool = True) -> str:
        """Unit and place: wagon, front wheel end, left; the place alone where the rig is one unit."""
        if self.is_walk_round:
            return "looks of the walk-round, nothing opened"
        place = say.item(f"{self.unit}, {self.place}" if is_unit_told else self.place, self.position)
        return f"{place}, nothing opened" if self.is_beside else place

    def opened_for(self, job: Job) -> tuple[Opened, ...]:
        """What has to be open for one of its jobs, the outermost first: its own state, and what is open before that."""
        found: list[Opened] = []
        state: str | None = job.state
        while state and (step := self._step(job.place, state)):
            found.insert(0, step)
            state = step.parent
        return tuple(found)

    def _step(self, place: str, state: str) -> Opened | None:
        own = (step for step in self.opened if step.state == state and place in (step.place, *step.shared_by))
        return next(own, None)


def groups(slot: Slot) -> tuple[Group, ...]:
    """The slot's work by what is open, in working order; an opening without a job is kept.

    Places that share an opening, such as the guard under three sumps, stand together; what needs nothing open
    at a place that is opened for others stands beside it.
    Small looks of the walk-round stand together at the end.
    """
    behind = {(step.unit, place): say.listed(step.shared_by) for step in slot.opened for place in step.shared_by}
    in_order = sorted(slot.opened, key=lambda step: not step.shared_by)
    steps = grouped(((*_place_of_step(step, behind), False), step) for step in in_order)
    opened = {(unit, place) for unit, place, *_ in steps}
    placed = ((_place_of(job, slot, behind), job) for job in jobs_told(slot))
    jobs = grouped(((*at, at[:2] in opened and _is_beside(job)), job) for at, job in placed)
    return tuple(
        Group(
            unit=key[0], place=key[1], position=key[2], opened=tuple(steps.get(key, ())), jobs=tuple(jobs.get(key, ())),
            is_beside=key[3],
        )
        for key in dict.fromkeys((*jobs, *steps))
    )  # fmt: skip


def _is_beside(job: Job) -> bool:
    """True for what needs nothing open and gains nothing by it: below the rig all is done while it is up."""
    return job.is_closed and not job.at_work and job.place != UNDERBODY


def jobs_told(slot: Slot) -> list[Job]:
    """The jobs of a slot in working order, looks of the walk-round last: one that earlier work asks for anyway stands once."""
    asked = {(job.item, job.unit, job.position) for job in slot.jobs if not is_look(job)}
    told = (job for job in slot.jobs if not is_look(job) or (job.item, job.unit, job.position) not in asked)
    return sorted(told, key=lambda job: (is_look(job), is_last(job, slot)))


def is_last(job: Job, slot: Slot) -> bool:
    """True for the wheel nuts where a wheel of that unit is off the same day: they are done when it is back on the ground."""
    return job.item in NUTS.values() and any(step.unit == job.unit and step.place in PLAY for step in slot.opened)


def _place_of(job: Job, slot: Slot, behind: Mapping[tuple[str, str], str]) -> tuple[str, str, str | None]:
    if is_look(job):
        return "", WALK_ROUND, None
    place = LAST_OF_ALL if is_last(job, slot) else behind.get((job.unit, job.place), job.place)
    return job.unit, place, job.position


def _place_of_step(step: Opened, behind: Mapping[tuple[str, str], str]) -> tuple[str, str, str | None]:
    place = behind.get((step.unit, step.shared_by[0] if step.shared_by else step.place), step.place)
    return step.unit, place, step.position


def is_look(job: Job) -> bool:
    """True for a small look of the walk-round, for which nothing is opened."""
    return job.kind == WALK_ROUND and job.is_closed


def open_words(step: Opened) -> str:
    """What is said behind a step that was open already, or stays open; empty for any other."""
    already = " (open already)" if step.was_open else ""
    return already + (" (stays open overnight)" if step.kept_open else "")


def has_work(plan: Plan, slot: Slot) -> bool:
    """True when a slot holds a job, an opening, a re-check or an act after water."""
    return bool(slot.jobs or slot.opened or rechecks_at(plan, slot))


def slot_title(slot: Slot) -> str:
    """The slot's kind and place, as a heading: Workshop day, home; Stop, Saltbush Crossing."""
    kind = KIND_WORDS.get(slot.kind, slot.kind)
    return say.upper_first(f"{kind}, {slot.place}" if slot.place else kind)


def slot_name(slot: Slot) -> str:
    """The slot inside a sentence, with its day: stop, 12 Jul, Saltbush Crossing."""
    place = f", {slot.place}" if slot.place else ""
    return f"{KIND_WORDS.get(slot.kind, slot.kind)}, {say.short_day(slot.date)}{place}"


def rechecks_at(plan: Plan, slot: Slot) -> tuple[Recheck, ...]:
    """Re-checks that fall in this slot and are not a job of it already."""
    done = {(job.item, job.unit, job.position) for job in slot.jobs if job.kind == JobKind.RECHECK}
    return tuple(
        check
        for check in plan.rechecks
        if check.slot == slot.id and (check.item, check.unit, check.position) not in done
    )


def by_window(acts: Iterable[WaterAct]) -> tuple[tuple[str, tuple[WaterAct, ...]], ...]:
    """Acts after water by their window in words, the most pressing first."""
    found = grouped((act.window, act) for act in sorted(acts, key=_urgency))
    return tuple((window, tuple(same)) for window, same in found.items())


def _urgency(act: WaterAct) -> tuple[int, float, str]:
    figures = [figure for figure in (act.within_days, act.within_km) if figure is not None]
    first = figures[0] if figures and act.window_kind in WITH_FIGURES else 0.0
    return WINDOWS.index(WaterWindow(act.window_kind)), first, act.window


def sides_joined(acts: Iterable[WaterAct]) -> tuple[WaterAct, ...]:
    """Acts after water with left and right made one, the sides in words."""
    found = grouped((replace(act, position=None), act.position) for act in acts)
    return tuple(replace(act, position=say.sides(held)) for act, held in found.items())


def merged(items: Iterable[PlanItem]) -> tuple[PlanItem, ...]:
    """Items with left and right made one line where everything that is drawn is equal."""
    found = grouped(
        ((item.item, item.name, item.unit, item.act, item.verdict, item.runs_out, item.runs_out_reserve, item.placed,
          _in_percent(item.share_used_at_return)), item) for item in items
    )  # fmt: skip
    return tuple(map(together, found.values()))


def together(same: Sequence[PlanItem]) -> PlanItem:
    """Sides as one item, with the slots of them all."""
    placed = dict.fromkeys(slot for item in same for slot in item.placed)
    return replace(same[0], position=say.sides(item.position for item in same), placed=tuple(placed))


def main_unit(plan: Plan) -> str | None:
    """The unit with the most items, left unnamed in lists; None when there is only one unit."""
    borne = [item.unit for item in plan.items]
    return max(plan.units, key=borne.count) if has_units(plan) else None


def has_units(plan: Plan) -> bool:
    """True where the rig has more than one unit, so that each has to be named."""
    return len(plan.units) > 1


def of_unit(plan: Plan, unit: str) -> str:
    """The unit in brackets, where the rig has more than one."""
    return f" ({unit})" if has_units(plan) else ""


def unit_told(plan: Plan, name: str, unit: str) -> str:
    """The unit in brackets, where it is not the main one and another has a thing of that name too."""
    main = main_unit(plan)
    is_told = main is not None and unit != main and any(i.name == name and i.unit != unit for i in plan.items)
    return f" ({unit})" if is_told else ""


def _in_percent(share: float | None) -> float | None:
    return None if share is None else round(share, 2)


def with_verdict(plan: Plan, *verdicts: str) -> tuple[PlanItem, ...]:
    """Items of these verdicts, left and right made one, in the plan's order."""
    return merged(item for item in plan.items if item.verdict in verdicts)


def due(plan: Plan) -> tuple[PlanItem, ...]:
    """Items due before departure or without record, those of the walk-round left out."""
    return tuple(i for i in with_verdict(plan, DUE, NO_RECORD) if i.rhythm != WALK_ROUND)


def due_title(plan: Plan) -> str:
    """What is due and without record, in the numbers of `verdict_counts`, and how many of it the walk-round has."""
    told = [f"{len(found)} {name}" for name, found in ((due_words(plan), with_verdict(plan, DUE)),
                                                       ("without a record", with_verdict(plan, NO_RECORD))) if found]  # fmt: skip
    looks = len(with_verdict(plan, DUE, NO_RECORD)) - len(due(plan))
    return (
        ", ".join([*told, *([f"{looks} of them on the walk-round"] if looks else [])]) or f"Nothing {due_words(plan)}"
    )


def due_walkround(plan: Plan) -> str:
    """The walk-round items that are due, in one sentence; empty when there are none."""
    items = [i for i in with_verdict(plan, DUE, NO_RECORD) if i.rhythm == WALK_ROUND]
    if not items:
        return ""
    names = [item.name + unit_told(plan, item.name, item.unit) for item in items]
    return f"Also due, on the walk-round: {say.listed(dict.fromkeys(names))}."


def is_all_due(plan: Plan) -> bool:
    """True when every look of the walk-round is due before departure."""
    looks = [item for item in plan.items if item.rhythm == WALK_ROUND]
    return bool(looks) and all(item.verdict in (DUE, NO_RECORD) for item in looks)


def on_the_way(plan: Plan) -> tuple[PlanItem, ...]:
    """Items that run out on the way, the first to run out first."""
    return tuple(sorted(with_verdict(plan, ON_THE_WAY), key=first_km))


def is_done_at_home(plan: Plan, item: PlanItem) -> bool:
    """True where all work on it comes before departure."""
    before = {slot.id for slot in plan.slots if slot.kind == "workshop"}
    return bool(item.placed) and before.issuperset(item.placed)


def first_km(item: PlanItem) -> float:
    """The km of the trip at which an item first may run out; endless when it does not."""
    ends = [point.trip_km for point in (item.runs_out, item.runs_out_reserve) if point is not None]
    return min(ends, default=float("inf"))


def verdict_counts(plan: Plan) -> tuple[str, ...]:
    """How many items of each verdict, as sentences, counted as `with_verdict` lists them; one without items is left out."""
    due = due_words(plan)
    words = {
        DUE: (f"item is {due}.", f"items are {due}."),
        NO_RECORD: (
            "item has no record and is treated as due.",
            "items have no record and are treated as due.",
        ),
        ON_THE_WAY: ("item runs out on the way.", "items run out on the way."),
        LASTS: ("item is not due yet.", "items are not due yet.") if plan.is_over
        else ("item lasts the trip.", "items last the trip."),
    }  # fmt: skip
    counted = {name: len(with_verdict(plan, name)) for name in words}
    return tuple(say.count(counted[name], *words[name]) for name in words if counted[name])


def due_words(plan: Plan) -> str:
    """What is due, by when, as the plan is seen."""
    return say.due_words(plan.depart, plan.today, plan.return_)


def verdict_words(plan: Plan, item: PlanItem) -> str:
    """The verdict as the plan has it; once the trip has begun nothing comes before departure."""
    told = {str(DUE): due_words(plan)} | ({str(LASTS): "not due yet"} if plan.is_over else {})
    return told.get(item.verdict, item.verdict)


def runs_out_words(plan: Plan, item: PlanItem) -> str:
    """Where an item runs out, typical and with reserve, as a phrase."""
    typical, reserve = item.runs_out, item.runs_out_reserve
    parts = [f"typically on {_point(plan, typical)}"] if typical else []
    parts += [f"with reserve on {_point(plan, reserve)}"] if reserve and reserve != typical else []
    if parts:
        return "; ".join(parts)
    if item.verdict not in (DUE, NO_RECORD):
        return "not on this trip"
    return "by now" if plan.is_under_way else "before departure"


def _point(plan: Plan, point: RunsOut) -> str:
    start = next((leg.from_ for leg in plan.legs if leg.number == point.leg), "its start")
    where = f"{say.km(point.leg_km)} past {start}" if round(point.leg_km) else f"at {start}"
    return f"leg {point.leg}, {where}, {say.short_day(point.date)}"


def used_share(item: PlanItem, limit: Limit, legs: int | None = None) -> float:
    """The typical share of one interval used after so many legs with nothing done; None = after all of them."""
    driven = sum(
        one.use * one.multiplier + one.water_use for one in item.wear
        if one.meter == limit.meter and (legs is None or one.leg <= legs)
    )  # fmt: skip
    return ((limit.at_departure or 0.0) + driven) / limit.interval


def left_at_return(item: PlanItem) -> str:
    """What is left of a lasting item at the return, in normal use of its tightest meter: about 900 km."""
    share = item.share_used_at_return
    if share is None or not item.limits:
        return "not known"

    def off(limit: Limit) -> float:
        return abs(used_share(item, limit) - share)

    nearest = min(item.limits, key=off)
    amount = (1.0 - share) * nearest.interval
    if nearest.meter == "months" and amount < SHORT_MONTHS:
        return f"about {say.count(max(round(amount * DAYS_A_MONTH), 1), 'day', 'days')}"
    two_figures = say.figure(float(f"{amount:.2g}"))
    return f"about {two_figures} {say.meter(nearest.meter)}"


def placed_words(plan: Plan, item: PlanItem) -> str:
    """Where the work on an item is placed: 27 Jun home; 12 Jul Saltbush Crossing."""
    places = (f"{say.short_day(slot.date)}, {slot.place}" for slot in plan.slots if slot.id in item.placed)
    return "; ".join(places) or _unplaced(item)


def placed_days(plan: Plan, item: PlanItem) -> str:
    """The days an item is worked on, without their places: 27 Jun, 12 Jul."""
    return ", ".join(say.short_day(slot.date) for slot in plan.slots if slot.id in item.placed) or _unplaced(item)


def _unplaced(item: PlanItem) -> str:
    return "on every walk-round" if item.rhythm == WALK_ROUND else "not placed"


def driving_days(plan: Plan) -> tuple[str, ...]:
    """The days with a leg still to be driven, for a tick each morning."""
    return tuple(dict.fromkeys(say.short_day(leg.date) for leg in plan.legs if not leg.driven))
