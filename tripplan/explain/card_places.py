"""The larger jobs that a case of a crossing adds to the plan at later places.

Asked of the plan as it stands: an act that it does in time at the same thing, or a greater one, is not added. What is
added goes to the last place in time that has what it takes; whether its day has the minutes for it is told
by the plan made after the crossing.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date

from msgspec import Struct

from tripplan.due.standing import Situation
from tripplan.placing.problem import Site, build_sites
from tripplan.placing.tasks import Windowed, place_for, shared_visits, visit_window
from tripplan.records.facts_in import FACILITY_RANK
from tripplan.records.plain_words import lower_first
from tripplan.records.plan import Plan
from tripplan.records.words import Act
from tripplan.water.crossing import Call
from tripplan.wear.last_done import History

BIG = (Act.REPACK, Act.RENEW, Act.DRAIN_AND_REFILL)


class CardJob(Struct, frozen=True, kw_only=True):
    """A larger job: the act, and the item in few words."""

    act: str
    name: str


class CardPlace(Struct, frozen=True, kw_only=True):
    """Larger jobs a case adds to the plan at one place; an empty place says that no stop lies within their window."""

    place: str
    day: date | None
    jobs: tuple[CardJob, ...]


SiteThing = tuple[int, str, str, str]


class Planned(Struct, frozen=True):
    """The calls of the trip as planned, the sites ahead, and the acts that the plan does there, thing by thing."""

    calls: tuple[Call, ...]
    sites: tuple[Site, ...]
    acts: dict[SiteThing, set[str]]
    history: History

    def site_of(self, visit: Sequence[Windowed]) -> int | None:
        """Where the plan does what a visit is for, in time; None where it does not."""
        first, last = visit_window(visit)
        call = visit[0][1]
        return next((site for site in range(last, first - 1, -1) if self._does(site, call)), None)

    def _does(self, site: int, call: Call) -> bool:
        done = [
            act
            for side in {"", call.position or ""}
            for act in self.acts.get((site, call.item.id, call.unit.id, side), ())
        ]
        return any(self.history.does(act, call.rule.act) for act in done)

    def last_able(self, visit: Sequence[Windowed]) -> int | None:
        """The last site in time that has what a visit takes."""
        first, last = visit_window(visit)
        enough = FACILITY_RANK[visit[0][1].rule.facility]
        return next((site for site in range(last, first - 1, -1) if self.sites[site].rank >= enough), None)


def planned(s: Situation, calls: tuple[Call, ...], plan: Plan | None) -> Planned:
    """What is planned already: the jobs of the plan, or without one each call at the last place in time."""
    found = Planned(calls, build_sites(s.ahead, s.timeline, s.today), {}, s.history)
    number = {site.id: index for index, site in enumerate(found.sites)}
    if plan is None:
        for visit in shared_visits(calls, found.sites):
            if (site := found.last_able(visit)) is not None:
                call = visit[0][1]
                found.acts.setdefault((site, call.item.id, call.unit.id, call.position or ""), set()).add(call.rule.act)
        return found
    for slot in plan.slots:
        for job in slot.jobs if slot.id in number else ():
            found.acts.setdefault((number[slot.id], job.item, job.unit, job.position or ""), set()).add(job.act)
    return found


def card_places(own: Sequence[Call], index: int, plan: Planned) -> Iterator[CardPlace]:
    """What a case adds to the plan, place by place; last what no stop is in time for.

    `own` is what the crossing number `index` calls for in that case, in place of what it calls for as planned.
    """
    others = [call for call in plan.calls if call.crossing != index]
    visits = shared_visits((*others, *own), plan.sites)
    new = [visit for visit in visits if visit[-1][0] >= len(others) and plan.site_of(visit) is None]
    added = [(plan.last_able(visit), visit[0][1]) for visit in new]
    for number, site in enumerate(plan.sites):
        if jobs := _big(call for at, call in added if at == number):
            yield CardPlace(place=site.place, day=site.date, jobs=jobs)
    unplaced = [call for at, call in added if at is None]  # each may have a place, and one visit for all of them none
    big = (call for call in own if call.rule.act in BIG)
    if nowhere := _big(call for call in big if call in unplaced or place_for(call, plan.sites) is None):
        yield CardPlace(place="", day=None, jobs=nowhere)


def _big(calls: Iterable[Call]) -> tuple[CardJob, ...]:
    jobs = (CardJob(act=call.rule.act, name=lower_first(call.item.said)) for call in calls if call.rule.act in BIG)
    return tuple(dict.fromkeys(jobs))
