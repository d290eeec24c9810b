"""The shipped tables: every row is whole, sourced, sorted, and says what a mechanic would say.

Facts checked here against the trade are marked common practice, no source, beside the check.
"""

import csv
import re
from itertools import pairwise
from pathlib import Path

import pytest
from pydantic import ValidationError

from tripplan.files.data_tables import read_catalogue
from tripplan.grease.amounts import amount, laid_out_g
from tripplan.records import catalogue, lubricants, mending
from tripplan.records.facts_in import Origin, Record
from tripplan.records.words import SYSTEM_ORDER

DATA = Path(catalogue.__file__).parents[1] / "data"
TABLES: dict[str, tuple[type[Record], tuple[str, ...]]] = {
    "items": (catalogue.Item, ("id",)),
    "multipliers": (catalogue.Multiplier, ("condition", "grade", "sensitivity")),
    "grades": (catalogue.ConditionGrade, ("condition", "grade")),
    "teardown": (catalogue.Teardown, ("place", "state")),
    "acts": (catalogue.ActRule, ("act",)),
    "remedies": (mending.Remedy, ("at", "found")),
    "consumables": (catalogue.Consumable, ("id",)),
    "spares": (mending.Spare, ("item", "part")),
    "water_rules": (catalogue.WaterRule, ("item", "when", "water")),
    "assumptions": (catalogue.Assumption, ("name",)),
    "lubricants": (lubricants.LubricantRow, ("id",)),
    "thickener_pairs": (lubricants.PairRating, ("family_a", "family_b", "chart")),
    "cavities": (lubricants.Cavity, ("item", "lubricant")),
    "sources": (catalogue.Source, ("id",)),
}
SOURCED = [name for name in TABLES if name != "sources"]
SENSITIVITIES = ("low", "medium", "high")
GRADE_ORDER = {
    "dust": ("none", "light", "heavy", "bulldust"),
    "corrugation": ("none", "light", "moderate", "severe"),
    "surface": ("sealed", "gravel", "track", "sand", "rock"),
    "heat": ("normal", "warm", "hot", "extreme"),
    "load": ("light", "normal", "heavy"),
    "towing": ("no", "yes"),
    "mud": ("none", "light", "deep"),
    "low range": ("no", "yes"),
    "water": ("none", "splash", "immersed"),
}
NEUTRAL = {condition: grades[:1] for condition, grades in GRADE_ORDER.items()} | {"load": ("light", "normal")}
FRONT, REAR, TRAILER = "front wheel end", "rear wheel end", "trailer wheel end"
FORBIDDEN = re.compile(
    r"\b\d+(\.\d+)?\s*(nm|n[.]m|lb[- ]?ft|ft[- ]?lb|kgf?[- ]?m)\b|\d\s*mm\b|mm clearance|\bthou\b", re.I
)


