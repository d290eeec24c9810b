"""What changed between two plans, in jobs and in all else: for a re-plan, a save, a what-if.

Plans are taken in the form of `plan.json`, so that the plan issued before can be read from
where it was left.
"""

from collections.abc import Iterable, Iterator, Mapping
from datetime import date, datetime, timedelta
from typing import Any

from msgspec import Struct

from tripplan.explain.naming import named
from tripplan.explain.reasons import amount
from tripplan.records.grouped import grouped
from tripplan.records.plain_words import day_and_month, day_and_year, doing, due_words, duration, lower_first
from tripplan.records.words import ChangeKind, JobKind, Verdict

SAME_KM = 1.0
IF_ORDERED = "if they are ordered or there, `tripplan order` writes it into shelf.csv"
PlanJson = Mapping[str, Any]
JobKey = tuple[str, str, str, str, str]


class Change(Struct, frozen=True, kw_only=True):
    """One difference: of what kind, what it is about, how it was, how it is, and why where that is known."""

    kind: ChangeKind
    what: str
    before: str
    after: str
    why: str = ""


class Moved(Struct, frozen=True, kw_only=True):
    """What a new plan changes against another; `against` says which, empty = there was none."""

    against: str
    jobs: tuple[Change, ...] = ()
    others: tuple[Change, ...] = ()


def differences(old: dict[str, Any], new: dict[str, Any], against: str) -> Moved:
    """What a plan changes against an older one, both in the form of `plan.json`."""
    try:
        return Moved(against=against, jobs=compare_jobs(old, new), others=compare_plans(old, new))
    except (KeyError, TypeError, AttributeError, ValueError, IndexError):
        return Moved(against="")  # written by another version: nothing to compare with


def compare_plans(old: PlanJson, new: PlanJson) -> tuple[Change, ...]:
    """Differences in order: the trip, the crossings, each item, each slot's work."""
    crossings = _differences(ChangeKind.CROSSING, _named_crossings(old), _named_crossings(new))
    slots = _differences(ChangeKind.WORK, _named_slots(old), _named_slots(new))
    return (*_trip(old, new), *crossings, *_items(old, new), *slots)


def compare_totals(old: PlanJson, new: PlanJson) -> tuple[tuple[str, str, str], ...]:
    """The table of a what-if: rows of name, old and new."""
    return (
        ("departure", _day(old["depart"]), _day(new["depart"])),
        ("length, km", _km(old), _km(new)),
        ("work", duration(old["totals"]["plan"]["minutes"]), duration(new["totals"]["plan"]["minutes"])),
        ("cost", amount(old["totals"]["plan"]["cost"]), amount(new["totals"]["plan"]["cost"])),
        ("jobs before departure", _jobs(old, "workshop"), _jobs(new, "workshop")),
        ("jobs at stops", _jobs(old, "stop"), _jobs(new, "stop")),
        ("jobs after return", _jobs(old, "after"), _jobs(new, "after")),
        ("warnings", str(len(old["warnings"])), str(len(new["warnings"]))),
    )


def _jobs(plan: PlanJson, kind: str) -> str:
    return str(sum(len(slot["jobs"]) for slot in plan["slots"] if slot["kind"] == kind))


def _km(plan: PlanJson) -> str:
    return amount(sum(leg["distance_km"] for leg in plan["legs"]))


def _trip(old: PlanJson, new: PlanJson) -> list[Change]:
    pairs = [(name, _day(old[name]), _day(new[name])) for name in ("depart", "return")]
    pairs += [("length", f"{_km(old)} km", f"{_km(new)} km"), ("legs", str(len(old["legs"])), str(len(new["legs"])))]
    return [Change(kind=ChangeKind.TRIP, what=name, before=was, after=now) for name, was, now in pairs if was != now]


def _named_crossings(plan: PlanJson) -> dict[str, str]:
    return {
        f"crossing on leg {c['leg']} at km {amount(c['at_km'])}": f"{c['depth_m']:g} m, {c['water']}, "
        + (f"made on {_made(c['crossed'])}" if c["crossed"] else "planned")
        for c in plan["crossings"]
    }


def _day(iso: str) -> str:
    """A day of plan.json that may lie in another year: 6 June 2026."""
    return day_and_year(date.fromisoformat(iso))


