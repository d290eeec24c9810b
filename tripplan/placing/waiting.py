"""What waiting costs each item on this trip: its lateness, leg by leg, in whole thousandths.

From every place where the item may be renewed, and from its state today, the share of the
interval used is followed through the days at home and the legs. The price of lateness says
what each step costs at home; on a leg it costs as many times more as a failure does there.
An item nobody knows the use of counts as used up; an overhaul nobody has a record of stands
in the middle of its life, because a look at play, leaks and noise comes first.
"""

from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

from msgspec import Struct

from tripplan.due.runs_out import Course
from tripplan.due.standing import Situation, Standing
from tripplan.placing.found_bad import WATER, price_of_leaving
from tripplan.placing.lateness import (
    RENEWING,
    dearness,
    failure_price,
    failures_at_interval,
    lateness,
    mean_power,
    shape_of,
    worth_of_state,
)
from tripplan.placing.problem import STOP, THOUSAND, WORKSHOP, Site, last_chance
from tripplan.records import plan as words
from tripplan.records.catalogue import Item
from tripplan.wear.mechanisms.uncertain import Z95

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    FloatArray = NDArray[float64]

KNOWN_BY_LOOKING = ("fluid", "filter")
OVERHAUL_ACTS, OVERHAUL_MONTHS, DEEP_MINUTES = ("repack", "renew"), 24.0, 30.0
USUAL_KM_PER_YEAR, MONTHS_PER_YEAR = 10_000.0, 12.0
LEAST_RATE_PER_HOUR = 1.0
"""An owner whose hours cost nothing still has to choose: then an hour counts as one."""


class Waiting(Struct, frozen=True):
    """One item's rows as a task holds them; see `Task`."""

    shares: tuple[tuple[float, ...], ...]
    late: tuple[tuple[int, ...], ...]
    worth: tuple[int, ...]
    reach: tuple[int, ...]
    sound: tuple[int, ...]


class Rates(Struct, frozen=True):
    """What hours and failures cost this owner, in the owner's currency."""

    home_hour: float
    holiday_hour: float
    standing_hour: float
    repair: float
    harm_factor: float
    hours_at_home: float


def rates_of(s: Situation) -> Rates:
    """The owner's prices of `trip.toml`, and what the tables add where it is silent."""
    value = s.catalogue.assumed
    home = max(s.trip.rate_per_hour, LEAST_RATE_PER_HOUR)
    given = s.trip.holiday_rate_per_hour
    holiday = home * value("holiday_hour_factor").value if given is None else max(given, LEAST_RATE_PER_HOUR)
    return Rates(
        home_hour=home, holiday_hour=holiday, standing_hour=s.trip.cost_per_stranded_hour,
        repair=home * value("repair_after_failure_hours").value, harm_factor=value("harm_factor").value,
        hours_at_home=value("hours_to_help_home").value,
    )  # fmt: skip


def is_limited(item: Item) -> bool:
    """True for an act that renews what harms: its interval is a limit, not a price."""
    return item.harms and item.act in RENEWING


def leg_dearness(item: Item, s: Situation) -> tuple[float, ...]:
    """How many times as dear a failure of this item is on each leg as at home; harm counts besides."""
    return _dearness_by_leg(item.harms, item.strands, rates_of(s), tuple(s.standing_hours))


@lru_cache(maxsize=256)
def _dearness_by_leg(harms: bool, strands: float, rates: Rates, standing_hours: tuple[float, ...]) -> tuple[float, ...]:
    more = rates.harm_factor if harms else 1.0
    return tuple(
        1.0 + more * (dearness(hours, rates.hours_at_home, strands, rates.standing_hour, rates.repair) - 1.0)
        for hours in standing_hours
    )


def is_overhaul(item: Item, deep_minutes: float) -> bool:
    """True for an act that is no service: opened deep or made new, after years, and not seen in a fluid or a filter."""
    years = item.months is not None and item.months >= OVERHAUL_MONTHS
    big = item.act in OVERHAUL_ACTS or deep_minutes >= DEEP_MINUTES
    return years and big and item.family not in KNOWN_BY_LOOKING


