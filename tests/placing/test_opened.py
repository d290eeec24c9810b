"""What visits open, told visit by visit."""

import numpy as np
import pytest

from tests.placing.arrays import as_flags, model_of, small, some_visits, whole
from tripplan.placing.model import Flags, Model
from tripplan.placing.opened import asked_for, opened_and_looked, opened_by


def plainly(model: Model, own: Flags) -> tuple[set[tuple[int, int]], set[tuple[int, int]]]:
    """Openings and sites that the visits of one plan need, and the looks that those bring."""
    asked = {(o, s) for t, s in np.argwhere(own).tolist() for o in np.flatnonzero(model.need[t]).tolist()}
    brought = {spot for one in asked for spot in model.looks.brought.get(one, ())}
    return asked, brought


@pytest.mark.parametrize("seed", range(10))
def test_what_is_open(seed: int) -> None:
    """If something open were missing, it would be paid twice; if too much, work behind it would look free."""
    model = model_of(seed, looks=True)
    part, several = whole(model), as_flags(small(seed, True), some_visits(small(seed, True), seed, 40))
    needed, (used, looked) = asked_for(part, several.astype(float)), opened_and_looked(part, several.astype(float))
    whole_used, places = opened_by(model, several), model.looks.places
    for number, own in enumerate(several):
        asked, brought = plainly(model, own)
        assert {tuple(spot) for spot in np.argwhere(whole_used[number]).tolist()} == asked | brought
    for number, own in enumerate(several):
        asked, brought = plainly(part.model, own)
        assert {tuple(spot) for spot in np.argwhere(needed[number]).tolist()} == asked
        shared = {(o, s) for o, s in brought if o < part.asked}
        assert {tuple(spot) for spot in np.argwhere(used[number]).tolist()} == asked | shared
        in_part = part.model.looks.places
        assert {in_part[n] for n in np.flatnonzero(looked[number]).tolist()} == brought
    assert len(places) == len(set(places))
