"""What no plan can undercut: every part's proven least cost at the search's own prices.

Each part is a small programme of its own that a solver takes to its end, so that the number
is the same whatever the solver's version. The parts' least costs, less the price of the
minutes there are, lie below the cost of every plan (Lagrangian relaxation). Without a
solver, or where a part cannot be taken to its end, no bound is told.
"""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from msgspec import Struct, field

from tripplan.placing.descent import fitting, opening_prices, priced, shortest, visit_prices
from tripplan.placing.model import NEVER, Flags, Floats, Model, Part, Spot
from tripplan.placing.search import Found
from tripplan.placing.solver import solved
from tripplan.records.grouped import grouped

NODES, LIMITED_SITES = 2_000, 8
# The relaxation is nearly whole already: what prepares a hard programme costs more here than it saves.
ENDS = {"mip_rel_gap": 0.0, "mip_abs_gap": 0.49, "mip_max_nodes": NODES}
PLAIN = {
    "presolve": "off", "mip_heuristic_effort": 0.0, "mip_detect_symmetry": False,
    "mip_heuristic_run_feasibility_jump": False, "mip_heuristic_run_root_reduced_cost": False,
    "mip_heuristic_run_rens": False, "mip_heuristic_run_rins": False, "mip_pool_soft_limit": 100,
}  # fmt: skip
Columns = dict[tuple[int, int], int]
Turns = list[dict[int, float]]
Places = dict[Spot, list[Spot]]


class Programme(Struct):
    """Columns with cost, upper bound and kind; rows with bounds. Minimised, every column from 0."""

    cost: list[float] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    row_lower: list[float] = field(default_factory=list)
    row_upper: list[float] = field(default_factory=list)
    starts: list[int] = field(default_factory=lambda: [0])
    columns: list[int] = field(default_factory=list)
    values: list[float] = field(default_factory=list)

    def column(self, cost: float = 0.0, whole: bool = False) -> int:
        """A new column from 0 to 1; its index."""
        self.cost.append(float(cost))
        self.whole.append(whole)
        return len(self.cost) - 1

    def row(self, terms: Mapping[int, float], lower: float = -np.inf, upper: float = np.inf) -> None:
        """A new row: lower <= sum of value x column <= upper."""
        self.columns += terms.keys()
        self.values += terms.values()
        self.starts.append(len(self.columns))
        self.row_lower.append(lower)
        self.row_upper.append(upper)


def proven_gap(model: Model, found: Found) -> float | None:
    """How far the plan found may lie above the best there is, as a share of its cost; None = not known."""
    least = bound(model, found)
    if least is None or found.cost <= 0:
        return None if least is None else 0.0
    return max(0.0, found.cost - least) / found.cost


def bound(model: Model, found: Found) -> float | None:
    """The proven lower bound on the cost of every plan, in thousandths; None without a solver."""
    price = model.rows @ found.prices.rows
    total = -float(found.prices.rows @ np.where(np.isfinite(model.room), model.room, 0.0))
    for part, fee in zip(found.parts, found.prices.fees, strict=True):
        least = least_cost(part, price, fee, found.own[part.tasks])
        if least is None:
            return None
        total += least
    return total


def least_cost(part: Part, price: Floats, fee: Floats, own: Flags) -> float | None:
    """The least cost of one part at these prices, proven; None where it cannot be. `own` is a plan to start from."""
    if len(part.tasks) == 1 and len(set(part.model.looks.to.tolist())) == len(part.model.looks.to):
        return _alone(part, price, fee)
    known = own[part.model.labour < NEVER].astype(np.float64).tolist()
    free = _solved(part_programme(part, price, fee, limited=False), known)
    if free is None or part.model.sites > LIMITED_SITES or _fits(part, free.values):
        return None if free is None else free.cost
    limited = _solved(part_programme(part, price, fee, limited=True), known)
    return None if limited is None else limited.cost


def _fits(part: Part, values: Sequence[float]) -> bool:
    """True when the least plan without the minutes keeps within them: then it is the least with them."""
    own = np.zeros((1, *part.model.labour.shape), dtype=bool)
    own[0][part.model.labour < NEVER] = np.array(values[: int((part.model.labour < NEVER).sum())]) > 0.5
    return len(fitting(part, priced(part, own)).cost) == 1


def _alone(part: Part, price: Floats, fee: Floats) -> float:
    """A task by itself: its shortest path, with all that it opens; states kept open overnight cannot help it."""
    model = part.model
    visit = np.minimum(visit_prices(part, price) + fee, NEVER)[None]
    none = np.zeros(visit.shape, dtype=bool)
    again = again_prices(model, price)
    own = shortest(model.arc, again, visit, none, none)
    return float(_path_value(model, again, own[0, 0], visit[0, 0]))


def again_prices(model: Model, price: Floats) -> Floats:
    """What a visit costs besides by where its item was renewed last, the time it takes besides in it."""
    again, clock = model.again.copy(), price[: model.sites]
    again[:, 0, :-1] += model.more_spend[:, 0] * clock
    again[:, 1:, :-1] += (model.more_spend[:, 1] * clock)[:, None]
    return np.asarray(np.minimum(again, NEVER))


