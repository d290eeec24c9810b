"""Every number of the tables is asked for by the program, or it is not there.

The whole job is run on an invented trip while every field of every table row that is read
is written down. Printing a row as it stands (`numbers`, `why`) does not count as reading:
then everything would count.
"""

import shutil
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from tests.sheets.map_folder import map_folder
from tripplan.commands.check import check
from tripplan.commands.futures import futures
from tripplan.commands.grease import grease
from tripplan.commands.import_table import import_file
from tripplan.commands.kit import kit
from tripplan.commands.plan import plan
from tripplan.commands.review import review
from tripplan.commands.why import why
from tripplan.files import data_tables
from tripplan.records.catalogue import Assumption, Catalogue, Source
from tripplan.records.facts_in import Record

DEMO = Path(__file__).parents[2] / "demo" / "outback"
TODAY = "2026-06-20"
# read by people, as printed by `tripplan numbers`; no calculation asks for them
FOR_PEOPLE = {
    ("Assumption", "meaning"), ("Assumption", "unit"), ("Assumption", "low"), ("Assumption", "high"),
    ("ActRule", "words"), ("ConditionGrade", "words"), ("ConditionGrade", "unit"), ("LubricantRow", "din_code"),
    ("ServiceSheet", "months"), ("ServiceSheet", "name"),
    *((record.__name__, part) for _, record, _ in data_tables.TABLES.values() for part in ("basis", "source", "locator")),
    ("Consumable", "weight_basis"), ("Consumable", "weight_source"),
    ("Item", "minutes_basis"), ("Item", "minutes_source"), ("Item", "minutes_locator"),
    *(("Source", field) for field in Source.model_fields),
}  # fmt: skip
# counted once a spell of work by the placing, which is being built
AWAITED_ASSUMPTIONS = {"set_out_minutes", "clean_up_minutes"}
Reading = dict[str, set[str]]


@pytest.fixture(scope="module")
def read(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Reading]:
    """What the whole job asks of the tables: fields by record, and the names of assumptions."""
    found: Reading = {record.__name__: set() for _, record, _ in data_tables.TABLES.values()}
    found["assumed"] = set()
    with pytest.MonkeyPatch.context() as patch:
        for _, record, _ in data_tables.TABLES.values():
            patch.setattr(record, "__getattribute__", _noting(record, found[record.__name__]))
        asked = Catalogue.assumed
        patch.setattr(Catalogue, "assumed", lambda tables, name: found["assumed"].add(name) or asked(tables, name))
        _whole_job(tmp_path_factory.mktemp("read"))
    yield found


def _noting(record: type[Record], fields: set[str]) -> Any:
    known, plain = set(record.model_fields), record.__getattribute__

    def noting(self: Any, name: str) -> Any:
        if name in known:
            fields.add(name)
        return plain(self, name)

    return noting


def _whole_job(place: Path) -> None:
    """Plan, why, check, grease, findings and an old table: a demo, and a small folder with more in it."""
    shutil.copytree(DEMO, place / "demo")
    with (place / "demo" / "trip.toml").open("a", encoding="utf-8") as switches:
        switches.write('trailer_hubs_after_water = "repack"\n')
    stops = place / "demo" / "stops.csv"
    stops.write_text(stops.read_text(encoding="utf-8").replace(",town,", ",workshop,", 1), encoding="utf-8")
    plan(place / "demo", place / "out", "2026-05-25", False)
    why(place / "demo", "front_wheel_bearings", "2026-05-25", False)
    kit(place / "demo", "25", "40", "2026-05-25", False)
    futures(place / "demo", 2, 1, 0, "2026-05-25", False)
    folder = _fuller(place / "small")
    check(folder, TODAY, False)
    review(folder, TODAY, False)
    for item, lubricant in (("propshaft_ujoints", "polyurea_grease"), ("stub_axle_bush", "grey tub"),
                            ("brake_fluid", "brake_fluid_dot_4")):  # fmt: skip
        grease(folder, item, lubricant, None, TODAY, False)
    (place / "old.csv").write_text("date,unit,km,work\n2024-05-01,camper,,service_trailer\n")
    import_file(place / "old.csv", folder, None, True, False, date.fromisoformat(TODAY))


def _fuller(folder: Path) -> Path:
    """The small good folder on the map, with a weighed gun, a named grease and water in the oil."""
    map_folder(folder)
    with (folder / "history.csv").open("a", encoding="utf-8") as history:
        history.write("2026-06-15,wagon,188150,propshaft_ujoints,,grease,as new,lithium_chassis_grease,\n")
        history.write("2026-06-16,wagon,188150,engine_oil_filter,,look,water,,\n")
    (folder / "lubricants.csv").write_text(
        "id,own_name,kind,thickener,nlgi,solids_percent,astm_d4950,temp_high_c,water_grade,density_kg_m3\n"
        "grey_tub,grey tub,grease,lithium complex,2,0,GC-LB,140,1-40,900\n", encoding="utf-8"
    )  # fmt: skip
    (folder / "overrides").mkdir()
    (folder / "overrides" / "assumptions.csv").write_text(
        "name,value,unit,meaning,basis,source,locator\nwinding_factor,1.3,factor,road over line,judgement,none,our tracks\n"
    )
    (folder / "grease_gun.toml").write_text("g_per_stroke = 1.32\nstrokes = 10\ndate = 2026-06-01\n")
    return folder


FIELDS = sorted({(record.__name__, name) for _, record, _ in data_tables.TABLES.values()
                 for name in record.model_fields if name != "origin"} - FOR_PEOPLE)  # fmt: skip


@pytest.mark.parametrize(("record", "field"), FIELDS)
def test_every_column_is_read(record: str, field: str, read: Reading) -> None:
    """An owner would fill a cell, or change it, and nothing would come of it."""
    assert field in read[record]


def test_every_assumption_is_asked_for(read: Reading) -> None:
    """A changed number would be accepted and do nothing."""
    shipped, _ = data_tables.read_catalogue()
    names = {row.name for row in shipped.assumptions if isinstance(row, Assumption)}
    assert names - read["assumed"] - AWAITED_ASSUMPTIONS == set()
    assert read["assumed"] <= names
