"""Shared days: which rig stands in which bay on which day before it leaves, where a yard looks after many.

A block is the work that one rig's own plan puts on one of its days at home. It goes to a day not
before its parts are there and not after the rig leaves, into a bay with minutes left, and the day
must have the people. The blocks of one rig keep their order, each on a day of its own. What is
paid is days moved away from the rig's own plan; a block that finds no place costs more than any
move. Whole numbers, no clock, no chance: equal inputs give equal days.
"""

import itertools
from collections.abc import Sequence
from datetime import date
from typing import Any

import numpy as np
from msgspec import Struct

from tripplan.placing.solver import solved

LEFT_OVER_PRICE = 100_000
"""In days moved, for each minute of work without a place. Judgement: first all the work, then the fewest moves."""
MOST_NODES = 40_000
MOST_ROUNDS, MOST_BLOCKS = 12, 200
WIDTHS, MOST_IN_A_WINDOW, NODES_A_WINDOW = (2, 4, 7), 10, 1500
NOWHERE = None
Spot = tuple[int, int]


class Shed(Struct, frozen=True):
    """What the shed has on each day it is open: bays, people, benches, and the minutes each of them gives."""

    bays: int
    people: int
    day_minutes: int
    benches: int = 1


class Block(Struct, frozen=True):
    """One rig's work of one day: its minutes, its day by the rig's own plan, and the days it may move to."""

    rig: str
    part: int
    minutes: int
    planned: date
    ready: date
    latest: date


class SharedDays(Struct, frozen=True):
    """The answer: for each block its day and bay, or None; what that costs, and what no answer can go below."""

    spots: tuple[tuple[date, int] | None, ...]
    cost: int
    bound: int

    @property
    def is_best(self) -> bool:
        """True when no other answer can cost less."""
        return self.cost <= self.bound


class _Table(Struct):
    """The shed while it is filled: minutes left in each bay and of all people, and where each block stands."""

    blocks: tuple[Block, ...]
    days: tuple[date, ...]
    costs: tuple[dict[int, int], ...]
    left_over: tuple[int, ...]
    before: tuple[int | None, ...]
    after: tuple[int | None, ...]
    bay_left: list[list[int]]
    people_left: list[int]
    spots: list[Spot | None]

    def put(self, block: int, spot: Spot) -> None:
        self._move(block, spot, -self.blocks[block].minutes)
        self.spots[block] = spot

    def take(self, block: int) -> Spot | None:
        spot = self.spots[block]
        if spot is not None:
            self._move(block, spot, self.blocks[block].minutes)
        self.spots[block] = NOWHERE
        return spot

    def _move(self, block: int, spot: Spot, minutes: int) -> None:
        self.bay_left[spot[0]][spot[1]] += minutes
        self.people_left[spot[0]] += minutes

    def cost_of(self, block: int) -> int:
        spot = self.spots[block]
        return self.left_over[block] if spot is None else self.costs[block][spot[0]]

    def least_of(self, block: int) -> int:
        """What it would cost if it had the shed to itself."""
        return min(self.costs[block].values(), default=self.left_over[block])

    def cheapest_days(self, block: int) -> list[int]:
        """The days on which it would stand if it had the shed to itself."""
        least = self.least_of(block)
        return [day for day, cost in self.costs[block].items() if cost == least]

    @property
    def cost(self) -> int:
        return sum(map(self.cost_of, range(len(self.blocks))))

    def in_order(self, block: int, day: int) -> bool:
        """True when the rig's other blocks stand before and after that day as they must."""
        at = self.before[block]
        while at is not None:
            spot = self.spots[at]
            if spot is not None and spot[0] >= day:
                return False
            at = self.before[at]
        at = self.after[block]
        while at is not None:
            spot = self.spots[at]
            if spot is not None and spot[0] <= day:
                return False
            at = self.after[at]
        return True

    def bay_for(self, block: int, day: int) -> int | None:
        """The bay with the least room that takes the block on that day; None when none does."""
        minutes = self.blocks[block].minutes
        if self.people_left[day] < minutes or not self.in_order(block, day):
            return None
        fits = [(left, bay) for bay, left in enumerate(self.bay_left[day]) if left >= minutes]
        return min(fits)[1] if fits else None

    def best_spot(self, block: int) -> Spot | None:
        """The cheapest day that takes the block, the earlier of two alike."""
        for _, day in sorted((cost, day) for day, cost in self.costs[block].items()):
            if (bay := self.bay_for(block, day)) is not None:
                return day, bay
        return NOWHERE


