"""What no plan can undercut: every part's least cost at the search's own prices, or the whole taken to its end.

The parts' least costs, each that of its relaxation, less the price of the minutes there are, lie below the cost of
every plan (Lagrangian relaxation). Where that tells more than a hundredth, a solver is asked whether any plan of the
whole is cheaper by a hundredth: first with nothing whole but steps that are dear by themselves, which takes little and
often tells, then with the visits of what it is dear to wait for as well, then with all that a plan has whole.
Where a bounded amount of work does not find that out, what it has proven is told in whole hundredths, and where that is
beyond a twentieth, a twentieth is asked for. Without a solver no bound is told.
"""

from collections.abc import Collection, Mapping, Sequence
from typing import NamedTuple

import numpy as np
from msgspec.structs import replace

from tripplan.placing.descent import priced
from tripplan.placing.model import NEVER, Floats, Model, Part, part_of, whole_of
from tripplan.placing.paths import shortest, visit_prices
from tripplan.placing.programme import Programme, again_prices, as_lp, part_programme
from tripplan.placing.search import Found
from tripplan.placing.solver import proven, solved

NEAR, FAR = 0.01, 0.05
"""A plan this near to what none can undercut is near enough: no more is proven of it. Where that is not found out, how far is."""
DEAR, DEAR_TASK = 0.05, 0.02
"""Waiting for one visit that costs this share of the whole, and so much for one of a task that is dear to wait for, is looked
at first: whether it has to be decides most (measured)."""
HAIR = 0.001
NO_PRESOLVE = {"presolve": "off"}
# What is asked is only whether there is a cheaper plan: what looks for good plans costs more here than it saves, and so
# does mostly to begin again with fewer columns, and to look for what is alike.
PLAIN = {
    "mip_heuristic_effort": 0.0, "mip_detect_symmetry": False, "mip_pool_soft_limit": 5, "mip_lp_age_limit": 2,
    "mip_heuristic_run_feasibility_jump": False, "mip_heuristic_run_root_reduced_cost": False,
    "mip_heuristic_run_rens": False, "mip_heuristic_run_rins": False, "mip_allow_restart": False,
}  # fmt: skip
DEAR_STEPS, DEAR_TASKS, ALL = "dear steps", "dear tasks", "all"


class Ask(NamedTuple):
    """Whether any plan is cheaper by a share: with how much work, and what is whole besides steps that are dear.

    Only after a search that weighed no more than `most_weighed`, and where no more than `most_tasks` are dear to wait for.
    """

    share: float
    work: Mapping[str, int]
    whole: str = DEAR_TASKS
    most_weighed: float = np.inf
    most_tasks: float = np.inf
    dear: float = DEAR


MANY, FEW, TEN = ({"mip_max_nodes": nodes, "mip_pscost_minreliable": n} for nodes, n in ((200, 1), (60, 0), (10, 1)))
AGAIN: Mapping[str, int] = {
    "mip_max_nodes": 60,
    "mip_pscost_minreliable": 1,
    "mip_allow_restart": True,
    "mip_detect_symmetry": True,
}
STEPS = Ask(NEAR, {"mip_max_nodes": 200, "mip_pscost_minreliable": 0}, DEAR_STEPS)
SMALL, LARGE, MOST_DEAR = 3600, 9000, 20
ASKED: tuple[tuple[float, tuple[Ask, ...]], ...] = (
    (SMALL, (
        STEPS, Ask(NEAR, MANY, most_tasks=MOST_DEAR), Ask(NEAR, TEN, ALL, 15_000_000), Ask(NEAR, AGAIN, ALL, 9_000_000),
        Ask(FAR, {"mip_max_nodes": 60}, ALL, 11_000_000), Ask(FAR, FEW),
    )),
    (LARGE, (STEPS, Ask(NEAR, FEW, most_tasks=MOST_DEAR), Ask(NEAR, TEN, ALL, 15_000_000), Ask(FAR, FEW))),
    (np.inf, (Ask(NEAR, {"mip_max_nodes": 1}, ALL, dear=np.inf), Ask(FAR, FEW, ALL, dear=np.inf))),
)  # fmt: skip
"""What is asked one after the other until it is found out, of programmes of no more columns than these: the more of them the
longer each node takes. Where the cost lies in few tasks, these alone mostly tell; where it is spread, all have to be asked.
Little is asked after a long search, so that both keep within their time (measured)."""


def proven_gap(model: Model, found: Found) -> float | None:
    """How far the plan found may lie above the best there is, as a share of its cost; None = not known."""
    least = bound(model, found)
    if least is None or found.cost <= 0:
        return None if least is None else 0.0
    return max(0.0, found.cost - least) / found.cost


