"""What was found bad and not put right: how soon it has to be, and what it costs to leave it longer.

Water in an oil or a grease: the row of `water_rules.csv` that puts it right gives days and km; where there is
none, the days that a manual gives the service after deep fording. A part known to be worn or broken that can
hurt somebody or stop the rig: before the rig goes on (common practice, no source). Where no place lies inside
that, the first place that can do the job is in time. Leaving it longer is priced as a limit that is broken,
once and for each such span of days.
"""

from collections.abc import Sequence

from tripplan.due.standing import Situation, Standing
from tripplan.placing.problem import Site, first_site_from, last_chance
from tripplan.records.facts_in import FACILITY_RANK

WATER = "water"


def days_and_km(standing: Standing, s: Situation) -> tuple[float, float | None]:
    """The days, and the km if any, within which what water was found in has to be put right."""
    does, usual = s.catalogue.acts_doing.get(standing.item.act, frozenset()), s.catalogue.assumed("water_found_days")
    for row in s.catalogue.water_rules:
        if row.item == standing.item.id and row.resets and row.act in does and row.within_days is not None:
            return row.within_days, row.within_km
    return usual.value, None


def last_in_time(standing: Standing, sites: Sequence[Site], s: Situation) -> int | None:
    """The last site that is soon enough for what was found, else the first that can do it; None where it may wait."""
    bad, item = standing.bad, standing.item
    if bad is None or (bad.finding != WATER and not (item.harms or item.strands > 0)):
        return None
    first = first_site_from(sites, s.trip.depart, s.today, standing.lead_days)
    able = [i for i in range(first, len(sites)) if sites[i].rank >= FACILITY_RANK[item.facility]]
    if bad.finding != WATER:
        inside = [i for i in able if i <= last_chance(sites, s.today)]
        return inside[-1] if inside else able[0]
    days, km = days_and_km(standing, s)
    from_km = sum(leg.distance_km for leg in s.timeline.legs if leg.date <= bad.date)
    inside = [
        i for i in able
        if (sites[i].date - bad.date).days <= days and (km is None or sites[i].trip_km - from_km <= km)
    ]  # fmt: skip
    return inside[-1] if inside else able[0]


def price_of_leaving(standing: Standing, sites: Sequence[Site], s: Situation, price: float) -> list[int]:
    """What it costs to put it right only at each site, beside its wear, in thousandths; `price` is that of a broken limit."""
    last = last_in_time(standing, sites, s)
    if last is None:
        return [0] * len(sites)
    days, _ = days_and_km(standing, s)
    late = [(site.date - sites[last].date).days / days for site in sites]
    return [round(price * (1.0 + late[i])) if i > last else 0 for i in range(len(sites))]
