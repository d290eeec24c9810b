"""What a trip risks, as frozen records: the figures of the plan's `risk`, of its items and of its jobs.

Field names are those of `plan.json`. A failure is one of the item's own law; a stop is a failure that
keeps the rig standing until help comes. Every figure is an expectation over what is known and doubted:
none says that a trip is safe.
"""

from msgspec import Struct

from tripplan.records.facts_in import Origin


class ByCase(Struct, frozen=True, kw_only=True):
    """One figure three times: as planned, with nothing done, with everything done before setting out."""

    plan: float
    nothing_done: float
    all_before: float


class ItemRisk(Struct, frozen=True, kw_only=True):
    """One item position's part: its law, and what it adds in each case.

    `failures_per_interval` are those of one interval kept at home, `power` how they grow with the share
    used, `stops_share` the share of them that stops the rig. `act_price` and `failure_price` are what the
    first was read from. `origins` are the rows behind it.
    """

    failures_per_interval: float
    power: float
    stops_share: float
    act_price: float
    failure_price: float
    failures_expected: ByCase
    stops_expected: ByCase
    standing_hours_expected: ByCase
    origins: tuple[Origin, ...] = ()


class RiskPart(Struct, frozen=True, kw_only=True):
    """An item position among those that cost the most standing hours as planned."""

    item: str
    name: str
    unit: str
    position: str | None
    system: str
    stops_expected: ByCase
    standing_hours_expected: ByCase


class SystemRisk(Struct, frozen=True, kw_only=True):
    """A part of the rig, all its items together: to be held against published causes."""

    system: str
    stops_expected: ByCase
    standing_hours_expected: ByCase


class LegRisk(Struct, frozen=True, kw_only=True):
    """One leg still to be driven, with what a stop on it is taken to last."""

    leg: int
    standing_hours_each: float
    stops_expected: ByCase
    standing_hours_expected: ByCase


class CurvePoint(Struct, frozen=True, kw_only=True):
    """A point of the curve of work hours against expected standing hours: what is done more than at the last one.

    `stops_expected` goes with it; `jobs` are item names with their side and place.
    """

    work_hours: float
    standing_hours_expected: float
    stops_expected: float
    jobs: tuple[str, ...] = ()


class Risk(Struct, frozen=True, kw_only=True):
    """What the trip risks in each case, where it comes from, and what each further hour of work buys.

    `standing_hours_low` and `_high` are the 5 and 95 % values over the doubts that items share;
    `..._if_repairs_cost_...` the expectation where a failure costs the least and the most to put right,
    the one judgement that all items share. `planned_work_hours` are those before setting out and on the road.
    """

    failures_expected: ByCase
    stops_expected: ByCase
    standing_hours_expected: ByCase
    home_without_a_stop: ByCase
    standing_hours_low: ByCase
    standing_hours_high: ByCase
    standing_hours_if_repairs_cost_least: ByCase
    standing_hours_if_repairs_cost_most: ByCase
    distance_km: float
    planned_work_hours: float
    shared_doubts: tuple[str, ...]
    items: tuple[RiskPart, ...]
    systems: tuple[SystemRisk, ...]
    legs: tuple[LegRisk, ...]
    curve: tuple[CurvePoint, ...] = ()


class Skip(Struct, frozen=True, kw_only=True):
    """What leaving one job out adds to what the trip risks, all else as planned.

    `home_without_a_stop` is how much of that chance is lost, as a share.
    """

    failures_expected: float
    stops_expected: float
    standing_hours_expected: float
    home_without_a_stop: float
    text: str = ""
