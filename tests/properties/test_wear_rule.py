"""The one rule of wear and its reserve: whatever the legs, neutral is 1 and harsher is never less."""

import math
from collections.abc import Sequence

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from tests.small import HERE
from tripplan.records.plan import Factor
from tripplan.wear.mechanisms.uncertain import NODES, Array, excess_at
from tripplan.wear.multipliers import MECHANISM_OF, felt_of, together
from tripplan.wear.total import Total, piled

CONDITIONS = sorted(set(MECHANISM_OF) - {"distance"})
QUICK = settings(max_examples=100, deadline=None)


def total_of(listed: Sequence[Factor]) -> float:
    """The typical multiplier of a leg with these conditions."""
    return float(together([felt_of(factor.condition, [factor]) for factor in listed], [0]).typical[0])


@st.composite
def factors(draw: st.DrawFn) -> tuple[Factor, ...]:
    """One factor for each of some conditions."""
    names = draw(st.lists(st.sampled_from(CONDITIONS), unique=True, max_size=8))
    return tuple(
        Factor(
            condition=name, mechanism=MECHANISM_OF[name], grade="drawn", multiplier=draw(st.floats(1, 10)), low=1.0,
            high=100.0, basis="judgement", source="none", origin=HERE,
        )
        for name in names
    )  # fmt: skip


@QUICK
@given(factors(), st.randoms())
def test_the_rule_knows_no_order_and_lies_between_worst_and_product(listed: tuple[Factor, ...], seed: object) -> None:
    """The same conditions in another order would give another plan, or more wear than all of them multiplied."""
    shuffled = list(listed)
    seed.shuffle(shuffled)  # type: ignore[attr-defined]
    total = total_of(listed)
    assert math.isclose(total, total_of(shuffled))
    assert max([f.multiplier for f in listed], default=1.0) <= total * (1 + 1e-12)
    assert total <= math.prod(f.multiplier for f in listed) * (1 + 1e-12)


@QUICK
@given(factors(), st.data())
def test_a_harsher_condition_never_wears_less(listed: tuple[Factor, ...], data: st.DataObject) -> None:
    """More dust could put work off."""
    if listed:
        spot = data.draw(st.integers(0, len(listed) - 1))
        worse = replace(listed[spot], multiplier=listed[spot].multiplier + data.draw(st.floats(0, 5)))
        assert total_of((*listed[:spot], worse, *listed[spot + 1 :])) >= total_of(listed)


LEGS = st.lists(
    st.tuples(st.floats(10, 900), st.tuples(*[st.tuples(st.floats(1, 5), st.floats(1, 4)) for _ in range(3)])),
    min_size=1, max_size=6,
)  # fmt: skip


def total(legs: list[tuple[float, tuple[tuple[float, float], ...]]]) -> Total:
    """The running total of legs of (km, typical multiplier and error factor of the excess by mechanism)."""
    steps = np.array(
        [[km * excess_at(m, 1 + (m - 1) * factor, NODES) for m, factor in parts] for km, parts in legs]
    )  # fmt: skip
    piles: Array = np.concatenate([np.zeros_like(steps[:1]), steps.cumsum(axis=0)])
    return piled(np.array([0.0, *np.cumsum([km for km, _ in legs])]), piles)


@QUICK
@given(LEGS, st.floats(0, 0.5), st.integers(0, 2), st.floats(0, 3), st.data())
def test_the_reserve_never_falls(
    legs: list[tuple[float, tuple[tuple[float, float], ...]]], sigma: float, mechanism: int, more: float,
    data: st.DataObject,
) -> None:  # fmt: skip
    """A longer or a harsher trip could be said to need less in reserve."""
    one = total(legs)
    reserve = one.reserve(sigma)
    assert (np.diff(reserve) >= -1e-9).all()
    assert (reserve >= one.typical * (1 - 1e-9)).all()
    spot = data.draw(st.integers(0, len(legs) - 1))
    km, parts = legs[spot]
    m, factor = parts[mechanism]
    harsher = (*parts[:mechanism], (m + more, factor), *parts[mechanism + 1 :])
    assert total([*legs[:spot], (km, harsher), *legs[spot + 1 :]]).reserve(sigma)[-1] >= reserve[-1] * (1 - 1e-9)


@QUICK
@given(LEGS, st.floats(0, 0.5), st.floats(0.05, 0.95), st.data())
def test_splitting_a_leg_changes_nothing(
    legs: list[tuple[float, tuple[tuple[float, float], ...]]], sigma: float, share: float, data: st.DataObject
) -> None:
    """An owner could move a failure by writing a leg as two rows."""
    spot = data.draw(st.integers(0, len(legs) - 1))
    km, parts = legs[spot]
    cut = total([*legs[:spot], (km * share, parts), (km * (1 - share), parts), *legs[spot + 1 :]])
    whole = total(legs)
    assert math.isclose(cut.reserve(sigma)[-1], whole.reserve(sigma)[-1], rel_tol=1e-9)
    assert math.isclose(cut.typical[-1], whole.typical[-1], rel_tol=1e-12)
