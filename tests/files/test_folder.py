"""A whole trip folder, and the catalogue with the owner's overrides."""

import re
from datetime import date, datetime
from pathlib import Path

import pytest

from tests.files.test_bad_input import GOOD_OVERRIDE, problems_of, spreadsheet
from tests.support import FILES, TODAY, good_folder, replaced
from tripplan.files import data_tables
from tripplan.files.folder import load, read_folder, read_overrides
from tripplan.records.facts_in import Origin


def write_override(folder: Path, text: str = GOOD_OVERRIDE, name: str = "teardown.csv") -> None:
    """An override beside the other files."""
    (folder / "overrides").mkdir(exist_ok=True)
    (folder / "overrides" / name).write_text(text, encoding="utf-8")


def test_every_file_arrives_as_records(tmp_path: Path) -> None:
    """Otherwise a part of the trip would be left out of the plan."""
    inputs, problems = read_folder(good_folder(tmp_path), TODAY)
    assert problems == ()
    assert inputs
    assert [(unit.id, unit.kind, len(unit.heights_mm)) for unit in inputs.rig.units] == [
        ("wagon", "vehicle", 22),
        ("camper", "trailer", 6),
    ]
    assert (inputs.rig.origin, inputs.rig.vehicle.odometer_factor) == (Origin(file="rig.toml"), 1.02)
    assert (inputs.trip.depart, inputs.trip.return_) == (date(2026, 7, 3), date(2026, 7, 20))
    assert [leg.hubs for leg in inputs.trip.legs] == [0.0, 1.0, 0.3]
    assert inputs.trip.legs[0].depart == datetime(2026, 7, 3, 7)
    assert inputs.trip.legs[1].depart == date(2026, 7, 6)
    assert [(row.leg, row.crossed) for row in inputs.trip.crossings] == [(2, None)]
    assert [(stop.stop, stop.origin.row) for stop in inputs.trip.stops] == [("Red Pan", 2)]
    assert [day.minutes for day in inputs.trip.workshop_days] == [360, 300]
    assert [row.origin.row for row in inputs.history] == list(range(2, 10))


def test_reading_twice_gives_equal_records(tmp_path: Path) -> None:
    """Otherwise the same folder could give two plans."""
    good_folder(tmp_path)
    assert read_folder(tmp_path, TODAY) == read_folder(tmp_path, TODAY)


def test_optional_files_may_be_absent(tmp_path: Path) -> None:
    """Otherwise a dry trip without stops could not be planned."""
    good_folder(tmp_path)
    for name in ("crossings.csv", "stops.csv", "workshop.csv"):
        (tmp_path / name).unlink()
    inputs, problems = read_folder(tmp_path, TODAY)
    assert problems == ()
    assert inputs
    assert (inputs.trip.crossings, inputs.trip.stops, inputs.trip.workshop_days) == ((), (), ())


def test_history_may_be_a_spreadsheet(tmp_path: Path) -> None:
    """Otherwise an owner who keeps a spreadsheet would have to convert it for each plan."""
    good_folder(tmp_path)
    plain = [line for line in FILES["history.csv"].splitlines() if '"' not in line]
    rows: list[list[object]] = [list(line.split(",")) for line in plain]
    (tmp_path / "history.csv").unlink()
    (tmp_path / "history.xlsx").write_bytes(spreadsheet({"history": rows}))
    inputs, problems = read_folder(tmp_path, TODAY)
    assert problems == ()
    assert inputs
    assert {row.origin.file for row in inputs.history} == {"history.xlsx"}
    assert len(inputs.history) == len(rows) - 1


def test_outputs_beside_the_inputs_are_no_inputs(tmp_path: Path) -> None:
    """Otherwise planning into the trip folder would make the next reading complain."""
    good_folder(tmp_path)
    for name in ("plan.json", "tasks.csv", "shopping.csv", "calendar.ics", "worksheet.txt", ".legs.csv.swp"):
        (tmp_path / name).write_text("x", encoding="utf-8")
    assert problems_of(tmp_path) == ()


def test_toml_mistake_names_its_line(tmp_path: Path) -> None:
    """Otherwise the owner would search the whole file for a missing quotation mark."""
    good_folder(tmp_path)
    replaced(tmp_path, "trip.toml", "depart = 2026-07-03", "depart = 3 July 2026")
    (problem,) = problems_of(tmp_path)
    assert (problem.code, problem.file, problem.row) == ("F14", "trip.toml", 2)
    assert problem.found == "depart = 3 July 2026"


