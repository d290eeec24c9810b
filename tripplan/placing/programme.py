"""A part of the placement as a linear programme in whole numbers, whose relaxation is nearly whole already.

Columns are visits, openings, what is kept open overnight, and each task's path through the sites; rows hold them
together. Some rows say nothing new of whole numbers and tighten the relaxation: what two tasks that are never done at
one place both need is open for both at once; whoever comes into a run of days opens it once there.
"""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from msgspec import Struct, field

from tripplan.placing.descent import opening_prices
from tripplan.placing.model import NEVER, Flags, Floats, Model, Numbers, Part, Spot
from tripplan.records.grouped import grouped

Columns = dict[Spot, int]
Places = dict[Spot, list[Spot]]


class Programme(Struct):
    """Columns from 0 to 1 with cost and kind; rows with bounds. Minimised."""

    cost: list[float] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    row_lower: list[float] = field(default_factory=list)
    row_upper: list[float] = field(default_factory=list)
    starts: list[int] = field(default_factory=lambda: [0])
    columns: list[int] = field(default_factory=list)
    values: list[float] = field(default_factory=list)

    def column(self, cost: float = 0.0, whole: bool = False) -> int:
        """A new column; its index."""
        self.cost.append(float(cost))
        self.whole.append(whole)
        return len(self.cost) - 1

    def some(self, cost: Floats) -> range:
        """New columns that need not be whole; their indices."""
        first = len(self.cost)
        self.cost += cost.tolist()
        self.whole += [False] * len(cost)
        return range(first, len(self.cost))

    def row(
        self, more: Sequence[int], less: Sequence[int] = (), lower: float = -np.inf, upper: float = np.inf
    ) -> None:  # fmt: skip
        """A new row: lower <= sum of the columns `more`, those of `less` taken off <= upper."""
        self.columns += more
        self.columns += less
        self.values += [1.0] * len(more)
        self.values += [-1.0] * len(less)
        self._end(lower, upper)

    def weighted(self, terms: Mapping[int, float], upper: float) -> None:
        """A new row: sum of value x column <= upper."""
        self.columns += terms.keys()
        self.values += terms.values()
        self._end(-np.inf, upper)

    def _end(self, lower: float, upper: float) -> None:
        self.starts.append(len(self.columns))
        self.row_lower.append(lower)
        self.row_upper.append(upper)


class Way(Struct, frozen=True):
    """The steps of one task's path that end in a renewal: from node p (0 = today) to site q, by its own visit or not.

    `shared[q]` are the openings that whoever renews it on the way at site q needs in any case.
    """

    start: Numbers
    site: Numbers
    by_own: Flags
    column: Numbers
    shared: Flags


class Visits(Struct, frozen=True):
    """Columns of visits (task, site) and of openings (opening, site), and the places of looks that openings bring."""

    own: Columns
    opened: Columns
    places: Places

    def spots(self, opening: int, site: int) -> list[Spot]:
        """Where the opening of a site is paid: there, or where the look falls that it stands for."""
        return self.places.get((opening, site), [(opening, site)])


def part_programme(part: Part, price: Floats, fee: Floats, limited: bool) -> Programme:
    """The programme of one part: paths, openings paid once a site, what stays open overnight.

    `limited` adds the minutes there are. Its first columns are the visits, task by task, site by site.
    """
    model, out = part.model, Programme()
    tasks, sites = model.labour.shape
    worth = model.labour + model.spend * price[:sites]
    own = {(t, s): out.column(worth[t, s], whole=True) for t, s in np.argwhere(model.labour < NEVER).tolist()}
    visits = Visits(own, {}, model.looks.brought)
    cost = opening_prices(model, price)
    for t, s in own:
        for o in np.flatnonzero(model.need[t]).tolist():
            for spot in visits.spots(o, s):
                if spot not in visits.opened:
                    visits.opened[spot] = out.column(cost[spot], whole=True)
    again = again_prices(model, price)
    turns: list[dict[int, float]] = [{} for _ in range(sites)]
    ways = [_path(model, t, again[t], visits, turns, out) for t in range(tasks)]
    openers = _opened(model, visits, out)
    kept = _nights(model, visits, openers, price, out)
    _runs(model, ways, visits, kept, out)
    _looks_once(model, ways, visits, out)
    worked: dict[int, int] = {}
    for s, there in grouped((s, column) for (_, s), column in own.items()).items():
        worked[s] = out.column(fee[s], whole=True)
        for column in there:
            out.row([worked[s]], [column], lower=0.0)
    if limited:
        _minutes(model, visits, turns, kept, worked, out)
    return out


def again_prices(model: Model, price: Floats) -> Floats:
    """What a visit costs besides by where its item was renewed last, the time it takes besides in it."""
    again, clock = model.again.copy(), price[: model.sites]
    again[:, 0, :-1] += model.more_spend[:, 0] * clock
    again[:, 1:, :-1] += (model.more_spend[:, 1] * clock)[:, None]
    return np.asarray(np.minimum(again, NEVER))


