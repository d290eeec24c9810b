"""Moves of a whole part, against the same told one by one."""

from collections.abc import Iterator

import numpy as np
import pytest

from tests.placing.arrays import as_flags, model_of, small, some_visits, whole
from tripplan.placing.model import NEVER, Flags, Part
from tripplan.placing.whole_moves import Moves, moves_from

Spots = frozenset[tuple[int, int]]
Told = tuple[Spots, Spots, Spots, Spots]


def plainly(part: Part, own: Flags, used: Flags) -> Iterator[Told]:
    """What each move opens, shuts, forces and forbids, from lists alone."""
    tasks, sites = own.shape
    able = part.model.labour < NEVER
    ladders = [frozenset(np.flatnonzero(row).tolist()) for row in part.leaves]
    could = {(o, s) for o in range(part.asked) for s in range(sites) if (part.model.need[:, o] & able[:, s]).any()}
    is_open = {(int(o), int(s)) for o, s in np.argwhere(used)}
    none: Spots = frozenset()

    def at(ladder: frozenset[int], s: int) -> Spots:
        return frozenset((o, s) for o in ladder)

    def here(s: int) -> list[frozenset[int]]:
        return [one for one in ladders if at(one, s) <= is_open]

    def may(s: int) -> list[frozenset[int]]:
        return [one for one in ladders if at(one, s) <= could]

    yield none, none, none, none
    for s in range(sites):
        all_there = frozenset().union(*(at(one, s) for one in may(s)))
        emptied = frozenset((t, s) for t in range(tasks))
        for one in may(s):
            if one not in here(s):
                yield at(one, s), none, none, none
        for i, j in part.mirrored:
            both = [ladders[i], ladders[j]]
            if all(one in may(s) for one in both) and not all(one in here(s) for one in both):
                yield at(ladders[i] | ladders[j], s), none, none, none
        if all_there:
            yield all_there, none, none, none
        for t in range(tasks):
            if own[t, s]:
                yield none, none, none, frozenset({(t, s)})
            elif able[t, s]:
                yield none, none, frozenset({(t, s)}), none
        if own[:, s].any():
            yield none, none, none, emptied
            for other in set(range(sites)) - {s}:
                moved = frozenset().union(*(at(one, other) for one in here(s) if one in may(other)))
                if moved:
                    yield moved, none, none, emptied
    for o, s in is_open:
        yield none, frozenset({(o, s)}), none, none
        behind = frozenset().union(*(one for one in here(s) if o in one))
        for other in set(range(sites)) - {s}:
            if (o, other) in could:
                yield at(behind, other), frozenset({(o, s)}), none, none


def told(moves: Moves) -> list[Told]:
    """The arrays as spots."""
    every = (moves.opens, moves.shuts, moves.forces, moves.forbids)
    return [
        tuple(frozenset((int(a), int(b)) for a, b in np.argwhere(one[number])) for one in every)  # type: ignore[misc]
        for number in range(len(moves.opens))
    ]


@pytest.mark.parametrize("looks", [False, True])
@pytest.mark.parametrize("seed", range(10))
def test_every_move_is_there_and_no_other(seed: int, looks: bool) -> None:
    """If one were missing, a descent would end where a person still sees what to move."""
    part = whole(model_of(seed, looks))
    own = as_flags(small(seed, looks), some_visits(small(seed, looks), seed, 5))[-1]
    used = np.asarray(part.model.need[:, : part.asked].T.astype(np.float64) @ own.astype(np.float64) > 0)
    found = told(moves_from(part, own, used, every_task=True))
    assert set(found) == set(plainly(part, own, used))
    assert found[0] == (frozenset(),) * 4


def test_without_every_task_only_those_that_cover_are_forced() -> None:
    """If all were, a large part would be gone through task by task in every step of a descent."""
    for seed in range(10):
        part = whole(model_of(seed))
        own = as_flags(small(seed), some_visits(small(seed), seed, 5))[-1]
        used = np.asarray(part.model.need[:, : part.asked].T.astype(np.float64) @ own.astype(np.float64) > 0)
        moves = moves_from(part, own, used, every_task=False)
        assert set(np.flatnonzero(moves.forces.any(axis=(0, 2)))) <= set(np.flatnonzero(part.cover.any(axis=0)))
