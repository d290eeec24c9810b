"""Expected standing still: how likely an item fails on a leg, and what that costs there.

Life is Weibull in the item's own wear share (1 = its interval used up). The interval is
taken as the age by which a stated share of parts would have failed, so the cumulative
hazard at share u is -ln(1 - p) u^shape. With minimal repair expected failures on a stretch
are the difference of the cumulative hazard, which adds over legs and items.

A look or a measurement renews nothing: what it earns is the fault it finds in time. Faults
come at an even rate and give warning before they become failures (the delay time); what is
not looked at in time fails. Its own small price keeps looks from drifting to the last km.

Sources: Weibull conditional reliability (reliawiki.com, read); delay time, Christer and
Waller 1984 (memory). That a normal interval is the 10 % life is judgement, as are the shape
of each item, the rate of faults and the length of the warning.
"""

from collections.abc import Sequence
from math import log1p
from typing import TYPE_CHECKING

from tripplan.due.runs_out import Course
from tripplan.due.standing import Situation, Standing
from tripplan.placing.problem import Site, at_sites
from tripplan.records.words import Act

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    FloatArray = NDArray[float64]

# Acts that give back life; the others look or measure, and only find what has begun to fail.
RENEWING = frozenset(Act) - {Act.LOOK, Act.MEASURE, Act.EXERCISE}


def cumulative_hazard(share_used: "FloatArray | float", shape: float, percentile: float) -> "FloatArray":
    """Expected failures of one part from new to this share of its interval (0 or more)."""
    import numpy as np

    return np.asarray(-log1p(-percentile) * np.maximum(share_used, 0.0) ** shape)


def missed_failures(share_used: "FloatArray", faults: float, warning: float) -> "FloatArray":
    """Failures that a look after this share of its interval comes too late for.

    Faults begin at `faults` an interval and become failures after an exponential delay whose
    mean is `warning` intervals: faults x (u - warning (1 - exp(-u / warning))), u = 0 or more.
    """
    import numpy as np

    share = np.maximum(share_used, 0.0)
    return np.asarray(faults * (share + warning * np.expm1(-share / warning)))


def leg_costs(s: Situation, strands: float) -> tuple[float, ...]:
    """What one failure costs on each leg: that share of the hours to help x the owner's rate."""
    part = strands * s.trip.cost_per_stranded_hour
    return tuple(hours * part for hours in s.standing_hours)


def stranding(
    standing: Standing, sites: Sequence[Site], pile_index: Sequence[int], ends: Sequence[int], s: Situation
) -> tuple[tuple[float, ...], ...]:
    """Expected cost of standing still from a renewal at site p to site q, as `rows[p + 1][q]`.

    Row 0 starts from the state at today. `ends[l]` is the number of stretches up to the
    end of leg l. Items nobody knows the use of give zeros.
    """
    count = len(sites)
    nothing = ((0.0,) * count,) * (count + 1)
    if not standing.course.known or not s.timeline.legs:
        return nothing
    costs = leg_costs(s, standing.item.strands)
    if not any(costs):
        return nothing
    import numpy as np

    hazard = _failures(standing, leg_shares(standing.course, sites, pile_index, ends, s), s)
    steps = np.maximum(np.diff(hazard, axis=1), 0.0) * np.array(costs)
    piled = np.concatenate([np.zeros((count + 1, 1)), np.cumsum(steps, axis=1)], axis=1)
    done = [site.legs_done for site in sites]
    start = piled[np.arange(count + 1), [0, *done]]
    return tuple(map(tuple, np.maximum(piled[:, done] - start[:, None], 0.0).tolist()))


def _failures(standing: Standing, shares: "FloatArray", s: Situation) -> "FloatArray":
    """Expected failures by those shares: of a life given back, or of faults that no look found."""
    value = s.catalogue.assumed
    if standing.item.act not in RENEWING:
        return missed_failures(shares, value("faults_per_look_interval").value, value("warning_look_intervals").value)
    return cumulative_hazard(shares, standing.item.life_shape, value("interval_percentile_of_life").value)


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