def waiting(
    standing: Standing, sites: Sequence[Site], ends: Sequence[int], s: Situation, act_price: float, look_first: bool
) -> Waiting:
    """Everything the placement has to know of one item; `act_price` is what its act costs at home."""
    import numpy as np

    knots, here = _knots(sites, s)
    typical, added, grown = _shares(standing, sites, ends, s, here, look_first)
    item, shape = standing.item, shape_of(standing.item.act, standing.item.life_shape)
    dear = np.array([1.0] * (knots - len(s.timeline.legs) - 1) + [*leg_dearness(item, s)])
    piled = np.concatenate([np.zeros((len(grown), 1)), np.cumsum(grown * dear, axis=1)], axis=1)
    start = piled[np.arange(len(piled)), [0, *here]]
    money = THOUSAND * np.asarray(lateness(1.0, act_price, shape))
    cost = np.rint(np.maximum(piled[:, here] - start[:, None], 0.0) * money)
    shares = typical[:, here]
    end = np.rint(THOUSAND * np.asarray(worth_of_state(np.maximum(shares[:, -1], 0.0), act_price, shape)))
    limit = 1.0 + s.catalogue.assumed("tolerance_share").value
    chances = last_chance(sites, s.today) + 1
    sound = _last_inside(shares, limit, chances)
    price = limit_price(s)
    cost[0] += price_of_leaving(standing, sites, s, price)
    if is_limited(item):
        broken = past_limit(typical, added, here, limit, len(s.timeline.legs))
        cost = cost + np.rint(np.where(broken >= 0, price * (1.0 + broken), 0.0))
    return Waiting(
        shares=tuple(map(tuple, shares.tolist())), late=tuple(tuple(map(int, row)) for row in cost.tolist()),
        worth=tuple(map(int, end.tolist())), reach=_last_inside(shares, 1.0, chances),
        sound=sound if is_limited(item) else (len(sites) - 1,) * (len(sites) + 1),
    )  # fmt: skip


def _knots(sites: Sequence[Site], s: Situation) -> tuple[int, list[int]]:
    """Points in time on the item's way: today, each workshop day, departure, each leg's end; and each site's."""
    home = sum(site.kind == WORKSHOP for site in sites)
    here = [1 + i if site.kind == WORKSHOP else 1 + home + site.legs_done for i, site in enumerate(sites)]
    return home + 2 + len(s.timeline.legs), here


def _shares(
    standing: Standing, sites: Sequence[Site], ends: Sequence[int], s: Situation, here: Sequence[int], look_first: bool
) -> tuple["FloatArray", "FloatArray", "FloatArray"]:
    """Typical share used from today and from each site to every knot, and what each step adds to use and to failures.

    Of several meters the first to run out sets the share; on each step the one that adds most counts.
    """
    import numpy as np

    course, shape = standing.course, shape_of(standing.item.act, standing.item.life_shape)
    offset = offset_of_state(standing, s, look_first)
    rows, knots = len(sites) + 1, 2 + len(s.timeline.legs) + sum(site.kind == WORKSHOP for site in sites)
    typical, added, grown = np.zeros((rows, knots)), np.zeros((rows, knots - 1)), np.zeros((rows, knots - 1))
    leaving = knots - len(s.timeline.legs) - 1
    for used, log_sd in _uses(course, sites, ends, s):
        start = np.array([0.0, *used[here]])
        share = np.maximum(used[None, :] - start[:, None], 0.0)
        driven = np.maximum(used[None, :] - np.maximum(start, used[leaving])[:, None], 0.0)
        share[0] = np.maximum(share[0] + offset, 0.0)
        typical, added = np.maximum(typical, share), np.maximum(added, np.diff(share, axis=1))
        doubt = log_sd * np.minimum(driven / np.where(share > 0, share, 1.0), 1.0)
        power = np.asarray(mean_power(share, share * np.exp(Z95 * doubt), shape))
        grown = np.maximum(grown, np.diff(power, axis=1))
    return typical, added, grown


def offset_of_state(standing: Standing, s: Situation, look_first: bool) -> float:
    """What today's state differs from the record, in intervals."""
    if standing.bad is not None:
        at = max(1.0 if limit.used is None else limit.used / limit.interval for limit in standing.limits)
        name = "wet_left_share" if standing.bad.finding == WATER else "bad_finding_share"
        return max(0.0, s.catalogue.assumed(name).value - at)
    if look_first and standing.verdict == words.NO_RECORD:
        return s.catalogue.assumed("unknown_overhaul_share").value - 1.0
    return 0.0