def _path(
    model: Model, t: int, again: Floats, visits: Visits, turns: Sequence[dict[int, float]], out: Programme
) -> Way:
    """One unit of flow from today to the end; covered sites are passed where a coverer is at work."""
    sites, able, arc = model.sites, model.labour[t] < NEVER, model.arc[t]
    coverers = [[c for c in model.covers[t] if (c, s) in visits.own and model.counts[t, s]] for s in range(sites)]
    passed = np.array([bool(some) for some in coverers], dtype=bool)
    can = np.triu(arc < NEVER) & np.concatenate([[True], able | passed])[:, None]
    p, q = np.nonzero(can[:, :-1] & able & (again[:, :-1] < NEVER))
    over, through = np.nonzero(can[:, :-1] & passed)
    ends = np.flatnonzero(can[:, sites])
    start, site = np.concatenate([p, over]), np.concatenate([q, through])
    columns = out.some(np.concatenate([arc[p, q] + again[p, q], arc[over, through], arc[ends, sites]]))
    shared = np.array([np.logical_and.reduce(model.need[some]) if some else model.need[t] & False for some in coverers])
    way = Way(start, site, np.arange(len(start)) < len(p), np.array(columns[: len(start)], dtype=np.intp), shared)
    leave = grouped(zip([*start.tolist(), *ends.tolist()], columns, strict=True))
    into = grouped(zip(zip(site.tolist(), way.by_own.tolist(), strict=True), columns, strict=False))
    out.row(leave[0], lower=1.0, upper=1.0)
    for s in range(sites):
        mine, others = into.get((s, True), []), into.get((s, False), [])
        if mine or others or s + 1 in leave:
            out.row([*mine, *others], leave.get(s + 1, []), 0.0, 0.0)
        if able[s]:
            out.row(mine, [visits.own[(t, s)]], 0.0, 0.0)
        if coverers[s]:
            _covered(model, visits, (t, s), coverers[s], (mine, others), out)
    for column, p_, q_, mine_ in zip(columns, start.tolist(), site.tolist(), way.by_own.tolist(), strict=False):
        if model.more_spend[t].any() and (mine_ or model.along[t]):
            turns[q_][column] = float(model.more_spend[t, min(p_, 1), q_])
    return way


def _covered(
    model: Model, visits: Visits, at: Spot, coverers: Sequence[int], into: tuple[list[int], list[int]], out: Programme
) -> None:
    """Where a task is done on the way: its path comes through, and it is not visited besides.

    However it is renewed here, what all its renewers open is open.
    """
    (t, s), (mine, others), own = at, into, visits.own
    by = [own[(c, s)] for c in coverers]
    if others:
        out.row(others, by, upper=0.0)
    for visit in by:
        out.row([*mine, *others], [visit], lower=0.0)
        if at in own:
            out.row([own[at], visit], upper=1.0)
    for o in np.flatnonzero(np.logical_and.reduce(model.need[coverers])).tolist():
        through = [*others, *mine] if model.need[t, o] else others
        for spot in visits.spots(o, s):
            if through:
                out.row([visits.opened[spot]], through, lower=0.0)


def _opened(model: Model, visits: Visits, out: Programme) -> dict[Spot, list[int]]:
    """What a visit needs is open, at once for visits of which one place sees one at the most; the visits that open each spot."""
    alone: dict[Spot, set[tuple[int, ...]]] = {}
    openers: dict[Spot, dict[int, None]] = {}
    for (t, s), column in visits.own.items():
        chain = [t]
        for c in sorted(model.covers[t], key=lambda c: -len(model.covers[c])):
            if (c, s) in visits.own and all(c in model.covers[other] or other in model.covers[c] for other in chain):
                chain.append(c)
        for o in np.flatnonzero(model.need[t]).tolist():
            apart = tuple(sorted(visits.own[(c, s)] for c in chain if model.need[c, o]))
            for spot in visits.spots(o, s):
                alone.setdefault(spot, set()).add(apart)
                openers.setdefault(spot, {})[column] = None
    for spot, several in alone.items():
        for apart in sorted(several):
            if not any(len(apart) < len(other) and set(apart) < set(other) for other in several):
                out.row([visits.opened[spot]], apart, lower=0.0)
    return {spot: list(columns) for spot, columns in openers.items()}