def _path_value(model: Model, again: Floats, own: Flags, visit: Floats) -> float:
    at, total = 0, 0.0
    for s in np.flatnonzero(own).tolist():
        total += model.arc[0, at, s] + again[0, at, s] + visit[s]
        at = s + 1
    return float(total + model.arc[0, at, model.sites])


def part_programme(part: Part, price: Floats, fee: Floats, limited: bool) -> Programme:
    """The programme of one part: paths, openings paid once a site, what stays open overnight.

    `limited` adds the minutes there are: a part that alone overflows them is no part of any plan.
    """
    model, out = part.model, Programme()
    tasks, sites = model.labour.shape
    own = {
        (t, s): out.column(model.labour[t, s] + model.spend[t, s] * price[s], whole=True)
        for t in range(tasks) for s in range(sites) if model.labour[t, s] < NEVER
    }  # fmt: skip
    opened: Columns = {}
    openers: dict[Spot, list[int]] = {}
    cost, places = opening_prices(model, price), model.looks.brought
    for (t, s), column in own.items():
        for o in np.flatnonzero(model.need[t]).tolist():
            for spot in places.get((o, s), [(o, s)]):
                if spot not in opened:
                    opened[spot] = out.column(cost[spot], whole=True)
                openers.setdefault(spot, []).append(column)
                out.row({opened[spot]: 1.0, column: -1.0}, lower=0.0)
    again = again_prices(model, price)
    turns: Turns = [{} for _ in range(sites)]
    for t in range(tasks):
        _path(part, t, again[t], (own, opened, places), turns, out)
    kept = _nights(model, opened, openers, price, out)
    _runs(model, own, opened, kept, out)
    worked: Columns = {}
    for s in range(sites):
        here = [column for (_, site), column in own.items() if site == s]
        if here:
            worked[(0, s)] = out.column(fee[s], whole=True)
            for column in here:
                out.row({worked[(0, s)]: 1.0, column: -1.0}, lower=0.0)
    if limited:
        _minutes(model, (own, opened), turns, kept, worked, out)
    return out


def _minutes(
    model: Model, visits: tuple[Columns, Columns], turns: Turns, kept: Columns, worked: Columns, out: Programme
) -> None:
    own, opened = visits
    halts = list(zip(model.looks.what.tolist(), model.looks.there.tolist(), model.looks.halt, strict=True))
    for r in np.flatnonzero(np.isfinite(model.room)).tolist():
        terms: dict[int, float] = {}
        for o, s, halt in halts:
            taken = float(halt @ model.rows[model.sites :, r])
            if taken and (o, s) in opened:
                terms[opened[(o, s)]] = taken
        for s in np.flatnonzero(model.rows[: model.sites, r]).tolist():
            terms |= {column: model.spend[t, s] for (t, site), column in own.items() if site == s} | turns[s]
            for (o, site), column in opened.items():
                if site == s and model.open_spend[o, s]:
                    terms[column] = terms.get(column, 0.0) + model.open_spend[o, s]
            terms |= {column: model.fee_spend[s] for (_, site), column in worked.items() if site == s}
            for (o, night), column in kept.items():
                if s in (night, night + 1):
                    saved = model.keep_here[o, night] if s == night else model.keep_next[o, night]
                    terms[column] = terms.get(column, 0.0) - saved
        if terms:
            out.row(terms, upper=float(model.room[r]))


def _nights(
    model: Model, opened: Columns, openers: Mapping[Spot, Sequence[int]], price: Floats, out: Programme
) -> Columns:
    """What is kept open overnight for work on both days; nothing is opened in order to keep it so."""
    kept: Columns = {}
    for (o, s), column in list(opened.items()):
        if s + 1 < model.sites and model.keep_cost[o, s] > 0 and (o, s + 1) in opened:
            saved = model.keep_cost[o, s] + model.keep_here[o, s] * price[s] + model.keep_next[o, s] * price[s + 1]
            kept[(o, s)] = out.column(-saved)
            out.row({kept[(o, s)]: 1.0, column: -1.0}, upper=0.0)
            out.row({kept[(o, s)]: 1.0, opened[(o, s + 1)]: -1.0}, upper=0.0)
            for at in (s, s + 1):
                if saved > out.cost[opened[(o, at)]]:  # it would pay to open it for that alone
                    out.row({kept[(o, s)]: 1.0, **dict.fromkeys(openers[(o, at)], -1.0)}, upper=0.0)
    return kept