def _uses(course: Course, sites: Sequence[Site], ends: Sequence[int], s: Situation) -> list[tuple["FloatArray", float]]:
    """Share of each meter's interval used at every knot if nothing is renewed, and the doubt about the trip's wear."""
    import numpy as np

    home = [site for site in sites if site.kind == WORKSHOP]
    found = []
    for track in course.tracks:
        before = [track.used_today, *(track.used_today + track.idle_per_day * (d.date - s.today).days for d in home)]
        typical = [*before, track.used, *(track.used + track.typical[end - 1] for end in ends)]
        found.append((np.array(typical) / track.interval, track.log_sd))
    if course.months:
        span = (course.months.due - course.months.done).days
        there = {site.legs_done: site.date for site in reversed(sites) if site.kind == STOP}
        last = [max(s.start, there.get(number, leg.date)) for number, leg in enumerate(s.timeline.legs, 1)]
        last[-1:] = [max(s.start, s.trip.return_)] * len(last[-1:])
        days = [s.today, *(d.date for d in home), s.start, *last]
        found.append((np.array([(day - course.months.done).days / span for day in days]), 0.0))
    return found


def _last_inside(shares: "FloatArray", limit: float, chances: int) -> tuple[int, ...]:
    """For each starting point the last site reached inside the limit; -1 when it is past it today.

    What is past it before the rig goes on has still the `chances` before that.
    """
    import numpy as np

    inside = shares <= limit + 1e-9
    sites = shares.shape[1]
    past = np.where(inside, sites, np.arange(sites)[None, :])
    first = past.min(axis=1)
    return tuple(int(site) - 1 for site in np.where(first < chances, chances, first))


def limit_price(s: Situation) -> float:
    """What it costs to pass a limit at all, in thousandths: so many hours of standing, or of work where those cost more."""
    hour = max(rates_of(s).standing_hour, rates_of(s).home_hour)
    return s.catalogue.assumed("limit_broken_price_hours").value * hour * THOUSAND


def past_limit(
    typical: "FloatArray", added: "FloatArray", here: Sequence[int], limit: float, legs: int
) -> "FloatArray":  # fmt: skip
    """How far past the limit an item is driven on the way to each site, in intervals; -1 where it is not.

    `typical` is the share used (from today and from each site, by each knot of the way), `added` what each step between
    knots adds to any of its meters; of one future or with many before. What is past the limit on leaving counts from
    there on, where its share grows on the way or not: at home it can still be done. A meter that ran out long ago hides
    none of what the others are driven by.
    """
    import numpy as np

    leaving = typical.shape[-1] - legs - 1
    beyond = np.where(typical[..., :-1] >= limit, added, np.clip(typical[..., 1:] - limit, 0.0, added))
    piled = np.concatenate([np.zeros_like(typical[..., :1]), np.cumsum(beyond, axis=-1)], axis=-1)
    at = np.array([0, *here])
    over = piled[..., here] - piled[..., np.arange(len(at)), np.maximum(at, leaving)][..., None]
    is_past = (typical[..., here] > limit + 1e-9) & (np.array(here) > leaving)
    return np.where(is_past, np.maximum(over, 0.0), -1.0)


def failures_per_10_000_km(items: Sequence[tuple[Item, float]], s: Situation) -> float:
    """Failures that cannot wait, with every interval kept, in 10 000 km of ordinary use.

    `items` are item positions, each with what its act costs at home. What costs no time to
    help can wait; the daily walk-round is not counted. To be held against the world: 0.3 to 2.4
    (MIL-T-46780D 3.1.1: at least 4184 km between failures that cannot wait, read).
    """
    rates = rates_of(s)
    total = 0.0
    for item, price in items:
        if item.rhythm != "walk-round":
            shape = shape_of(item.act, item.life_shape)
            cost = failure_price(rates.hours_at_home, item.strands, rates.standing_hour, rates.repair)
            total += item.strands * often(item) * failures_at_interval(price, cost, shape)
    return total


def often(item: Item) -> float:
    """How often the act comes round in 10 000 km, which stand for a year of ordinary use."""
    found = [MONTHS_PER_YEAR / item.months] if item.months else []
    found += [USUAL_KM_PER_YEAR / item.km] if item.km else []
    return max(found, default=1.0)
