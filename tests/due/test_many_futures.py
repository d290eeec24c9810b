"""Many futures at once against each of them by itself: the same verdicts, the same places, the same doubt."""

from datetime import date
from functools import cache

import numpy as np
import pytest

from tripplan.due.many_futures import NEVER, Fate, Futures, fate_of, futures_of, leg_of_end, water_calls
from tripplan.due.standing import Standing, assess, item_positions
from tripplan.files.demos import DEMOS, demo_folder
from tripplan.files.folder import Inputs, load
from tripplan.planner import look_around
from tripplan.records.catalogue import Catalogue
from tripplan.records.plan import ON_THE_WAY, VERDICTS
from tripplan.trip.draws import draw, drawn_trip, ranges_of
from tripplan.water.crossing import calls

DRAWN = 40


@cache
def demo(name: str) -> tuple[Inputs, Catalogue, date, Futures, tuple[Standing, ...], tuple[Fate, ...]]:
    """A demo with its futures and how every item fares in each."""
    inputs, catalogue, _ = load(demo_folder(name), DEMOS[name])
    assert inputs is not None
    today = DEMOS[name]
    s = look_around(inputs.rig, inputs.history, inputs.trip, catalogue, today)
    standings = tuple(assess(at, s) for at in item_positions(s.rig, catalogue))
    f = futures_of(s, draw(s.trip, s.timeline, ranges_of(catalogue), today, DRAWN, 7))
    return inputs, catalogue, today, f, standings, tuple(fate_of(one, f) for one in standings)


@pytest.mark.parametrize(("name", "row"), [*((name, 32) for name in sorted(DEMOS)), ("after-crossing", 0)])
def test_each_future_is_as_if_planned_by_itself(name: str, row: int) -> None:
    """What is told of a thousand futures would be true of none of them: held against the planner's own standing."""
    inputs, catalogue, today, f, standings, fates = demo(name)
    drawn = drawn_trip(inputs.trip, f.s.timeline, f.draws, row)
    there = look_around(inputs.rig, inputs.history, drawn, catalogue, today)
    alone = [assess(at, there) for at in item_positions(there.rig, catalogue)]
    for one, fate, single in zip(standings, fates, alone, strict=True):
        assert VERDICTS[fate.verdict[row]] == single.verdict, one.item.id
        end = single.runs_out.trip_km if single.runs_out else NEVER
        assert fate.ends[row] == pytest.approx(end, rel=1e-9), one.item.id
        if single.verdict == ON_THE_WAY and single.runs_out:
            assert there.timeline.legs[leg_of_end(fate, f)[row]].leg == single.runs_out.leg, one.item.id
        for track, own in zip(fate.tracks, single.course.tracks, strict=True):
            assert track.leaving[row] * own.interval == pytest.approx(own.used, rel=1e-9)
            assert track.ahead[row, -1] * own.interval == pytest.approx(own.typical[-1], rel=1e-9)
            assert track.log_sd[row] == pytest.approx(own.log_sd, abs=1e-9)


def test_luck_moves_what_runs_out() -> None:
    """All futures would be the plan again, and no decision ever hang on luck."""
    *_, f, _, fates = demo("outback")
    moving = [fate for fate in fates if len(set(leg_of_end(fate, f).tolist()) - {-1}) > 1]
    assert len(moving) > 10
    assert any(len(set(fate.verdict.tolist())) > 1 for fate in fates)


def test_deeper_water_asks_for_more() -> None:
    """What a deeper ford calls for would be told in as many futures as a shallow one, or not as often as it is drawn."""
    inputs, catalogue, today, f, *_ = demo("outback")
    told = water_calls(f)
    asked = {(one.crossing, one.item, one.position, one.act): one.asked for one in told}
    assert max(asked.values()) == DRAWN and 0 < min(count for count in asked.values() if count) < DRAWN
    s = f.s
    planned = calls(item_positions(s.rig, catalogue), s.timeline, catalogue, s.history, s.allowance_m, None, today)
    seen = {(call.crossing, call.item.id, call.position, call.rule.act) for call in planned if not call.contingent}
    deepest = int(np.argmax([one.depth_m for one in s.timeline.crossings]))
    assert {key for key in seen if key[0] == deepest} <= set(asked)
    assert inputs.trip.crossings
