"""The first page, for the wall: the days with their jobs, what must not be forgotten, what is not done and why."""

from collections.abc import Iterator

from tripplan.records.grouped import grouped
from tripplan.records.plan import FOUND_BAD, GRADED, HEIGHT_UNKNOWN, PARTS_LATE, TRIP_OVER, Plan
from tripplan.records.plan_work import Slot
from tripplan.records.words import Act
from tripplan.sheets import words
from tripplan.sheets.worksheet import work_order
from tripplan.sheets.worksheet.lists import RoadCheck, on_the_road
from tripplan.sheets.worksheet.waits import waits
from tripplan.sheets.worksheet.work_blocks import Block, SlotSheet

LARGEST_FIRST = tuple(map(str, (
    Act.RENEW, Act.REPACK, Act.DRAIN_AND_REFILL, Act.ADJUST, Act.TORQUE, Act.GREASE, Act.CLEAN, Act.MEASURE,
    Act.LOOK, Act.EXERCISE,
)))  # fmt: skip
MOST_NAMED, MANY_JOBS, MOST_HALTS = 6, 25, 3
BIG = (Act.RENEW, Act.REPACK, Act.DRAIN_AND_REFILL)
HEIGHTS_MISSING = "R16"
TO_KNOW = (FOUND_BAD, PARTS_LATE, GRADED, HEIGHT_UNKNOWN)


def wall_jobs(plan: Plan, sheet: SlotSheet) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """The jobs of a day by act, the largest acts first: what is done, and the things with their minutes on all sides.

    After the return the small ones of many are only counted: they wait for weeks of evenings.
    """
    blocks = sheet.blocks
    is_long = sheet.slot.kind == "after" and len(blocks) > MANY_JOBS
    few = [block for block in blocks if block.jobs[0].act in BIG] if is_long else blocks
    in_order = sorted(few, key=lambda block: _act_rank(block.jobs[0].act))
    found = grouped((words.act(block.jobs[0].said_act), _thing(plan, block)) for block in in_order)
    if len(few) < len(blocks):
        found["And"] = [f"{len(blocks) - len(few)} smaller jobs, on their own sheet"]
    return tuple((act, tuple(things)) for act, things in found.items())


def _act_rank(act: str) -> int:
    return LARGEST_FIRST.index(act) if act in LARGEST_FIRST else len(LARGEST_FIRST)


def _thing(plan: Plan, block: Block) -> str:
    minutes = sum(job.minutes for job in block.jobs)
    return f"{_name(plan, block)} {int(minutes + 0.5)}" if minutes else _name(plan, block)


def _name(plan: Plan, block: Block) -> str:
    job = block.jobs[0]
    side = f" {block.sides[0]}" if len(block.sides) == 1 and block.sides[0] else ""
    return words.lower_first(job.name) + side + work_order.unit_told(plan, job.name, job.unit)


def idle(plan: Plan) -> str:
    """The stops without work, in one sentence."""
    days = [f"{words.week_day(slot.date)}, {slot.place}" for slot in plan.slots if not (slot.jobs or slot.opened)]
    return f"Nothing to do: {'; '.join(days)}." if days else ""


def doing(plan: Plan, block: Block) -> str:
    """The job in words, with its side where it is only one, and its unit where that is not the main one."""
    return words.upper_first(f"{words.act(block.jobs[0].said_act)} {_name(plan, block)}")


def room(slot: Slot) -> str:
    """The work of a day and the time there is for it: 3 h 49 min of 4 h."""
    if not (slot.jobs or slot.opened):
        return "nothing to do here"
    if slot.minutes_available == 0 and slot.minutes_planned == 0:
        return "no time left there for more than the walk-round"
    there = "work" if slot.minutes_available is None else words.duration(slot.minutes_available)
    return f"{words.duration(slot.minutes_planned)} of {there}"


