"""Why a job stands where it stands: what moving it to the neighbouring slot would cost.

A move is priced as the plan with that one move made, all else left where it is, less the plan: by
the yardstick of the search, and where more is done by it than that counts on, by the plan read
back. What goes together moves together: both sides of an axle, and all that belongs to an open hub.
"""

from collections.abc import Mapping, Sequence
from itertools import pairwise

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from tripplan.explain.reasons import amount
from tripplan.placing.bunches import whole_cost
from tripplan.placing.descent import minutes_taken, priced, with_fees
from tripplan.placing.model import NEVER, Flags, Floats
from tripplan.placing.problem import THOUSAND, PlacementProblem, Placing, can_stand, once_done, rank_needed, renewals
from tripplan.placing.read_back import as_placing, as_visits, rows_of
from tripplan.placing.reckoning import totals
from tripplan.placing.rooms import TENTHS
from tripplan.placing.stated import Stated, stated
from tripplan.placing.trade_rules import has_hub_off
from tripplan.records.plain_words import day_and_month

Move = tuple[int, int, int]
EVEN = 0.5
HOUR, WHOLE_HOURS = 60, 10 * 60


class Priced(Struct, frozen=True):
    """What one move makes of the plan: dearer by so much, and what is missing in each row of minutes."""

    dearer: float
    short: tuple[float, ...]


class Bench(Struct, frozen=True):
    """A placing and its rows, with every move of a row to a neighbouring site priced once."""

    placing: Placing
    given: Stated
    own: Flags
    row_of: dict[int, int]
    moves: dict[Move, Priced]

    @property
    def problem(self) -> PlacementProblem:
        """What was placed."""
        return self.given.problem


def lay_out(problem: PlacementProblem, placing: Placing) -> Bench:
    """Price each move of each job to the slot before and the slot behind it."""
    given = stated(problem)
    own = rows_of(given, placing)
    wanted = [
        (row, site, other)
        for row, site in np.argwhere(own).tolist()
        for other in (site - 1, site + 1)
        if 0 <= other <= problem.last and not own[row, other] and given.model.labour[row, other] < NEVER
    ]
    row_of = {index: row for row, group in enumerate(given.groups) for index in group}
    moves = dict(zip(wanted, _priced(given, own, wanted), strict=True))
    return Bench(placing, given, own, row_of, moves | _read_back(given, placing, own, moves))


def _priced(given: Stated, own: Flags, wanted: Sequence[Move]) -> list[Priced]:
    """Every move by itself, all else left: exact, in one reckoning."""
    if not wanted:
        return []
    several = np.repeat(own[None], len(wanted) + 1, axis=0)
    for number, (row, site, other) in enumerate(wanted, start=1):
        several[number, row, site], several[number, row, other] = False, True
    cost, short = reckoned(given, several)
    dearer = (cost[1:] - cost[0]) / THOUSAND
    return [Priced(float(more), tuple(missing.tolist())) for more, missing in zip(dearer, short[1:], strict=True)]


def _read_back(given: Stated, placing: Placing, own: Flags, moves: Mapping[Move, Priced]) -> dict[Move, Priced]:
    """The moves priced from the plan read back that do more there than the search counts on.

    What comes along where a hub is off, and what the renewal does of a call of the water for the same.
    """
    rows = {row for row, group in enumerate(given.groups) if any(_does_more(given.problem, i) for i in group)}
    now, found = totals(given.problem, placing)[1], {}
    for move, one in moves.items():
        if move[0] in rows and one.dearer * THOUSAND < NEVER / 2 and not any(one.short):
            moved = as_placing(given, moved_rows(own, move), placing.method)
            found[move] = replace(one, dearer=totals(given.problem, moved)[1] - now)
    return found


def _does_more(problem: PlacementProblem, index: int) -> bool:
    called = any(problem.tasks[other].window is not None for other in problem.covered_by[index])
    return called or has_hub_off(problem.tasks[index])


def reckoned(given: Stated, several: Flags) -> tuple[Floats, Floats]:
    """What each of several plans costs, in thousandths, and the minutes that each row of them is short."""
    cost, taken = taken_by(given, several)
    return cost, np.maximum(taken - given.model.room, 0.0) / TENTHS


def taken_by(given: Stated, several: Flags) -> tuple[Floats, Floats]:
    """What each of several plans costs, in thousandths, and what it takes of each row of minutes, in tenths."""
    plans = priced(given.whole, several)
    return with_fees(given.model, plans), minutes_taken(given.model, plans)


def minutes_left(given: Stated, own: Flags) -> Floats:
    """Minutes left in each row of them, sites first and the road as a whole last; endless where nothing limits."""
    return np.asarray((given.model.room - taken_by(given, own[None])[1][0]) / TENTHS)


