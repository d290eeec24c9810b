"""Odometer readings of a foreign table: which rise together, which fall, which are blank."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from datetime import date
from itertools import groupby

from msgspec import Struct
from msgspec.structs import replace

from tripplan.files.importing.known import Known
from tripplan.files.importing.mapping import Replaced
from tripplan.files.importing.report import Question
from tripplan.files.importing.rows import Draft
from tripplan.records.facts_in import HistoryRow
from tripplan.records.problem_codes import figure
from tripplan.wear.odometer_line import REPLACED

OWN_RUN = 2
# Most that is driven in some days together: a driver alone for a week, and on average after it. Judgement.
KM_A_DAY, WEEK, KM_A_DAY_ON = 1200.0, 7, 500.0


class SeenReading(Struct, frozen=True):
    """A reading of one day; `draft` is None for one the history already holds."""

    day: date
    km: float
    draft: Draft | None


def known_swaps(drafts: Iterable[Draft], history: Iterable[HistoryRow], known: Known) -> tuple[Replaced, ...]:
    """Every replaced odometer that is known of, each with its unit, by day."""
    told = {replace(one, unit=one.unit or known.vehicle) for one in known.mapping.replaced}
    drafted = [(d.unit, d.day, d.old_km, d.km) for d in drafts if d.bare_act == REPLACED]
    before = [(r.unit, r.date, r.old_odometer_km, r.odometer_km) for r in history if r.act == REPLACED]
    for unit, day, old_km, new_km in (*drafted, *before):
        if old_km is not None and new_km is not None:
            told.add(Replaced(unit=unit, day=day, old_km=old_km, new_km=new_km))
    return tuple(sorted(told, key=lambda swap: (swap.day, swap.unit or "", swap.old_km)))


def _instrument(unit: str, day: date, km: float | None, swaps: Sequence[Replaced]) -> int:
    """Which instrument of the unit that was, counted from the first; on the day of a swap the nearer."""
    own = [swap for swap in swaps if swap.unit == unit]
    count = sum(1 for swap in own if swap.day < day)
    same_day = [swap for swap in own if swap.day == day]
    is_new = km is not None and any(abs(km - swap.new_km) < abs(km - swap.old_km) for swap in same_day)
    return count + (1 if is_new else 0)


def rising(
    drafts: Sequence[Draft], history: Sequence[HistoryRow], swaps: Sequence[Replaced]
) -> tuple[list[Draft], list[Question]]:
    """Drafts whose readings never fall, and a question for each of the others.

    Kept are the most rows that surely rise together; what the history already holds is not doubted.
    """
    kept = [draft for draft in drafts if draft.km is None]
    questions: list[Question] = []
    fixed = _fixed(history, swaps)

    def place(draft: Draft) -> tuple[str, int]:
        return draft.unit, _instrument(draft.unit, draft.day, draft.km, swaps)

    with_km = [draft for draft in drafts if draft.km is not None]
    for key, group in groupby(sorted(with_km, key=lambda d: (*place(d), d.day, d.km or 0.0)), key=place):
        going: list[Draft] = []
        for draft in group:
            why = _against(draft, fixed.get(key, []))
            if why:
                questions.append(_asked_of(draft, why))
            else:
                going.append(draft)
        good = _sure_of(going)
        leaps = _too_fast(going, good)
        kept += [draft for spot, draft in enumerate(going) if spot in good and spot not in leaps]
        questions += [_asked_of(going[spot], leaps[spot]) for spot in sorted(leaps)]
        questions += _falls(going, good)
    order = {id(draft): spot for spot, draft in enumerate(drafts)}
    return sorted(kept, key=lambda draft: order[id(draft)]), questions


def _fixed(history: Sequence[HistoryRow], swaps: Sequence[Replaced]) -> dict[tuple[str, int], list[SeenReading]]:
    found: dict[tuple[str, int], list[SeenReading]] = {}
    for row in sorted(history, key=lambda row: (row.date, row.odometer_km or 0.0)):
        if row.odometer_km is not None:
            key = (row.unit, _instrument(row.unit, row.date, row.odometer_km, swaps))
            found.setdefault(key, []).append(SeenReading(row.date, row.odometer_km, None))
    return found


def _against(draft: Draft, marks: Sequence[SeenReading]) -> str:
    """How a reading contradicts the history that is already there; empty when it does not."""
    before = bisect_left(marks, draft.day, key=lambda mark: mark.day) - 1
    after = bisect_right(marks, draft.day, key=lambda mark: mark.day)
    km = draft.km or 0.0
    if before >= 0 and km < marks[before].km:
        return f"{figure(km)} km is below the {figure(marks[before].km)} that the history has on {marks[before].day}"
    if after < len(marks) and km > marks[after].km:
        return f"{figure(km)} km is above the {figure(marks[after].km)} that the history has on {marks[after].day}"
    for mark in (*marks[max(before, 0) : before + 1], *marks[after : after + 1]):
        days = abs((draft.day - mark.day).days)
        if abs(km - mark.km) > most_km(days):
            a_day = abs(km - mark.km) / max(days, 1)
            return (
                f"{figure(km)} km and the {figure(mark.km)} that the history has on {mark.day}: {a_day:.0f} km a day?"
            )
    return ""


def _asked_of(draft: Draft, why: str) -> Question:
    """A question about a reading, with what is asked of the row already."""
    if draft.question:
        return replace(draft.question, asked=f"{draft.question.asked}; {why}")
    return draft.raw.question(why)


def _sure_of(rows: Sequence[Draft]) -> set[int]:
    """Places of the rows that belong to the longest run of readings that never falls.

    Where two rows could stand in the same place of that run, the one that could have been
    driven is kept; if both could, neither is.
    """
    values = [row.km or 0.0 for row in rows]
    before = _run_lengths(values)
    after = _run_lengths([-value for value in reversed(values)])[::-1]
    longest = max(before, default=0)
    levels: dict[int, list[int]] = {}
    for spot in range(len(values)):
        if before[spot] + after[spot] - 1 == longest:
            levels.setdefault(before[spot], []).append(spot)
    anchors = {level: spots[0] for level, spots in levels.items() if len(spots) == 1}
    kept: set[int] = set()
    last: int | None = None
    following = _following(anchors, longest)
    for level in range(1, longest + 1):
        around = [spot for spot in (last, following[level]) if spot is not None]
        fits = [spot for spot in levels[level] if all(_drivable(rows, spot, other) for other in around)]
        chosen = levels[level] if len(levels[level]) == 1 else fits
        if len(chosen) == 1 and (last is None or values[chosen[0]] >= values[last]):
            last = chosen[0]
            kept.add(last)
    return kept


def _following(anchors: dict[int, int], longest: int) -> dict[int, int | None]:
    """For each level the nearest sure row of a later level."""
    found: dict[int, int | None] = {}
    ahead: int | None = None
    for level in range(longest, 0, -1):
        found[level] = ahead
        ahead = anchors.get(level, ahead)
    return found


def _drivable(rows: Sequence[Draft], spot: int, other: int) -> bool:
    low, high = rows[min(spot, other)], rows[max(spot, other)]
    days = max((high.day - low.day).days, 1)
    return 0 <= (high.km or 0.0) - (low.km or 0.0) <= most_km(days)


def most_km(days: int) -> float:
    """The km beyond which a stretch of so many days is asked about."""
    week = min(max(days, 1), WEEK)
    return KM_A_DAY * week + KM_A_DAY_ON * max(days - week, 0)


def _too_fast(rows: Sequence[Draft], good: set[int]) -> dict[int, str]:
    """Of the readings that rise, those that only a leap joins to most of the others, and why.

    The run of readings with most rows is kept. Where no run has twice the rows of every other
    it is not known which is right, and all are asked.
    """
    runs: list[list[int]] = []
    for spot in sorted(good):
        if runs and _drivable(rows, runs[-1][-1], spot):
            runs[-1].append(spot)
        else:
            runs.append([spot])
    longest = max(runs, key=len, default=[])
    others = [run for run in runs if run is not longest]
    if all(len(longest) >= OWN_RUN * len(run) for run in others) and (len(longest) > 1 or not others):
        asked = others
    else:
        asked = runs
    found = {}
    for run in asked:
        for spot in run:
            found[spot] = _leap(rows, runs, run)
    return found


def _leap(rows: Sequence[Draft], runs: Sequence[list[int]], run: list[int]) -> str:
    at = runs.index(run)
    low, high = (rows[runs[at - 1][-1]], rows[run[0]]) if at else (rows[run[-1]], rows[runs[1][0]])
    days = max((high.day - low.day).days, 1)
    a_day = ((high.km or 0.0) - (low.km or 0.0)) / days
    return (
        f"from {figure(low.km or 0.0)} km on {low.day} to {figure(high.km or 0.0)} on {high.day} is "
        f"{a_day:.0f} km a day: which reading is wrong, or was the odometer replaced?"
    )


def _run_lengths(values: Sequence[float]) -> list[int]:
    """For each value the length of the longest run ending there that never falls."""
    tails: list[float] = []
    found = []
    for value in values:
        length = bisect_right(tails, value)
        tails[length : length + 1] = [value]
        found.append(length + 1)
    return found


def _falls(rows: Sequence[Draft], good: set[int]) -> list[Question]:
    """A question for each row that does not rise with the others; one and the same where another
    instrument would explain them: several that rise by themselves, all before or all behind the others.
    """
    bad = [spot for spot in range(len(rows)) if spot not in good]
    first, last = min(good, default=-1), max(good, default=-1)
    found: dict[int, Question] = {}
    for spots, low, high in (([s for s in bad if s < first], -1, first), ([s for s in bad if s > last], last, -1)):
        values = [rows[spot].km or 0.0 for spot in spots]
        if len(spots) >= OWN_RUN and good and values == sorted(values):
            before, after = rows[spots[-1] if low < 0 else low], rows[spots[0] if high < 0 else high]
            if (before.km or 0.0) > (after.km or 0.0):
                found |= {spot: _asked_of(rows[spot], _replaced(before, after)) for spot in spots}
    return [found.get(spot) or _fall(rows, spot, good) for spot in bad]


def _replaced(before: Draft, after: Draft) -> str:
    return (
        f"was the odometer replaced after {figure(before.km or 0.0)} km on {before.day} and before "
        f"{figure(after.km or 0.0)} km on {after.day}? Then say so in the mapping file: [[odometer_replaced]] with "
        "date, old_km (the last figure of the old one) and new_km (the first of the new one)"
    )


def _fall(rows: Sequence[Draft], spot: int, good: set[int]) -> Question:
    draft = rows[spot]
    earlier = next((rows[i] for i in range(spot - 1, -1, -1) if i in good), None)
    later = next((rows[i] for i in range(spot + 1, len(rows)) if i in good), None)
    km = figure(draft.km or 0.0)
    if earlier and (draft.km or 0.0) < (earlier.km or 0.0):
        said = f"the reading falls from {figure(earlier.km or 0.0)} on {earlier.day} to {km}"
    elif later and (draft.km or 0.0) > (later.km or 0.0):
        said = f"the reading {km} is above the later {figure(later.km or 0.0)} on {later.day}"
    else:
        said = f"the reading {km} does not go with the others around it"
    return _asked_of(draft, f"{said}: a slip, or was the odometer replaced? (then add [[odometer_replaced]])")


def estimated(drafts: Sequence[Draft], history: Sequence[HistoryRow], swaps: Sequence[Replaced]) -> list[Draft]:
    """Blank readings put between their neighbours in time, each marked as an estimate."""
    marks = _fixed(history, swaps)
    for draft in drafts:
        if draft.km is not None:
            key = (draft.unit, _instrument(draft.unit, draft.day, draft.km, swaps))
            marks.setdefault(key, []).append(SeenReading(draft.day, draft.km, draft))
    for line in marks.values():
        line.sort(key=lambda mark: (mark.day, mark.km))
    return [draft if draft.km is not None else _with_estimate(draft, marks, swaps) for draft in drafts]


def _with_estimate(draft: Draft, marks: dict[tuple[str, int], list[SeenReading]], swaps: Sequence[Replaced]) -> Draft:
    line = marks.get((draft.unit, _instrument(draft.unit, draft.day, None, swaps)), [])
    before = bisect_right(line, draft.day, key=lambda mark: mark.day) - 1
    after = bisect_left(line, draft.day, key=lambda mark: mark.day)
    is_swap_day = any(swap.unit == draft.unit and swap.day == draft.day for swap in swaps)
    if before < 0 or after >= len(line) or is_swap_day:
        return draft
    low, high = line[before], line[after]
    days = (high.day - low.day).days
    share = (draft.day - low.day).days / days if days > 0 else 0.0
    km = float(round(low.km + share * (high.km - low.km)))
    km = min(max(km, min(low.km, high.km)), max(low.km, high.km))
    said = f"estimate: odometer not written, between {figure(low.km)} on {low.day} and {figure(high.km)} on {high.day}"
    return replace(draft, km=km, remarks=(*draft.remarks, said))
