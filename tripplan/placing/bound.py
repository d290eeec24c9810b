"""What no plan can undercut: every part's least cost at the search's own prices, or the whole taken to its end.

The parts' least costs, each that of its relaxation, less the price of the minutes there are, lie below the cost of
every plan (Lagrangian relaxation). Where that tells more than a hundredth, a solver is asked whether any plan of the
whole is cheaper by a hundredth: first with nothing whole but steps that are dear by themselves, which takes little and
often tells, then with all that a plan has whole, or with what is opened alone. Where a bounded amount of work does not
find that out, what it has proven is told in whole hundredths, and where that is beyond a twentieth, a twentieth is
asked for. Without a solver no bound is told.
"""

from collections.abc import Mapping, Sequence
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
DEAR = 0.05
"""Waiting for one visit that costs this share of the whole is looked at first: whether it has to be decides most (measured)."""
HAIR = 0.001
NO_PRESOLVE = {"presolve": "off"}
# What is asked is only whether there is a cheaper plan: what looks for good plans costs more here than it saves, and so
# does to begin again with fewer columns.
PLAIN = {
    "mip_heuristic_effort": 0.0, "mip_detect_symmetry": False, "mip_pool_soft_limit": 5, "mip_lp_age_limit": 2,
    "mip_heuristic_run_feasibility_jump": False, "mip_heuristic_run_root_reduced_cost": False,
    "mip_heuristic_run_rens": False, "mip_heuristic_run_rins": False, "mip_allow_restart": False,
}  # fmt: skip
DEAR_STEPS, OPENINGS, ALL = "dear steps", "openings", "all"


class Ask(NamedTuple):
    """Whether any plan is cheaper by a share: with how much work, and what is whole besides steps that are dear.

    Only where more than `least` and no more than `most` is open still, and after a search that weighed no more than
    `most_weighed`.
    """

    share: float
    work: Mapping[str, int]
    whole: str = ALL
    least: float = 0.0
    most: float = np.inf
    most_weighed: float = np.inf
    dear: float = DEAR


TEN = {"mip_max_nodes": 10, "mip_pscost_minreliable": 1}
ASKED = (
    Ask(NEAR, {"mip_max_nodes": 200, "mip_pscost_minreliable": 0}, DEAR_STEPS),
    Ask(NEAR, TEN, OPENINGS, least=0.015, most=0.0225),
    Ask(NEAR, TEN, most_weighed=25_000_000),
    Ask(NEAR, TEN, OPENINGS, least=0.035, most_weighed=10_000_000),
    Ask(FAR, {"mip_max_nodes": 60}),
)
"""What is asked one after the other until it is found out. Openings alone take less than all and mostly tell where some two
hundredths are open; where much is, they are worth their time after a short search, and all after all but the longest (measured)."""
LARGE = 30_000
"""So many steps that there may be, from site to site, make a large plan: of such a one each node takes long."""
FEW = {"mip_max_nodes": 60, "mip_pscost_minreliable": 0}
ASKED_OF_LARGE = (Ask(NEAR, FEW, dear=np.inf), Ask(FAR, FEW, dear=np.inf))


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
    proven_so_far, programme = least, None
    for ask in ASKED if model.labour.size * model.sites <= LARGE else ASKED_OF_LARGE:
        if not _is_worth_asking(ask, found, proven_so_far):
            continue
        asked = found.cost - float(np.floor(ask.share * found.cost))
        programme = programme or whole_programme(model)
        told = whole_bound(programme, asked, ask.work, ask.dear * found.cost, ask.whole)
        if told is not None:
            proven_so_far = max(proven_so_far, told)
            least = max(least, told if told == asked else _in_hundredths(told, found.cost))
    return least


def _is_worth_asking(ask: Ask, found: Found, least: float) -> bool:
    """Whether so much is open that the ask is for, after a search that weighed so much."""
    is_open = found.cost - least
    least_open, most_open = (share * found.cost for share in (max(ask.share, ask.least), ask.most))
    return least_open < is_open <= most_open and found.weighed <= ask.most_weighed


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
    programme: Programme, asked: float, work: Mapping[str, int], dear: float = np.inf, whole: str = ALL
) -> float | None:  # fmt: skip
    """`asked` where no plan of the whole is cheaper, else the least cost of all, or what is proven by the end of the work.

    Steps that cost more than `dear` are taken or not; what else has to be whole is all, the openings alone, or nothing.
    """
    first = {ALL: 0, OPENINGS: programme.visits}.get(whole, len(programme.whole))
    some_whole = [
        cost > dear or (is_whole and number >= first)
        for number, (cost, is_whole) in enumerate(zip(programme.cost, programme.whole, strict=True))
    ]
    relaxed = replace(programme, whole=some_whole)
    options = {"mip_rel_gap": 0.0, "mip_abs_gap": 0.49, "objective_bound": asked - 0.5}
    least = proven(lambda highspy: as_lp(relaxed, highspy, whole=True), {**options, **PLAIN, **work})
    return None if least is None else min(asked, float(np.rint(least)))
