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

from tripplan.assess import Situation, Standing
from tripplan.falls_due import Course
from tripplan.placement import Site, at_sites

# Acts that give back life. A look or a measurement renews nothing, so it earns no risk.
RENEWING = frozenset({"grease", "adjust", "torque", "drain and refill", "repack", "renew", "clean"})


def cumulative_hazard(share_used: float, shape: float, percentile: float) -> float:
    """Expected failures of one part from new to this share of its interval (0 or more)."""
    return -log1p(-percentile) * max(0.0, share_used) ** shape


def leg_costs(s: Situation, consequence: str) -> tuple[float, ...]:
    """What one failure of this consequence costs on each leg: hours to help x the owner's rate."""
    part = s.catalogue.assumed(f"stranded_share_{consequence}").value
    hours = {flag: s.catalogue.assumed(f"hours_to_help_{name}").value for flag, name in ((True, "remote"), (False, "near"))}
    return tuple(hours[leg.remote] * part * s.trip.cost_per_stranded_hour for leg in s.timeline.legs)


def stranding(
    standing: Standing, sites: Sequence[Site], pile_index: Sequence[int], ends: Sequence[int], s: Situation
) -> tuple[tuple[float, ...], ...]:
    """Expected cost of standing still from a renewal at site p to site q, as `rows[p + 1][q]`.

    Row 0 starts from the state at today. `ends[l]` is the number of stretches up to the
    end of leg l. Acts that renew nothing, and items nobody knows the use of, give zeros.
    """
    count = len(sites)
    if standing.item.act not in RENEWING or not standing.course.known or not s.timeline.legs:
        return ((0.0,) * count,) * (count + 1)
    percentile = s.catalogue.assumed("interval_percentile_of_life").value
    costs = leg_costs(s, standing.item.consequence)
    if not any(costs):
        return ((0.0,) * count,) * (count + 1)
    piled = [0.0] * (count + 1)
    rows = []
    for p in range(count + 1):
        shares = leg_shares(standing.course, sites, pile_index, ends, s, p)
        hazards = [cumulative_hazard(share, standing.item.life_shape, percentile) for share in shares]
        piled = [0.0]
        for index, cost in enumerate(costs):
            piled.append(piled[-1] + max(0.0, hazards[index + 1] - hazards[index]) * cost)
        start = sites[p - 1].legs_done if p else 0
        rows.append(tuple(max(0.0, piled[site.legs_done] - piled[start]) for site in sites))
    return tuple(rows)


def leg_shares(
    course: Course, sites: Sequence[Site], pile_index: Sequence[int], ends: Sequence[int], s: Situation, p: int
) -> list[float]:
    """Typical share used at the start of the trip and at the end of each leg, renewed at site p - 1."""
    shares = [0.0] * (len(ends) + 1)
    for track in course.tracks:
        at = at_sites(track, track.used, track.typical, sites, pile_index, s.today)
        start = at[p - 1] if p else 0.0
        shares[0] = max(shares[0], (track.used - start) / track.interval)
        for index, end in enumerate(ends):
            shares[index + 1] = max(shares[index + 1], (track.used + track.typical[end - 1] - start) / track.interval)
    if course.months:
        span = (course.months.due - course.months.done).days
        done = sites[p - 1].date if p else course.months.done
        days = [s.start, *(leg.date for leg in s.timeline.legs)]
        shares = [max(share, (day - done).days / span) for share, day in zip(shares, days, strict=True)]
    return shares
