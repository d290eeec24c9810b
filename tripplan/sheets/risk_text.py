"""What `tripplan risk` prints: will we get home, what it hangs on, what each hour of work buys, what leaving a job out costs.

Never a word that a trip is safe: expectations, with the doubts about them.
"""

import json
from collections.abc import Sequence
from typing import Any

from msgspec.structs import replace

from tripplan.records.plan import Plan, PlanLeg
from tripplan.records.plan_risk import ByCase, CurvePoint, Risk
from tripplan.records.plan_work import Job
from tripplan.sheets.plan_json import plan_dict
from tripplan.sheets.text_lines import wrap

CASES = ("nothing done", "this plan", "all before")
NO_WORD_OF_SAFETY = (
    "These are expectations from the intervals, the road and the record, for weighing work against work. None says that "
    "the trip is safe, and what is not in the record is not in them."
)
PUBLISHED = (
    "Published, for orientation: 0.13 to 0.62 on sealed roads (vehicles in service), 0.88 to 2.6 for light military 4x4 "
    "on mixed courses (one contest's report; MIL-T-46780D), and 2.07 more required of a trailer (MIL-PRF-45316J)."
)
PER_KM = 10_000
MOST_POINTS, MOST_SKIPS, MOST_NAMES = 14, 12, 2
NOTHING_BEHIND = "Nothing lies ahead: the trip is over, or has no legs."


def risk_text(plan: Plan, limited: Plan | None = None, hours: str = "") -> str:
    """The whole answer as text; `limited` is the best plan within `hours`, beside it."""
    risk = plan.risk
    if risk is None or not risk.legs:
        return NOTHING_BEHIND
    parts = [
        [f"Will we get home: {plan.trip}, {plan.rig}, as seen on {plan.today}", ""], _table(risk), [""],
        _meaning(risk), *([] if limited is None else [[""], _limited(plan, limited, hours)]),
        ["", "Where the standing comes from, as planned, h (with nothing done)"], _items(risk),
        ["", "By part of the rig, h"], _systems(risk), ["", "By leg"], _legs(risk, plan.legs),
        ["", "What each hour of work buys, before setting out and on the road"], curve_lines(risk),
        ["", "What if I skip it: jobs of this plan that save most"], _skips(plan), [""], wrap(NO_WORD_OF_SAFETY),
    ]  # fmt: skip
    return "\n".join(line for part in parts for line in part)


def risk_json(plan: Plan, limited: Plan | None = None) -> str:
    """The same as JSON: the plan's `risk`, each job's `skip`, and the figures of the limited plan."""
    whole = plan_dict(plan)
    jobs = [
        {"slot": slot["id"], **{key: job[key] for key in ("item", "unit", "position", "act", "minutes", "skip")}}
        for slot in whole["slots"] for job in slot["jobs"] if job["skip"]
    ]  # fmt: skip
    told: dict[str, Any] = {"risk": whole["risk"], "jobs": jobs}
    if limited is not None:
        other = plan_dict(limited)
        told["within"] = {"risk": other["risk"], "totals": other["totals"], "jobs": _jobs_of(other)}
    return json.dumps(told, indent=2, ensure_ascii=False)


def _jobs_of(document: dict[str, Any]) -> list[dict[str, Any]]:
    return [
        {"slot": slot["id"], **{key: job[key] for key in ("item", "unit", "position", "act")}}
        for slot in document["slots"] if slot["kind"] != "after" for job in slot["jobs"]
    ]  # fmt: skip


def home_words(risk: Risk) -> tuple[str, ...]:
    """The answer in three sentences, for the sheet and the page."""
    hours, stops, home = risk.standing_hours_expected, risk.stops_expected, percent(risk.home_without_a_stop)
    return (
        f"As planned, {stops.plan:.1f} stops and {hours.plan:.0f} h of standing are to be expected; with nothing done "
        f"{stops.nothing_done:.1f} and {hours.nothing_done:.0f} h, with everything done before {stops.all_before:.1f} and "
        f"{hours.all_before:.0f} h.",
        f"Of 100 such trips {home.plan:.0f} come home without a stop; {home.nothing_done:.0f} with nothing done, "
        f"{home.all_before:.0f} with everything done before.",
        NO_WORD_OF_SAFETY,
    )


def _row(what: str, figures: Sequence[str]) -> str:
    return f"{what:<44}" + "".join(f"{figure:>14}" for figure in figures)


def _cases(one: ByCase) -> tuple[float, float, float]:
    return one.nothing_done, one.plan, one.all_before


def _table(risk: Risk) -> list[str]:
    def row(what: str, one: ByCase, form: str) -> str:
        return _row(what, [form.format(value) for value in _cases(one)])

    ranges = [
        f"{low:.0f} to {high:.0f}"
        for low, high in zip(_cases(risk.standing_hours_low), _cases(risk.standing_hours_high), strict=True)
    ]
    return [
        _row("", CASES), row("home without a stop, of 100 such trips", percent(risk.home_without_a_stop), "{:.0f}"),
        row("stops expected", risk.stops_expected, "{:.2f}"),
        row("hours of standing expected", risk.standing_hours_expected, "{:.1f}"),
        _row("  9 of 10 times, by the doubts below", ranges),
        row("failures of any kind expected", risk.failures_expected, "{:.1f}"),
    ]  # fmt: skip


