"""Many futures of one trip in words and as JSON: what hangs on luck, what does not, and what is worth doing against it."""

import json
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date
from itertools import groupby
from typing import Any, TypeVar

from msgspec import Struct
from msgspec.structs import asdict

from tripplan.due.many_futures import Futures, WaterCall, leg_of_end
from tripplan.due.standing import Situation
from tripplan.placing.many_futures import Priced, Worth
from tripplan.placing.problem import WORKSHOP, Task, last_chance, renewals
from tripplan.planner import Answer
from tripplan.records.plan import DUE, LASTS, NO_RECORD, ON_THE_WAY, VERDICTS
from tripplan.records.problems import Problem, problem_row
from tripplan.sheets import words
from tripplan.sheets.text_lines import bullet, heading, wrap

SCHEMA = 1
FEW_SHARE = 0.003
"""Three in a thousand: fewer are no reason to call a decision a matter of luck. Judgement."""
MOST_LINES = 14
Thing = tuple[str, str, str]
Sorted = TypeVar("Sorted")


class Searched(Struct, frozen=True):
    """One future that the search placed anew, and for how many it stands: what it does before going on, and what not."""

    futures: int
    jobs: int
    row: int
    depart: date
    more: tuple[Thing, ...]
    fewer: tuple[Thing, ...]


class Told(Struct, frozen=True):
    """All that is told of the futures of one trip."""

    s: Situation
    f: Futures
    found: Answer
    priced: tuple[Priced, ...]
    worth: tuple[Worth, ...]
    changed: tuple[tuple[int, int, int], ...]
    searched: tuple[Searched, ...]
    water: tuple[WaterCall, ...]
    problems: tuple[Problem, ...]

    @property
    def count(self) -> int:
        """How many futures were drawn."""
        return self.f.rows - 1

    def task(self, one: Priced) -> Task:
        """The job of the plan that was priced."""
        return self.found.problem.tasks[one.index]


def done_before(found: Answer, today: date) -> set[Thing]:
    """What a plan does before the rig goes on."""
    problem, home = found.problem, last_chance(found.problem.sites, today) + 1
    return {
        task.thing
        for index, task in enumerate(problem.tasks)
        if task.window is None and any(site < home for site in renewals(problem, found.placing, index))
    }


def futures_json(told: Told) -> str:
    """The futures as JSON; equal seeds give equal text."""
    s = told.s
    document = {
        "schema": SCHEMA, "rig": s.rig.name, "trip": s.trip.name, "today": s.today.isoformat(),
        "draws": told.count, "seed": told.f.draws.seed, "ranges": asdict(told.f.draws.ranges),
        "departures": _departures(told), "jobs": [job_row(told, one) for one in told.priced],
        "worth_doing": [_worth_row(told, one) for one in told.worth],
        "changed": {"futures": sum(one[0] for one in told.changed), "patterns": len(told.changed)},
        "searched": [_searched_row(one) for one in told.searched], "water": [_water_row(told, one) for one in told.water],
        "problems": [problem_row(problem) for problem in told.problems],
    }  # fmt: skip
    return json.dumps(document, indent=1, ensure_ascii=False)


def job_row(told: Told, one: Priced) -> dict[str, Any]:
    """One job: how often it is needed, where it runs out, and how often doing it before going on is the cheaper."""
    task, verdicts = told.task(one), Counter(VERDICTS[number] for number in one.fate.verdict[1:])
    legs = Counter(int(leg) for leg in leg_of_end(one.fate, told.f)[1:] if leg >= 0)
    numbers = {spot: leg.leg for spot, leg in enumerate(told.s.timeline.legs)}
    placed = renewals(told.found.problem, told.found.placing, one.index)
    return {
        "item": task.item.id, "name": task.item.name, "unit": task.unit.id, "position": task.position, "act": task.act,
        "due": verdicts[DUE] + verdicts[NO_RECORD], "runs_out": verdicts[ON_THE_WAY], "lasts": verdicts[LASTS],
        "runs_out_on_leg": {str(numbers[spot]): legs[spot] for spot in sorted(legs)},
        "placed": [told.found.problem.sites[site].id for site in placed], "is_done_before": one.is_planned,
        "day": None if one.site is None else told.found.problem.sites[one.site].id,
        "pays_in": None if one.site is None else one.pays_in, "gain": None if one.site is None else round(one.gain, 2),
    }  # fmt: skip


def _worth_row(told: Told, one: Worth) -> dict[str, Any]:
    row = job_row(told, one.priced)
    kept = {key: row[key] for key in ("item", "name", "unit", "position", "act", "day", "pays_in")}
    return {**kept, "minutes": round(one.minutes, 1), "cost": round(one.cost, 2), "gain": round(one.gain, 2)}


def _searched_row(one: Searched) -> dict[str, Any]:
    return {
        "futures": one.futures, "jobs_changed_by_price": one.jobs, "row": one.row, "depart": one.depart.isoformat(),
        "more_before": [list(thing) for thing in one.more], "fewer_before": [list(thing) for thing in one.fewer],
    }  # fmt: skip


