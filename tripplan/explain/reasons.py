"""Sentences for the owner, each with the rows behind it. No number is computed here."""

from collections.abc import Sequence
from datetime import date

from tripplan.due.standing import Standing
from tripplan.explain.naming import found_words
from tripplan.placing.problem import Site
from tripplan.records.plain_words import day_and_month, day_and_year
from tripplan.records.plan import Limit, Reason, RunsOut, Wear
from tripplan.trip.distance_range import CONDITION
from tripplan.wear.rates_from_readings import KM_PER_WEEK, Rate

WORST_LEGS = 3


def reasons(
    standing: Standing,
    wear: Sequence[Wear],
    places: Sequence[tuple[Site, str]],
    unmet: Sequence[str],
    walk_round: bool,
    rates: Sequence[Rate] = (),
    waits: Sequence[tuple[Site, float, date | None]] = (),
    shut: str = "",
) -> tuple[Reason, ...]:
    """Everything there is to say about one item position, in the order a person asks it.

    `waits` are the places it reaches past its interval, each with the share used by then and, where it waits for its
    parts, the day from which these can be there; `shut` is the look that stands in for an overhaul without a record, in words.
    """
    found = [_last_done(standing), *_findings(standing), *_limits(standing)]
    found += _assumed_shares(standing)
    found += _rates(standing, rates)
    found += _earlier(standing)
    found += [*_wear(wear), *_estimated(wear)]
    found += _runs_out(standing)
    found += [Reason(kind="no place", text=text, origins=(standing.item.origin,)) for text in unmet]
    found += [
        Reason(kind="placed", text=f"Done at {site.place} on {day_and_month(site.date)} ({how}).")
        for site, how in places
    ]
    found += [Reason(kind="waits", text=_waits(standing, *wait, places)) for wait in waits]
    if shut:
        found.append(
            Reason(kind="left shut", text=f"Not opened without a record alone, but on what a look finds: {shut}.")
        )
    if walk_round:
        text = "Looked at every morning on the road (walk-round), so it is not given a slot there."
        found.append(Reason(kind="walk-round", text=text))
    found.append(_basis(standing))
    return tuple(found)


def _waits(
    standing: Standing, site: Site, share: float, parts_from: date | None, places: Sequence[tuple[Site, str]]
) -> str:
    """Why it comes late at that place; what this plan does before is counted from there, what nobody knows not at all."""
    where = f"{site.place}, {day_and_month(site.date)}"
    before = [place for place, _ in places if (place.date, place.trip_km) < (site.date, site.trip_km)]
    if before:
        since = f"{share * 100:.0f}% of its interval used since {day_and_month(before[-1].date)}"
        return f"Done again at {where}, with {since}: doing it again sooner costs more than waiting."
    if standing.bad is not None:
        used = f"though found {found_words(standing, standing.position)}"
    elif standing.course.known:
        used = f"with {share * 100:.0f}% of its interval used by then"
    else:
        used = "with no record of it"
    why = "doing it sooner costs more than waiting"
    if parts_from is not None:
        why = f"its parts, which shelf.csv does not hold, can be there on {day_and_month(parts_from)} at the soonest"
    return f"Left until {where}, {used}: {why}."


def _last_done(standing: Standing) -> Reason:
    done, item = standing.done, standing.item
    if done is None:
        text = f"No record of: {item.verb or item.act}. Nothing is assumed; it counts as due."
        return Reason(kind="last done", text=text, origins=(item.origin,))
    by = "" if done.by.id == item.id else f" with {done.by.said} ({done.row.act})"
    at = "" if done.row.odometer_km is None else f" at {done.row.odometer_km:.0f} km on the odometer"
    estimate = "" if done.row.odometer_km is not None else f", its km estimated {_by_what(standing)}"
    if not standing.course.known:
        estimate = ", but no reading tells at how many km, so it counts as due"
    return Reason(
        kind="last done", text=f"Last done {day_and_year(done.day)}{by}{at}{estimate}.", origins=(done.row.origin,)
    )


def _by_what(standing: Standing) -> str:
    """What tells the km of work whose row has no reading."""
    if standing.done_behind_readings:
        return "from the last reading and what was driven since"
    return "between the readings beside it"


def _findings(standing: Standing) -> list[Reason]:
    if standing.bad is None:
        return []
    found = f"Found {found_words(standing, standing.position)} on {day_and_year(standing.bad.date)}"
    text = f"{found} and not put right since: due now."
    return [Reason(kind="finding", text=text, origins=(standing.bad.origin,))]


def _limits(standing: Standing) -> list[Reason]:
    return [
        Reason(kind="limit", text=limit_sentence(limit), origins=limit.origins)
        for limit in standing.limits
        if limit.used is not None
    ]


def limit_sentence(limit: Limit) -> str:
    """One meter in words: used, interval, and what is used by departure."""
    meter, unit = limit.meter.replace("_", " "), limit.unit_of_measure
    used, later = amount(limit.used), amount(limit.at_departure)
    tail = "" if used == later else f", {later} by departure"
    return f"{meter}: {used} of {amount(limit.interval)} {unit} used{tail}."


def amount(value: float | None) -> str:
    """A figure as a person writes it: thousands apart, a decimal only below 20."""
    if value is None:
        return "unknown"
    if abs(value) < 20 and value != int(value):
        return f"{value:.1f}"
    return f"{value:,.0f}".replace(",", " ")


