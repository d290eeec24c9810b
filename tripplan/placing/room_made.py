"""Room made for what would save most: the last resort of the search.

One long job that can keep a limit may find no day, because many short ones fill it and no exchange of one or
two of them makes room enough. Here such a job is put where it would save most, and whatever is cheapest to
lose for the minutes it gives goes, one after the other, until the rest fits. What went looks for a place in turn. Of all plans
on the way the best counts.
"""

from itertools import pairwise
from typing import TypeAlias

import numpy as np

from tripplan.placing.descent import overflow_of, priced, with_fees
from tripplan.placing.fine import Bunches, OfBunches, refine, whole_cost
from tripplan.placing.model import NEVER, Flags, Floats, Model, Part, Spot

LEAST_SHARE, TURNS, TRIED = 0.01, 6, 4
"""What a visit must save of the whole to be worth it; how often room is made, and for how many at the most each time."""
Wish: TypeAlias = tuple[int, int, int]
"""A row, the site where it is to be done, and the site whose visit that takes the place of; -1 for none."""


def with_room(model: Model, own: Flags, price: Floats, known: OfBunches, bunches: Bunches) -> Flags:
    """The visits with room made for others wherever that makes the whole cheaper in the end; `known` grows."""
    whole = bunches.whole
    best, now, held = own, own, set[Spot]()
    least = cost = whole_cost(model, whole, own)
    for _ in range(TURNS):
        made = [
            (found, (row, site))
            for row, site, gone in _wishes(model, whole, now, cost)
            if (row, site) not in held and (found := _room_for(model, whole, now, (row, site, gone), held)) is not None
        ]
        if not made:
            break
        costs = [whole_cost(model, whole, found) for found, _ in made]
        found, spot = made[int(np.argmin(costs))]
        held.add(spot)
        now = refine(model, found, price, known, bunches)
        cost = whole_cost(model, whole, now)
        if cost < least:
            best, least = now, cost
    return best


def _wishes(model: Model, whole: Part, own: Flags, cost: float) -> list[Wish]:
    """Visits that would make the whole cheaper by much if there were minutes for them, those that save most first."""
    dear = np.flatnonzero(_waits(model, own) > LEAST_SHARE * cost)
    wishes = [
        (row, site, gone)
        for row in dear.tolist()
        for site in np.flatnonzero(~own[row] & (model.labour[row] < NEVER)).tolist()
        for gone in (-1, *np.flatnonzero(own[row]).tolist())
    ]
    if not wishes:
        return []
    several = np.stack([_granted(own, wish) for wish in wishes])
    saved = cost - with_fees(model, priced(whole, several))
    order = [at for at in np.argsort(-saved, kind="stable").tolist() if saved[at] > LEAST_SHARE * cost]
    return [wishes[at] for at in order[:TRIED]]


def _granted(own: Flags, wish: Wish) -> Flags:
    row, site, gone = wish
    found = own.copy()
    found[row, site] = True
    if gone >= 0:
        found[row, gone] = False
    return found


def _waits(model: Model, own: Flags) -> Floats:
    """What waiting costs every row by itself, visits of those that do it on the way left out."""
    found = np.zeros(len(own))
    for row in range(len(own)):
        at = [0, *(np.flatnonzero(own[row]) + 1).tolist()]
        found[row] = sum(model.arc[row, p, q - 1] for p, q in pairwise(at)) + model.arc[row, at[-1], model.sites]
    return found


def _room_for(model: Model, whole: Part, own: Flags, wish: Wish, held: set[Spot]) -> Flags | None:
    """The visits with a wish granted, and without the cheapest that give it its minutes; None where that is not enough.

    A visit that goes is left out, or done after the return.
    """
    base = _granted(own, wish)
    now = priced(whole, base[None])
    over = overflow_of(model, now)[0]
    full = (model.rows[: model.sites, over > 0] > 0).any(axis=1)
    spots = [spot for spot in map(tuple, np.argwhere(base & full).tolist()) if spot != wish[:2] and spot not in held]
    if not spots:
        return None if over.any() else base
    rows, sites = np.array(spots).T
    gone = np.repeat(base[None], len(spots), axis=0)
    gone[np.arange(len(spots)), rows, sites] = False
    later = gone.copy()
    later[np.arange(len(spots)), rows, model.sites - 1] = True
    plans = priced(whole, np.concatenate([gone, later]))
    lost = (with_fees(model, plans) - with_fees(model, now)).reshape(2, -1)
    gives = (over.sum() - overflow_of(model, plans).sum(axis=1)).reshape(2, -1)
    worth = np.where(gives > 0, lost / np.where(gives > 0, gives, 1.0), np.inf)
    steps = [base]
    for at in np.argsort(worth.min(axis=0), kind="stable").tolist():
        if np.isfinite(worth[:, at].min()):
            step = steps[-1].copy()
            step[rows[at], sites[at]] = False
            step[rows[at], model.sites - 1] |= worth[1, at] < worth[0, at]
            steps.append(step)
    fits = np.flatnonzero(~overflow_of(model, priced(whole, np.stack(steps))).any(axis=1))
    return steps[int(fits[0])] if len(fits) else None
