"""The choice under two limits, against trying everything."""

from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tripplan.risk import packing
from tripplan.risk.packing import pack

PIECES = st.lists(st.tuples(st.integers(0, 60), st.integers(0, 30), st.integers(0, 30)), max_size=9)


def best_of_all(pieces: list[tuple[int, int, int]], most: tuple[int, int]) -> int:
    """The greatest worth, every choice tried."""
    choices = (c for count in range(len(pieces) + 1) for c in combinations(pieces, count))
    return max(
        sum(worth for worth, _, _ in c) for c in choices
        if sum(w for _, w, _ in c) <= most[0] and sum(v for _, _, v in c) <= most[1]
    )  # fmt: skip


@settings(max_examples=150, deadline=None)
@given(PIECES, st.integers(0, 80), st.integers(0, 80))
def test_nothing_that_fits_is_worth_more(pieces: list[tuple[int, int, int]], kg: int, litres: int) -> None:
    """A kit would leave standing hours on the shelf."""
    worth, weight, volume = (list(column) for column in zip(*pieces, strict=True)) if pieces else ([], [], [])
    found = pack(worth, weight, volume, (kg, litres))
    assert sum(weight[i] for i in found.taken) <= kg and sum(volume[i] for i in found.taken) <= litres
    assert len(set(found.taken)) == len(found.taken) and found.is_exact
    assert sum(worth[i] for i in found.taken) == best_of_all(pieces, (kg, litres))


def test_worth_for_weight_alone_is_not_the_best() -> None:
    """The greedy choice would pass for the exact one: 6 for 5 kg is worth more a kg than 10 for 10 kg, which fills the box."""
    found = pack([6, 10], [5, 10], [1, 1], (10, 10))
    assert found.taken == (1,)


def test_what_weighs_nothing_goes_along() -> None:
    """A division by its weight would break the choice."""
    assert pack([3, 5], [0, 4], [0, 4], (0, 0)).taken == (0,)


def test_too_many_open_choices_are_said_to_be_unproven(monkeypatch: pytest.MonkeyPatch) -> None:
    """A choice nobody proved would be told as the best."""
    monkeypatch.setattr(packing, "MOST_OPEN", 2)
    worth, weight = [100 + i for i in range(12)], [50 + i for i in range(12)]
    found = pack(worth, weight, [1] * 12, (215, 100))
    assert not found.is_exact and sum(weight[i] for i in found.taken) <= 215 and len(found.taken) >= 3


def test_equal_pieces_give_equal_choices() -> None:
    """Two machines would pack two kits."""
    first = pack([5] * 8, [3] * 8, [2] * 8, (10, 10))
    assert first == pack([5] * 8, [3] * 8, [2] * 8, (10, 10)) and len(first.taken) == 3