def costs_of(given: Stated, several: Flags) -> Floats:
    """What each of several plans costs, in the owner's currency, fitting or not."""
    return taken_by(given, several)[0] / THOUSAND


def cost_of(given: Stated, own: Flags) -> float:
    """What these visits cost, in the owner's currency; more than anything costs where they do not fit."""
    return whole_cost(given.model, given.whole, own) / THOUSAND


def move_sentence(bench: Bench, index: int, site: int) -> str:
    """What it would cost to do this job one slot earlier, and one slot later."""
    row = bench.row_of.get(index)
    if row is None or not bench.own[row, site]:
        return ""
    parts = []
    for word, other in (("Earlier", site - 1), ("Later", site + 1)):
        if 0 <= other <= bench.problem.last:
            there = bench.problem.sites[other]
            obstacle = _obstacle(bench, index, site, other)
            told = f"not possible, {obstacle}" if obstacle else price_words(bench.moves[(row, site, other)].dearer)
            parts.append(f"{word} ({there.place}, {day_and_month(there.date)}): {told}")
    whose = "" if len(bench.given.groups[row]) == 1 else "with what is done together with it; "
    return f"{'. '.join(parts)} ({whose}all else left where it is)." if parts else ""


def price_words(difference: float) -> str:
    """A difference in cost in words."""
    if abs(difference) < EVEN:
        return "costs the same"
    return f"{amount(abs(difference))} {'dearer' if difference > 0 else 'cheaper'}"


def time_words(minutes: float) -> str:
    """Minutes as a person says them: 40 min, 2 h, 2 h 05 min, and from ten hours on whole hours."""
    whole = int(minutes + 0.999)
    if whole >= WHOLE_HOURS:
        return f"{round(minutes / HOUR)} h"
    hours, rest = divmod(whole, HOUR)
    if not hours:
        return f"{rest} min"
    return f"{hours} h {rest:02d} min" if rest else f"{hours} h"


def _obstacle(bench: Bench, index: int, site: int, other: int) -> str:
    """Why the job cannot stand at the other site, or an empty text."""
    problem, row = bench.problem, bench.row_of[index]
    group = bench.given.groups[row]
    for member in group:
        told = _cannot_stand(problem, member, other)
        if told:
            return told
    if any(other in renewals(problem, bench.placing, member) for member in group):
        return "it is done there as well"
    move = bench.moves.get((row, site, other))
    if move is None:
        return "it would not fit even alone"
    moved = as_visits(bench.given, moved_rows(bench.own, (row, site, other)), bench.placing.method)
    if _loses_a_call(problem, bench.placing, moved, group):
        return "the look that a crossing calls for goes with it, and would be out of its window"
    if any(_is_past_its_limit(problem, moved, member) for member in group):
        return "it would be past its limit first"
    if move.dearer * THOUSAND >= NEVER / 2:
        return "it would be too soon after the last time"
    return _short(problem, move, other)


def _cannot_stand(problem: PlacementProblem, index: int, other: int) -> str:
    task, there = problem.tasks[index], problem.sites[other]
    if there.rank < rank_needed(task):
        return f"it needs a {task.facility}"
    if other < task.earliest:
        return "parts may not be there"
    if task.window is not None and not task.window[0] <= other <= task.window[1]:
        return "outside its window after the crossing"
    return "" if can_stand(problem, task, other) else "a look comes first, the work waits for home"


def moved_rows(own: Flags, move: Move) -> Flags:
    """The visits with one of a row's moved to another site."""
    row, site, other = move
    moved = own.copy()
    moved[row, site], moved[row, other] = False, True
    return moved


def _loses_a_call(problem: PlacementProblem, before: Placing, after: Placing, group: Sequence[int]) -> bool:
    """True when a water call that this job meets on the way would be met no longer."""
    return any(
        task.window is not None
        and set(group).intersection(problem.covered_by[index])
        and once_done(problem, before, index)
        and not once_done(problem, after, index)
        for index, task in enumerate(problem.tasks)
    )


def _is_past_its_limit(problem: PlacementProblem, placing: Placing, index: int) -> bool:
    task = problem.tasks[index]
    if task.window is not None:
        return False
    chain: Sequence[int] = (-1, *renewals(problem, placing, index), problem.last)
    return any(task.sound[start + 1] < end for start, end in pairwise(chain) if start != problem.last)


def _short(problem: PlacementProblem, move: Priced, other: int) -> str:
    there = max((short for row, short in enumerate(move.short[:-1]) if row == other), default=0.0)
    if there > 0:
        return f"{time_words(there)} short there"
    if any(short > 0 for short in move.short[:-1]):
        return "another day would be too full without what they share"
    if move.short[-1] > 0:
        return f"{time_words(move.short[-1])} more than the owner gives of the road"
    return ""