def _runs(model: Model, own: Columns, opened: Columns, kept: Columns, out: Programme) -> None:
    """Whatever is visited once in days on end lies in a run of days kept open, each opened once: it tightens the relaxation."""
    for o, nights in grouped(sorted(kept)).items():
        for block in np.split(np.array(nights), np.flatnonzero(np.diff(nights) > 1) + 1):
            days = range(int(block[0]), int(block[-1]) + 2)
            runs = {opened[(o, s)]: 1.0 for s in days} | {kept[(o, s)]: -1.0 for s in days[:-1]}
            for t in np.flatnonzero(model.need[:, o]).tolist():
                if all(model.again[t, p + 1, q] >= NEVER for p in days for q in days if p < q):
                    out.row(runs | {own[(t, s)]: -1.0 for s in days if (t, s) in own}, lower=0.0)


def _path(
    part: Part, t: int, again: Floats, visits: tuple[Columns, Columns, Places], turns: Turns, out: Programme
) -> None:
    """One unit of flow from today to the end; covered sites are passed where a coverer is at work."""
    model, sites, own = part.model, part.model.sites, visits[0]
    coverers = [
        [own[(c, s)] for c in model.covers[t] if (c, s) in own and model.counts[t, s]] for s in range(sites)
    ]  # fmt: skip
    into: list[dict[str, list[int]]] = [{"own": [], "cover": []} for _ in range(sites)]
    leave: list[list[int]] = [[] for _ in range(sites + 1)]
    for p in range(sites + 1):
        if p > 0 and (t, p - 1) not in own and not coverers[p - 1]:
            continue
        for q in range(p, sites + 1):
            if model.arc[t, p, q] >= NEVER:
                continue
            kinds = ["end"] if q == sites else []
            kinds += ["own"] if q < sites and (t, q) in own and again[p, q] < NEVER else []
            kinds += ["cover"] if q < sites and coverers[q] else []
            for kind in kinds:
                column = out.column(model.arc[t, p, q] + (again[p, q] if kind == "own" else 0.0))
                leave[p].append(column)
                if kind != "end":
                    into[q][kind].append(column)
                    if kind == "own" or model.along[t]:
                        turns[q][column] = model.more_spend[t, min(p, 1), q]
    out.row(dict.fromkeys(leave[0], 1.0), 1.0, 1.0)
    for s in range(sites):
        entered = into[s]["own"] + into[s]["cover"]
        if entered or leave[s + 1]:
            out.row({**dict.fromkeys(entered, 1.0), **dict.fromkeys(leave[s + 1], -1.0)}, 0.0, 0.0)
        if (t, s) in own:
            out.row({**dict.fromkeys(into[s]["own"], 1.0), own[(t, s)]: -1.0}, 0.0, 0.0)
        if into[s]["cover"]:
            out.row({**dict.fromkeys(into[s]["cover"], 1.0), **dict.fromkeys(coverers[s], -1.0)}, upper=0.0)
            _shared(part, t, s, visits, into[s], out)
        for visit in coverers[s]:
            out.row({**dict.fromkeys(entered, 1.0), visit: -1.0}, lower=0.0)
            if (t, s) in own:
                out.row({own[(t, s)]: 1.0, visit: 1.0}, upper=1.0)


def _shared(
    part: Part, t: int, s: int, visits: tuple[Columns, Columns, Places], into: dict[str, list[int]], out: Programme
) -> None:
    """However a task is renewed here, what all its renewers open is open: it tightens the relaxation."""
    model, (own, opened, places) = part.model, visits
    able = [c for c in model.covers[t] if (c, s) in own]
    common = np.logical_and.reduce([model.need[c] for c in able])
    for o in np.flatnonzero(common).tolist():
        arcs = into["cover"] + (into["own"] if model.need[t, o] else [])
        for spot in places.get((o, s), [(o, s)]):
            out.row({opened[spot]: 1.0, **dict.fromkeys(arcs, -1.0)}, lower=0.0)


class Solved(Struct, frozen=True):
    """The least cost, a whole number, and the columns it is reached with."""

    cost: float
    values: Sequence[float]


def _solved(programme: Programme, known: Sequence[float]) -> Solved | None:
    """The programme taken to its end, from a plan that is known on; None without a solver or an end."""
    at_end = solved(lambda highspy: _as_lp(programme, highspy), ENDS, PLAIN, known)
    if at_end is None:
        return None
    return Solved(float(round(at_end.getInfo().objective_function_value)), at_end.getSolution().col_value)


def _as_lp(programme: Programme, highspy: Any) -> Any:
    lp = highspy.HighsLp()
    count = len(programme.cost)
    lp.num_col_, lp.num_row_ = count, len(programme.row_lower)
    lp.col_cost_ = np.array(programme.cost)
    lp.col_lower_, lp.col_upper_ = np.zeros(count), np.ones(count)
    lp.row_lower_, lp.row_upper_ = np.array(programme.row_lower), np.array(programme.row_upper)
    kinds = highspy.HighsVarType
    lp.integrality_ = [kinds.kInteger if whole else kinds.kContinuous for whole in programme.whole]
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = np.array(programme.starts, dtype=np.int32)
    lp.a_matrix_.index_ = np.array(programme.columns, dtype=np.int32)
    lp.a_matrix_.value_ = np.array(programme.values)
    return lp