def _made(iso: str) -> str:
    """A day of plan.json, with the time where it is known: 27 June, 18:30."""
    found = datetime.fromisoformat(iso)
    return plan_day(iso[:10]) + (f", {found:%H:%M}" if "T" in iso else "")


def _differences(kind: ChangeKind, was: Mapping[str, str], now: Mapping[str, str]) -> list[Change]:
    return [
        Change(kind=kind, what=name, before=was.get(name, "not there"), after=now.get(name, "not there"))
        for name in sorted({*was, *now})
        if was.get(name) != now.get(name)
    ]


def _items(old: PlanJson, new: PlanJson) -> list[Change]:
    before = {_thing(item): item for item in old["items"]}
    pairs = [(before[_thing(item)], item) for item in new["items"] if _thing(item) in before]
    return [change for was, now in pairs for change in _item(was, now, old, new)]


def _is_one_unit(plan: PlanJson) -> bool:
    return len({item["unit"] for item in plan["items"]}) < 2


def _thing(item: Mapping[str, Any]) -> tuple[str, str, str | None]:
    return (item["unit"], item["item"], item["position"])


def _item(was: Mapping[str, Any], now: Mapping[str, Any], old: PlanJson, new: PlanJson) -> list[Change]:
    name = named(now["name"], now["unit"], _is_one_unit(new), now["position"])
    why = now["reasons"][0]["text"] if now["last_done"] != was["last_done"] else ""
    kind = ChangeKind.WALK_ROUND if now.get("rhythm") == JobKind.WALK_ROUND else ChangeKind.ITEM
    found = []
    if was["verdict"] != now["verdict"]:
        before, after = _verdict(was, old), _verdict(now, new)
        found.append(Change(kind=kind, what=name, before=before, after=after, why=why))
    elif now["verdict"] != Verdict.DUE and not (
        _same_end(was["runs_out_reserve"], now["runs_out_reserve"]) or (_is_used_up(was, old) and _is_used_up(now, new))
    ):
        before, after = _end(was["runs_out_reserve"]), _end(now["runs_out_reserve"])
        found.append(Change(kind=kind, what=name, before=before, after=after, why=why))
    if was["placed"] != now["placed"]:
        before, after = _places(old, was["placed"]), _places(new, now["placed"])
        found.append(Change(kind=ChangeKind.PLACED, what=f"{name}, work", before=before, after=after, why=why))
    return found


def _verdict(item: Mapping[str, Any], plan: PlanJson) -> str:
    """The verdict as the plan has it; once the trip has begun nothing comes before departure."""
    due = due_words(plan["depart"], plan.get("today", ""), plan["return"])
    return due if item["verdict"] == Verdict.DUE else str(item["verdict"])


def _is_used_up(item: Mapping[str, Any], plan: PlanJson) -> bool:
    """True for what has run out by the day a plan is seen from: on the next day it still has, which is no news."""
    end = item["runs_out_reserve"]
    return end is not None and bool(end["date"] <= plan.get("today", ""))


def _same_end(was: Mapping[str, Any] | None, now: Mapping[str, Any] | None) -> bool:
    if was is None or now is None:
        return was is now
    return bool(was["date"] == now["date"] and abs(was["trip_km"] - now["trip_km"]) < SAME_KM)


def _end(end: Mapping[str, Any] | None) -> str:
    if end is None:
        return "lasts the trip"
    return f"runs out on {plan_day(end['date'])}, leg {end['leg']}, km {amount(end['leg_km'])}"


def plan_day(iso: str) -> str:
    """A day of plan.json as a person says it: 6 June."""
    return day_and_month(date.fromisoformat(iso))


def _places(plan: PlanJson, ids: Iterable[str]) -> str:
    by_id = {slot["id"]: slot for slot in plan["slots"]}
    known = (by_id[i] for i in ids if i in by_id)
    return " and ".join(f"{slot['place']} {plan_day(slot['date'])}" for slot in known) or "none planned"


def _named_slots(plan: PlanJson) -> dict[str, str]:
    return {
        f"work at {slot['place']}, {plan_day(slot['date'])}": duration(slot["minutes_planned"])
        for slot in plan["slots"]
        if slot["jobs"]
    }