def setting_out(slot: Slot) -> str:
    """What of a day's time stands at no job: 10 min of it to set out and clear up; empty where nothing is done."""
    return f"{words.duration(slot.set_out_minutes)} of it to set out and clear up" if slot.set_out_minutes else ""


def remember(plan: Plan) -> tuple[str, ...]:
    """What must not be forgotten, a line each, the most pressing first; heights that nobody gave are named once."""
    warned = {warning.kind for warning in plan.warnings}
    return (
        *(warning.text for warning in plan.warnings if warning.kind in TO_KNOW),
        *(f"{problem.place}: {problem.found} ({problem.code}). {words.sentence(problem.hint or problem.accepted)}"
          for problem in plan.problems if not (problem.code == HEIGHTS_MISSING and HEIGHT_UNKNOWN in warned)),
        *_every_day(plan), *_halts(plan),
    )  # fmt: skip


def _halts(plan: Plan) -> tuple[str, ...]:
    """Looks again at halts, a line each while they are few; many are counted here and stand with the road."""
    found = halts(plan)
    if len(found) <= MOST_HALTS:
        return tuple(map(halt_words, found))
    minutes = sum(check.minutes for _, checks in found for check in checks)
    return (
        f"Look again on the way at {len(found)} halts ({words.duration(minutes)}): which and at what stands at On the road.",
    )


def _every_day(plan: Plan) -> Iterator[str]:
    """The walk-round, and the cards to take for the water ahead."""
    told = []
    if plan.walkround and work_order.driving_days(plan):
        told.append(f"Walk round every morning, {plan.walkround_minutes:.0f} minutes.")
    ahead = [crossing for crossing in plan.crossings if crossing.crossed is None and crossing.date >= plan.today]
    if ahead:
        days = words.days(crossing.date for crossing in ahead)
        cards = "the card of the crossing" if len(ahead) == 1 else f"the {len(ahead)} cards"
        told.append(f"Water on {days}: take {cards} (cards.html).")
    if told:
        yield " ".join(told)
    yield from _depths_to_record(plan)


def _depths_to_record(plan: Plan) -> Iterator[str]:
    """Water whose day is past with nothing recorded: without its depth the plan does not know what it calls for."""
    past = [crossing for crossing in plan.crossings if crossing.crossed is None and crossing.date < plan.today]
    if past:
        where = "; ".join(f"leg {one.leg} at km {words.figure(one.at_km)}, {words.week_day(one.date)}" for one in past)
        yield (
            f"Water behind you with nothing recorded: {where}. Record how deep it was (tripplan cross), or "
            "take it out of crossings.csv if it was not driven."
        )


def halts(plan: Plan) -> tuple[tuple[str, tuple[RoadCheck, ...]], ...]:
    """Looks again at a halt, those of the same km together: 50 to 100 km after departure, and what."""
    found = grouped((check.after, check) for check in on_the_road(plan))
    return tuple((after, tuple(checks)) for after, checks in found.items())


def halt_words(halt: tuple[str, tuple[RoadCheck, ...]]) -> str:
    """Looks again at one halt: 50 to 100 km after Home yard, 17 August, look again at: wheel nuts; park brake."""
    after, checks = halt
    names = "; ".join(words.lower_first(check.name) for check in checks)
    return f"{after}, look again at: {names} ({words.duration(sum(check.minutes for check in checks))})."


def waits_behind(plan: Plan) -> tuple[str, ...]:
    """What waits, in full, where page one only counts it; what stands there in full is not said again."""
    first = waits(plan, MOST_NAMED)
    return tuple(line for line in waits(plan) if line not in first)


def not_done(plan: Plan) -> tuple[str, ...]:
    """What could not be done, or waits, and why; then what would help, a line each."""
    told = (warning.text for warning in plan.warnings if warning.kind not in (*TO_KNOW, TRIP_OVER))
    found = (*told, *plan.ways_out, *waits(plan, MOST_NAMED))
    return found or (("No warnings: everything has its place in time.",) if not plan.warnings else ())