def shared_days(blocks: Sequence[Block], days: Sequence[date], shed: Shed) -> SharedDays:
    """A day and a bay for each block, or none; `days` are those on which the shed is open."""
    table = _table(blocks, days, shed)
    _in_turn(table)
    _improve(table)
    bound = _bound(table, shed)
    if table.cost > bound:
        _by_window(table)
    if bound < table.cost and len(blocks) <= MOST_BLOCKS and _rearranged(table, range(len(blocks)), MOST_NODES):
        bound = table.cost
    spots = tuple(None if spot is None else (table.days[spot[0]], spot[1]) for spot in table.spots)
    return SharedDays(spots, table.cost, min(bound, table.cost))


def cost_of_day(block: Block, day: date) -> int | None:
    """Days moved from the rig's own plan; None for a day on which it may not stand there."""
    return abs((day - block.planned).days) if block.ready <= day <= block.latest else None


def _table(blocks: Sequence[Block], days: Sequence[date], shed: Shed) -> _Table:
    opened = tuple(sorted(set(days)))
    costs = tuple(
        {at: cost for at, day in enumerate(opened) if (cost := cost_of_day(block, day)) is not None}
        if block.minutes <= shed.day_minutes else {}
        for block in blocks
    )  # fmt: skip
    before, after = _neighbours(blocks)
    return _Table(
        blocks=tuple(blocks), days=opened, costs=costs, before=before, after=after,
        left_over=tuple(LEFT_OVER_PRICE * max(block.minutes, 1) for block in blocks),
        bay_left=[[shed.day_minutes] * shed.bays for _ in opened],
        people_left=[shed.people * shed.day_minutes] * len(opened), spots=[NOWHERE] * len(blocks),
    )  # fmt: skip


def _neighbours(blocks: Sequence[Block]) -> tuple[tuple[int | None, ...], tuple[int | None, ...]]:
    of_rig: dict[str, list[int]] = {}
    for at in sorted(range(len(blocks)), key=lambda at: blocks[at].part):
        of_rig.setdefault(blocks[at].rig, []).append(at)
    before: list[int | None] = [None] * len(blocks)
    after: list[int | None] = [None] * len(blocks)
    for own in of_rig.values():
        for one, other in itertools.pairwise(own):
            after[one], before[other] = other, one
    return tuple(before), tuple(after)


def _in_turn(table: _Table) -> None:
    """Each block to its cheapest day: who leaves first goes first, then who has the fewest days, the longest first."""

    def key(at: int) -> tuple[date, int, int, str, int]:
        block = table.blocks[at]
        return block.latest, len(table.costs[at]), -block.minutes, block.rig, block.part

    for at in sorted(range(len(table.blocks)), key=key):
        if (spot := table.best_spot(at)) is not None:
            table.put(at, spot)


def _improve(table: _Table) -> None:
    """Move a block to a cheaper day, alone or with another one making room, until nothing gets cheaper."""
    for _ in range(MOST_ROUNDS):
        dear = [at for at in range(len(table.blocks)) if table.cost_of(at) > table.least_of(at)]
        if not any([_moved(table, at) for at in sorted(dear, key=lambda at: (-table.cost_of(at), at))]):
            return


def _moved(table: _Table, block: int) -> bool:
    was = table.cost_of(block)
    old = table.take(block)
    spot = table.best_spot(block)
    if spot is not None and table.costs[block][spot[0]] < was:
        table.put(block, spot)
        return True
    if old is not None:
        table.put(block, old)
    return _pushed(table, block)


def _pushed(table: _Table, block: int) -> bool:
    """The block in place of another one, which finds a day of its own, where both together cost less."""
    was = table.cost_of(block)
    for day in sorted(table.costs[block], key=lambda day: (table.costs[block][day], day)):
        if table.costs[block][day] >= was:
            return False
        for other in [at for at, spot in enumerate(table.spots) if spot is not None and spot[0] == day and at != block]:
            if _swapped(table, block, other, day):
                return True
    return False


def _swapped(table: _Table, block: int, other: int, day: int) -> bool:
    was = table.cost_of(block) + table.cost_of(other)
    old, others = table.take(block), table.take(other)
    bay = table.bay_for(block, day)
    if bay is not None:
        table.put(block, (day, bay))
        spot = table.best_spot(other)
        now = table.costs[block][day] + (table.left_over[other] if spot is None else table.costs[other][spot[0]])
        if now < was:
            if spot is not None:
                table.put(other, spot)
            return True
        table.take(block)
    if others is not None:
        table.put(other, others)
    if old is not None:
        table.put(block, old)
    return False


def _bound(table: _Table, shed: Shed) -> int:
    """What no answer can cost less than: blocks may be cut, and bays and the order of a rig's own blocks are left out.

    A solver takes that to its end; without one the cheapest day of each block stands for it.
    """
    least = sum(map(table.least_of, range(len(table.blocks))))
    if table.cost == least:
        return least
    relaxed = _relaxed(table, float(min(shed.people, shed.bays) * shed.day_minutes))
    return least if relaxed is None else max(least, int(np.ceil(relaxed * (1.0 - 1e-9) - 1e-6)))