def _water_row(told: Told, one: WaterCall) -> dict[str, Any]:
    crossing = told.s.timeline.crossings[one.crossing]
    return {"leg": crossing.leg, "at_km": crossing.at_km, **{k: v for k, v in asdict(one).items() if k != "crossing"}}


def _departures(told: Told) -> dict[str, int]:
    shift = told.f.draws.shift_days[1:]
    return {"earlier": int((shift < 0).sum()), "as_planned": int((shift == 0).sum()), "later": int((shift > 0).sum())}


def futures_text(told: Told) -> str:
    """The futures to be read: what is drawn, what hangs on luck, what does not, and what is worth doing against it."""
    lines = [*_head(told), *_luck(told), *_worth(told), *_moves(told), *_water(told), *_search(told)]
    return "\n".join(words.printable(line).rstrip() for line in lines) + "\n"


def _head(told: Told) -> list[str]:
    r, days = told.f.draws.ranges, _departures(told)
    drawn = (
        f"Drawn: departure up to {r.earlier_days} days earlier or {r.later_days} later ({days['earlier']} earlier, {days['later']} "
        f"later); of dust and washboard {words.percent(r.worse_share)} of the legs a grade worse and {words.percent(r.better_share)} "
        f"a grade better; distances x{r.distance_low_factor:g} to x{r.distance_high_factor:g}, depths x{r.depth_low_factor:g} to "
        f"x{r.depth_high_factor:g}. These ranges are judgement; your own go into overrides/assumptions.csv (luck_...)."
    )
    home = [site.date for site in told.found.problem.sites if site.kind == WORKSHOP]
    shift = told.f.draws.shift_days[1:]
    gone = int((shift < (max(home) - told.s.trip.depart).days).sum()) if home else 0
    early = f" In {gone} of them the rig leaves before the last of its days at home." if gone else ""
    head = f"{told.s.trip.name}, {told.s.rig.name}: {told.count} futures, seed {told.f.draws.seed}"
    return [*wrap(head), *wrap(drawn + early)]


def _name(told: Told, one: Priced) -> str:
    return words.upper_first(_jobs(told, [one]))


def _jobs(told: Told, several: Iterable[Priced]) -> str:
    """Jobs by name, one after the other, both sides of one together."""
    tasks = [told.task(one) for one in several]
    return _together(
        (task.item.verb_of(task.act) or str(task.act), task.item.name, task.position, f" ({task.unit.id})")
        for task in tasks
    )


def _together(named: Iterable[tuple[str, str, str | None, str]]) -> str:
    """Things by act, where there is one, and name, each once with all its sides; what follows the name is given with it."""
    sides: dict[tuple[str, str, str], list[str | None]] = {}
    for act, name, side, behind in named:
        sides.setdefault((act, name, behind), []).append(side)
    told = [(act, name, words.sides(own), behind) for (act, name, behind), own in sides.items()]
    return "; ".join(
        f"{words.lower_first(words.doing(act, name, side)) if act else words.item(name, side)}{behind}"
        for act, name, side, behind in told
    )


def _of(count: int, all_of: int) -> str:
    """So many of all in words: in all 1000, in all but 3 of 1000, in 412 of 1000, in none."""
    if count == all_of:
        return f"in all {all_of}"
    if all_of - count <= max(1, round(FEW_SHARE * all_of)):
        return f"in all but {all_of - count} of {all_of}"
    return f"in {count} of {all_of}" if count else "in none"


def _luck(told: Told) -> list[str]:
    count, few = told.count, max(1, round(FEW_SHARE * told.count))
    decided = [one for one in told.priced if one.site is not None]
    sure = [one for one in decided if one.is_planned and count - one.pays_in <= few]
    never = [one for one in decided if not one.is_planned and one.pays_in <= few]
    alone = [one for one in decided if one.is_planned and one.pays_in <= few]
    lines = heading("Decisions that do not hang on luck")
    sure_jobs = words.count(len(sure), "job", "jobs")
    lines += wrap(f"Done before going on, and right in all futures or all but {few}: {sure_jobs}.")
    for pays_in, jobs in _by(sure, lambda one: one.pays_in):
        lines += bullet(f"{words.upper_first(_of(pays_in, count))}: {_jobs(told, jobs)}.")
    lines += wrap(f"Left, and right to be left: {words.count(len(never), 'job', 'jobs')}.")
    if alone:
        alone_jobs = words.count(len(alone), "job", "jobs")
        lines += wrap(f"Done for what is done with it, and by itself not worth it: {alone_jobs}.")
    return [*lines, *_in_doubt(told, [one for one in decided if few < one.pays_in < count - few])]


