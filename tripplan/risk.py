"""Expected standing still: how likely an item fails on a leg, and what that costs there.

Life is Weibull in the item's own wear share (1 = its interval used up). The interval is
taken as the age by which a stated share of parts would have failed, so the cumulative
hazard at share u is -ln(1 - p) u^shape. With minimal repair expected failures on a stretch
are the difference of the cumulative hazard, which adds over legs and items.

Source: Weibull conditional reliability (reliawiki.com, read); that a normal interval is the
10 % life is judgement, as is the shape of each item.
"""

from collections.abc import Sequence
from math import log1p
from typing import TYPE_CHECKING

from tripplan.assess import Situation, Standing
from tripplan.falls_due import Course
from tripplan.placement import Site, at_sites

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    FloatArray = NDArray[float64]

# Acts that give back life. A look or a measurement renews nothing, so it earns no risk.
RENEWING = frozenset({"grease", "adjust", "torque", "drain and refill", "repack", "renew", "clean"})


def cumulative_hazard(share_used: float, shape: float, percentile: float) -> float:
    """Expected failures of one part from new to this share of its interval (0 or more)."""
    return float(-log1p(-percentile) * max(0.0, share_used) ** shape)


def leg_costs(s: Situation, consequence: str) -> tuple[float, ...]:
    """What one failure of this consequence costs on each leg: hours to help x the owner's rate."""
    part = s.catalogue.assumed(f"stranded_share_{consequence}").value * s.trip.cost_per_stranded_hour
    remote, near = (s.catalogue.assumed(f"hours_to_help_{name}").value * part for name in ("remote", "near"))
    return tuple(remote if leg.remote else near for leg in s.timeline.legs)


def stranding(
    standing: Standing, sites: Sequence[Site], pile_index: Sequence[int], ends: Sequence[int], s: Situation
) -> tuple[tuple[float, ...], ...]:
    """Expected cost of standing still from a renewal at site p to site q, as `rows[p + 1][q]`.

    Row 0 starts from the state at today. `ends[l]` is the number of stretches up to the
    end of leg l. Acts that renew nothing, and items nobody knows the use of, give zeros.
    """
    count = len(sites)
    nothing = ((0.0,) * count,) * (count + 1)
    if standing.item.act not in RENEWING or not standing.course.known or not s.timeline.legs:
        return nothing
    costs = leg_costs(s, standing.item.consequence)
    if not any(costs):
        return nothing
    import numpy as np

    percentile = s.catalogue.assumed("interval_percentile_of_life").value
    shares = leg_shares(standing.course, sites, pile_index, ends, s)
    hazard = -log1p(-percentile) * np.maximum(shares, 0.0) ** standing.item.life_shape
    steps = np.maximum(np.diff(hazard, axis=1), 0.0) * np.array(costs)
    piled = np.concatenate([np.zeros((count + 1, 1)), np.cumsum(steps, axis=1)], axis=1)
    done = [site.legs_done for site in sites]
    start = piled[np.arange(count + 1), [0, *done]]
    return tuple(map(tuple, np.maximum(piled[:, done] - start[:, None], 0.0).tolist()))


def leg_shares(
    course: Course, sites: Sequence[Site], pile_index: Sequence[int], ends: Sequence[int], s: Situation
) -> "FloatArray":
    """Typical share used, one row a starting point (today, then each site), one column a leg end.

    The first column is the start of the trip.
    """
    import numpy as np

    shares = np.zeros((len(sites) + 1, len(ends) + 1))
    for track in course.tracks:
        at = np.array([0.0, *at_sites(track, track.used, track.typical, sites, pile_index, s.today)])
        used = np.array([track.used, *(track.used + track.typical[end - 1] for end in ends)])
        shares = np.maximum(shares, (used[None, :] - at[:, None]) / track.interval)
    if course.months:
        span = (course.months.due - course.months.done).days
        done = np.array([course.months.done.toordinal(), *(site.date.toordinal() for site in sites)])
        days = np.array([s.start.toordinal(), *(leg.date.toordinal() for leg in s.timeline.legs)])
        shares = np.maximum(shares, (days[None, :] - done[:, None]) / span)
    return shares