def _assumed_shares(standing: Standing) -> list[Reason]:
    unit, found = standing.unit, []
    for meter, share, name in (
        ("engaged_km", unit.usual_engaged_share, "usual_engaged_share"),
        ("towing_km", unit.usual_towing_share, "usual_towing_share"),
        ("low_range_km", unit.usual_low_range_share, "usual_low_range_share"),
    ):
        listed = any(meter == m for m, _ in standing.item.intervals)
        free = (unit.drive, unit.hubs) == ("part-time", "free-wheeling")
        if listed and share is None and unit.kind == "vehicle" and (free or meter != "engaged_km"):
            text = f"rig.toml gives no {name}; ordinary driving counts in full."
            found.append(Reason(kind="share assumed", text=text, origins=(unit.origin,)))
    return found


def _rates(standing: Standing, rates: Sequence[Rate]) -> list[Reason]:
    """What stands in for the guesses of rig.toml, where this item's use at home leans on it."""
    meters = {meter for meter, _ in standing.item.intervals} - {"months"}
    if not standing.course.known:
        return []
    return [
        Reason(kind="rate", text=rate_sentence(rate), origins=(*rate.origins, standing.unit.origin))
        for rate in rates
        if rate.measured is not None and rate.unit == standing.unit.id
        and (meters if rate.key == KM_PER_WEEK else "engine_hours" in meters)
    ]  # fmt: skip


def rate_sentence(rate: Rate) -> str:
    """Which rate the plan counts with, from what, and what the other one says."""
    what = "an ordinary week" if rate.key == KM_PER_WEEK else "an engine hour"
    stated = None if rate.stated is None else amount(rate.stated)
    if rate.kept:
        kept = (
            f"{stated} km, as rig.toml keeps it" if stated else f"as without {rate.key}, since rig.toml asks for that"
        )
        return f"{rate.unit}: {what} counts {kept}; readings say {_measured(rate)} ({rate.reason})."
    instead = (
        f"rig.toml says {stated}; rates_from_readings = false there keeps it"
        if stated
        else f"rig.toml gives no {rate.key}"
    )
    return f"{rate.unit}: {what} counts {_measured(rate)} km by {rate.reason} ({instead})."


def _measured(rate: Rate) -> str:
    return "unknown" if rate.measured is None else f"{rate.measured:.0f}"


def _earlier(standing: Standing) -> list[Reason]:
    """The legs of earlier trips since it was last done, those that wore it most first."""
    legs = sorted(standing.driven, key=lambda pair: -pair[1])
    if not legs:
        return []
    told = [f"leg {leg.leg} of {leg.trip}, {amount(leg.distance_km)} km, each km {wear:.2f}" for leg, wear in legs]
    more = f" and {len(told) - WORST_LEGS} more legs" if len(told) > WORST_LEGS else ""
    text = f"Used on earlier trips, counted with their wear: {'; '.join(told[:WORST_LEGS])}{more}."
    return [Reason(kind="earlier trips", text=text, origins=tuple(leg.origin for leg, _ in legs))]


def _wear(wear: Sequence[Wear]) -> list[Reason]:
    """The legs that wear it most, with the conditions that do it."""
    harsh = sorted((w for w in wear if w.multiplier > 1 and w.use > 0), key=lambda w: (-w.multiplier, w.leg))
    found: list[Reason] = []
    told: set[int] = set()
    for w in harsh:
        if w.leg in told or len(told) == WORST_LEGS:
            continue
        told.add(w.leg)
        parts = ", ".join(f"{p.condition} {p.grade} x{p.multiplier:.2f}" for p in w.parts if p.condition != CONDITION)
        text = f"Leg {w.leg}: each km counts {w.multiplier:.2f} (up to {w.high:.2f}): {parts}."
        found.append(Reason(kind="wear", text=text, origins=tuple(dict.fromkeys(p.origin for p in w.parts))))
    return found


def _estimated(wear: Sequence[Wear]) -> list[Reason]:
    """The legs whose length is only estimated, in one sentence."""
    doubts = {w.leg: p for w in wear for p in w.parts if p.condition == CONDITION}
    if not doubts:
        return []
    told = "; ".join(f"leg {leg} {part.grade}" for leg, part in sorted(doubts.items()))
    text = f"Distance in doubt, which widens the reserve: {told}."
    origins = tuple(dict.fromkeys(part.origin for part in doubts.values()))
    return [Reason(kind="distance", text=text, origins=origins)]


def _runs_out(standing: Standing) -> list[Reason]:
    if not standing.course.known:
        return []
    typical = f"Typical wear: {end_words(standing.runs_out)}."
    reserve = f" With reserve: {end_words(standing.runs_out_reserve)}."
    return [Reason(kind="runs out", text=typical + reserve, origins=(standing.item.origin, *standing.assumed))]


def end_words(end: RunsOut | None) -> str:
    """Where something runs out, in words."""
    if end is None:
        return "lasts the trip"
    return f"runs out on {day_and_month(end.date)}, leg {end.leg}, km {end.leg_km:.0f} ({end.meter.replace('_', ' ')})"


def _basis(standing: Standing) -> Reason:
    item = standing.item
    spread = f" Intervals in use run from {item.spread_low:g} to {item.spread_high:g} times this."
    if item.by_findings:
        return Reason(kind="basis", text=f"Interval: {item.locator}.", origins=(item.origin,))
    source = "no source" if item.source == "none" else f"source {item.source}"
    where = f", {item.locator}" if item.locator else ""
    text = f"Interval: {item.basis}, {source}{where}.{spread}"
    return Reason(kind="basis", text=text, origins=(item.origin,))


def unmet_sentence(name: str, why: str, site: Site | None, limit_km: float | None) -> str:
    """A limit that cannot be kept, said plainly."""
    where = "this plan has no place for it" if site is None else f"done at {site.place} on {day_and_month(site.date)}"
    over = "" if site is None or limit_km is None else f", {max(0.0, site.trip_km - limit_km):.0f} km too late"
    return f"{name}: {why}; {where}{over}."
