"""What each job is worth in many futures: done before departure, or left to what comes, priced in arrays.

The price of waiting is that of one plan (`waiting.py`), for all futures at once. Doing a job at home is
decided before its owner knows the future; what is left is done at whichever later place is cheapest in
each of them. Labour is what the job adds to the plan as it stands: what is open there already costs
nothing more. What one job does for another on the way, and the minutes of stops, are not counted. A
test holds every price against the one that a plan of that future alone is made with.
"""

from collections import Counter
from collections.abc import Sequence
from datetime import date

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from tripplan.due.many_futures import Fate, Futures, fate_of
from tripplan.due.standing import Situation, Standing
from tripplan.placing.found_bad import price_of_leaving
from tripplan.placing.lateness import lateness, mean_power, shape_of, worth_of_state
from tripplan.placing.problem import (
    STOP,
    THOUSAND,
    WORKSHOP,
    PlacementProblem,
    Placing,
    Task,
    can_stand,
    last_chance,
    opening_minutes,
    renewals,
)
from tripplan.placing.reckoning import Opening, home_minutes, opened_at, set_out, site_minutes
from tripplan.placing.tasks import act_prices, is_walk_round
from tripplan.placing.waiting import is_limited, leg_dearness, limit_price, offset_of_state, past_limit, rates_of
from tripplan.records.units import MINUTES_PER_HOUR
from tripplan.trip.draws import Real, Whole
from tripplan.wear.mechanisms.uncertain import Z95

Flags = NDArray[np.bool_]
BLOCK = 64
"""Futures priced at once: as many as stay in a processor's nearest memory."""
NOTHING_GAINED = 1.0
"""In the owner's currency: less than that is no reason to do one thing or the other. Judgement."""


class Priced(Struct, frozen=True, eq=False):
    """One job in all futures: what it costs done before the rig goes on, and left to later places, in each.

    `site` is that day's index, None where no day at home can take it; `minutes` of the home shed is what the job
    adds there; `there_share` the share of futures in which the rig has not left before that day.
    """

    index: int
    fate: Fate
    site: int | None
    minutes: float
    is_planned: bool
    there_share: float
    done: Real
    left: Real

    @property
    def gain(self) -> float:
        """What doing it at home saves in the mean of all futures, its labour paid."""
        return float(np.mean((self.left - self.done)[1:]))

    @property
    def pays_in(self) -> int:
        """In how many futures doing it at home is the cheaper."""
        return int(self.pays[1:].sum())

    @property
    def pays(self) -> Flags:
        """For each future whether doing it at home is the cheaper."""
        return np.asarray(self.left - self.done > NOTHING_GAINED)


class Worth(Struct, frozen=True):
    """A job that the plan leaves and that is worth its labour at home against bad luck."""

    priced: Priced
    minutes: float
    cost: float
    gain: float


def priced_jobs(standings: Sequence[Standing], problem: PlacementProblem, placing: Placing, f: Futures) -> list[Priced]:
    """Every job that somebody decides on: looks of the walk-round, and what another job does on the way, are none."""
    index_of = {task.thing: index for index, task in enumerate(problem.tasks) if task.window is None}
    prices = act_prices(standings, problem.teardown, rates_of(f.s).home_hour)
    users = [
        Counter(
            pair
            for task, visits in zip(problem.tasks, placing.visits, strict=True)
            if site in visits
            for pair in task.opens
        )
        for site in range(len(problem.sites))
    ]
    found = []
    for standing in standings:
        if not is_walk_round(standing.item):
            index = index_of[(standing.item.id, standing.unit.id, standing.position or "")]
            price = prices[(standing.item.id, standing.unit.id)]
            found.append(_priced(index, standing, price, problem, placing, users, f))
    return found


def _priced(
    index: int, standing: Standing, act_price: float, problem: PlacementProblem, placing: Placing,
    users: Sequence[Counter[Opening]], f: Futures,
) -> Priced:  # fmt: skip
    task, fate = problem.tasks[index], fate_of(standing, f)
    own = placing.visits[index]
    free = [site for site in renewals(problem, placing, index) if site not in own]
    home = last_chance(problem.sites, f.s.today) + 1
    minutes = [_added_minutes(problem, task, users[site], site in own) for site in range(len(problem.sites))]
    labour = [
        0.0 if site in free else _labour(problem, site, minutes[site]) if can_stand(problem, task, site) else np.inf
        for site in range(len(problem.sites))
    ]
    planned = [site for site in (*own, *free) if site < home]
    days = planned or [site for site in range(home) if labour[site] < np.inf]
    if not days:
        return Priced(index, fate, None, 0.0, False, 0.0, np.zeros(f.rows), np.zeros(f.rows))
    site = min(days, key=lambda day: (labour[day], -day))
    late, worth = waiting_in_all(standing, fate, act_price, problem, task.look_first, f)
    later = _later(late, worth, labour, home)
    left = _from(0, late, worth, labour, later, home)
    done = late[:, 0, site] + labour[site] + _from(site + 1, late, worth, labour, later, home)
    gone = _leaves_before(problem, site, f)
    done = np.where(gone, left, done)
    there = 1.0 - float(gone[1:].mean())
    return Priced(index, fate, site, minutes[site], bool(planned), there, done / THOUSAND, left / THOUSAND)


