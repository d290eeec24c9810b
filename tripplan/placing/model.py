"""The placement programme as arrays of whole numbers, cut into parts that only share minutes.

Every task is a path from its state today through its visits to the end of the trip. What
has to be open for a visit is paid once a site. Money is counted in thousandths of the
owner's currency and time in tenths of a minute, whole numbers all: they are kept in
floating-point arrays, where sums of whole numbers below 2^53 are exact in any order, so
that the same problem gives the same plan on any processor.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import TypeAlias

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from tripplan.records.grouped import grouped

Floats: TypeAlias = NDArray[np.float64]
Flags: TypeAlias = NDArray[np.bool_]
Numbers: TypeAlias = NDArray[np.intp]
Spot: TypeAlias = tuple[int, int]
"""An opening and a site."""
Spoilt: TypeAlias = tuple[int, tuple[int, ...]]
"""A task, and the openings that spoil what it did."""

NEVER = 1e12
"""More than any plan costs: what cannot be."""


class Looks(Struct, frozen=True):
    """Looks some km later: what needs the opening `by[i]` at site `at[i]` has number `to[i]` of the places as well.

    A place is the opening `what[n]` at site `there[n]`. Those at halts take `halt[n]` of the clocks behind the sites.
    They stand in the order of their places, those of place n from `first[n]` on.
    """

    by: Numbers
    at: Numbers
    to: Numbers
    what: Numbers
    there: Numbers
    halt: Floats
    first: Numbers

    def made(self, used: Flags) -> Flags:
        """Which places (plans, places) are looked at in each plan, for what is open in it (plans, openings, sites)."""
        if not len(self.what):
            return np.zeros((len(used), 0), dtype=bool)
        return np.asarray(np.logical_or.reduceat(used[:, self.by, self.at], self.first, axis=1))

    @property
    def places(self) -> list[Spot]:
        """The opening and site of each place."""
        return list(zip(self.what.tolist(), self.there.tolist(), strict=True))

    @property
    def brought(self) -> dict[Spot, list[Spot]]:
        """The places that each opening at a site brings."""
        places = self.places
        pairs = zip(self.by.tolist(), self.at.tolist(), self.to.tolist(), strict=True)
        return grouped(((by, at), places[to]) for by, at, to in pairs)


def times(left: Floats | Flags, right: Floats) -> Floats:
    """The matrix product row by row: small products, for which no second thread is woken."""
    return np.asarray(np.matmul(left.astype(np.float64)[:, None, :], right)[:, 0])


def looks_at(pairs: tuple[Numbers, Numbers, Numbers], places: tuple[Numbers, Numbers], halt: Floats) -> Looks:
    """The looks of these pairs (`by`, `at`, `to`) and places (`what`, `there`); each place has some."""
    order = np.argsort(pairs[2], kind="stable")
    by, at, to = (rows[order] for rows in pairs)
    return Looks(by, at, to, *places, halt, np.searchsorted(to, np.arange(len(places[0]))))


class Model(Struct, frozen=True):
    """Tasks t, sites s in time order, openings o, rows r that limit minutes.

    `labour[t, s]` and `spend[t, s]` are money and time of a visit, `NEVER` where there can be
    none. `need[t, o]` tells what a visit needs open; `open_cost` and `open_spend` what that takes.
    Left open in the night after site s it saves `keep_cost[o, s]`, `keep_here[o, s]` of that
    day's time and `keep_next[o, s]` of the next day's. `arc[t, p + 1, q]` is what waiting costs
    between two visits, or from today (p = -1) and to the end (q = number of sites); `again` is what a
    visit of its own costs besides, `NEVER` where it would come too soon after the last, and
    `more_spend[t, 0, s]` the time that the first visit takes besides, `[t, 1, s]` any later one, or any
    renewal where `along[t]` holds. `covers[t]`
    are the tasks that do t on the way, where `counts[t, s]` holds. Clocks are those of the sites, then
    those of halts; clock k uses `rows[k, r]` of `room[r]`. The first time anything is done at a site it also takes the fee.
    Each of `spoilt` is a task and openings: at the first `home` sites its visits count twice where one of those is opened
    at a later one of them.
    """

    labour: Floats
    spend: Floats
    need: Flags
    open_cost: Floats
    open_spend: Floats
    keep_cost: Floats
    keep_here: Floats
    keep_next: Floats
    arc: Floats
    again: Floats
    more_spend: Floats
    along: Flags
    looks: Looks
    covers: tuple[tuple[int, ...], ...]
    counts: Flags
    rows: Floats
    room: Floats
    fee_cost: Floats
    fee_spend: Floats
    home: int
    spoilt: tuple[Spoilt, ...]

    @property
    def sites(self) -> int:
        """How many sites there are."""
        return int(self.labour.shape[1])

    @property
    def fee_rows(self) -> Floats:
        """What the fee of each site takes of the rows of minutes."""
        return np.asarray(self.fee_spend[:, None] * self.rows[: self.sites])


class Part(Struct, frozen=True):
    """Tasks that hang together by an opening or a covering, cut out of the model.

    `tasks` and `openings` are numbers in the model; the first `asked` openings are those that tasks need themselves,
    behind them stand places of looks alone. `levels` are its tasks in covering order: whoever covers stands in an earlier level.
    `leaves` are the ladders that some task asks for: each as a row of openings; `mirrored` are
    pairs of them that cost the same, such as the two sides of an axle.
    """

    tasks: Numbers
    openings: Numbers
    asked: int
    model: Model
    levels: tuple[Numbers, ...]
    leaves: Flags
    cover: Flags
    mirrored: tuple[tuple[int, int], ...]


class Plans(Struct, frozen=True):
    """Several plans of one part: who is visited where, what that costs and takes of each site."""

    own: Flags
    cost: Floats
    spend: Floats

    @property
    def uses(self) -> Flags:
        """Which sites each plan works at."""
        return np.asarray(self.own.any(axis=1))

    def take(self, keep: Numbers | Flags) -> "Plans":
        """Those plans alone."""
        return Plans(self.own[keep], self.cost[keep], self.spend[keep])


def joined_plans(several: Sequence[Plans]) -> Plans:
    """All plans of several lists in one, each once."""
    own = np.concatenate([plans.own for plans in several])
    cost = np.concatenate([plans.cost for plans in several])
    spend = np.concatenate([plans.spend for plans in several])
    keep = _firsts(own)
    return Plans(own[keep], cost[keep], spend[keep])


def each_once(own: Flags) -> Flags:
    """The visits of several plans, each once, in their order."""
    return np.asarray(own[_firsts(own)])


def _firsts(own: Flags) -> Numbers:
    """Where each plan stands for the first time."""
    packed = np.packbits(own.reshape(len(own), -1), axis=1)
    size, whole = packed.shape[1], packed.tobytes()
    rows = [whole[at : at + size] for at in range(0, len(whole), size)]
    first = dict(zip(reversed(rows), range(len(rows) - 1, -1, -1), strict=True))
    return np.array(sorted(first.values()), dtype=np.intp)


def places(flags: Flags) -> tuple[Numbers, ...]:
    """Where flags stand, an array a dimension: `np.nonzero`, in a third of the time."""
    return np.unravel_index(np.flatnonzero(flags), flags.shape)


def linked(count: int, ties: Iterable[Sequence[int]]) -> list[list[int]]:
    """All numbers below `count` in groups: two are in one group when ties lead from one to the other."""
    group_of = {index: [index] for index in range(count)}
    for tie in ties:
        for other in tie[1:]:
            small, large = sorted((group_of[tie[0]], group_of[other]), key=len)
            if small is not large:
                large += small
                group_of.update(dict.fromkeys(small, large))
    return sorted({id(group): sorted(group) for group in group_of.values()}.values())


def ties_of(model: Model) -> list[list[int]]:
    """Tasks of which one does another on the way, or spoils what it did."""
    spoilers = [[t, *np.flatnonzero(model.need[:, list(by)].any(axis=1)).tolist()] for t, by in model.spoilt]
    return [[t, *covers] for t, covers in enumerate(model.covers) if covers] + spoilers


def parts_of(model: Model) -> tuple[Part, ...]:
    """The model cut into parts that have nothing in common but the minutes of the sites."""
    need = model.need.copy()
    for by, to in zip(model.looks.by, model.looks.to, strict=True):
        need[:, model.looks.what[to]] |= model.need[:, by]
    users = [np.flatnonzero(need[:, o]).tolist() for o in range(need.shape[1])]
    ties = [tie for tie in users if len(tie) > 1]
    ties += ties_of(model)
    return tuple(part_of(model, np.array(group, dtype=np.intp)) for group in linked(len(model.labour), ties))


def whole_of(model: Model) -> Part:
    """All tasks as one part, in their order."""
    return part_of(model, np.arange(len(model.labour), dtype=np.intp))


def with_minutes_of(model: Model, part: Part) -> Part:
    """The part of a model that differs from this one in nothing but the minutes there are, as a part of this one."""
    labour, again = model.labour[part.tasks], model.again[part.tasks]
    return replace(part, model=replace(part.model, labour=labour, again=again, rows=model.rows, room=model.room))


def part_of(model: Model, tasks: Numbers) -> Part:
    """These tasks alone, with the openings they need; whoever covers one of them is among them."""
    asked: Flags = np.asarray(model.need[tasks].any(axis=0))
    pairs, brought = np.flatnonzero(asked[model.looks.by]), np.zeros_like(asked)
    brought[model.looks.what[model.looks.to[pairs]]] = True
    used = np.concatenate([np.flatnonzero(asked), np.flatnonzero(brought & ~asked)])
    number = {int(t): i for i, t in enumerate(tasks)}
    covers = tuple(tuple(number[c] for c in model.covers[t]) for t in tasks)
    small = Model(
        labour=model.labour[tasks], spend=model.spend[tasks], need=model.need[np.ix_(tasks, used)],
        open_cost=model.open_cost[used], open_spend=model.open_spend[used], keep_cost=model.keep_cost[used],
        keep_here=model.keep_here[used], keep_next=model.keep_next[used], arc=model.arc[tasks],
        again=model.again[tasks], more_spend=model.more_spend[tasks], along=model.along[tasks],
        looks=_some_looks(model.looks, pairs, used), covers=covers,
        counts=model.counts[tasks], rows=model.rows, room=model.room, fee_cost=model.fee_cost,
        fee_spend=model.fee_spend, home=model.home, spoilt=_some_spoilt(model.spoilt, number, used),
    )  # fmt: skip
    cover = np.zeros((len(tasks), len(tasks)), dtype=bool)
    for t, others in enumerate(covers):
        cover[t, list(others)] = True
    rows = sorted({row.tobytes() for row in small.need if row.any()})
    leaves = np.frombuffer(b"".join(rows), dtype=bool).reshape(len(rows), len(used))
    cost = leaves.astype(np.float64) @ small.open_cost
    size = leaves.sum(axis=1)
    same = (cost[:, None] == cost).all(axis=2) & (size[:, None] == size)
    alike = tuple((int(i), int(j)) for i, j in np.argwhere(np.triu(same, 1)))
    return Part(tasks, used, int(asked.sum()), small, _levels(covers), leaves, cover, alike)


def _some_looks(looks: Looks, pairs: Numbers, used: Numbers) -> Looks:
    """These pairs alone, with openings numbered anew."""
    places = np.flatnonzero(np.bincount(looks.to[pairs]))
    number, place = (np.zeros(1 + int(old.max(initial=0)), dtype=np.intp) for old in (used, places))
    number[used], place[places] = np.arange(len(used)), np.arange(len(places))
    some = (number[looks.by[pairs]], looks.at[pairs], place[looks.to[pairs]])
    return looks_at(some, (number[looks.what[places]], looks.there[places]), looks.halt[places])


def _some_spoilt(spoilt: Sequence[Spoilt], number: Mapping[int, int], used: Numbers) -> tuple[Spoilt, ...]:
    """Those of these tasks alone, with tasks and openings numbered anew."""
    spot = {opening: n for n, opening in enumerate(used.tolist())} if spoilt else {}
    some = ((number[t], tuple(spot[o] for o in by if o in spot)) for t, by in spoilt if t in number)
    return tuple((t, by) for t, by in some if by)


def _levels(covers: Sequence[Sequence[int]]) -> tuple[Numbers, ...]:
    if not any(covers):
        return (np.arange(len(covers)),)
    level: dict[int, int] = {}
    left = set(range(len(covers)))
    while left:
        ready = {t for t in left if all(c in level for c in covers[t])}
        depth = {t: 1 + max((level[c] for c in covers[t]), default=-1) for t in ready}
        level.update(depth)
        left -= ready
    deepest = max(level.values(), default=0)
    return tuple(np.array([t for t in sorted(level) if level[t] == d], dtype=np.intp) for d in range(deepest + 1))