def _nights(
    model: Model, visits: Visits, openers: Mapping[Spot, Sequence[int]], price: Floats, out: Programme
) -> Columns:
    """What is kept open overnight for work on both days; nothing is opened in order to keep it so."""
    kept: Columns = {}
    opened = visits.opened
    for (o, s), column in list(opened.items()):
        if s + 1 < model.sites and model.keep_cost[o, s] > 0 and (o, s + 1) in opened:
            saved = model.keep_cost[o, s] + model.keep_here[o, s] * price[s] + model.keep_next[o, s] * price[s + 1]
            kept[(o, s)] = out.column(-saved)
            out.row([kept[(o, s)]], [column], upper=0.0)
            out.row([kept[(o, s)]], [opened[(o, s + 1)]], upper=0.0)
            for at in (s, s + 1):
                if (
                    saved >= out.cost[opened[(o, at)]]
                ):  # it would pay to open it for that alone, or move minutes to another day
                    out.row([kept[(o, s)]], openers[(o, at)], upper=0.0)
    return kept


def _runs(model: Model, ways: Sequence[Way], visits: Visits, kept: Columns, out: Programme) -> None:
    """Whatever is come to in days on end lies in a run of days kept open, each opened once: it tightens the relaxation."""
    for o, nights in grouped(sorted(kept)).items():
        for block in np.split(np.array(nights), np.flatnonzero(np.diff(nights) > 1) + 1):
            days = range(int(block[0]), int(block[-1]) + 2)
            runs = [visits.opened[(o, s)] for s in days]
            for t, way in enumerate(ways):
                if entering := _entering(model, t, way, o, days):
                    out.row(runs, [*(kept[(o, s)] for s in days[:-1]), *entering], lower=0.0)


def _looks_once(model: Model, ways: Sequence[Way], visits: Visits, out: Programme) -> None:
    """What is come to in places on end that bring one look brings it once: it tightens the relaxation."""
    looks = model.looks
    brought = grouped(zip(zip(looks.by.tolist(), looks.to.tolist(), strict=True), looks.at.tolist(), strict=True))
    for (by, to), at in brought.items():
        spot, days = looks.places[to], range(min(at), max(at) + 1)
        if len(at) > 1 and len(at) == len(days) and spot in visits.opened:
            for t, way in enumerate(ways):
                if entering := _entering(model, t, way, by, days):
                    out.row([visits.opened[spot]], entering, lower=0.0)


def _entering(model: Model, t: int, way: Way, opening: int, days: range) -> list[int]:
    """The steps by which a task comes to its first renewal within these days, where that needs the opening in any case."""
    inside = (way.start <= days[0]) & (way.site >= days[0]) & (way.site <= days[-1])
    has = np.where(way.by_own, model.need[t, opening], way.shared[way.site, opening])
    return list(way.column[inside & has].tolist())


def _minutes(
    model: Model, visits: Visits, turns: Sequence[Mapping[int, float]], kept: Columns, worked: Mapping[int, int], out: Programme
) -> None:  # fmt: skip
    """The minutes there are, row by row of the model."""
    halts = list(zip(model.looks.places, model.looks.halt, strict=True))
    takes: list[dict[int, float]] = [dict(turn) for turn in turns]
    for (t, s), column in visits.own.items():
        takes[s][column] = float(model.spend[t, s])
    for (o, s), column in visits.opened.items():
        takes[s][column] = float(model.open_spend[o, s])
    for s, column in worked.items():
        takes[s][column] = float(model.fee_spend[s])
    for (o, night), column in kept.items():
        takes[night][column] = -float(model.keep_here[o, night])
        takes[night + 1][column] = -float(model.keep_next[o, night])
    for r in np.flatnonzero(np.isfinite(model.room)).tolist():
        terms = {
            visits.opened[spot]: float(halt @ model.rows[model.sites :, r])
            for spot, halt in halts
            if spot in visits.opened
        }
        for s in np.flatnonzero(model.rows[: model.sites, r]).tolist():
            for column, taken in takes[s].items():
                terms[column] = terms.get(column, 0.0) + taken
        if terms := {column: taken for column, taken in terms.items() if taken}:
            out.weighted(terms, float(model.room[r]))


def as_lp(programme: Programme, highspy: Any, whole: bool) -> Any:
    """The programme as the solver reads it, or its relaxation."""
    lp = highspy.HighsLp()
    count = len(programme.cost)
    lp.num_col_, lp.num_row_ = count, len(programme.row_lower)
    lp.col_cost_ = np.array(programme.cost)
    lp.col_lower_, lp.col_upper_ = np.zeros(count), np.ones(count)
    lp.row_lower_, lp.row_upper_ = np.array(programme.row_lower), np.array(programme.row_upper)
    if whole:
        kinds = highspy.HighsVarType
        lp.integrality_ = [kinds.kInteger if one else kinds.kContinuous for one in programme.whole]
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = np.array(programme.starts, dtype=np.int32)
    lp.a_matrix_.index_ = np.array(programme.columns, dtype=np.int32)
    lp.a_matrix_.value_ = np.array(programme.values)
    return lp
