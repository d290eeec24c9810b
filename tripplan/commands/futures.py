"""`tripplan futures`: one trip under many possible roads, and which decisions hang on luck.

Wear, places and prices are worked out in arrays for all futures; the search places the work anew only
in the most frequent of those futures in which a decision changes by its price.
"""

import time
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from tripplan.commands.status import MADE, MADE_WITH_WARNINGS, day_of, refuse_beyond, tells_refusals
from tripplan.commands.terminal import say, say_json
from tripplan.records.problems import Problem

if TYPE_CHECKING:
    from tripplan.due.many_futures import Futures
    from tripplan.files.folder import Inputs
    from tripplan.planner import Answer
    from tripplan.records.catalogue import Catalogue
    from tripplan.sheets.futures_text import Searched, Told

MOST_DRAWS, MOST_SEARCHES, MOST_SEED = 20_000, 200, 2**63 - 1


@tells_refusals
def futures(folder: Path, draws: int, seed: int, searches: int, today: str | None, as_json: bool) -> int:
    """Draw so many futures of the trip and say which jobs are needed in how many of them."""
    from tripplan.explain.warnings import trip_is_over
    from tripplan.files.plan_folder import read_to_plan
    from tripplan.sheets.futures_text import futures_json, futures_text

    given = (("--draws", draws, 1, MOST_DRAWS), ("--seed", seed, 0, MOST_SEED))
    refuse_beyond((*given, ("--searches", searches, 0, MOST_SEARCHES)))
    inputs, catalogue, day, problems = read_to_plan(folder, day_of(today))
    if day > inputs.trip.return_:
        say(trip_is_over(inputs.trip).text, error=as_json)
        if not as_json:
            return MADE_WITH_WARNINGS
    told = drawn(inputs, catalogue, day, problems, draws, seed, searches)
    if as_json:
        say_json(futures_json(told))
    else:
        say(futures_text(told), end="")
    return MADE_WITH_WARNINGS if problems else MADE


def drawn(
    inputs: "Inputs", catalogue: "Catalogue", today: date, problems: Sequence[Problem], draws: int, seed: int,
    searches: int,
) -> "Told":  # fmt: skip
    """The plan as it stands, its futures, their prices, and the few that the search places anew."""
    from tripplan.due.many_futures import futures_of, water_calls
    from tripplan.placing.many_futures import patterns, priced_jobs, worth_doing
    from tripplan.placing.optimise import place_optimally
    from tripplan.planner import answer, look_around
    from tripplan.sheets.futures_text import Told
    from tripplan.trip.draws import draw, ranges_of

    s = look_around(inputs.rig, inputs.history, inputs.trip, catalogue, today, inputs.kit.shelf)
    found = answer(s, place_optimally)
    began = time.perf_counter()
    f = futures_of(s, draw(s.trip, s.timeline, ranges_of(catalogue), today, draws, seed))
    priced = priced_jobs(found.standings, found.problem, found.placing, f)
    spent_s = time.perf_counter() - began
    say(f"{draws} futures in {spent_s:.1f} s, {draws / spent_s:.0f} a second.", error=True)
    changed = patterns(priced)
    searched = tuple(_searched(inputs, catalogue, today, f, found, *one) for one in changed[:searches])
    return Told(
        s=s, f=f, found=found, priced=tuple(priced), worth=tuple(worth_doing(priced, found.problem, found.placing)),
        changed=tuple(changed), searched=searched, water=tuple(water_calls(f)), problems=tuple(problems),
    )  # fmt: skip


def _searched(
    inputs: "Inputs", catalogue: "Catalogue", today: date, f: "Futures", found: "Answer", futures: int, jobs: int,
    row: int,
) -> "Searched":  # fmt: skip
    """One future placed anew by the search: what is done before the rig goes on, against the plan."""
    from tripplan.placing.optimise import place_optimally
    from tripplan.planner import answer, look_around
    from tripplan.sheets.futures_text import Searched, done_before
    from tripplan.trip.draws import drawn_trip

    trip = drawn_trip(inputs.trip, f.s.timeline, f.draws, row)
    there = answer(look_around(inputs.rig, inputs.history, trip, catalogue, today, inputs.kit.shelf), place_optimally)
    was, now = done_before(found, today), done_before(there, today)
    return Searched(futures, jobs, row, trip.depart, tuple(sorted(now - was)), tuple(sorted(was - now)))
