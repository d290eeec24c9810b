"""A plain placement, for comparison and where an answer has to come at once.

What was found bad goes to the first place with the time, what is due goes before departure, what runs
out on the way goes to the last place before that, what is nearly due waits until after return. Rows are
taken in one fixed order: water calls and what was found bad, then what renews a thing that can hurt somebody,
then by what a failure would do, what is due first.
"""

from itertools import chain, islice

import numpy as np

from tripplan.placing.model import NEVER, Flags, Floats, Spot
from tripplan.placing.problem import PlacementProblem, Placing, Task
from tripplan.placing.read_back import as_placing
from tripplan.placing.stated import HUB_WORK, Stated, stated
from tripplan.placing.waiting import is_limited

METHOD = "plain rule"


def place_greedily(problem: PlacementProblem) -> Placing:
    """One placing by the rule above; equal problems give equal placings."""
    given = stated(problem)
    return as_placing(given, plain_visits(given), METHOD)


def plain_visits(given: Stated) -> Flags:
    """The visits by that rule, row by row."""
    model, load = given.model, _Load(given)
    own = np.zeros(model.labour.shape, dtype=bool)
    for row in _in_order(given):
        for site in _sites_of(given, row, own, load):
            own[row, site] = True
            load.take(row, site)
    return own


class _Load:
    """What is opened and planned at each site so far."""

    def __init__(self, given: Stated) -> None:
        self.model = model = given.model
        self.packed = {
            opening: np.flatnonzero(model.along & model.need[:, opening]).tolist()
            for opening, (key, _) in enumerate(given.openings)
            if key[1] == HUB_WORK
        }
        self.opened: set[Spot] = set()
        self.taken = np.zeros(len(model.rows))
        self.busy: set[int] = set()
        self.needs = [np.flatnonzero(need).tolist() for need in model.need]
        self.brings = model.looks.brought
        self.halts = dict(zip(model.looks.places, model.looks.halt, strict=True))

    def _new(self, row: int, site: int) -> set[Spot]:
        """What the row opens there and is not open yet, with the looks that this brings."""
        own = {(opening, site) for opening in self.needs[row]}
        return own.union(*(self.brings.get(spot, ()) for spot in own)) - self.opened

    def _more(self, row: int, site: int, new: set[Spot]) -> Floats:
        """What each clock gives for the row; what belongs to a hub that it has off takes its longer visit."""
        model = self.model
        extra = np.zeros(len(model.rows))
        for opening, at in new:
            extra[at] += model.open_spend[opening, at]
            extra[at] += sum(
                model.more_spend[other, :, at].max() for other in self.packed.get(opening, ()) if other != row
            )
            if (opening, at) in self.halts:
                extra[model.sites :] += self.halts[(opening, at)]
        fee = 0.0 if site in self.busy else model.fee_spend[site]
        extra[site] += model.spend[row, site] + model.more_spend[row, :, site].max() + fee
        return extra

    def fits(self, row: int, site: int) -> bool:
        """True when the site can take the row beside what it has."""
        if self.model.labour[row, site] >= NEVER:
            return False
        extra = self._more(row, site, self._new(row, site))
        return bool(((self.taken + extra) @ self.model.rows <= self.model.room).all())

    def take(self, row: int, site: int) -> None:
        """Give the row its place there."""
        new = self._new(row, site)
        self.taken += self._more(row, site, new)
        self.opened |= new
        self.busy.add(site)


def _in_order(given: Stated) -> list[int]:
    """Water and faults, limits, what harms, what strands most, what is due first; whatever covers a row goes before it."""

    def rank(row: int) -> tuple[bool, bool, bool, float, bool, int, int]:
        task = _first(given, row)
        item = task.item
        is_later = task.window is None and not task.found_bad
        return (is_later, not is_limited(item), not item.harms, -item.strands, not task.overdue, -len(task.opens), row)

    order: dict[int, None] = {}

    def put(row: int) -> None:
        for other in sorted(given.model.covers[row], key=rank):
            if (_first(given, other).overdue or not _first(given, row).overdue) and other not in order:
                put(other)
        order.setdefault(row)

    for row in sorted(range(len(given.groups)), key=rank):
        put(row)
    return list(order)


def _first(given: Stated, row: int) -> Task:
    return given.problem.tasks[given.groups[row][0]]


def _sites_of(given: Stated, row: int, own: Flags, load: _Load) -> list[int]:
    problem, task = given.problem, _first(given, row)
    done = {int(s) for c in given.model.covers[row] for s in np.flatnonzero(own[c]) if given.model.counts[row, s]}
    if task.window is not None:
        if done:
            return []
        return list(islice((s for s in range(task.window[1], task.window[0] - 1, -1) if load.fits(row, s)), 1))
    tasks = [problem.tasks[index] for index in given.groups[row]]
    reach = [min(at) for at in zip(*(task.reach for task in tasks), strict=True)]
    soon = given.model.again[row] >= NEVER
    visits: list[int] = []
    at = -1
    while reach[at + 1] < problem.last:
        ahead = [s for s in done if at < s <= max(reach[at + 1], at + 1)]
        if ahead:
            at = max(ahead)
            continue
        before = range(reach[at + 1], at, -1) if at >= 0 or not task.found_bad else range(problem.last)
        in_time = (s for s in before if not soon[at + 1, s] and load.fits(row, s))
        late = (s for s in range(max(at, reach[at + 1]) + 1, problem.last + 1) if load.fits(row, s))
        found = next(chain(in_time, late), None)
        on_the_way = min((s for s in done if s > at), default=problem.last + 1)
        if on_the_way <= problem.last and (found is None or found > max(reach[at + 1], on_the_way)):
            at = on_the_way  # what others do there comes no later
            continue
        if found is None:
            break
        at = found
        visits.append(at)
    last = max([*visits, *done], default=-1)
    if last < problem.last and max(task.shares[last + 1][-1] for task in tasks) >= 1.0 - problem.tolerance_share:
        visits.append(problem.last)
    return visits
