"""How much paper a day takes: what would run over by a few lines is set with its lines closer together."""

from functools import cache

import pytest

from tripplan.files.demos import DEMOS, demo_folder
from tripplan.files.plan_folder import quick_plan, read_to_plan
from tripplan.records.plan import Plan
from tripplan.sheets.grease_notes import grease_notes
from tripplan.sheets.worksheet import paper
from tripplan.sheets.worksheet.html import breaks, stations


@cache
def plan(name: str) -> Plan:
    """The quick plan of a demo."""
    return quick_plan(*read_to_plan(demo_folder(name), DEMOS[name]))


@pytest.mark.parametrize(("share", "is_close"), [(0.5, False), (0.95, False), (0.99, True), (1.03, True), (1.2, False),
                                                 (1.4, False), (1.51, True), (2.8, True), (3.05, True), (2.2, False)])  # fmt: skip
def test_only_what_just_fills_a_sheet_is_set_close(share: float, is_close: bool) -> None:
    """Otherwise every day would be hard to read, or a sheet be turned for two lines."""
    assert paper.is_just_over(share) is is_close


@pytest.mark.parametrize("name", sorted(DEMOS))
def test_a_day_is_set_close_by_how_much_of_a_sheet_it_fills(name: str) -> None:
    """Otherwise a day that has its sheet to itself would run over onto a second one."""
    notes = grease_notes(plan(name))
    kinds = breaks(plan(name), notes)
    sheets = {one.key: one.sheet for one in stations(plan(name)) if one.sheet}
    assert sheets
    for key, sheet in sheets.items():
        assert kinds[key].endswith(" close") == paper.is_just_over(paper.day_share(plan(name), sheet, notes))


@pytest.mark.parametrize(("share", "is_close"), [(0.6, False), (1.0, False), (1.02, True), (1.1, True), (1.3, False)])
def test_the_first_page_is_set_close_where_that_keeps_it_on_one_sheet(share: float, is_close: bool) -> None:
    """Otherwise five lines of what to buy would take a sheet of their own."""
    assert paper.is_close_wall(share) is is_close


@pytest.mark.parametrize("name", sorted(DEMOS))
def test_the_first_page_is_told_how_its_lines_stand(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise the sheet would not be set by what it holds."""
    for share, told in ((0.9, ""), (1.05, "close")):
        monkeypatch.setattr(paper, "wall_share", lambda *_, share=share: share)
        assert breaks(plan(name), grease_notes(plan(name)))["wall"] == told