def percent(share: ByCase) -> ByCase:
    """Shares as hundredths."""
    return ByCase(
        plan=100 * share.plan, nothing_done=100 * share.nothing_done, all_before=100 * share.all_before
    )  # fmt: skip


def _meaning(risk: Risk) -> list[str]:
    rate = risk.stops_expected.plan / risk.distance_km * PER_KM if risk.distance_km else 0.0
    least, most = risk.standing_hours_if_repairs_cost_least.plan, risk.standing_hours_if_repairs_cost_most.plan
    told = (
        "A stop is a failure that keeps the rig standing until help comes; other failures are driven home with. "
        "The walk-round of every morning counts as done in all three.",
        f"In doubt for many items at once, and reckoned together: {', '.join(risk.shared_doubts) or 'nothing'}. "
        "How often things fail is read out of their intervals by what a repair costs: "
        f"with its cheapest figure in the tables {least:.0f} h would stand for this plan, with its dearest {most:.0f} h.",
        f"As planned that is {rate:.1f} stops in 10 000 km. {PUBLISHED}",
    )
    return [line for text in told for line in wrap(text)]


def _limited(plan: Plan, other: Plan, hours: str) -> list[str]:
    assert plan.risk is not None and other.risk is not None
    lines = [f"The best plan within {hours}"]
    for what, risk in (("this plan", plan.risk), ("within that", other.risk)):
        lines.append(
            f"  {what:<12} {risk.planned_work_hours:5.1f} h of work, {risk.standing_hours_expected.plan:6.1f} h of standing, "
            f"{100 * risk.home_without_a_stop.plan:3.0f} of 100 home without a stop"
        )
    mine, theirs = _named_jobs(plan), _named_jobs(other)
    for what, jobs, there in (("left out", mine, theirs), ("new", theirs, mine)):
        names = "; ".join(job for job in jobs if job not in there)
        lines += wrap(f"{what}: {names or 'nothing'}", "  ", "    ")
    return lines


def _named_jobs(plan: Plan) -> list[str]:
    found = (f"{named(job)}: {job.said_act}" for slot in plan.slots if slot.kind != "after" for job in slot.jobs)
    return list(dict.fromkeys(found))


def named(job: Job) -> str:
    """A job's item with its side."""
    return f"{job.name} ({job.position})" if job.position else job.name


def _items(risk: Risk) -> list[str]:
    return [
        f"{part.standing_hours_expected.plan:7.1f} ({part.standing_hours_expected.nothing_done:.1f})  {part.name}"
        + (f" ({part.position})" if part.position else "")
        for part in risk.items
    ]


def _systems(risk: Risk) -> list[str]:
    told = [f"{one.system.replace('_', ' ')} {one.standing_hours_expected.plan:.1f}" for one in risk.systems]
    return wrap(", ".join(told), "  ")


def _legs(risk: Risk, legs: Sequence[PlanLeg]) -> list[str]:
    by_number = {leg.number: leg for leg in legs}
    lines = []
    for one in risk.legs:
        leg = by_number[one.leg]
        lines += wrap(
            f"leg {one.leg}, {leg.from_} to {leg.to}: {one.standing_hours_expected.plan:.1f} h "
            f"({one.standing_hours_expected.nothing_done:.1f}), {one.stops_expected.plan:.2f} stops of "
            f"{one.standing_hours_each:.0f} h each", "  ", "    ",
        )  # fmt: skip
    return lines


def curve_lines(risk: Risk) -> list[str]:
    """The curve in a few lines, this plan among them; the hours saved by an hour fall from line to line."""
    points = told_points(risk.curve)
    found: list[tuple[float, float, str]] = [
        (point.work_hours, point.standing_hours_expected, jobs_of(point) if number else "nothing done")
        for number, point in enumerate(points)
    ]
    found.append((risk.planned_work_hours, risk.standing_hours_expected.plan, "<- this plan"))
    found.sort(key=lambda row: row[0])
    return [line for work, standing, what in found for line in wrap(what, f"{work:7.1f} h  {standing:6.1f} h  ")]


def jobs_of(point: CurvePoint) -> str:
    """The jobs of a point, those first that came first; many are counted."""
    names = list(dict.fromkeys(point.jobs))
    more = f" and {len(names) - MOST_NAMES} more" if len(names) > MOST_NAMES else ""
    return "; ".join(names[:MOST_NAMES]) + more


def told_points(curve: Sequence[CurvePoint]) -> list[CurvePoint]:
    """At most so many points of the curve, evenly by hours saved; each names all jobs since the one before."""
    if not curve:
        return []
    top, low = curve[0].standing_hours_expected, curve[-1].standing_hours_expected
    step = (top - low) / (MOST_POINTS - 2) if top > low else 1.0
    jobs: list[str] = []
    found, told = [curve[0]], top
    for point in curve[1:]:
        jobs += point.jobs
        if told - point.standing_hours_expected >= step or point is curve[-1]:
            found.append(replace(point, jobs=tuple(jobs)))
            jobs, told = [], point.standing_hours_expected
    return found


def _skips(plan: Plan) -> list[str]:
    found = [(slot, job, job.skip) for slot in plan.slots for job in slot.jobs if job.skip]
    found.sort(key=lambda one: -one[2].standing_hours_expected)
    return [
        line for slot, job, skip in found[:MOST_SKIPS]
        for line in wrap(f"{named(job)}: {job.said_act}, {slot.place}, {slot.date}: {skip.text}", "  ", "    ")
    ]  # fmt: skip
