"""Every move from one plan of a part, as arrays: what it opens, shuts, forces and forbids.

A ladder is opened at a site, or the same one on both sides; an opening is shut there, or with all behind it
moved to another site; a visit that covers others is forced or forbidden; all that can be is opened at a site, or
the site is emptied, or emptied with what is open there moved to another.
"""

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from tripplan.placing.model import NEVER, Flags, Numbers, Part


class Moves(Struct, frozen=True):
    """Openings opened and shut (moves, openings, sites), visits forced and forbidden (moves, tasks, sites); the first changes nothing."""

    opens: Flags
    shuts: Flags
    forces: Flags
    forbids: Flags


def moves_from(part: Part, own: Flags, used: Flags, every_task: bool) -> Moves:
    """All moves from the visits `own` (tasks, sites), for which `used` (openings, sites) is open.

    With `every_task` the visits of all tasks are forced and forbidden, else of those that cover others.
    """
    able, leaves = part.model.labour < NEVER, part.leaves[:, : part.asked]
    could = _any(part.model.need[:, : part.asked].T, able)
    may, here = ~_any(leaves, ~could), ~_any(leaves, ~used)
    shut, moved = np.argwhere(used), _moved(leaves, could, used, here)
    more = [_ladders(leaves, may & ~here), _both_sides(part, leaves, may, here), moved[0], _all_there(leaves, may)]
    busy = np.flatnonzero(own.any(axis=0))
    emptied = _elsewhere(leaves, may, here, busy)
    tasks = np.asarray(part.cover.any(axis=0) | every_task)[:, None]
    visits = np.argwhere((able | own) & tasks)
    # One after the other: nothing, what opens, what shuts, visits forced or forbidden, sites emptied.
    ends = np.cumsum([1, *(len(block) for block in more), len(shut), len(visits), len(emptied[0]), len(busy)])
    opens, shuts = (np.zeros((ends[-1], *used.shape), dtype=bool) for _ in range(2))
    forces, forbids = (np.zeros((ends[-1], *own.shape), dtype=bool) for _ in range(2))
    opens[1 : ends[4]] = np.concatenate(more)
    opens[ends[6] : ends[7]] = emptied[0]
    shuts[np.arange(ends[2], ends[3]), moved[1][:, 0], moved[1][:, 1]] = True
    shuts[np.arange(ends[4], ends[5]), shut[:, 0], shut[:, 1]] = True
    is_own = own[visits[:, 0], visits[:, 1]]
    forces[np.arange(ends[5], ends[6]), visits[:, 0], visits[:, 1]] = ~is_own
    forbids[np.arange(ends[5], ends[6]), visits[:, 0], visits[:, 1]] = is_own
    forbids[np.arange(ends[6], ends[8]), :, np.concatenate([emptied[1], busy])] = True
    return Moves(opens, shuts, forces, forbids)


def _any(rows: Flags, spots: Flags) -> Flags:
    """For each row whether it has any of the spots, column by column."""
    return np.asarray(rows.astype(np.float64) @ spots.astype(np.float64) > 0)


def _put(rows: Flags, at: Numbers, sites: int) -> Flags:
    """Each row of openings at its site."""
    found = np.zeros((*rows.shape, sites), dtype=bool)
    found[np.arange(len(rows)), :, at] = rows
    return found


def _ladders(leaves: Flags, new: Flags) -> Flags:
    """A ladder opened at a site."""
    ladder, site = np.nonzero(new)
    return _put(leaves[ladder], site, new.shape[1])


def _both_sides(part: Part, leaves: Flags, may: Flags, here: Flags) -> Flags:
    """Ladders that cost the same, opened together."""
    one, other = np.array(part.mirrored, dtype=np.intp).reshape(-1, 2).T
    pair, site = np.nonzero(may[one] & may[other] & ~(here[one] & here[other]))
    return _put(leaves[one[pair]] | leaves[other[pair]], site, may.shape[1])


def _moved(leaves: Flags, could: Flags, used: Flags, here: Flags) -> tuple[Flags, NDArray[np.intp]]:
    """An opening shut at a site, and all that is open behind it opened at another; with what is shut."""
    shut = np.argwhere(used)
    behind = _any(here[:, shut[:, 1]].T & leaves[:, shut[:, 0]].T, leaves)
    elsewhere = could[shut[:, 0]]
    elsewhere[np.arange(len(shut)), shut[:, 1]] = False
    number, site = np.nonzero(elsewhere)
    return _put(behind[number], site, used.shape[1]), shut[number]


def _all_there(leaves: Flags, may: Flags) -> Flags:
    """All that can be opened at a site."""
    sites = np.flatnonzero(may.any(axis=0))
    return _put(_any(leaves.T, may).T[sites], sites, may.shape[1])


def _elsewhere(leaves: Flags, may: Flags, here: Flags, busy: Numbers) -> tuple[Flags, Numbers]:
    """What is open at a site opened at another; with the site that is emptied for it."""
    site, other = np.nonzero(busy[:, None] != np.arange(may.shape[1]))
    site = busy[site]
    opened = _any((here[:, site] & may[:, other]).T, leaves)
    some = opened.any(axis=1)
    return _put(opened[some], other[some], may.shape[1]), site[some]
