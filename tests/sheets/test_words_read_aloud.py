"""Jobs as a mechanic reads them aloud: no name holds its act already."""

import csv
from datetime import timedelta
from importlib.resources import files
from pathlib import Path

from tests.small import DEPART, TODAY, leg, planned, row, tables, thing, trip, workshop
from tripplan.sheets import words
from tripplan.sheets.outputs import write_outputs

ACTING = {"look": ("hand", "walk-under", "look"), "grease": ("grease",), "repack": ("repack", "grease"), "clean": ("one wash", "wash", "clean")}  # fmt: skip


MEASURED = ("play", "alignment", "voltage", "load")
TESTED = ("gas_lpg", "trailer_gas_lpg", "trailer_breakaway", "battery", "brake_booster", "trailer_brake_test")


def jobs() -> list[tuple[str, str]]:
    """Every act with the name it is said with: of items, and of what water calls for."""
    tables = files("tripplan") / "data"
    items = list(csv.DictReader((tables / "items.csv").read_text("utf-8").splitlines()))
    said = {row["id"]: row["short"] or row["name"] for row in items}
    rules = csv.DictReader((tables / "water_rules.csv").read_text("utf-8").splitlines())
    return [(row["act"], said[row["id"]]) for row in items] + [
        (row["act"], row["name"] or said[row["item"]]) for row in rules
    ]


def test_no_job_says_its_act_twice() -> None:
    """If it did, a sheet would ask to grease the knuckle grease, or to look at a hand on the hubs."""
    found = jobs()
    assert ("grease", "Knuckle chamber") in found and ("look", "Trailer hubs by touch") in found
    for act, name in found:
        first = words.lower_first(name)
        assert not first.startswith(ACTING.get(act, ("\0",))), words.doing(act, name)
        assert act not in first.replace(",", " ").split()[-1:], words.doing(act, name)


def item_jobs() -> dict[str, str]:
    """Each item's own job, as every sheet calls it."""
    text = (files("tripplan") / "data" / "items.csv").read_text("utf-8")
    return {
        row["id"]: words.doing(row["verb"] or row["act"], row["short"] or row["name"])
        for row in csv.DictReader(text.splitlines())
    }


def test_jobs_are_called_what_a_mechanic_calls_them() -> None:
    """If not, a sheet would have tyre places adjusted and a gas bottle measured. Common practice, no source."""
    said = item_jobs()
    assert said["tyre_rotation"] == "Rotate tyres with the spare"
    assert (
        said["gas_lpg"] == "Test LPG bottle and hose" and said["trailer_gas_lpg"] == "Test trailer LPG bottle and hose"
    )
    assert said["trailer_breakaway"] == "Test breakaway switch" and said["tyre_pressure"] == "Set tyre pressure"
    assert said["swivel_knuckle_reseal"] == "Rebuild steering knuckles"
    assert all(said[item].startswith("Test ") for item in TESTED)
    assert not [job for job in said.values() if job.startswith("Measure ") and not job.endswith(MEASURED)]


def test_what_is_looked_for_after_water_is_a_finding() -> None:
    """If it were an order, a sheet would say: if there is crack the level plug; if it were the good sign, the wrong hub is opened."""
    text = (files("tripplan") / "data" / "water_rules.csv").read_text("utf-8")
    rows = list(csv.DictReader(text.splitlines()))
    assert len(rows) > 70
    for rule in rows:
        assert ":" not in rule["look_for"].split(";")[0], rule["look_for"]
        assert not rule["look_for"].startswith(("crack", "before", "cap off", "the hub that", "dial turns")), row[
            "look_for"
        ]
    (dial,) = (rule for rule in rows if (rule["item"], rule["when"]) == ("free_wheel_hubs", "night"))
    assert dial["look_for"] == "a dial that does not turn freely, drips at the cap"


def test_what_cannot_be_renewed_has_a_part_that_can() -> None:
    """If not, a bad finding would have a level, an age or a pressure renewed. Common practice, no source."""
    text = (files("tripplan") / "data" / "items.csv").read_text("utf-8")
    rows = {row["id"]: row for row in csv.DictReader(text.splitlines())}
    measures = {"play", "level", "load", "voltage", "alignment", "age", "pressure", "action"}
    named = {item for item, row in rows.items() if measures & set(row["short"].split())}
    assert len(named) >= 15 and all(rows[item]["mended"] for item in named)
    assert rows["front_bearing_play"]["mended"] == "Front wheel bearings with play"
    assert not [row["mended"] for row in rows.values() if measures & set(row["mended"].split()) - {"play", "age"}]


def test_a_job_has_one_wording_in_every_output(tmp_path: Path) -> None:
    """If not, a person with two of our sheets in hand would look for two jobs."""
    tyres = thing("rotation", name="Tyres with the spare", act="adjust", verb="rotate", km=1000)
    one = trip(leg(1, 300), workshop_days=(workshop(DEPART - timedelta(days=3)),))
    plan = planned(one, row(TODAY, 0), catalogue=tables(tyres))
    (job,) = (job for slot in plan.slots for job in slot.jobs if slot.kind == "workshop")
    (item,) = plan.items
    assert (job.act, job.said_act, item.act, item.said_act) == ("adjust", "rotate", "adjust", "rotate")
    written = {path.name: path.read_text("utf-8") for path in write_outputs(plan, tmp_path)}
    for name in ("worksheet.html", "worksheet.txt", "field.html", "tasks.csv", "calendar.ics", "calendar_todo.ics"):
        assert "otate tyres with the spare" in written[name].replace("\r\n ", ""), name
        assert "djust tyres" not in written[name], name


def test_a_look_of_every_morning_is_said_on_the_phone_as_on_paper(tmp_path: Path) -> None:
    """If not, the sheet would say set tyre pressure and the phone, adjust: tyre pressure."""
    daily = thing("pressure", name="Tyre pressure", act="adjust", verb="set", km=100, rhythm="walk-round")
    plan = planned(trip(leg(1, 300)), row(TODAY, 0), catalogue=tables(daily))
    written = {path.name: path.read_text("utf-8") for path in write_outputs(plan, tmp_path)}
    assert "Set tyre pressure" in written["field.html"] and "Set tyre pressure" in written["worksheet.txt"]
