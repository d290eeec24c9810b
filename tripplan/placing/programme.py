"""A part of the placement as a linear programme in whole numbers, whose relaxation is nearly whole already.

Columns are visits, openings, what is kept open overnight, and each task's path through the sites; rows hold them
together. Some rows say nothing new of whole numbers and tighten the relaxation: what two tasks that are never done at
one place both need is open for both at once; whoever comes into a run of days opens it once there.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np
from msgspec import Struct, field

from tripplan.placing.model import NEVER, Flags, Floats, Model, Numbers, Part, Spot
from tripplan.placing.paths import opening_prices
from tripplan.records.grouped import grouped

Columns = dict[Spot, int]
Places = dict[Spot, list[Spot]]


class Programme(Struct):
    """Columns from 0 to 1 with cost and kind, the first of them visits, each of a task; rows with bounds. Minimised."""

    visitors: list[int] = field(default_factory=list)
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
    """The steps of one task's path that end in a renewal: from node p (0 = today) to site q, by its own visit (1) or not."""

    start: Numbers
    site: Numbers
    by_own: Numbers
    column: Numbers


class Ways(Struct, frozen=True):
    """Every task's way; `shared` (task, site, opening) is what whoever renews it there on the way needs in any case."""

    each: list[Way]
    shared: Flags


class Visits(Struct, frozen=True):
    """Columns of visits (task, site) and of openings (opening, site), what each task needs open, and the places of looks
    that openings bring.
    """

    own: Columns
    opened: Columns
    needs: list[dict[int, None]]
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
    out.visitors = [t for t, _ in own]
    needs = [dict.fromkeys(np.flatnonzero(need).tolist()) for need in model.need]
    visits = Visits(own, {}, needs, model.looks.brought)
    cost = opening_prices(model, price)
    for t, s in own:
        for o in needs[t]:
            for spot in visits.spots(o, s):
                if spot not in visits.opened:
                    visits.opened[spot] = out.column(cost[spot], whole=True)
    again = again_prices(model, price)
    turns: list[dict[int, float]] = [{} for _ in range(sites)]
    ways = Ways([], np.zeros((tasks, sites, model.need.shape[1]), dtype=bool))
    for t in range(tasks):
        coverers = [[c for c in model.covers[t] if (c, s) in own and model.counts[t, s]] for s in range(sites)]
        ways.each.append(_path(model, t, again[t], coverers, visits, turns, out))
        for s in np.flatnonzero([bool(some) for some in coverers]).tolist():
            ways.shared[t, s] = np.logical_and.reduce(model.need[coverers[s]])
    openers = _opened(model, visits, out)
    kept = _nights(model, visits, openers, price, out)
    _runs(model, ways, visits, kept, out)
    _looks_once(model, ways, visits, out)
    worked: dict[int, int] = {}
    for s, there in grouped((s, column) for (_, s), column in own.items()).items():
        worked[s] = out.column(fee[s], whole=True)
        for column in there:
            out.row([worked[s]], [column], lower=0.0)
    _spoilt(model, visits, out)
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
    model: Model, t: int, again: Floats, coverers: Sequence[Sequence[int]], visits: Visits,
    turns: Sequence[dict[int, float]], out: Programme,
) -> Way:  # fmt: skip
    """One unit of flow from today to the end; covered sites are passed where a coverer is at work."""
    sites, able, arc = model.sites, model.labour[t] < NEVER, model.arc[t]
    passed = np.array([bool(some) for some in coverers], dtype=bool)
    can = np.triu(arc < NEVER) & np.concatenate([[True], able | passed])[:, None]
    p, q = np.nonzero(can[:, :-1] & able & (again[:, :-1] < NEVER))
    over, through = np.nonzero(can[:, :-1] & passed)
    ends = np.flatnonzero(can[:, sites])
    start, site = np.concatenate([p, over]), np.concatenate([q, through])
    columns = out.some(np.concatenate([arc[p, q] + again[p, q], arc[over, through], arc[ends, sites]]))
    by_own = (np.arange(len(start)) < len(p)).astype(np.intp)
    way = Way(start, site, by_own, np.array(columns[: len(start)], dtype=np.intp))
    leave = grouped(zip([*start.tolist(), *ends.tolist()], columns, strict=True))
    into = grouped(zip(zip(site.tolist(), by_own.tolist(), strict=True), columns, strict=False))
    out.row(leave.get(0, []), lower=1.0, upper=1.0)
    for s in range(sites):
        mine, others = into.get((s, 1), []), into.get((s, 0), [])
        if mine or others or s + 1 in leave:
            out.row([*mine, *others], leave.get(s + 1, []), 0.0, 0.0)
        if able[s]:
            out.row(mine, [visits.own[(t, s)]], 0.0, 0.0)
        if coverers[s]:
            _covered(visits, (t, s), coverers[s], (mine, others), out)
    if model.more_spend[t].any():
        for column, p_, q_, is_own in zip(columns, start.tolist(), site.tolist(), by_own.tolist(), strict=False):
            if is_own or model.along[t]:
                turns[q_][column] = float(model.more_spend[t, min(p_, 1), q_])
    return way