def rows(name: str) -> list[dict[str, str]]:
    """The rows of one table as text; a cell is never None in a whole file."""
    with (DATA / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def build(name: str, row: dict[str, str], number: int = 2) -> Record:
    """One row as its record; an empty cell is left out, so that a required one is missed."""
    filled = {column: cell for column, cell in row.items() if cell != ""}
    origin = Origin(file=f"data/{name}.csv", row=number)
    return TABLES[name][0].model_validate({**filled, "origin": origin})


def said_of(row: dict[str, str]) -> list[str]:
    """What of a row says where it comes from: the row as a whole, and parts such as `failure_`."""
    return [column.removesuffix("source") for column in row if column.endswith("source")]


def items() -> dict[str, catalogue.Item]:
    """All items by id."""
    found = [build("items", row) for row in rows("items")]
    return {item.id: item for item in found if isinstance(item, catalogue.Item)}


def used_up(item: catalogue.Item) -> set[str]:
    """The consumables of one act."""
    return {amount.what for amount in item.consumables}


def opened(place: str, state: str) -> set[str]:
    """The state itself and every state that must be open before it."""
    parents = {(row["place"], row["state"]): row["parent"] for row in rows("teardown")}
    found: set[str] = set()
    while state not in ("closed", ""):
        place = place if (place, state) in parents else "underbody"
        assert (place, state) in parents, (place, state)
        assert state not in found, f"the ladder of {place} runs in a circle"
        found.add(state)
        state = parents[place, state]
    return found


def fields(condition: str) -> dict[tuple[str, str], tuple[float, float, float]]:
    """(grade, sensitivity) -> low, typical, high of one condition, neutral grades included as 1."""
    found = {
        (row["grade"], row["sensitivity"]): (float(row["low"]), float(row["typical"]), float(row["high"]))
        for row in rows("multipliers")
        if row["condition"] == condition
    }
    return found | {(grade, word): (1, 1, 1) for grade in NEUTRAL[condition] for word in SENSITIVITIES}


@pytest.mark.parametrize("name", TABLES)
def test_every_row_is_a_record(name: str) -> None:
    """If a row did not validate, the owner's plan could not be made at all."""
    expected = [key for key, field in TABLES[name][0].model_fields.items() if key != "origin" and not field.exclude]
    table = rows(name)
    assert table and sorted(table[0]) == sorted(expected)
    for number, row in enumerate(table, start=2):
        build(name, row, number)


@pytest.mark.parametrize("name", TABLES)
def test_sorted_by_key_without_doubles(name: str) -> None:
    """Unsorted or doubled rows would let one number silently hide another."""
    keys = [tuple(row[column] for column in TABLES[name][1]) for row in rows(name)]
    assert keys == sorted(set(keys))


@pytest.mark.parametrize("name", TABLES)
def test_plain_text_files(name: str) -> None:
    """A stray byte or line end would break the owner's copy of a row."""
    raw = (DATA / f"{name}.csv").read_bytes()
    assert b"\r" not in raw and raw.endswith(b"\n") and not raw.startswith(b"\xef\xbb\xbf")
    raw.decode("utf-8")


@pytest.mark.parametrize("name", SOURCED)
def test_every_source_exists(name: str) -> None:
    """A number with an unknown source could not be checked by the owner."""
    known = {row["id"] for row in rows("sources")}
    for row in rows(name):
        for part in said_of(row):
            assert row[f"{part}source"] in known, row
            if row[f"{part}source"] == "none":
                assert row[f"{part}basis"] in ("common practice", "judgement", "derived"), row
        if row["basis"] == "published":
            assert row["locator"], row


@pytest.mark.parametrize("name", SOURCED)
def test_what_is_published_can_be_found(name: str) -> None:
    """A row would say published, and nobody could look it up: a number, or author and year, is needed."""
    known = {row["id"]: row for row in rows("sources")}
    for row in rows(name):
        for part in said_of(row):
            if row[f"{part}basis"] == "published":
                source = known[row[f"{part}source"]]
                told = f"{source['title']} {source['author']} {source['note']}"
                assert source["number"] or (source["author"] and source["year"]), (row, source)
                assert "withheld" not in told and source["how_seen"] != "memory", (row, source)


def test_every_source_is_used() -> None:
    """A source nobody uses would make the list look better read than it is."""
    given = [row for name in SOURCED for row in rows(name)]
    used = {row[f"{part}source"] for row in given for part in said_of(row)} | {"none"}
    # a second document behind a row is named by its number in the locator
    beside = {r["id"] for r in rows("sources") if r["number"] and any(r["number"] in row["locator"] for row in given)}
    assert used | beside == {row["id"] for row in rows("sources")}


@pytest.mark.parametrize("name", SOURCED)
def test_row_without_basis_is_refused(name: str) -> None:
    """An unsourced number would slip into the owner's plan as if it were a fact."""
    for column in ("basis", "source"):
        with pytest.raises(ValidationError):
            build(name, rows(name)[0] | {column: ""})


def test_items_are_enough_for_the_rig() -> None:
    """A system without items would leave part of the rig unlooked at."""
    systems = {item.system for item in items().values()}
    assert len(items()) >= 85
    assert systems == {
        "engine", "fuel", "cooling", "driveline", "front_axle", "front_hubs", "rear_axle", "brakes",
        "steering", "suspension", "tyres", "electrical", "body", "recovery", "safety", "trailer",
    }  # fmt: skip


def test_every_item_has_an_interval_and_a_known_act() -> None:
    """An item without interval or act would never come up."""
    acts = {row["act"] for row in rows("acts")}
    for item in items().values():
        assert item.intervals and item.act in acts, item.id
        assert item.cautions, item.id


def test_named_ids_exist() -> None:
    """A misspelt id would drop a re-check or a part from the owner's lists."""
    known, stock = items(), {row["id"] for row in rows("consumables")}
    for item in known.values():
        assert set(item.covers) <= set(known) - {item.id}, item.id
        assert {follow.item for follow in item.follow_ups} <= set(known), item.id
        assert used_up(item) <= stock, item.id
        for other in (*item.covers, *(follow.item for follow in item.follow_ups)):
            assert known[other].unit_kind == item.unit_kind, (item.id, other)
    used = {name for item in known.values() for name in used_up(item)}
    used |= {text.split()[0] for row in rows("water_rules") for text in row["parts"].split(";") if text}
    carried = {row["part"] for row in rows("spares")}
    carried |= {text.split()[0] for row in rows("spares") for text in row["beside"].split(";") if text}
    carried |= {text.split()[0] for row in rows("remedies") for text in row["consumables"].split(";") if text}
    assert used | carried == stock
    assert {row["item"] for row in rows("spares")} <= set(known)


def test_spares_of_an_item_mend_no_more_than_fails() -> None:
    """A kit would save hours that never stood."""
    mended: dict[str, float] = {}
    for row in rows("spares"):
        mended[row["item"]] = mended.get(row["item"], 0.0) + float(row["mends_share"])
    assert max(mended.values()) <= 1.0


def test_what_can_be_carried_has_a_weight() -> None:
    """A kit could not be packed; only what a remedy leaves open has none."""
    without = {row["id"] for row in rows("consumables") if not (row["weight_kg"] and row["volume_l"])}
    assert without == {"worn_part"}


def test_grease_laid_out_is_what_its_note_tells() -> None:
    """A job that lays out 30 g beside a note of 33 g would leave the owner short, or unsure which holds."""
    shipped, _ = read_catalogue()
    for cavity in shipped.cavities:
        if cavity.kind == "grease" and cavity.has_sizes:
            item = shipped.item(cavity.item)
            found = amount(item, cavity, None)
            grams = found.dry_g if cavity.washed else found.top_up_g
            (listed,) = [a.quantity for a in item.consumables if a.what == cavity.lubricant]
            assert grams is not None and listed == laid_out_g(grams), (item.id, cavity.lubricant, grams)


def test_covering_is_whole_and_never_circular() -> None:
    """A greater job that left out what its lesser job does would reset the wrong accounts."""
    known = items()
    for item in known.values():
        for other in item.covers:
            assert set(known[other].covers) <= set(item.covers), (item.id, other)
            assert item.id not in known[other].covers, (item.id, other)


def test_acts_point_at_acts() -> None:
    """A greater act that did not count as the lesser one would make the owner do work twice."""
    acts = {row["act"]: {part for part in row["done_by"].split(";") if part} for row in rows("acts")}
    for act, done_by in acts.items():
        assert done_by and done_by <= set(acts)
        for greater in done_by:
            assert acts[greater] <= done_by | {act}, (act, greater)
    assert {"grease", "adjust", "repack", "renew"} <= acts["look"]


def test_states_exist_at_their_place() -> None:
    """A state missing from the ladder would leave opening time out of the day."""
    for item in items().values():
        opened(item.place, item.state)
    for row in rows("teardown"):
        opened(row["place"], row["state"])


def test_order_of_the_front_wheel_end() -> None:
    """A ladder out of order would open the hub with the wheel still on. Common practice, no source."""
    steps = "wheel raised,wheel off,caliper off,hub cover off,hub off,stub axle off,knuckle open"
    ladder = steps.split(",")
    assert set(ladder) <= opened(FRONT, "knuckle open")
    for index, state in enumerate(ladder):
        assert not set(ladder[index + 1 :]) & opened(FRONT, state)


def test_water_rules_fit_their_items() -> None:
    """A rule for an unknown item, state or point would never reach the owner after a crossing."""
    known, acts = items(), {row["act"]: row["done_by"].split(";") for row in rows("acts")}
    for row in rows("water_rules"):
        item = known[row["item"]]
        assert row["act"] in acts and item.points, row["item"]
        opened(item.place, row["state"])
        assert row["within_hours"] or row["within_days"] or row["within_km"], row
        if row["resets"] == "yes":
            assert row["act"] in (item.act, *acts[item.act]), row


def test_water_rules_of_a_vehicle_speak_of_no_trailer() -> None:
    """A row read on a rig without a trailer would ask for work at one."""
    known = items()
    for row in rows("water_rules"):
        if known[row["item"]].unit_kind == "vehicle":
            assert "trailer" not in row["look_for"] + row["if_clean"] + row["if_found"] + row["name"], row["item"]


def test_water_windows() -> None:
    """A wrong window would let water sit in a bearing. 5 days: TM 5-3825-229-14&P para 2-31, read in part."""
    windows = {
        "bank": ("1", "", ""), "halt": ("", "", "50"), "night": ("24", "", ""), "days": ("", "2", "500"),
        "before remote": ("", "5", ""), "later": ("", "", "500"),
    }  # fmt: skip
    for row in rows("water_rules"):
        assert (row["within_hours"], row["within_days"], row["within_km"]) == windows[row["when"]], row


def test_trailer_hubs_are_repacked_after_each_submersion() -> None:
    """Water left in a trailer hub would cost the hub. TM 9-2330-358-14&P para 2-27, read in part."""
    [row] = [r for r in rows("water_rules") if r["item"] == "trailer_bearings" and r["act"] == "repack"]
    assert (row["when"], row["water"], row["basis"], row["source"]) == (
        "before remote", "any", "published", "tm_9_2330_358",
    )  # fmt: skip


def test_grades_are_complete() -> None:
    """A grade without words could not be judged from the driver's seat."""
    found: dict[str, set[str]] = {}
    for row in rows("grades"):
        found.setdefault(row["condition"], set()).add(row["grade"])
    assert found == {condition: set(grades) for condition, grades in GRADE_ORDER.items()}


def test_heat_grades_leave_no_gap() -> None:
    """A temperature in no grade, or in two, would give a leg no heat wear or the wrong one."""
    heat = {row["grade"]: row for row in rows("grades") if row["condition"] == "heat"}
    spans = [(float(heat[grade]["lower"]), float(heat[grade]["upper"])) for grade in GRADE_ORDER["heat"]]
    assert spans[0][0] == -40 and spans[-1][1] == 60.01
    assert all(left[1] == right[0] for left, right in pairwise(spans))


@pytest.mark.parametrize("condition", GRADE_ORDER)
def test_multipliers_are_complete(condition: str) -> None:
    """A missing factor would count a rough leg as a smooth one."""
    worn = [grade for grade in GRADE_ORDER[condition] if grade not in NEUTRAL[condition]]
    table = [row for row in rows("multipliers") if row["condition"] == condition]
    given = {(row["grade"], row["sensitivity"]) for row in table}
    words = (*SENSITIVITIES, "drawn in") if condition in ("dust", "mud") else SENSITIVITIES
    assert given == {(grade, word) for grade in worn for word in words}


def test_a_condition_reaches_parts_that_there_are() -> None:
    """A misspelt system would let a trailer wear nothing at all."""
    known = {row[key] for row in rows("items") for key in ("id", "system")}
    named = {(row["condition"], row["grade"]): row["reaches"].split(";") for row in rows("grades") if row["reaches"]}
    assert set(named) == {("towing", "yes"), ("low range", "yes")}
    for parts in named.values():
        assert set(parts) <= known
    # what the trade says is worn by a trailer, and what is not
    assert {"driveline", "engine", "rear_axle", "brake_rear_drums", "tow_hitch_bolts"} <= set(named["towing", "yes"])
    assert not {"steering", "front_hubs", "electrical", "brakes"} & set(named["towing", "yes"])


@pytest.mark.parametrize("condition", GRADE_ORDER)
def test_multipliers_never_fall(condition: str) -> None:
    """Worse conditions that counted as milder would put work later than it belongs."""
    found, grades = fields(condition), GRADE_ORDER[condition]
    for cell in found.values():
        assert 1 <= cell[0] <= cell[1] <= cell[2]
    for word in SENSITIVITIES:
        for milder, worse in pairwise(grades):
            assert all(a <= b for a, b in zip(found[milder, word], found[worse, word], strict=True))
    for grade in grades:
        for weaker, stronger in pairwise(SENSITIVITIES):
            assert all(a <= b for a, b in zip(found[grade, weaker], found[grade, stronger], strict=True))


def test_desert_oil_rule() -> None:
    """Oil left in too long in dust. PM Monthly no. 560 pp. 2-3, read in part: interval halved."""
    [row] = [
        row for row in rows("multipliers")
        if (row["condition"], row["grade"], row["sensitivity"]) == ("dust", "heavy", "high")
    ]  # fmt: skip
    assert float(row["typical"]) == 2 and row["basis"] == "published" and row["source"] == "pm_monthly_560"
    assert items()["engine_oil_filter"].dust == "high"


def test_roughness_stays_sane() -> None:
    """Severe washboard on gravel far outside 3 to 4 would make every plan absurd (judgement)."""
    total = fields("surface")["gravel", "high"][1] * fields("corrugation")["severe", "high"][1]
    assert 3 <= total <= 4


def test_roughness_against_worked_example() -> None:
    """Gravel and washboard together must follow (index / 3) to the power 0.8, worked by hand at index 14."""
    total = fields("surface")["gravel", "high"][1] * fields("corrugation")["severe", "high"][1]
    assert total == pytest.approx(3.43, abs=0.02)


def test_no_torque_or_clearance_anywhere() -> None:
    """An invented torque or clearance could break a hub: they belong to the maker's manual."""
    for path in sorted(path for path in DATA.rglob("*") if path.is_file()):
        found = FORBIDDEN.search(path.read_text(encoding="utf-8"))
        assert found is None, (path.name, found)


@pytest.mark.parametrize("text", ["tighten to 47 Nm", "35-45 lb-ft", "0.08 mm end play", "2 mm clearance"])
def test_the_torque_pattern_bites(text: str) -> None:
    """A pattern that caught nothing would let an invented torque through."""
    assert FORBIDDEN.search(text)


def test_bearings_take_no_solid_lubricant() -> None:
    """Solids can make fast rollers skid (a lubricant supplier's page, read); the owner would pack them in."""
    solid = {row["id"] for row in rows("consumables") if "solid lubricant" in row["open_class"]
             and "no solid lubricant" not in row["open_class"]}  # fmt: skip
    assert "cv_joint_grease" in solid
    for item in items().values():
        if item.family == "bearing":
            assert not used_up(item) & solid, item.id
    assert not used_up(items()["propshaft_ujoints"]) & solid


def test_front_axle_meters() -> None:
    """Free-hub km counted on the bush, or left off the bearings, would misplace both. Plain mechanics."""
    known = items()
    driven = ("stub_axle_bush", "cv_joint_live", "inner_axle_seal", "front_diff_oil", "knuckle_grease_topup")
    for name in driven:
        assert known[name].engaged_km is not None and known[name].km is None, name
    for name in ("front_wheel_bearings", "front_wheel_bearings_ifs", "front_bearing_play", "hub_seals"):
        assert known[name].km is not None and known[name].engaged_km is None, name
    for item in known.values():
        if item.unit_kind == "trailer":
            assert {meter for meter, _ in item.intervals} <= {"km", "months"}, item.id


def test_rebuild_and_play_intervals() -> None:
    """The knuckle would be opened too early or late. 100000 and 15000 km: common practice, no source."""
    known = items()
    assert known["swivel_knuckle_reseal"].km == 100000
    assert known["front_bearing_play"].km == 15000


def test_a_wheel_off_brings_its_rechecks() -> None:
    """Loose wheel nuts or bearings after the owner's own work. Common practice, no source."""
    for item in items().values():
        nuts = {REAR: "wheel_nuts", FRONT: "wheel_nuts", TRAILER: "trailer_wheel_nuts"}.get(item.place)
        if item.id == "tyre_rotation" or (nuts and "wheel off" in opened(item.place, item.state)):
            assert f"{nuts or 'wheel_nuts'} 50-100 km" in map(str, item.follow_ups), item.id
            if item.place == FRONT:  # changing tyre places leaves every hub closed
                brought = {*map(str, item.follow_ups), *item.covers}
                assert brought & {"front_bearing_play", "front_bearing_play 0-0 km"}, item.id


def test_a_lock_nut_off_brings_preload_rechecks() -> None:
    """Grease beds in and the bearing goes slack unseen. Common practice, no source."""
    play = {FRONT: "front_bearing_play", REAR: "rear_bearing_play", TRAILER: "trailer_bearing_play"}
    for item in items().values():
        if item.place in play and "hub off" in opened(item.place, item.state):
            assert f"{play[item.place]} 50-100 km" in map(str, item.follow_ups), item.id


def test_knuckle_rebuild_covers_what_it_opens() -> None:
    """The plan would open the same hub twice in one season."""
    inside = {
        "front_wheel_bearings", "front_bearing_play", "hub_seals", "stub_axle_bush", "knuckle_grease_topup",
        "cv_joint_live", "inner_axle_seal",
    }  # fmt: skip
    assert inside <= set(items()["swivel_knuckle_reseal"].covers)


def test_oil_changes_cover_their_level_looks() -> None:
    """The owner would be sent to look at a level set that morning."""
    pairs = {
        "engine_oil_filter": "engine_oil_level", "gearbox_manual_oil": "gearbox_oil_level",
        "transfer_oil": "transfer_oil_level", "front_diff_oil": "front_diff_level",
        "rear_diff_oil": "rear_diff_level", "auto_trans_fluid": "auto_trans_level",
    }  # fmt: skip
    for change, level in pairs.items():
        assert level in items()[change].covers


def test_what_harms_says_through_what() -> None:
    """A limit would be hard, or soft, and nobody could say why."""
    for item in items().values():
        assert item.harms == (item.harms_by is not None), item.id
        assert item.if_it_fails, item.id


def test_what_harms_is_named_once_and_whole() -> None:
    """A wheel or a steering joint would be priced like a squeak, or everything would be a danger.

    Argued in a word: steering, brakes, wheels and their bearings, coupling, and fuel or gas
    that can burn. That these and no others harm is our judgement.
    """
    known = items()
    kinds = {item.id for item in known.values() if item.family in ("bearing", "brake", "tyre")}
    others = {"spare_wheel", "trailer_spare_wheel", "tyre_rotation", "brake_slide_pins", "swivel_preload"}
    others |= {name for name in kinds if known[name].family == "brake" and known[name].act == "grease"}
    harmful = {item.id for item in known.values() if item.harms}
    assert kinds - harmful <= others
    assert {known[name].harms_by for name in harmful} == {"steering", "brakes", "wheels", "coupling", "fire"}
    assert len(harmful) <= len(known) / 3
    for name in ("wheel_nuts", "u_bolts", "steering_joints", "brake_fluid", "trailer_coupling"):
        assert name in harmful, name


def test_standing_follows_what_the_words_say() -> None:
    """A rig that goes on would be priced as one that stands, or the other way round. Trade sense, no source."""
    known = items()
    for name in ("engine_oil_filter", "timing_belt", "rear_wheel_bearings", "steering_box"):
        assert known[name].strands == 1, name
    for name in ("leaf_springs", "coil_springs", "shock_absorbers", "suspension_bushes", "steering_damper"):
        assert 0 < known[name].strands <= 0.25 and not known[name].harms, name
    for name in ("fire_extinguisher", "first_aid", "alignment", "cabin_filter_ac"):
        assert known[name].strands == 0, name


def test_walk_round_is_a_matter_of_minutes() -> None:
    """A long job in the daily walk-round would be skipped every morning; 6 min is a chart's smallest step."""
    for item in items().values():
        if item.rhythm == "walk-round":
            assert item.minutes <= 6 and item.facility == "camp", item.id


def test_needs_name_unit_fields() -> None:
    """A misspelt need would hide the item from every rig."""
    accepted = {
        "drive": {"part-time", "full-time", "rear", "front"},
        "front_axle": {"closed-knuckle", "open-knuckle", "independent"},
        "hubs": {"free-wheeling", "fixed"},
        "gearbox": {"manual", "automatic"},
    }
    for item in items().values():
        for need in item.needs:
            assert set(need.words) <= accepted.get(need.fact, set(need.words)), need


def test_every_item_has_a_short_name_of_its_own() -> None:
    """A sheet would say a whole line where a mechanic says three words, or the same words of two things."""
    short = [item.short for item in items().values()]
    assert all(short) and len(set(map(str.casefold, short))) == len(short)
    assert max(map(len, short)) <= 36 and not re.search(r"[():;]", " ".join(short))
    names = {item.name.casefold(): item.id for item in items().values()}
    assert all(names.get(item.short.casefold(), item.id) == item.id for item in items().values())


def test_every_system_has_its_place_in_a_list() -> None:
    """What stands nowhere would be listed last, behind the fire extinguisher."""
    assert {item.system for item in items().values()} == set(SYSTEM_ORDER)


def test_a_pack_has_a_size() -> None:
    """A list would ask for a cartridge of nobody knows how much."""
    for row in rows("consumables"):
        assert bool(row["pack"]) == bool(row["container_size"]), row["id"]
        is_poured = row["unit_of_measure"] in ("g", "L", "mL") and row["id"] not in ("fresh_water", "soap_water")
        assert bool(row["pack"]) == is_poured, row["id"]


def test_readme_lists_the_words() -> None:
    """The owner could not describe the rig with words that are written nowhere."""
    text = (DATA / "README.md").read_text(encoding="utf-8")
    needs = {need for item in items().values() for need in item.needs}
    fitted = {word for need in needs if need.fact == "fitted" for word in need.words}
    points = {point for item in items().values() for point in item.points}
    assert not [word for word in sorted(fitted | points) if f"`{word}`" not in text]


def test_assumptions_lie_between_their_bounds() -> None:
    """An assumption outside its own spread would mislead whoever weighs the plan, and one beyond its range be refused."""
    for row in rows("assumptions"):
        ends = [float(row[column]) for column in ("least", "low", "value", "high", "most")]
        assert ends == sorted(ends), row["name"]


def test_less_than_half_of_what_bears_on_items_is_judgement() -> None:
    """A plan would rest on opinion, item by item, and the list of sources would hide it.

    Weighted as `tripplan numbers standing` weighs: each row once for every item it can bear on.
    """
    multipliers = {(row["condition"], row["grade"], row["sensitivity"]): row["basis"] for row in rows("multipliers")}
    bearing = [
        multipliers[key]
        for item in items().values()
        for grade in rows("grades")
        if (key := (grade["condition"], grade["grade"], getattr(item, grade["sensitivity"]))) in multipliers
    ]
    assert bearing.count("judgement") < len(bearing) / 2