def _in_doubt(told: Told, luck: Sequence[Priced]) -> list[str]:
    """What is the cheaper in some futures and not in others, the nearest to half of them first."""
    lines, count = heading("Decisions that hang on luck, the most doubtful first"), told.count
    groups = _by(luck, lambda one: (abs(2 * one.pays_in - count), one.pays_in, one.is_planned))
    for (_, pays_in, is_planned), jobs in groups[:MOST_LINES]:
        link = "but" if 2 * pays_in > count and not is_planned else "and"
        plan = f"{link} the plan {'does' if is_planned else 'leaves'} it"
        lines += bullet(f"Before going on is the cheaper {_of(pays_in, count)}, {plan}: {_jobs(told, jobs)}.")
    left = sum(len(jobs) for _, jobs in groups[MOST_LINES:])
    more = wrap(f"{words.count(left, 'job', 'jobs')} more, less in doubt, in the JSON (--json).") if left else []
    return [*lines, *more] if luck else [*lines, *wrap("None.")]


def _by(several: Iterable[Sorted], key: Callable[[Sorted], Any]) -> list[tuple[Any, list[Sorted]]]:
    """What is alike in that key, together, in the key's order; within it as given."""
    return [(found, list(group)) for found, group in groupby(sorted(several, key=key), key)]


def _worth(told: Told) -> list[str]:
    lines = heading("Worth doing before going on against bad luck, though the plan leaves it")
    for one in told.worth[:MOST_LINES]:
        price = f"costs {one.cost:.0f} and saves {one.gain + one.cost:.0f} in the mean"
        when = told.found.problem.sites[one.priced.site or 0].date
        lines += bullet(
            f"{_name(told, one.priced)}: {words.duration(one.minutes)} on {words.short_day(when)}, {price}; "
            f"the cheaper {_of(one.priced.pays_in, told.count)}."
        )
    return lines if told.worth else [*lines, *wrap("Nothing that fits into the days at home.")]


def _moves(told: Told) -> list[str]:
    """What runs out on the way in some futures and not in others, or on other legs."""
    rows = [job_row(told, one) for one in told.priced]
    moving = [row for row in rows if row["runs_out"] and (row["lasts"] or len(row["runs_out_on_leg"]) > 1)]
    lines = heading("Where things run out without work")
    groups = _by(moving, lambda row: (-row["runs_out"], _spread(row)))
    for (out, spread), alike in groups[:MOST_LINES]:
        named = _together(("", row["name"], row["position"], f" ({row['unit']})") for row in alike)
        lines += bullet(f"{words.upper_first(_of(-out, told.count))} ({spread}): {named}.")
    left = sum(len(alike) for _, alike in groups[MOST_LINES:])
    more = wrap(f"{words.count(left, 'thing', 'things')} more, less often, in the JSON (--json).") if left else []
    return [*lines, *more] if moving else [*lines, *wrap("Nothing changes its place.")]


def _spread(row: dict[str, Any]) -> str:
    """On which legs, and in how many futures on each: leg 1 in 120, leg 2 in 148."""
    legs = sorted(row["runs_out_on_leg"].items(), key=lambda entry: int(entry[0]))
    return ", ".join(f"leg {leg} in {count}" for leg, count in legs)


def _water(told: Told) -> list[str]:
    if not told.water:
        return []
    lines = heading("What the water may call for")
    for crossing in dict.fromkeys(one.crossing for one in told.water):
        row = told.s.timeline.crossings[crossing]
        own = [one for one in told.water if one.crossing == crossing and one.asked]
        for asked, calls in _by(own, lambda one: -one.asked):
            named = _together((str(one.act), one.name, one.position, "") for one in calls)
            lines += bullet(f"Leg {row.leg}, km {row.at_km:g}, {_of(-asked, told.count)}: {named}.")
    return lines


def _search(told: Told) -> list[str]:
    lines = heading("Placed anew")
    changed = sum(one[0] for one in told.changed)
    lines += wrap(
        f"In {changed} of {told.count} futures at least one decision changes by its price, in {len(told.changed)} different ways. "
        f"The search has placed {words.count(len(told.searched), 'of these', 'of these')} anew, the most frequent first."
    )  # fmt: skip
    names = {task.item.id: task.item.name for task in told.found.problem.tasks}
    for one in told.searched:
        sides = [_side("more", one.more, names), _side("fewer", one.fewer, names)]
        same = "the search keeps the same work before going on"
        lines += bullet(f"{_times(one)}: {'; '.join(filter(None, sides)) or same}.")
    return lines


def _times(one: Searched) -> str:
    jobs = words.count(one.jobs, "job", "jobs")
    return f"{words.count(one.futures, 'future', 'futures')}, departure {words.short_day(one.depart)}, {jobs} by price"


def _side(word: str, things: Sequence[Thing], names: Mapping[str, str]) -> str:
    named = list(dict.fromkeys(f"{words.lower_first(names.get(item, item))} ({unit})" for item, unit, _ in things))
    shown = ", ".join(named[:4]) + (f" and {len(named) - 4} more" if len(named) > 4 else "")
    return f"{len(things)} {word} before going on ({shown})" if things else ""