def compare_jobs(old: PlanJson, new: PlanJson) -> tuple[Change, ...]:
    """Jobs that are new in a slot, then jobs that are not in it any more, done since or dropped, slot by slot in time order.

    Both sides of an item with the same fate are one line. A slot is known by its id; the
    days at home before departure count as one place, since a job moved between them is the same work.
    """
    before, after, done, late = _by_place(old), _by_place(new), _done_since(old, new), _unordered(old, new)
    added = _merged((after[key] for key in after if key not in before), new)
    dropped = _merged((before[key] for key in before if key not in after), new)
    return (
        *(Change(kind=_kind(job), what=what, before="not there", after="added", why=job["why"]) for what, job in added),
        *(_gone(what, job, done.get(_thing(job)), late.get((*_thing(job), job["act"]))) for what, job in dropped),
    )


def _kind(job: Mapping[str, Any]) -> ChangeKind:
    kinds = {JobKind.AFTER_WATER: ChangeKind.WATER_JOB, JobKind.WALK_ROUND: ChangeKind.WALK_ROUND}
    return kinds.get(JobKind(job["kind"]), ChangeKind.JOB)


def _gone(what: str, job: Mapping[str, Any], done: str | None, order_by: str | None) -> Change:
    after, why = "no longer", ""
    if done is not None:
        kind, after = ChangeKind.DONE, f"done {plan_day(done)}"
    elif order_by is not None:
        kind, why = ChangeKind.PARTS, f"its parts were to be ordered by {plan_day(order_by)}; {IF_ORDERED}"
    else:
        kind = ChangeKind.WALK_ROUND if job["kind"] == JobKind.WALK_ROUND else ChangeKind.DROPPED
    return Change(kind=kind, what=what, before="planned", after=after, why=why)


def _unordered(old: PlanJson, new: PlanJson) -> dict[tuple[str, str, str | None, str], str]:
    """Jobs of the older plan whose parts, ordered only now, would come too late for it, and the day it had for the order.

    None whose parts the new plan has not to order: they are on the shelf or on their way.
    """
    today, open_now = date.fromisoformat(new["today"]), {name for order in new["orders"] for name in order["what"]}
    asked = [order for order in old["orders"] if order["order_by"] <= new["today"]]
    found = {}
    for slot in old["slots"]:
        orders = [order for order in asked if order["slot"] == slot["id"] and _comes_late(order, slot, today)]
        for job in slot["jobs"] if orders else ():
            names = open_now.intersection(one["name"] for one in job["materials"])
            days = [order["order_by"] for order in orders if names.intersection(order["what"])]
            if days:
                found[(*_thing(job), job["act"])] = min(days)
    return found


def _comes_late(order: Mapping[str, Any], slot: Mapping[str, Any], today: date) -> bool:
    return today + timedelta(days=max(order["lead_days"], 1)) > date.fromisoformat(slot["date"])


def _done_since(old: PlanJson, new: PlanJson) -> dict[tuple[str, str, str | None], str]:
    """The day on which each item was done, where that was recorded since the older plan."""
    before = {_thing(item): item["last_done"] for item in old["items"]}
    return {
        _thing(item): item["last_done"] for item in new["items"]
        if (item["last_done"] or "") >= old.get("today", "") and item["last_done"] not in (None, before.get(_thing(item)))
    }  # fmt: skip


def _by_place(plan: PlanJson) -> dict[JobKey, tuple[str, Mapping[str, Any]]]:
    return {
        (_where(slot), job["unit"], job["item"], job["position"] or "", job["act"]): (_place(slot), job)
        for slot in plan["slots"]
        for job in slot["jobs"]
    }


def _where(slot: Mapping[str, Any]) -> str:
    return "before departure" if slot["kind"] == "workshop" else str(slot["id"])


def _place(slot: Mapping[str, Any]) -> str:
    words = {"workshop": "before departure", "after": "after return"}
    return words.get(slot["kind"], f"{slot['place']} {plan_day(slot['date'])}")


def _merged(
    jobs: Iterable[tuple[str, Mapping[str, Any]]], plan: PlanJson
) -> Iterator[tuple[str, Mapping[str, Any]]]:  # fmt: skip
    """Jobs as the sheets call them, both sides of one together: Gums 3 July: look at drive belts."""
    is_alone = _is_one_unit(plan)
    sides = grouped(((place, job.get("verb") or job["act"], job["name"], job["unit"]), job) for place, job in jobs)
    for (place, act, name, unit), found in sides.items():
        both = " and ".join(job["position"] for job in found if job["position"])
        yield f"{place}: {named(lower_first(doing(act, name)), unit, is_alone, both)}", found[0]