def _added_minutes(problem: PlacementProblem, task: Task, users: Counter[Opening], is_there: bool) -> float:
    """Minutes of the home shed that the job adds at a site: its own, and what nobody else opens there."""
    needed = [pair for pair in task.opens if users[pair] == int(is_there)]
    return task.minutes + opening_minutes(problem, needed)


def _labour(problem: PlacementProblem, site: int, minutes: float) -> float:
    money = minutes * problem.place_factor[site] / MINUTES_PER_HOUR * problem.hour_price[site]
    return money * THOUSAND


def _leaves_before(problem: PlacementProblem, site: int, f: Futures) -> Flags:
    """The futures in which the rig has left before that day at home; a stop moves with the trip."""
    if problem.sites[site].kind != WORKSHOP:
        return np.zeros(f.rows, dtype=bool)
    depart = f.s.trip.depart.toordinal() + f.draws.shift_days
    return np.asarray(problem.sites[site].date.toordinal() > depart)


def _later(late: Real, worth: Real, labour: Sequence[float], home: int) -> list[Real]:
    """The least cost from each site on, renewed there, with only the later places to come."""
    last = late.shape[2] - 1
    found = [np.zeros(len(late)) for _ in range(last + 1)]
    for site in range(last - 1, -1, -1):
        found[site] = _from(site + 1, late, worth, labour, found, home)
    return found


def _from(row: int, late: Real, worth: Real, labour: Sequence[float], later: Sequence[Real], home: int) -> Real:
    """The least cost from a start (row 0 today, else the site before) by the places behind it and behind departure."""
    last = late.shape[2] - 1
    if row == last + 1:
        return np.zeros(len(late))
    best = late[:, row, last] + worth[:, row]
    for site in range(max(row, home), last + 1):
        if labour[site] < np.inf:
            best = np.minimum(best, late[:, row, site] + labour[site] + later[site])
    return np.asarray(best)


def waiting_in_all(
    standing: Standing, fate: Fate, act_price: float, problem: PlacementProblem, look_first: bool, f: Futures
) -> tuple[Real, Real]:
    """As `waiting.waiting`: what waiting from each start to each site costs, and what is lost at the end; thousandths."""
    sites, uses = problem.sites, _uses(standing, fate, problem, f)
    if not uses:
        return np.zeros((f.rows, len(sites) + 1, len(sites))), np.zeros((f.rows, len(sites) + 1))
    blocks = [
        _waiting([(used[at : at + BLOCK], log_sd[at : at + BLOCK]) for used, log_sd in uses], standing, act_price, problem, look_first, f.s)
        for at in range(0, f.rows, BLOCK)
    ]  # fmt: skip
    return np.concatenate([late for late, _ in blocks]), np.concatenate([worth for _, worth in blocks])


def _waiting(
    uses: Sequence[tuple[Real, Real]], standing: Standing, act_price: float, problem: PlacementProblem,
    look_first: bool, s: Situation,
) -> tuple[Real, Real]:  # fmt: skip
    item, sites, home = standing.item, problem.sites, problem.workshop_count
    shape, leaving = shape_of(item.act, item.life_shape), home + 1
    here = np.array([1 + n if site.kind == WORKSHOP else 1 + home + site.legs_done for n, site in enumerate(sites)])
    offset = offset_of_state(standing, s, look_first)
    typical = added = grown = np.zeros(1)
    for used, log_sd in uses:
        share, power = _shares(used, log_sd, here, leaving, offset, shape)
        typical, added = np.maximum(typical, share), np.maximum(added, np.diff(share, axis=2))
        grown = np.maximum(grown, np.diff(power, axis=2))
    dear = np.array([1.0] * leaving + [*leg_dearness(item, s)])
    piled = np.concatenate([np.zeros((*grown.shape[:2], 1)), np.cumsum(grown * dear, axis=2)], axis=2)
    starts = np.array([0, *here])
    begin = piled[:, np.arange(len(starts)), starts]
    money = THOUSAND * float(lateness(1.0, act_price, shape))
    cost = np.rint(np.maximum(piled[:, :, here] - begin[:, :, None], 0.0) * money)
    price = limit_price(s)
    cost[:, 0] += price_of_leaving(standing, sites, s, price)
    if is_limited(item):
        limit = 1.0 + s.catalogue.assumed("tolerance_share").value
        broken = past_limit(typical, added, here.tolist(), limit, len(s.timeline.legs))
        cost = cost + np.rint(np.where(broken >= 0, price * (1.0 + broken), 0.0))
    end = worth_of_state(np.maximum(typical[:, :, here[-1]], 0.0), act_price, shape)
    return cost, np.rint(THOUSAND * np.asarray(end))


