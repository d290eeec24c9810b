"""Shared days of a yard: every small case against all answers there are, larger ones against a second solver."""

from collections.abc import Sequence
from datetime import date, timedelta
from itertools import pairwise, product
from random import Random

import pytest

from tripplan.placing.yard import LEFT_OVER_PRICE, Block, SharedDays, Shed, cost_of_day, shared_days

MONDAY = date(2026, 6, 1)
DAYS = tuple(MONDAY + timedelta(days=n) for n in range(12))


def block(rig: str, minutes: int, planned: int, part: int = 0, ready: int = 0, latest: int = 11) -> Block:
    """A block with its days counted from Monday."""
    return Block(rig, part, minutes, DAYS[planned], DAYS[ready], DAYS[latest])


def keeps_the_rules(found: SharedDays, blocks: Sequence[Block], shed: Shed) -> bool:
    """Every rule looked at by itself, from the answer alone."""
    placed = [(one, spot) for one, spot in zip(blocks, found.spots, strict=True) if spot is not None]
    bays: dict[tuple[date, int], int] = {}
    people: dict[date, int] = {}
    for one, (day, bay) in placed:
        bays[day, bay] = bays.get((day, bay), 0) + one.minutes
        people[day] = people.get(day, 0) + one.minutes
        if not (one.ready <= day <= one.latest and 0 <= bay < shed.bays):
            return False
    rows = sorted((one.rig, one.part, day) for one, (day, _) in placed)
    in_order = all(a[0] != b[0] or a[2] < b[2] for a, b in pairwise(rows))
    fits = all(used <= shed.day_minutes for used in bays.values())
    return in_order and fits and all(used <= shed.people * shed.day_minutes for used in people.values())


def price_of(found: SharedDays, blocks: Sequence[Block]) -> int:
    """What an answer costs, counted anew."""
    return sum(
        LEFT_OVER_PRICE * max(one.minutes, 1) if spot is None else abs((spot[0] - one.planned).days)
        for one, spot in zip(blocks, found.spots, strict=True)
    )


def least_of_all(blocks: Sequence[Block], days: Sequence[date], shed: Shed) -> int:
    """The cheapest of every answer there is, each looked at."""
    spots = [None, *((day, bay) for day in days for bay in range(shed.bays))]
    answers = (SharedDays(spots_, 0, 0) for spots_ in product(spots, repeat=len(blocks)))
    return min(price_of(one, blocks) for one in answers if keeps_the_rules(one, blocks, shed))


def drawn(seed: int, rigs: int, most_parts: int, span: int) -> tuple[list[Block], Shed]:
    """An invented yard; equal seeds give equal yards."""
    draw = Random(seed)
    blocks = []
    for rig in range(rigs):
        first = draw.randint(0, 1)
        for part in range(draw.randint(1, most_parts)):
            planned = min(span - 1, first + part + draw.randint(0, 1))
            blocks.append(
                block(f"rig {rig}", draw.choice((60, 120, 200, 300)), planned, part, draw.randint(0, 1), span - 1)
            )
    return blocks, Shed(draw.choice((1, 2)), draw.choice((1, 2)), draw.choice((240, 360)))


def test_room_for_all_moves_nothing() -> None:
    """A yard with room would have its rigs' days changed for no reason."""
    blocks = [block("a", 200, 1), block("b", 200, 1), block("a", 60, 3, part=1)]
    found = shared_days(blocks, DAYS, Shed(2, 2, 480))
    assert found.cost == 0 and found.is_best
    assert [spot[0] for spot in found.spots if spot] == [DAYS[1], DAYS[1], DAYS[3]]


def test_parts_and_departure_bind() -> None:
    """A rig would be opened before its parts are there, or stand apart on the day it leaves. By hand: days 5 and 4."""
    blocks = [block("a", 300, 2, ready=5, latest=5), block("b", 300, 5, latest=5)]
    found = shared_days(blocks, DAYS, Shed(1, 1, 480))
    assert [spot and spot[0] for spot in found.spots] == [DAYS[5], DAYS[4]]
    assert found.cost == 4 and found.is_best


