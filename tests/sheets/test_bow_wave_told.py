"""What is told of the bow wave is what is counted: 0.1 m at the front of a vehicle, nothing elsewhere and on a trailer."""

import re
from pathlib import Path

import pytest
from msgspec.structs import replace

from tests.sample_plan import sample_plan
from tests.support import TODAY, good_folder
from tripplan.records.plan_work import PlanCrossing
from tripplan.sheets.worksheet.water import facts_known
from tripplan.web.forms.rig_form import rig_form
from tripplan.web.open_trip import Desk


def deep(*lines_m: float) -> PlanCrossing:
    """A crossing 0.75 m deep in which things are under by these lines."""
    crossing = next(one for one in sample_plan().crossings if one.immersed)
    wet = tuple(replace(crossing.immersed[0], water_line_m=line_m) for line_m in lines_m)
    return replace(crossing, depth_m=0.75, immersed=wet)


@pytest.mark.parametrize(
    ("lines_m", "told"),
    [
        ((0.75, 0.75), "Counted to 0.75 m; the bow wave at the front reaches nothing more."),
        ((0.85, 0.75), "Counted to 0.75 m, and to 0.85 m with the bow wave."),
        ((0.85,), "Counted to 0.85 m with the bow wave."),
        ((0.8, 0.9), "Counted to 0.8 m and 0.9 m with the bow wave."),
    ],
)
def test_the_line_is_that_of_what_is_under(lines_m: tuple[float, ...], told: str) -> None:
    """Otherwise the still depth would be told as the line with the bow wave, and the wave be thought left out."""
    assert told in facts_known(deep(*lines_m))


def test_a_trailer_is_drawn_without_the_wave_of_the_front(tmp_path: Path) -> None:
    """Otherwise the drawing would show the camper 0.1 m deeper than its points are counted."""
    folder = good_folder(tmp_path)
    wagon, camper = rig_form(Desk(folder, TODAY, background=False), depth="0.5")["units"]
    drawn = [
        re.findall(r'data-wave d="[^"]*" transform="translate\(0 ([0-9.]+)\)"', one.picture) for one in (wagon, camper)
    ]
    assert drawn == [["234.0"], ["248.0"]]  # 318 less 140 a metre, at 0.6 and at 0.5 m
    assert "counted to 0.6 m at the front" in wagon.picture and "no bow wave is added" in camper.picture
    assert (wagon.wave_m, camper.wave_m) == (0.1, 0.0)