def _shares(used: Real, log_sd: Real, here: Whole, leaving: int, offset: float, shape: float) -> tuple[Real, Real]:
    """Share used from each start to each knot, and its expected power, a future a row."""
    start = np.concatenate([np.zeros((len(used), 1)), used[:, here]], axis=1)
    share = np.maximum(used[:, None, :] - start[:, :, None], 0.0)
    driven = np.maximum(used[:, None, :] - np.maximum(start, used[:, leaving, None])[:, :, None], 0.0)
    share[:, 0] = np.maximum(share[:, 0] + offset, 0.0)
    doubt = log_sd[:, None, None] * np.minimum(driven / np.where(share > 0, share, 1.0), 1.0)
    return share, np.asarray(mean_power(share, share * np.exp(Z95 * doubt), shape))


def _uses(standing: Standing, fate: Fate, problem: PlacementProblem, f: Futures) -> list[tuple[Real, Real]]:
    """Share of each meter's interval used at every knot of every future, and the doubt about its trip's wear."""
    s, days = f.s, [site.date for site in problem.sites if site.kind == WORKSHOP]
    found = []
    for track in fate.tracks:
        idle = track.idle_per_day * np.array([0, *((day - s.today).days for day in days)])
        home = np.minimum(track.today[:, None] + idle, np.maximum(track.leaving, track.today)[:, None])
        found.append(
            (np.concatenate([home, track.leaving[:, None], track.leaving[:, None] + track.ahead], axis=1), track.log_sd)
        )
    months = standing.course.months
    if months:
        span = (months.due - months.done).days
        at = np.array([(day - months.done).days for day in _knot_days(problem, f)], dtype=float)
        moved = np.concatenate([np.zeros(1 + len(days)), np.ones(len(at) - 1 - len(days))])
        found.append(((at + f.draws.shift_days[:, None] * moved) / span, np.zeros(f.rows)))
    return found


def _knot_days(problem: PlacementProblem, f: Futures) -> list[date]:
    s = f.s
    there = {site.legs_done: site.date for site in reversed(problem.sites) if site.kind == STOP}
    last = [max(s.start, there.get(number, leg.date)) for number, leg in enumerate(s.timeline.legs, 1)]
    last[-1:] = [max(s.start, s.trip.return_)] * len(last[-1:])
    return [s.today, *(site.date for site in problem.sites if site.kind == WORKSHOP), s.start, *last]


def worth_doing(priced: Sequence[Priced], problem: PlacementProblem, placing: Placing) -> list[Worth]:
    """The few jobs that pay for themselves against bad luck, the best first, while the days at home have minutes.

    After each the openings it brings cost the others nothing more on that day.
    """
    opened = [set(states) for states in opened_at(problem, placing)]
    left = [
        (site.minutes or 0.0) - used for site, used in zip(problem.sites, site_minutes(problem, placing), strict=True)
    ]
    worked = [minutes > 0 for minutes in home_minutes(problem, placing)]
    waiting_list = [one for one in priced if one.site is not None and not one.is_planned]
    found: list[Worth] = []
    while waiting_list:
        offers = [offer for one in waiting_list if (offer := _offer(one, problem, opened, left, worked))]
        if not offers:
            return found
        best = max(offers, key=lambda offer: (offer.gain, -offer.priced.index))
        site = best.priced.site or 0
        found.append(best)
        opened[site].update(problem.tasks[best.priced.index].opens)
        left[site] -= best.minutes
        worked[site] = True
        waiting_list.remove(best.priced)
    return found


def _offer(
    one: Priced,
    problem: PlacementProblem,
    opened: Sequence[set[Opening]],
    left: Sequence[float],
    worked: Sequence[bool],
) -> Worth | None:
    """The job with its openings as they stand now; None where it does not pay or does not fit."""
    site, task = one.site or 0, problem.tasks[one.index]
    own = task.minutes + opening_minutes(problem, [pair for pair in task.opens if pair not in opened[site]])
    minutes = (own + (0.0 if worked[site] else set_out(problem, own))) * problem.place_factor[site]
    price = problem.hour_price[site] / MINUTES_PER_HOUR
    gain = one.gain + (one.minutes - minutes) * price * one.there_share
    if gain <= NOTHING_GAINED or minutes > left[site] + 1e-9:
        return None
    return Worth(one, minutes, minutes * price, gain)


def patterns(priced: Sequence[Priced]) -> list[tuple[int, int, int]]:
    """Each pattern of decisions that differ from those of the plan's own future.

    In how many futures it is met, how many jobs change sides, and the first of those futures; the
    most frequent first. Futures in which nothing changes are not among them.
    """
    columns = [one.pays != one.pays[0] for one in priced if one.site is not None]
    changed = np.stack(columns, axis=1) if columns else np.zeros((0, 0), dtype=bool)
    rows: dict[bytes, list[int]] = {}
    for row, flags in enumerate(changed):
        if flags.any():
            rows.setdefault(flags.tobytes(), []).append(row)
    found = [(len(own), int(changed[own[0]].sum()), own[0]) for own in rows.values()]
    return sorted(found, key=lambda one: (-one[0], one[2]))
