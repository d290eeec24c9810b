"""The visits after every move from one plan of a part, worked out only for tasks for which a move changes something.

What is open is free, what is shut or forbidden cannot be, and every task takes its cheapest path. A move changes little, at
one or two sites: most tasks keep the path that they have where nothing is moved.
"""

import numpy as np
from msgspec import Struct

from tripplan.placing.model import NEVER, Flags, Floats, Numbers, Part, Plans, places, times
from tripplan.placing.opened import asked_for, opened_and_looked
from tripplan.placing.paths import covered, opening_paid, paths, shortest, visits_beside, ways_through
from tripplan.placing.whole_moves import Moves, moves_from

FEW_TASKS, FEW_PATHS = 8, 4000
"""In how small a part every visit is moved by itself; up to how many paths in all they are just sought one and all."""


class Repriced(Struct, frozen=True):
    """What visits cost (tasks, sites) where nothing is moved, and what each move changes of that.

    `spots` are those visits, as places in moves by tasks by sites, of which a move spares `less`, each once or more often;
    `fee` (moves, sites) is spared wherever something is done there; what is `shut` (moves, tasks, sites) cannot be.
    """

    visit: Floats
    spots: Numbers
    less: Floats
    fee: Floats
    shut: Flags
    forced: Flags


def moved_visits(part: Part, current: Plans, price: Floats, fee: Floats, every_task: bool) -> Flags:
    """The visits (moves, tasks, sites) after every move from the current plan, first those of no move.

    With `every_task`, or in a small part, each single visit is forced and forbidden as well.
    """
    own, seen = current.own[0], current.own.astype(np.float64)
    used, looked = (some[0] for some in opened_and_looked(part, seen))
    moves = moves_from(part, own, asked_for(part, seen)[0], every_task or len(own) <= FEW_TASKS)
    paid = opening_paid(part, used, _looked_already(part, used, looked), price)
    prices = _prices(part, moves, paid, price, np.where(own.any(axis=0), 0.0, fee))
    if moves.forces.size <= FEW_PATHS * len(fee):
        return paths(part, _all_visits(prices), prices.forced)
    still = paths(part, np.minimum(prices.visit, NEVER)[None])[0]
    through = covered(part, still[None], np.zeros(len(still), dtype=np.intp), np.arange(len(still)))
    return _walked(part, still, through, prices, _can_differ(part, still, through, prices))


def _all_visits(prices: Repriced) -> Floats:
    """What every visit costs in every move (moves, tasks, sites)."""
    spared = np.bincount(prices.spots, prices.less, prices.shut.size).reshape(prices.shut.shape)
    visit = np.minimum(prices.visit - spared - prices.fee[:, None], NEVER)
    visit[prices.shut] = NEVER
    return np.asarray(visit)


def _looked_already(part: Part, used: Flags, looked: Flags) -> Flags:
    """Which looks are made already: those that tasks ask for themselves wherever that is open."""
    looks = part.model.looks
    found = looked.copy()
    shared = np.flatnonzero(looks.what < part.asked)
    found[shared] = used[looks.what[shared], looks.there[shared]]
    return found


def _prices(part: Part, moves: Moves, paid: Floats, price: Floats, fee: Floats) -> Repriced:
    """What the moves change beside what is `paid` for openings now, and the `fee` of sites where nothing is done yet."""
    move, opening, site = places(moves.opens)
    fees = np.zeros((len(moves.opens), len(fee)))
    fees[move, site] = fee[site]
    looks = part.model.looks
    pairs = np.flatnonzero(looks.what[looks.to] < part.asked)
    by, at, to = looks.by[pairs], looks.at[pairs], looks.to[pairs]
    also, pair = places(moves.opens[:, looks.what[to], looks.there[to]] & ~moves.opens[:, by, at])
    move, opening, site = (np.append(*both) for both in ((move, also), (opening, by[pair]), (site, at[pair])))
    spared = paid[opening, site]
    some = np.flatnonzero(spared)
    number, task = places(part.model.need.T[opening[some]])
    spots = _spots(part, move[some], task, site[some], number)
    return Repriced(
        visits_beside(part, paid, price) + fee, spots, spared[some][number], fees, _shut(part, moves), moves.forces
    )


