"""Which verb, side, axle and finding belongs to which thing of a cell. All cells are invented; the readings are a person's."""

from functools import lru_cache
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.small import camper, rig, wagon
from tripplan.files.data_tables import read_catalogue
from tripplan.files.importing.clauses import pieces, sentences
from tripplan.files.importing.match import read_text
from tripplan.files.importing.word_book import WordBook, as_written, import_words, word_book

REFILL = "drain and refill"
Work = tuple[str, str, str | None, str | None]


@lru_cache(maxsize=1)
def book() -> WordBook:
    """The words for a small rig of a wagon and a camper."""
    return word_book(import_words(), read_catalogue()[0], rig(wagon(), camper()).units)


def work(text: str) -> list[Work]:
    """Item, act, position and finding of all that is sure."""
    return [(one.item, one.act, one.position, one.finding) for one in read_text(text, book()).matches]


def doubted(text: str) -> list[str]:
    """The parts that are asked about."""
    return [one.part for one in read_text(text, book()).doubts]


@pytest.mark.parametrize(
    ("text", "sure", "open_parts"),
    [
        ("Radiator hoses, fan belt, greased unis", [("propshaft_ujoints", "grease", None, None)], 2),
        ("Front brake pads, rear shoes adjusted", [("brake_rear_drums", "adjust", None, None)], 1),
        ("Front pads and rear shoes adjusted", [("brake_rear_drums", "adjust", None, None)], 1),
        ("oil, filter & grease", [("engine_oil_filter", REFILL, None, None)], 1),
        ("oil & filter and thermostat", [("engine_oil_filter", REFILL, None, None)], 1),
        ("Replaced fan belt, radiator hoses and front pads",
         [("belts", "renew", None, None), ("hoses_coolant", "renew", None, None), ("brake_pads_front", "renew", None, None)], 0),
        ("Replaced fan belt, radiator hoses", [("belts", "renew", None, None)], 1),
        ("fan belt, radiator hoses and front pads replaced",
         [("hoses_coolant", "renew", None, None), ("brake_pads_front", "renew", None, None), ("belts", "renew", None, None)], 0),
        ("gearbox oil, transfer oil checked", [("transfer_oil", "look", None, None)], 1),
        ("checked and adjusted handbrake", [("park_brake", "adjust", None, None)], 0),
        ("front wheel bearings cleaned and repacked, new seals",
         [("front_wheel_bearings", "repack", None, None), ("hub_seals", "renew", None, None)], 0),
        ("greased: unis, slip joints", [("propshaft_ujoints", "grease", None, None), ("propshaft_slip_joints", "grease", None, None)], 0),
        ("front bearings, rear bearings, repacked",
         [("front_wheel_bearings", "repack", None, None), ("rear_wheel_bearings", "repack", None, None)], 0),
        ("Diffs, gearbox and transfer oils changed",
         [("front_diff_oil", REFILL, None, None), ("rear_diff_oil", REFILL, None, None), ("gearbox_manual_oil", REFILL, None, None),
          ("transfer_oil", REFILL, None, None)], 0),
        ("diff oils: front changed, rear checked", [], 4),
        ("Greased unis (slip joint seized)", [("propshaft_ujoints", "grease", None, None)], 1),
    ],
)  # fmt: skip
def test_a_verb_binds_its_own_clause(text: str, sure: list[Work], open_parts: int) -> None:
    """Otherwise hoses would count as greased, and pads as adjusted."""
    assert sorted(work(text)) == sorted(sure)
    assert len(doubted(text)) == open_parts


@pytest.mark.parametrize(
    ("text", "sure"),
    [
        ("checked rear diff oil - milky", [("rear_diff_oil", "look", None, "water")]),
        ("rear diff oil milky, changed", [("rear_diff_oil", REFILL, None, "water")]),
        ("found water in rear diff oil, changed", [("rear_diff_oil", REFILL, None, "water")]),
        ("Checked rear diff oil. Milky.", [("rear_diff_oil", "look", None, "water")]),
        ("checked front wheel bearings, all good", [("front_wheel_bearings", "look", None, "serviceable")]),
        ("belts checked, radiator hoses checked, all good",
         [("belts", "look", None, "serviceable"), ("hoses_coolant", "look", None, "serviceable")]),
        ("steering damper leaking, replaced", [("steering_damper", "renew", None, "failed")]),
        ("belts good", [("belts", "look", None, "serviceable")]),
        ("front bearing play checked, no play", [("front_bearing_play", "look", None, "serviceable")]),
        ("water separator checked", [("water_separator", "look", None, None)]),
    ],
)  # fmt: skip
def test_a_finding_word_is_a_finding(text: str, sure: list[Work]) -> None:
    """Otherwise the water in the oil would be lost, or the water separator become a finding."""
    assert work(text) == sure
    assert doubted(text) == []


