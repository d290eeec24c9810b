"""What the owner's ceilings on road work keep out of a plan: each job by itself, with its price.

From the plan as it stands every job is tried at every stop where it would need more minutes a
day, or over the trip, than the owner gives, and no more than the stop has. Those that would
make the plan cheaper are told.
"""

from collections.abc import Iterator

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from tripplan.placing.descent import priced, single_changes
from tripplan.placing.model import NEVER, Flags, Floats, Model, Part, Plans, parts_of
from tripplan.placing.opened import opened_by
from tripplan.placing.problem import STOP, THOUSAND, Ceilings, PlacementProblem, Placing
from tripplan.placing.read_back import rows_of
from tripplan.placing.rooms import TENTHS
from tripplan.placing.stated import Stated, stated, with_minutes

MOST = 6
"""How many are told, those first that would save most."""


class Beyond(Struct, frozen=True):
    """Jobs that the ceilings keep from a stop: minutes and cost of doing them there, and what leaving them costs."""

    tasks: tuple[int, ...]
    site: int
    minutes: float
    cost: float
    leaving: float


def beyond_ceilings(problem: PlacementProblem, placing: Placing) -> tuple[Beyond, ...]:
    """What one more job on the road would save if the ceilings gave way for it, the greatest saving first."""
    road = np.array([site.kind == STOP and not home for site, home in zip(problem.sites, problem.at_home, strict=True)])
    if problem.ceilings == Ceilings() or not road.any() or not problem.tasks:
        return ()
    tight = stated(problem)
    given = with_minutes(tight, replace(problem, ceilings=Ceilings()))
    own, parts = rows_of(given, placing), parts_of(given.model)
    now = [priced(part, own[part.tasks][None]) for part in parts]
    spent = np.sum([plans.spend[0] for plans in now], axis=0)
    found = [
        one for part, plans in zip(parts, now, strict=True) if plans.cost[0] < NEVER
        for one in _of_part(given, tight.model, part, own, (plans, spent, road))
    ]  # fmt: skip
    return tuple(sorted(found, key=lambda one: (one.cost - one.leaving, one.tasks))[:MOST])


def _of_part(
    given: Stated, tight: Model, part: Part, own: Flags, stand: tuple[Plans, Floats, NDArray[np.bool_]]
) -> Iterator[Beyond]:
    """The best moves of a part that only the ceilings forbid, each job in one of them."""
    now, spent, road = stand
    tries = single_changes(part, now)
    saved, forbidden = _weighed(given.model, tight, part, own, now, tries, spent)
    told: set[int] = set()
    for number in np.argsort(-saved, kind="stable"):
        more = tries.own[number] & ~now.own[0] & road
        rows, sites = np.nonzero(more)
        groups = {int(part.tasks[row]) for row in rows}
        if saved[number] > 0 and forbidden[number] and len(set(sites.tolist())) == 1 and not groups & told:
            told |= groups
            site = int(sites[0])
            minutes, cost = _there(given.model, own, sorted(groups), site)
            tasks = tuple(index for group in sorted(groups) for index in given.groups[group])
            yield Beyond(tasks, site, minutes, cost, cost + float(saved[number]) / THOUSAND)


def _weighed(
    model: Model, tight: Model, part: Part, own: Flags, now: Plans, tries: Plans, spent: Floats
) -> tuple[Floats, Flags]:
    """What each try saves in the whole, fees in, and whether it is the ceilings alone that it breaks."""
    rest = own.copy()
    rest[part.tasks] = False
    elsewhere = rest.any(axis=0)
    busy, busy_now = elsewhere | tries.uses, elsewhere | now.uses[0]
    saved = now.cost[0] + busy_now @ model.fee_cost - tries.cost - busy @ model.fee_cost
    taken = (spent - now.spend[0] + tries.spend) @ model.rows + busy @ model.fee_rows
    fits = (taken <= model.room).all(axis=1)
    return np.asarray(saved), np.asarray(fits & (taken > tight.room).any(axis=1))


def _there(model: Model, own: Flags, groups: list[int], site: int) -> tuple[float, float]:
    """Minutes and cost of these jobs at the site beside what is done there already."""
    there = own.copy()
    there[groups, site] = True
    before, after = opened_by(model, np.stack([own, there]))
    opened = after & ~before
    idle = not own[:, site].any()
    spend = (
        model.spend[groups, site].sum() + model.open_spend[opened[:, site], site].sum() + idle * model.fee_spend[site]
    )
    cost = model.labour[groups, site].sum() + (opened * model.open_cost).sum() + idle * model.fee_cost[site]
    return float(spend) / TENTHS, float(cost) / THOUSAND
