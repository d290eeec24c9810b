"""Will we get home: failures, standing hours and the chance of no stop, in each case, with where they come from.

The chance of no stop is the average, over the doubts that items share, of exp(-stops expected),
and never a product of averages. A share `strands` of an item's failures stops the rig for the
hours to help of the leg; the rest is driven home with.
"""

from collections.abc import Callable, Sequence

import numpy as np
from msgspec import Struct

from tripplan.due.standing import Situation, Standing
from tripplan.placing.problem import AFTER, Placing
from tripplan.placing.reckoning import site_minutes
from tripplan.records.grouped import grouped
from tripplan.records.plan_risk import ByCase, CurvePoint, ItemRisk, LegRisk, Risk, RiskPart, Skip, SystemRisk
from tripplan.records.units import MINUTES_PER_HOUR
from tripplan.risk.cases import Case
from tripplan.risk.reckoned import Left, Reckoned
from tripplan.wear.mechanisms.uncertain import Z95, Array, percentile
from tripplan.wear.multipliers import MECHANISMS

TOLD = 10
"""How many items are named among those that the hours come from."""
PRICES = ("repair_after_failure_hours", "hours_to_help_home")


class Totals:
    """One case with its averages over the doubts: failures, stops and hours by item and leg."""

    def __init__(self, r: Reckoned, case: Case) -> None:
        found, law = r.failures(case), r.worn.law
        self.weights, self.law = r.weights, law
        self.failures = found @ r.weights
        self.stops = self.failures * law.strands[:, None]
        self.hours = self.stops * r.worn.standing_hours
        by_leg = np.tensordot(law.strands, found, axes=1)
        self.stops_each, self.hours_each = by_leg.sum(axis=0), r.worn.standing_hours @ by_leg

    @property
    def without_a_stop(self) -> float:
        """The chance that nothing stops the rig."""
        return float(self.weights @ np.exp(-self.stops_each))

    def hours_at(self, normal: float) -> float:
        """The value of the expected hours that is reached as often as that standard normal number."""
        mean = self.weights @ self.hours_each
        apart = self.hours_each - mean
        return max(0.0, float(percentile(mean, self.weights @ apart**2, self.weights @ apart**3, normal)))

    def hours_with(self, at_interval: Array) -> float:
        """The expected hours under another number of failures in an interval."""
        ratio = at_interval / np.where(self.law.at_interval > 0, self.law.at_interval, 1.0)
        return float(ratio @ self.hours.sum(axis=1))


class AllTotals(Struct, frozen=True):
    """The totals of the three cases."""

    plan: Totals
    nothing_done: Totals
    all_before: Totals

    def each(self, ask: Callable[[Totals], float]) -> ByCase:
        """One figure of each case."""
        return ByCase(plan=ask(self.plan), nothing_done=ask(self.nothing_done), all_before=ask(self.all_before))

    def pair(self, rows: Sequence[int]) -> tuple[ByCase, ByCase]:
        """Stops and hours of some items together."""
        own = list(rows)
        return self.each(lambda t: float(t.stops[own].sum())), self.each(lambda t: float(t.hours[own].sum()))


def totals_of(r: Reckoned) -> AllTotals:
    """The totals of all three cases."""
    return AllTotals(Totals(r, r.plan), Totals(r, r.nothing_done), Totals(r, r.all_before))


def trip_risk(r: Reckoned, t: AllTotals, placing: Placing, s: Situation, curve: tuple[CurvePoint, ...] = ()) -> Risk:
    """The figures of the whole trip in each case, and where they come from."""
    law = r.worn.law
    return Risk(
        failures_expected=t.each(lambda one: float(one.failures.sum())),
        stops_expected=t.each(lambda one: float(one.stops.sum())),
        standing_hours_expected=t.each(lambda one: float(one.hours.sum())),
        home_without_a_stop=t.each(lambda one: one.without_a_stop),
        standing_hours_low=t.each(lambda one: one.hours_at(-Z95)),
        standing_hours_high=t.each(lambda one: one.hours_at(Z95)),
        standing_hours_if_repairs_cost_least=t.each(lambda one: one.hours_with(law.at_most)),
        standing_hours_if_repairs_cost_most=t.each(lambda one: one.hours_with(law.at_least)),
        distance_km=sum(leg.distance_km for index, leg in enumerate(s.timeline.legs) if not s.is_driven(index)),
        planned_work_hours=work_hours(r, placing),
        shared_doubts=tuple(MECHANISMS[m] for m in r.worn.doubts.mechanisms),
        items=_items(r, t), systems=_systems(r, t), legs=_legs(t, s), curve=curve,
    )  # fmt: skip