@pytest.mark.parametrize(
    "text",
    ["checked front and rear diff oil - milky", "front bearings repacked, a bit notchy", "front pads 50% worn",
     "front wheel bearings slightly blued", "front diff oil - ok", "rear diff oil - metal in it", "milky: rear diff oil", "front wheel bearings good"],
)  # fmt: skip
def test_a_finding_that_is_not_sure_keeps_its_work_back(text: str) -> None:
    """Otherwise the record would stand without the finding, and the answer have no place to go."""
    assert work(text) == []
    assert doubted(text)


@pytest.mark.parametrize(
    ("text", "sure"),
    [
        ("rear diff oil - not done", []), ("To do: gearbox oil", []), ("ordered timing belt and fan belt", []),
        ("oil & filter. Not done.", []), ("rear diff oil - couldn't get the plug out", []),
        ("need new front pads and rear shoes", []), ("oil & filter but not the diffs", []),
        ("greased unis, need new front pads", [("propshaft_ujoints", "grease", None, None)]),
    ],
)  # fmt: skip
def test_what_was_not_done_is_no_record(text: str, sure: list[Work]) -> None:
    """Otherwise work put off would reset an interval."""
    assert work(text) == sure
    assert doubted(text)


@pytest.mark.parametrize(
    ("text", "sure"),
    [
        ("LH front wheel bearing replaced, rear wheel bearings repacked",
         [("front_wheel_bearings", "renew", "left", None), ("rear_wheel_bearings", "repack", None, None)]),
        ("front brgs + seals, both sides", [("front_wheel_bearings", "repack", "both", None), ("hub_seals", "renew", "both", None)]),
        ("replaced L/H front wheel bearing and R/H rear wheel bearing",
         [("front_wheel_bearings", "renew", "left", None), ("rear_wheel_bearings", "renew", "right", None)]),
        ("front bearings repacked (both sides)", [("front_wheel_bearings", "repack", "both", None)]),
        ("left front bearings repacked right ok", []),
        ("front brakes checked (rear ok)", [("brake_pads_front", "look", None, None)]),
        ("trailer bearings packed and brakes adjusted", [("trailer_bearings", "repack", None, None), ("trailer_brakes", "adjust", None, None)]),
        ("trailer bearings checked, wheel nuts torqued", [("trailer_bearings", "look", None, None)]),
        ("Trailer: brakes adjusted. Wheel nuts torqued.",
         [("trailer_brakes", "adjust", None, None), ("trailer_wheel_nuts", "torque", None, None)]),
        ("rear diff oil changed, wheel bearings repacked", [("rear_diff_oil", REFILL, None, None)]),
    ],
)  # fmt: skip
def test_a_side_and_an_axle_are_not_carried_too_far(text: str, sure: list[Work]) -> None:
    """Otherwise the rear bearings would be on the left because the front one was."""
    assert work(text) == sure


@pytest.mark.parametrize(
    ("text", "sure"),
    [
        ("Front diff: oil changed", [("front_diff_oil", REFILL, None, None)]),
        ("Air compressor: oil changed", []), ("Compressor, oil changed", []), ("Front diff, oil changed", []),
        ("Winch: oil changed", []), ("oils changed", []), ("all oils changed", []),
        ("Engine: oil & filter, belts checked", [("engine_oil_filter", REFILL, None, None), ("belts", "look", None, None)]),
    ],
)  # fmt: skip
def test_oil_is_that_of_the_thing_named(text: str, sure: list[Work]) -> None:
    """Otherwise the oil of a compressor would count as an oil change of the engine."""
    assert work(text) == sure