def _relaxed(table: _Table, room: float) -> float | None:
    """The least cost of the linear programme; None without a solver or an end."""
    return solved(lambda highspy: _as_lp(table, room, highspy.HighsLp(), highspy.MatrixFormat.kColwise), {})


def _as_lp(table: _Table, room: float, lp: Any, by_column: Any) -> Any:
    """A share of each block for each of its days, and one for none: each block once, no day beyond its minutes."""
    days, cost, starts, rows, values = len(table.days), list[float](), [0], list[int](), list[float]()
    for at, of_block in enumerate(table.costs):
        for day, price in sorted(of_block.items()):
            cost.append(float(price))
            rows += [day, days + at]
            values += [float(table.blocks[at].minutes), 1.0]
            starts.append(len(rows))
        cost.append(float(table.left_over[at]))
        rows.append(days + at)
        values.append(1.0)
        starts.append(len(rows))
    blocks = len(table.blocks)
    lp.num_col_, lp.num_row_ = len(cost), days + blocks
    lp.col_cost_ = np.array(cost)
    lp.col_lower_, lp.col_upper_ = np.zeros(len(cost)), np.ones(len(cost))
    lp.row_lower_ = np.array([0.0] * days + [1.0] * blocks)
    lp.row_upper_ = np.array([room] * days + [1.0] * blocks)
    lp.a_matrix_.format_ = by_column
    lp.a_matrix_.start_ = np.array(starts, dtype=np.int32)
    lp.a_matrix_.index_ = np.array(rows, dtype=np.int32)
    lp.a_matrix_.value_ = np.array(values)
    return lp


def _rearranged(table: _Table, group: Sequence[int], most_nodes: int) -> bool:
    """Put these blocks anew as cheaply as can be, the others left where they are; True when nothing was left unlooked at.

    Every answer is looked at, dear ones cut off as soon as what is left could not make them cheap.
    """
    order = sorted(group, key=lambda at: (-table.blocks[at].minutes, len(table.costs[at]), at))
    least = list(map(table.least_of, order))
    rest = [sum(least[turn:]) for turn in range(len(order) + 1)]
    best, found = sum(map(table.cost_of, order)), [table.take(at) for at in order]
    now: list[Spot | None] = [NOWHERE] * len(order)
    nodes = 0

    def deeper(turn: int, cost: int) -> bool:
        nonlocal best, found, nodes
        nodes += 1
        if nodes > most_nodes:
            return False
        if cost + rest[turn] >= best:
            return True
        if turn == len(order):
            best, found = cost, list(now)
            return True
        for price, spot in _choices(table, order[turn]):
            if cost + price + rest[turn + 1] >= best:
                break
            if spot is not None:
                table.put(order[turn], spot)
            now[turn] = spot
            is_whole = deeper(turn + 1, cost + price)
            table.take(order[turn])
            if not is_whole:
                return False
        return True

    is_whole = deeper(0, 0)
    for at, spot in zip(order, found, strict=True):
        if spot is not None:
            table.put(at, spot)
    return is_whole


def _by_window(table: _Table) -> None:
    """Days next to each other rearranged together, few at first, until no window gets cheaper."""
    for _ in range(MOST_ROUNDS):
        before = table.cost
        for width in WIDTHS:
            for first in range(max(1, len(table.days) - width + 1)):
                group = _window(table, first, width)
                if group and sum(map(table.cost_of, group)) > sum(map(table.least_of, group)):
                    _rearranged(table, group, NODES_A_WINDOW)
        if table.cost == before:
            return


def _window(table: _Table, first: int, width: int) -> list[int]:
    """The blocks that stand on these days or would rather, the dearest first, as many as can be looked through."""
    days = range(first, first + width)
    found = [
        at
        for at, spot in enumerate(table.spots)
        if (spot is not None and spot[0] in days)
        or (table.cost_of(at) > table.least_of(at) and any(day in days for day in table.cheapest_days(at)))
    ]
    return sorted(found, key=lambda at: (table.least_of(at) - table.cost_of(at), at))[:MOST_IN_A_WINDOW]


def _choices(table: _Table, block: int) -> list[tuple[int, Spot | None]]:
    """Every day and bay that takes the block, bays alike once, the cheapest first; and none."""
    minutes, found = table.blocks[block].minutes, []
    for cost, day in sorted((cost, day) for day, cost in table.costs[block].items()):
        if table.people_left[day] >= minutes and table.in_order(block, day):
            room: dict[int, int] = {}
            for bay, left in enumerate(table.bay_left[day]):
                if left >= minutes:
                    room.setdefault(left, bay)
            found += [(cost, (day, bay)) for left, bay in sorted(room.items())]
    spots: list[tuple[int, Spot | None]] = [*found, (table.left_over[block], NOWHERE)]
    return spots
