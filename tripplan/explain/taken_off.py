"""What the plan has taken off the minutes that there are, in words: work on record, and days at a stop that are gone."""

from collections.abc import Iterator

from tripplan.due.standing import Situation
from tripplan.explain.moves import time_words
from tripplan.placing.problem import STOP, Site, build_sites
from tripplan.placing.spent import Spent, road_minutes, share_ahead, work_spent
from tripplan.records.facts_in import as_day
from tripplan.records.grouped import grouped
from tripplan.records.plain_words import day_and_month


def taken_off(s: Situation) -> tuple[str, ...]:
    """The sentences, for the places that still lie ahead and for the road over the trip; none where nothing is off."""
    spent, sites = work_spent(s), build_sites(s.ahead, s.timeline, s.today)
    told = [*_at_places(spent, sites), *_over_the_trip(spent, sites, s)]
    work = f"Work on record is taken off the minutes that there are: {'; '.join(told)}. " if told else ""
    how = "It counts what the tables give each act, with its openings; an act they have no minutes for counts nothing."
    return (*((work + how,) if told else ()), *_days_gone(s, sites))


def _at_places(spent: tuple[Spent, ...], sites: tuple[Site, ...]) -> Iterator[str]:
    there = {site.id: site for site in sites}
    for where, done in grouped((one.site.id, one) for one in spent if one.site is not None).items():
        minutes = sum(one.minutes for one in done)
        if where in there and minutes > 0:
            site = there[where]
            day = "" if site.kind == STOP else f" on {day_and_month(site.date)}"
            yield f"{time_words(minutes)} at {site.place}{day}"


def _over_the_trip(spent: tuple[Spent, ...], sites: tuple[Site, ...], s: Situation) -> Iterator[str]:
    minutes = road_minutes(spent, sites, s)
    if minutes > 0:
        yield f"{time_words(minutes)} of the road's over the trip"


def _days_gone(s: Situation, sites: tuple[Site, ...]) -> Iterator[str]:
    """Stops where some of the days are gone, whatever was done on them."""
    there = {(site.place, site.after_leg) for site in sites if site.kind == STOP}
    for stop in s.ahead.stops:
        share = share_ahead(stop, s.trip, s.today)
        if share < 1.0 and (stop.stop, stop.after_leg) in there:
            left = f"at most {time_words(stop.minutes * share)} of its {time_words(stop.minutes)} are still ahead"
            if share == 0:
                left = "the rig leaves in the morning" if as_day(stop.leave) == s.today else "its days are gone"
                left += ", and no minutes are left there"
            yield f"{stop.stop}: {left}."