def bound(model: Model, found: Found) -> float | None:
    """The proven lower bound on the cost of every plan, in thousandths; None without a solver."""
    least = priced_bound(model, found)
    if least is None:
        return None
    if found.cost - least <= NEAR * found.cost:
        return least
    proven_so_far, programme = least, whole_programme(model)
    dear_tasks = tasks_dear_to_wait_for(model, DEAR_TASK * found.cost)
    whole: dict[str, Collection[int] | None] = {DEAR_STEPS: (), DEAR_TASKS: dear_tasks, ALL: None}
    for ask in next(asks for most, asks in ASKED if len(programme.cost) <= most):
        is_open = found.cost - proven_so_far > ask.share * found.cost
        if not is_open or found.weighed > ask.most_weighed or len(dear_tasks) > ask.most_tasks:
            continue
        asked = found.cost - float(np.floor(ask.share * found.cost))
        told = whole_bound(programme, asked, ask.work, ask.dear * found.cost, whole[ask.whole])
        if told is not None:
            proven_so_far = max(proven_so_far, told)
            least = max(least, told if told == asked else _in_hundredths(told, found.cost))
    return least


def tasks_dear_to_wait_for(model: Model, dear: float) -> frozenset[int]:
    """The tasks of which some step that can be costs more than `dear`."""
    steps = np.where(model.arc < NEVER, model.arc, 0.0)
    return frozenset(np.flatnonzero(steps.max(axis=(1, 2)) > dear).tolist())


def _in_hundredths(least: float, cost: float) -> float:
    """What lies so many whole hundredths of the cost below it, and no more than that."""
    return float(cost - np.ceil(np.ceil((cost - least) / cost * 100) / 100 * cost))


def priced_bound(model: Model, found: Found) -> float | None:
    """The least costs of all parts at the search's prices, less the price of the minutes there are."""
    price, fees = model.rows @ found.prices.rows, found.prices.fees
    alone = [number for number, part in enumerate(found.parts) if _is_alone(part)]
    total = _alone(model, [int(found.parts[number].tasks[0]) for number in alone], price, fees[alone])
    for number in sorted(set(range(len(found.parts))).difference(alone)):
        least = least_cost(found.parts[number], price, fees[number])
        if least is None:
            return None
        total += least
    return total - float(found.prices.rows @ np.where(np.isfinite(model.room), model.room, 0.0))


def least_cost(part: Part, price: Floats, fee: Floats) -> float | None:
    """What no plan of one part undercuts at these prices, whatever minutes it takes; None without a solver."""
    programme = part_programme(part, price, fee, limited=False)
    least = solved(lambda highspy: as_lp(programme, highspy, whole=False), NO_PRESOLVE)
    return None if least is None else float(np.ceil(least - HAIR))


def _is_alone(part: Part) -> bool:
    """True for a task by itself whose visits share no look: its shortest path is its best plan."""
    return len(part.tasks) == 1 and len(set(part.model.looks.to.tolist())) == len(part.model.looks.to)


def _alone(model: Model, tasks: Sequence[int], price: Floats, fees: Floats) -> float:
    """The least costs of tasks that share nothing: each its shortest path, with all that it opens."""
    part = part_of(model, np.array(tasks, dtype=np.intp))
    visit = np.minimum(visit_prices(part, price) + fees, NEVER)
    none = np.zeros(visit.shape, dtype=bool)
    own = shortest(part.model.arc, again_prices(part.model, price), np.arange(len(tasks)), visit, none, none)
    plan = priced(part, own[None])
    return float(plan.cost[0] + plan.spend[0] @ price + (own * fees).sum())


def whole_programme(model: Model) -> Programme:
    """The whole within the minutes there are, as a programme."""
    return part_programme(whole_of(model), np.zeros(len(model.rows)), model.fee_cost, limited=True)


def whole_bound(
    programme: Programme, asked: float, work: Mapping[str, int], dear: float = np.inf,
    tasks: Collection[int] | None = None,
) -> float | None:  # fmt: skip
    """`asked` where no plan of the whole is cheaper, else the least cost of all, or what is proven by the end of the work.

    Steps that cost more than `dear` are taken or not; what else has to be whole are the visits of `tasks`, or all (None).
    """
    visits = len(programme.visitors)
    some_whole = [
        cost > dear or (is_whole and (tasks is None or (number < visits and programme.visitors[number] in tasks)))
        for number, (cost, is_whole) in enumerate(zip(programme.cost, programme.whole, strict=True))
    ]
    relaxed = replace(programme, whole=some_whole)
    options = {"mip_rel_gap": 0.0, "mip_abs_gap": 0.49, "objective_bound": asked - 0.5}
    least = proven(lambda highspy: as_lp(relaxed, highspy, whole=True), {**options, **PLAIN, **work})
    return None if least is None else min(asked, float(np.rint(least)))