def test_too_much_work_is_left_over_and_said() -> None:
    """A day would be promised to more work than it holds. By hand: 480 minutes take two of three blocks of 200."""
    blocks = [block(name, 200, 0, latest=0) for name in "abc"]
    found = shared_days(blocks, DAYS, Shed(2, 1, 480))
    assert sum(spot is None for spot in found.spots) == 1 and found.cost == 200 * LEFT_OVER_PRICE and found.is_best


def test_longer_than_a_day_finds_no_place() -> None:
    """A block that no day can hold would be put on one."""
    assert shared_days([block("a", 500, 0)], DAYS, Shed(1, 2, 480)).spots == (None,)


def test_a_day_outside_is_no_day() -> None:
    """The price of a day on which the rig may not stand there would be counted."""
    one = block("a", 60, 3, ready=2, latest=4)
    assert [cost_of_day(one, day) for day in DAYS[1:6]] == [None, 1, 0, 1, None]


@pytest.mark.parametrize("seed", range(40))
def test_small_yards_against_every_answer(seed: int) -> None:
    """The search would leave days on the table, or its bound would promise too much."""
    blocks, shed = drawn(seed, 2, 2, 3)
    found = shared_days(blocks, DAYS[:3], shed)
    assert keeps_the_rules(found, blocks, shed)
    assert price_of(found, blocks) == found.cost
    assert found.bound <= found.cost == least_of_all(blocks, DAYS[:3], shed)
    assert found.is_best


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(3))
def test_larger_yards_against_a_second_solver(seed: int) -> None:
    """On yards too large to look at every answer the bound could lie above what another solver reaches."""
    cp_model = pytest.importorskip("ortools.sat.python.cp_model")
    blocks, shed = drawn(100 + seed, 9, 2, 6)
    days = DAYS[:6]
    found = shared_days(blocks, days, shed)
    assert keeps_the_rules(found, blocks, shed) and price_of(found, blocks) == found.cost
    best = second_answer(cp_model, blocks, days, shed)
    assert found.bound <= best <= found.cost
    assert found.cost <= best + 4, "a few days moved more than the best possible"


def second_answer(cp_model: object, blocks: Sequence[Block], days: Sequence[date], shed: Shed) -> int:
    """The least cost by a solver of another make (CP-SAT)."""
    model = cp_model.CpModel()  # type: ignore[attr-defined]
    at = {
        (i, d, b): model.new_bool_var("") for i, one in enumerate(blocks) for d, day in enumerate(days)
        for b in range(shed.bays) if cost_of_day(one, day) is not None and one.minutes <= shed.day_minutes
    }  # fmt: skip
    own = {i: [key for key in at if key[0] == i] for i in range(len(blocks))}
    for i in own:
        model.add(sum(at[key] for key in own[i]) <= 1)
    for d in range(len(days)):
        for b in range(shed.bays):
            model.add(sum(blocks[k[0]].minutes * at[k] for k in at if k[1:] == (d, b)) <= shed.day_minutes)
        model.add(sum(blocks[k[0]].minutes * at[k] for k in at if k[1] == d) <= shed.people * shed.day_minutes)
    for i, one in enumerate(blocks):
        for j, other in enumerate(blocks):
            if one.rig == other.rig and one.part < other.part:
                for k in own[i]:
                    for m in own[j]:
                        if k[1] >= m[1]:
                            model.add(at[k] + at[m] <= 1)
    left = sum(LEFT_OVER_PRICE * one.minutes * (1 - sum(at[k] for k in own[i])) for i, one in enumerate(blocks))
    moved = sum((cost_of_day(blocks[k[0]], days[k[1]]) or 0) * var for k, var in at.items())
    model.minimize(left + moved)
    solver = cp_model.CpSolver()  # type: ignore[attr-defined]
    solver.parameters.num_workers, solver.parameters.max_time_in_seconds = 1, 20
    assert solver.solve(model) == cp_model.OPTIMAL  # type: ignore[attr-defined]
    return round(solver.objective_value)


def test_equal_yards_give_equal_days() -> None:
    """The same yard would be told other days on another morning; the order of the list must not matter to the cost."""
    blocks, shed = drawn(7, 8, 2, 6)
    assert shared_days(blocks, DAYS[:6], shed) == shared_days(blocks, DAYS[:6], shed)
    assert shared_days(blocks[::-1], DAYS[:6], shed).bound <= shared_days(blocks, DAYS[:6], shed).cost