def work_hours(r: Reckoned, placing: Placing) -> float:
    """Hours of work before setting out and on the road, as they take there."""
    problem = r.work.problem
    minutes = site_minutes(problem, placing)
    return sum(m for m, site in zip(minutes, problem.sites, strict=True) if site.kind != AFTER) / MINUTES_PER_HOUR


def _items(r: Reckoned, t: AllTotals) -> tuple[RiskPart, ...]:
    hours = t.plan.hours.sum(axis=1)
    standings = r.worn.courses.standings
    order = sorted(
        range(len(hours)), key=lambda row: (-hours[row], standings[row].item.id, standings[row].position or "")
    )
    return tuple(_part(standings[row], *t.pair([row])) for row in order[:TOLD] if hours[row] > 0)


def _part(x: Standing, stops: ByCase, hours: ByCase) -> RiskPart:
    return RiskPart(
        item=x.item.id, name=x.item.said, unit=x.unit.id, position=x.position, system=x.item.system,
        stops_expected=stops, standing_hours_expected=hours,
    )  # fmt: skip


def _systems(r: Reckoned, t: AllTotals) -> tuple[SystemRisk, ...]:
    rows = grouped((standing.item.system, row) for row, standing in enumerate(r.worn.courses.standings))
    found = [SystemRisk(system=name, stops_expected=stops, standing_hours_expected=hours)
             for name, (stops, hours) in ((name, t.pair(own)) for name, own in rows.items())]  # fmt: skip
    return tuple(sorted(found, key=lambda one: (-one.standing_hours_expected.plan, one.system)))


def _legs(t: AllTotals, s: Situation) -> tuple[LegRisk, ...]:
    found = []
    for index, leg in enumerate(s.timeline.legs):
        if not s.is_driven(index):
            stops = t.each(lambda one, at=index: float(one.stops[:, at].sum()))  # type: ignore[misc]
            hours = t.each(lambda one, at=index: float(one.hours[:, at].sum()))  # type: ignore[misc]
            found.append(
                LegRisk(leg=leg.leg, standing_hours_each=s.standing_hours[index], stops_expected=stops,
                        standing_hours_expected=hours)
            )  # fmt: skip
    return tuple(found)


def item_risks(r: Reckoned, t: AllTotals, s: Situation) -> dict[tuple[str, str, str], ItemRisk]:
    """Each item position's part and its law, by item, unit and position."""
    law, found = r.worn.law, {}
    rows = tuple(s.catalogue.assumed(name).origin for name in PRICES)
    for row, x in enumerate(r.worn.courses.standings):
        stops, hours = t.pair([row])
        found[x.thing] = ItemRisk(
            failures_per_interval=float(law.at_interval[row]), power=float(law.shape[row]),
            stops_share=float(law.strands[row]), act_price=float(law.act_price[row]),
            failure_price=float(law.failure_price[row]),
            failures_expected=t.each(lambda one, at=row: float(one.failures[at].sum())),  # type: ignore[misc]
            stops_expected=stops, standing_hours_expected=hours, origins=(x.item.origin, *rows),
        )  # fmt: skip
    return found


def skips(r: Reckoned, t: AllTotals) -> dict[tuple[int, int], Skip]:
    """For each job of the plan, by task and site, what leaving it out adds."""
    return {(one.task, one.site): _skip(r, t.plan, one) for one in r.left}


def _skip(r: Reckoned, plan: Totals, one: Left) -> Skip:
    items, law = list(one.items), r.worn.law
    more = r.failures(one.case, items) - r.failures(r.plan, items)
    by_leg = np.tensordot(law.strands[items], more, axes=1)
    without = float(r.weights @ np.exp(-plan.stops_each - by_leg.sum(axis=0)))
    return Skip(
        failures_expected=float(more.sum(axis=(0, 1)) @ r.weights), stops_expected=float(by_leg.sum(axis=0) @ r.weights),
        standing_hours_expected=float(r.worn.standing_hours @ by_leg @ r.weights),
        home_without_a_stop=plan.without_a_stop - without,
    )  # fmt: skip