def _covered(
    visits: Visits, at: Spot, coverers: Sequence[int], into: tuple[list[int], list[int]], out: Programme
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
    for o in visits.needs[coverers[0]]:
        if not others or any(o not in visits.needs[c] for c in coverers[1:]):
            continue
        through = [*others, *mine] if o in visits.needs[t] else others
        for spot in visits.spots(o, s):
            out.row([visits.opened[spot]], through, lower=0.0)


def _opened(model: Model, visits: Visits, out: Programme) -> dict[Spot, list[int]]:
    """What a visit needs is open, at once for visits of which one place sees one at the most; the visits that open each spot."""
    alone: dict[Spot, set[tuple[int, ...]]] = {}
    openers: dict[Spot, dict[int, None]] = {}
    for (t, s), column in visits.own.items():
        chain = [t]
        for c in sorted(model.covers[t], key=lambda c: -len(model.covers[c])) if model.counts[t, s] else ():
            apart_from_all = all(c in model.covers[other] or other in model.covers[c] for other in chain)
            if (c, s) in visits.own and model.counts[c, s] and apart_from_all:
                chain.append(c)
        columns = [(visits.needs[c], visits.own[(c, s)]) for c in chain]
        for o in visits.needs[t]:
            apart = tuple(sorted([one for needs, one in columns if o in needs])) if len(chain) > 1 else (column,)
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
                # It would pay to open it for that alone, or move minutes to another day.
                if saved >= out.cost[opened[(o, at)]]:
                    out.row([kept[(o, s)]], openers[(o, at)], upper=0.0)
    return kept


def _spoilt(model: Model, visits: Visits, out: Programme) -> None:
    """Work at home costs its visit again where that is spoilt by what is opened there on a later day."""
    for task, openings in model.spoilt:
        for s in range(model.home - 1):
            later = [(o, day) for day in range(s + 1, model.home) for o in openings if (o, day) in visits.opened]
            if later and (task, s) in visits.own:
                again = out.column(model.labour[task, s])
                for spot in later:
                    out.row([visits.own[(task, s)], visits.opened[spot]], [again], upper=1.0)


def _runs(model: Model, ways: Ways, visits: Visits, kept: Columns, out: Programme) -> None:
    """Whatever is come to in days on end lies in a run of days kept open, each opened once: it tightens the relaxation."""
    for o, nights in grouped(sorted(kept)).items():
        for block in np.split(np.array(nights), np.flatnonzero(np.diff(nights) > 1) + 1):
            days = range(int(block[0]), int(block[-1]) + 2)
            runs, nights_between = [visits.opened[(o, s)] for s in days], [kept[(o, s)] for s in days[:-1]]
            for entering in _entering(model, ways, {s: [o] for s in days}):
                out.row(runs, [*nights_between, *entering], lower=0.0)


def _looks_once(model: Model, ways: Ways, visits: Visits, out: Programme) -> None:
    """What is come to at several places that bring one look brings it once: it tightens the relaxation."""
    looks = model.looks
    pairs = zip(looks.to.tolist(), zip(looks.at.tolist(), looks.by.tolist(), strict=True), strict=True)
    for to, brought in grouped(pairs).items():
        what, there = looks.places[to]
        by = grouped([*brought, (there, what)])
        if len(by) > 1 and (what, there) in visits.opened:
            for entering in _entering(model, ways, by):
                out.row([visits.opened[(what, there)]], entering, lower=0.0)


def _entering(model: Model, ways: Ways, by: Mapping[int, Sequence[int]]) -> Iterator[list[int]]:
    """For each task the steps that pass from before these sites to its first renewal since, where that is at one of them
    and needs one of the openings there in any case; tasks with fewer than two such sites left out.
    """
    first, needs = min(by), np.zeros((2, *model.labour.shape), dtype=bool)
    for s, openings in by.items():
        needs[1, :, s] = model.need[:, openings].any(axis=1)
        needs[0, :, s] = ways.shared[:, s, openings].any(axis=1)
    for t in np.flatnonzero(needs.any(axis=0).sum(axis=1) > 1).tolist():
        way = ways.each[t]
        entering = (way.start <= first) & (way.site >= first) & needs[way.by_own, t, way.site]
        if entering.any():
            yield way.column[entering].tolist()


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