def _shut(part: Part, moves: Moves) -> Flags:
    """Which visits (moves, tasks, sites) a move makes impossible."""
    shut = moves.forbids.copy()
    move, opening, site = places(moves.shuts)
    number, task = places(part.model.need.T[opening])
    shut.reshape(-1)[_spots(part, move, task, site, number)] = True
    return shut


def _spots(part: Part, move: Numbers, task: Numbers, site: Numbers, number: Numbers) -> Numbers:
    """Places in moves by tasks by sites, the number of a move and site standing beside each task."""
    tasks, sites = part.model.labour.shape
    return np.asarray((move[number] * tasks + task) * sites + site[number])


def _can_differ(part: Part, still: Flags, through: Flags, prices: Repriced) -> Flags:
    """For which tasks a move (moves, tasks) can lead to another path than that of no move, `still`.

    It can where it shuts a visit of that path or forces another, and where it spares other visits as much as the
    cheapest path through one of them costs more.
    """
    tasks, sites = still.shape
    beyond = ways_through(part.model, np.minimum(prices.visit, NEVER), through)
    more = np.where(still, np.inf, beyond).reshape(-1)[prices.spots % still.size]
    pair, other = prices.spots // sites, np.isfinite(more)
    found = np.zeros(len(prices.fee) * tasks, dtype=bool)
    found[np.flatnonzero((prices.shut & still) | (prices.forced & ~still)) // sites] = True
    spared = np.bincount(pair[other], prices.less[other], len(found)) + np.repeat(prices.fee.sum(axis=1), tasks)
    found[pair[more <= spared[pair]]] = True
    found, spared = found.reshape(-1, tasks), spared.reshape(-1, tasks)
    for site in np.flatnonzero(prices.fee.any(axis=0)).tolist():
        found |= (prices.fee[:, site] > 0)[:, None] & ~still[:, site] & (beyond[:, site] <= spared)
    return found


def _walked(part: Part, still: Flags, through: Flags, prices: Repriced, asked: Flags) -> Flags:
    """The visits after each move, with new paths for the tasks that are asked for, and for those that others now do on the way."""
    tasks, sites = still.shape
    found, differs = np.repeat(still[None], len(asked), axis=0), np.zeros(asked.shape)
    less, row = _rows(prices, asked.size, sites)
    for level in part.levels:
        move, at = places(asked[:, level] | (times(differs, part.cover[level].T.astype(np.float64)) > 0))
        who = level[at]
        passed = covered(part, found, move, who)
        some = asked[move, who] | (passed != through[who]).any(axis=1)
        move, who, passed = move[some], who[some], passed[some]
        visit = prices.visit[who] - less[row[move * tasks + who]] - prices.fee[move]
        visit = np.where(prices.shut[move, who], NEVER, np.minimum(visit, NEVER))
        own = shortest(part.model.arc, part.model.again, who, visit, passed, prices.forced[move, who])
        found[move, who] = own
        differs[move, who] = (own != still[who]).any(axis=1)
    return found


def _rows(prices: Repriced, pairs: int, sites: int) -> tuple[Floats, Numbers]:
    """What is spared, row by row of those pairs of a move and a task that are spared something; with the row of each pair."""
    pair = prices.spots // sites
    row = np.zeros(pairs, dtype=np.intp)
    row[pair] = 1
    some = np.flatnonzero(row)
    row[some] = np.arange(1, len(some) + 1)
    spared = np.bincount(row[pair] * sites + prices.spots % sites, prices.less, (len(some) + 1) * sites)
    return np.asarray(spared.reshape(-1, sites), dtype=np.float64), row
