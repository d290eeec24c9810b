"""Limits for which no time is found: planned alone, and what that tells.

Where a plan passes a limit for want of time, everything that has a limit is planned once more with nothing else in the way.
If that keeps more of them, the search goes on from there half-way, with all else left for home. Where limits are passed in
the end, other work may count for more by the prices given: that is told apart from a day full of limits, each of which
another would have to pass. What is told so is shown by a plan of the limits alone; where none is found, the words say only that.
"""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from tripplan.placing.bunches import means_of
from tripplan.placing.descent import only_at_home
from tripplan.placing.fine import all_anew, refine
from tripplan.placing.model import NEVER, Flags, Model, Numbers, part_of, parts_of
from tripplan.placing.paths import steps_of
from tripplan.placing.problem import Placing
from tripplan.placing.search import search
from tripplan.placing.stated import Stated
from tripplan.placing.unmet import BEYOND, FULL, TOO_DEAR, WORTH_LESS

FOR_TIME = (BEYOND, FULL, TOO_DEAR)
SHARE = 0.01
"""Keeping limits has to save that much of the cost to be tried."""
PASSED, LOST = 1e6, 1e9
"""A step past its limit of a row in question, and of one that keeps its limit now."""


class Limits(Struct, frozen=True):
    """Steps (rows, from, to) that pass a limit, the rows that have one or do those on the way, and these planned alone; and
    how much was weighed for it.
    """

    steps: Flags
    rows: Numbers
    own: Flags
    weighed: int = 0


@lru_cache(maxsize=2)
def limits_of(given: Stated) -> Limits:
    """Everything with a limit, planned with nothing else in the way; worked out once, for the placing and for its ways out."""
    model, steps = given.model, past_limits(given)
    limited = np.flatnonzero(steps.any(axis=(1, 2))).tolist()
    rows = _with_coverers(model, limited)
    own = np.zeros(model.labour.shape, dtype=bool)
    alone = part_of(model, rows).model
    found = search(alone)
    means = means_of(alone)
    own[rows] = all_anew(means, found.own, (means.bunches.parts, found.parts))
    return Limits(steps, rows, own, found.weighed)


def past_limits(given: Stated) -> Flags:
    """Steps (rows, from, to) on which a row passes its limit, or leaves a known fault for longer than it may be left."""
    problem, sites = given.problem, given.model.sites
    found = np.zeros(given.model.arc.shape, dtype=bool)
    to = np.minimum(np.arange(sites + 1), problem.last)
    for row, group in enumerate(given.groups):
        for task in (problem.tasks[index] for index in group):
            if task.window is None:
                found[row, :sites] |= to > np.array(task.sound)[:sites, None]
                found[row, 0] |= to > (sites if task.put_right_by is None else task.put_right_by)
    return found


def from_limits(model: Model, limits: Limits, own: Flags, cost: float) -> Flags | None:
    """The plan of the limits alone with all else left for home; None where it saves these visits little."""
    saved = price_of_passing(model, limits.steps, own) - price_of_passing(model, limits.steps, limits.own)
    if saved <= SHARE * cost:
        return None
    first = np.zeros_like(own)
    for part in parts_of(model):
        first[part.tasks] = only_at_home(part).own[0]
    first[limits.rows] = limits.own[limits.rows]
    return first


def told_apart(given: Stated, limits: Limits, own: Flags, placing: Placing) -> Placing:
    """The placing of these visits, in which other work in the way of a limit is told apart from other limits."""
    row_of = {index: row for row, group in enumerate(given.groups) for index in group}
    asked = sorted({row_of[miss.task] for miss in placing.unmet if miss.why in FOR_TIME and miss.task in row_of})
    could = {row: _could_be_kept(given.model, limits, own, row) for row in asked}
    words = {(TOO_DEAR, False): FULL, (FULL, True): WORTH_LESS, (BEYOND, True): WORTH_LESS}
    unmet = (
        replace(miss, why=words.get((miss.why, could.get(row_of.get(miss.task, -1), miss.why == TOO_DEAR)), miss.why))
        for miss in placing.unmet
    )
    return replace(placing, unmet=tuple(unmet))


def _could_be_kept(model: Model, limits: Limits, own: Flags, row: int) -> bool:
    """True where the row is found to pass its limit less often beside all that keep theirs, with nothing else in the way."""
    limited = np.flatnonzero(limits.steps.any(axis=(1, 2))).tolist()
    kept = [other for other in limited if not _passing(model, limits.steps, own, other)]
    rows = _with_coverers(model, (row, *kept))
    alone, now = _free_but_for_limits(model, limits, rows, row), len(_passing(model, limits.steps, own, row))
    for start in (own, limits.own):
        found = np.zeros_like(own)
        found[rows] = refine(means_of(alone), start[rows])
        if len(_passing(model, limits.steps, found, row)) < now and not any(
            _passing(model, limits.steps, found, other) for other in kept
        ):
            return True
    return False


def _with_coverers(model: Model, rows: Sequence[int]) -> Numbers:
    """These rows, those that do them on the way, those that do these, and so on."""
    found, new = set[int](), set(rows)
    while new:
        found |= new
        new = {other for row in new for other in model.covers[row]} - found
    return np.array(sorted(found), dtype=np.intp)


def _free_but_for_limits(model: Model, limits: Limits, rows: Numbers, asked: int) -> Model:
    """These rows alone, in which nothing costs anything but to pass a limit; what can stay open overnight does."""
    alone = part_of(model, rows).model
    price = np.where(rows == asked, PASSED, LOST)[:, None, None]
    return replace(
        alone, arc=np.where(alone.arc < NEVER, np.where(limits.steps[rows], price, 0.0), NEVER),
        labour=np.where(alone.labour < NEVER, 0.0, NEVER), again=np.where(alone.again < NEVER, 0.0, NEVER),
        open_cost=alone.open_cost * 0.0, keep_cost=(alone.keep_cost > 0) * 1.0, fee_cost=alone.fee_cost * 0.0,
    )  # fmt: skip


def price_of_passing(model: Model, steps: Flags, own: Flags) -> float:
    """What the steps past their limits cost."""
    rows = np.flatnonzero(steps.any(axis=(1, 2))).tolist()
    return float(sum(model.arc[row, p, q] for row in rows for p, q in _passing(model, steps, own, row)))


def _passing(model: Model, steps: Flags, own: Flags, row: int) -> list[tuple[int, int]]:
    """The steps (from, to) on which the row passes its limit."""
    return [(p, q) for p, q in steps_of(model, own, row) if steps[row, p, q]]
