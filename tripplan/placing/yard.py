"""Shared days: which rig stands in which bay on which day before it leaves, where a yard looks after many.

A block is the work that one rig's own plan puts on one of its days at home. It goes to a day not
before its parts are there and not after the rig leaves, into a bay with minutes left, and the day
must have the people. The blocks of one rig keep their order, each on a day of its own. What is
paid is days moved away from the rig's own plan; a block that finds no place costs more than any
move. Whole numbers, no clock, no chance: equal inputs give equal days.
"""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

LEFT_OVER_PRICE = 100_000
"""In days moved, for each minute of work without a place. Judgement: first all the work, then the fewest moves."""
MOST_NODES = 40_000
MOST_ROUNDS = 12
BOUND_ROUNDS = 120
NOWHERE = None
Spot = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Shed:
    """What the shed has on each day it is open: bays, people, benches, and the minutes each of them gives."""

    bays: int
    people: int
    day_minutes: int
    benches: int = 1


@dataclass(frozen=True, slots=True)
class Block:
    """One rig's work of one day: its minutes, its day by the rig's own plan, and the days it may move to."""

    rig: str
    part: int
    minutes: int
    planned: date
    ready: date
    latest: date


@dataclass(frozen=True, slots=True)
class SharedDays:
    """The answer: for each block its day and bay, or None; what that costs, and what no answer can go below."""

    spots: tuple[tuple[date, int] | None, ...]
    cost: int
    bound: int

    @property
    def is_best(self) -> bool:
        """True when no other answer can cost less."""
        return self.cost <= self.bound


@dataclass(slots=True)
class _Table:
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
        bound = max(bound, _search(table))
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
        dear = [
            at
            for at in range(len(table.blocks))
            if table.cost_of(at) > min(table.costs[at].values(), default=table.left_over[at])
        ]
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
    """What no answer can cost less than: minutes priced by the day, bays and order left out.

    For any prices of a minute, each block's cheapest day at those prices less what all minutes
    are worth is below every answer. The prices rise where a day is asked for more than it has.
    """
    if not table.blocks or not table.days:
        return sum(table.left_over)
    far = np.array(table.left_over, dtype=float)
    costs = np.full((len(table.blocks), len(table.days)), np.inf)
    for at, of_block in enumerate(table.costs):
        for day, cost in of_block.items():
            costs[at, day] = cost
    minutes = np.array([block.minutes for block in table.blocks], dtype=float)
    room = float(min(shed.people, shed.bays) * shed.day_minutes)
    price, best, target = np.zeros(len(table.days)), 0.0, float(table.cost)
    for turn in range(BOUND_ROUNDS):
        priced = costs + price * minutes[:, None]
        spot = priced.argmin(axis=1)
        low = priced[np.arange(len(spot)), spot]
        best = max(best, float(np.minimum(low, far).sum() - price.sum() * room))
        asked = np.bincount(spot[low < far], weights=minutes[low < far], minlength=len(price)) - room
        size = float((asked**2).sum())
        if size == 0 or best >= target:
            break
        now = float(np.minimum(low, far).sum() - price.sum() * room)
        price = np.maximum(price + 1.5 / (1 + turn / 20) * (target - now) / size * asked, 0.0)
    return int(np.ceil(best - 1e-6))


def _search(table: _Table) -> int:
    """Every answer of a small case, the dear ones cut off early; what was found is put, what is proven given.

    Where there are too many answers to look at, nothing is proven and 0 is given.
    """
    order = sorted(range(len(table.blocks)), key=lambda at: (len(table.costs[at]), -table.blocks[at].minutes, at))
    least = [min(table.costs[at].values(), default=table.left_over[at]) for at in order]
    rest = [sum(least[turn:]) for turn in range(len(order) + 1)]
    best, found, nodes = table.cost, list(table.spots), 0
    for at in order:
        table.take(at)

    def deeper(turn: int, cost: int) -> bool:
        nonlocal best, found, nodes
        nodes += 1
        if nodes > MOST_NODES:
            return False
        if cost + rest[turn] >= best:
            return True
        if turn == len(order):
            best, found = cost, list(table.spots)
            return True
        at = order[turn]
        for price, spot in _choices(table, at):
            if spot is not None:
                table.put(at, spot)
            whole = deeper(turn + 1, cost + price)
            table.take(at)
            if not whole:
                return False
        return True

    is_whole = len(order) <= 200 and deeper(0, 0)
    for at, spot in enumerate(found):
        if spot is not None:
            table.put(at, spot)
    return best if is_whole else 0


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