def test_a_slip_in_one_cell_hides_no_other_fault(tmp_path: Path) -> None:
    """Otherwise the owner would mend a folder in rounds, one kind of fault a round."""
    folder = good_folder(tmp_path / "trip")
    replaced(folder, "history.csv", "184300", "18430O")
    replaced(folder, "legs.csv", "Red Pan,Ironbark,2026-07-12,780", "Red Pan,Ironbark,2026-07-12,-780")
    replaced(folder, "crossings.csv", "2,140,", "2,999,")
    replaced(folder, "history.csv", "179800", "17980")
    _, _, problems = load(folder, TODAY)
    assert {problem.code for problem in problems} == {"H03", "L06", "C11", "H11"}


def test_key_path_names_the_unit(tmp_path: Path) -> None:
    """Otherwise a mistake in the trailer's section would be looked for in the vehicle's."""
    good_folder(tmp_path)
    replaced(tmp_path, "rig.toml", "hub_centre = 370", 'hub_centre = "370"')
    replaced(tmp_path, "rig.toml", "usual_km_per_week = 0", "usual_km_per_week = -1")
    assert [(p.code, p.column, p.row) for p in problems_of(tmp_path)] == [
        ("R03", "unit[2].heights_mm.hub_centre", None),
        ("R06", "unit[2].usual_km_per_week", None),
    ]


def test_override_replaces_its_row_and_says_so(tmp_path: Path) -> None:
    """Otherwise the owner's own figure would be ignored, or pass for a shipped one."""
    good_folder(tmp_path)
    shipped, _ = data_tables.read_catalogue()
    old = shipped.teardown[0]
    changed = f"{old.place},{old.state},{old.parent or ''},99,1,ours,judgement,none,measured at home\n"
    write_override(tmp_path, GOOD_OVERRIDE + changed)
    _, catalogue, problems = load(tmp_path, TODAY)
    assert problems == ()
    own = [row for row in catalogue.teardown if row.origin.file == "overrides/teardown.csv"]
    facts = [(row.state, row.open_minutes, row.origin.row) for row in own]
    assert facts == [(old.state, 99, 3), ("on ramps", 20, 2)]
    assert len(catalogue.teardown) == len(shipped.teardown) + 1
    assert catalogue.edition == shipped.edition


def test_copied_reason_is_no_reason(tmp_path: Path) -> None:
    """Otherwise a changed figure would carry the source of the figure it replaced."""
    good_folder(tmp_path)
    shipped, _ = data_tables.read_catalogue()
    old = next(row for row in shipped.teardown if row.locator and "," not in row.locator)
    write_override(tmp_path, GOOD_OVERRIDE.replace("we drive onto ramps at home", old.locator or ""))
    assert [problem.code for problem in problems_of(tmp_path)] == ["O10"]


def test_an_override_of_an_earlier_form_says_how_to_mend_it(tmp_path: Path) -> None:
    """Otherwise a row copied two years ago would be refused column by column, or half of it believed."""
    good_folder(tmp_path)
    (tmp_path / "overrides").mkdir()
    (tmp_path / "overrides" / "items.csv").write_text("id,km,safety,consequence\nwinch,5000,no,endangers\n")
    [told] = problems_of(tmp_path)
    assert (told.code, told.found) == ("O13", "the columns consequence, safety")
    assert "copied anew" in told.accepted
    assert "consequence is now harms, harms_by, strands and if_it_fails; safety is now harms" in told.hint


def test_override_with_a_problem_is_not_used(tmp_path: Path) -> None:
    """Otherwise half an override could change the plan."""
    good_folder(tmp_path)
    write_override(tmp_path, GOOD_OVERRIDE.replace(",20,", ",soon,"))
    tables, _ = read_overrides(tmp_path)
    catalogue, problems = data_tables.read_catalogue(tables)
    assert [problem.code for problem in problems] == ["O03"]
    assert catalogue == data_tables.read_catalogue()[0]


def test_a_fault_in_a_shipped_table_is_loud(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise an owner would be asked to correct a file that is not theirs."""
    for file in data_tables.TABLES:
        (tmp_path / file).write_bytes((data_tables.DATA / file).read_bytes())
    text = (tmp_path / "assumptions.csv").read_text(encoding="utf-8").splitlines()
    (tmp_path / "assumptions.csv").write_text(f"{text[0]}\nx\n", encoding="utf-8")
    monkeypatch.setattr(data_tables, "DATA", tmp_path)
    with pytest.raises(ValueError, match=r"assumptions\.csv, row 2"):
        data_tables.read_catalogue()


def test_edition_is_a_day_and_a_hash_of_the_tables(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise a plan could not say which figures it was made with."""
    before = data_tables.edition()
    assert re.fullmatch(r"\d{4}-\d{2}-\d{2} [0-9a-f]{8}", before)
    for path in data_tables.DATA.iterdir():
        if path.is_file():
            (tmp_path / path.name).write_bytes(path.read_bytes())
    monkeypatch.setattr(data_tables, "DATA", tmp_path)
    assert data_tables.edition() == before
    with (tmp_path / "acts.csv").open("a", encoding="utf-8") as file:
        file.write("\n")
    assert data_tables.edition() != before