@pytest.mark.parametrize(
    "text",
    [
        "tyre rotation",
        "tire rotation",
        "rotated the tires",
        "tyres rotated",
        "Rotate tires",
        "wheels rotated",
        "rotating the tyres",
    ],
)
def test_both_spellings_of_tyres_are_known(text: str) -> None:
    """Otherwise half of the world would be asked what a tire is."""
    assert work(text) == [("tyre_rotation", "adjust", None, None)]


def test_every_word_with_tyre_is_known_with_tire() -> None:
    """Otherwise one spelling of a row would be read and the other asked. Spelling, no source."""
    rows = [row for row in import_words() if row.kind == "spelling" and "tyre" in row.words]
    assert len(rows) > 8
    for row in rows:
        assert read_text(row.words.replace("tyre", "tire"), book()).matches == read_text(row.words, book()).matches, row


WORDS = sorted({row.words for row in import_words()})


@given(
    st.lists(st.sampled_from([*WORDS, ",", "and", "&", ";", ":", "-", "(", ")", "zzyzx", "100"]), max_size=8).map(
        " ".join
    )
)
def test_no_part_of_a_cell_is_dropped(text: str) -> None:
    """Otherwise a word nobody knows would vanish: each part of the text comes to something, or says nothing."""
    read = read_text(text, book())
    said = as_written(text, book())
    parts = [part for one in sentences(said, book()) for part in one]
    assert len(parts) >= len(list(pieces(said.plain)))
    if "zzyzx" in said.plain.split():
        assert read.doubts
    for part in parts:
        if part.is_thing and not part.speaks:
            assert read.doubts


def test_the_word_tables_lie_beside_the_code() -> None:
    """Otherwise the tests would read other words than the importer does."""
    assert (Path(__file__).parents[3] / "tripplan" / "data" / "item_words.csv").is_file()


WHOLE = {
    "greased unis": ("propshaft_ujoints", "grease", None, None),
    "rear shoes adjusted": ("brake_rear_drums", "adjust", None, None),
    "changed rear diff oil": ("rear_diff_oil", REFILL, None, None),
    "wheel nuts torqued": ("wheel_nuts", "torque", None, None),
    "LH front wheel bearing replaced": ("front_wheel_bearings", "renew", "left", None),
    "replaced fan belt": ("belts", "renew", None, None),
    "gearbox oil changed": ("gearbox_manual_oil", REFILL, None, None),
    "checked radiator hoses": ("hoses_coolant", "look", None, None),
    "new wiper blades": ("wipers_washer", "renew", None, None),
    "rear wheel bearings repacked": ("rear_wheel_bearings", "repack", None, None),
    "air filter cleaned": ("air_filter_element", "clean", None, None),
}
JOINS = st.sampled_from([", ", "; ", ". ", " and ", " & ", " + ", ", and ", " / "])


@given(st.lists(st.tuples(st.sampled_from(sorted(WHOLE)), JOINS), min_size=1, max_size=5, unique_by=lambda one: one[0]))
def test_whole_clauses_mean_the_same_in_any_company(clauses: list[tuple[str, str]]) -> None:
    """Otherwise a verb, a side or an axle would leave its own clause for the next."""
    text = "".join(join * bool(spot) + words for spot, (words, join) in enumerate(clauses))
    assert sorted(work(text), key=str) == sorted((WHOLE[words] for words, _ in clauses), key=str), text
    assert doubted(text) == []


@given(st.lists(st.tuples(st.sampled_from(sorted({*WHOLE} - {"checked radiator hoses"})), JOINS), min_size=1, max_size=4,
                unique_by=lambda one: one[0]), st.integers(0, 4),
       st.sampled_from(["frobbed the wotsit", "need a new clutch", "front pads", "thermostat", "diff", "not the winch"]))  # fmt: skip
def test_a_clause_in_doubt_gives_nothing_new(clauses: list[tuple[str, str]], spot: int, odd: str) -> None:
    """Otherwise a thing without a verb of its own would get that of a neighbour, and nothing be asked."""
    parts = [*clauses]
    parts.insert(min(spot, len(parts)), (odd, ", "))
    text = "".join(
        (", " if odd in (words, parts[at - 1][0]) else join) * bool(at) + words
        for at, (words, join) in enumerate(parts)
    )
    assert set(work(text)) <= {WHOLE[words] for words, _ in clauses}, text
    assert doubted(text)
