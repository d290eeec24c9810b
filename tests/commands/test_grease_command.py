"""`tripplan grease`: the answer in the shed, the weighing of the gun, and clear refusals."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.support import good_folder, replaced
from tripplan.commands.grease import grease, read_weighing, weigh_gun
from tripplan.files.data_tables import DATA, read_catalogue
from tripplan.files.kit_files import read_gun, read_kit
from tripplan.records.problem_codes import GREASE_CODES
from tripplan.records.problems import BadInput

TODAY = "2026-06-20"
OWN = (
    "id,own_name,kind,thickener,nlgi,solids_percent,astm_d4950,temp_high_c,water_grade,density_kg_m3\n"
    "grey_tub,grey tub,grease,lithium complex,2,0,GC-LB,140,1-40,900\n"
    "black,black cartridge,grease,lithium,2,3,LB,120,1-40,950\n"
)
GUN = "g_per_stroke = 1.32\nstrokes = 10\ndate = 2026-06-01\n"
SHELF = "what,quantity,unit_of_measure,container_size\nwheel_bearing_grease,150,g,400\n"
CAVITY = next(
    line
    for line in (DATA / "cavities.csv").read_text(encoding="utf-8").splitlines()
    if line.startswith("trailer_bearings")
)
CAVITY_HEAD = (DATA / "cavities.csv").read_text(encoding="utf-8").splitlines()[0]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A good trip folder with two greases of the owner's."""
    good_folder(tmp_path / "trip")
    (tmp_path / "trip" / "lubricants.csv").write_text(OWN, encoding="utf-8")
    return tmp_path / "trip"


def codes_of(capsys: pytest.CaptureFixture[str], run: Callable[[], int]) -> tuple[int, list[str]]:
    """Exit status and problem codes of a command run with --json."""
    status = run()
    return status, [row["code"] for row in json.loads(capsys.readouterr().out).get("problems", [])]


def override(folder: Path, old: str, new: str) -> None:
    """An override of the trailer hub's row, with a reason of its own."""
    assert old in CAVITY
    cells = CAVITY.replace(old, new)
    row = cells.replace(
        "sizes of the space are an example of its kind; measure yours and override the row", "measured on our axle"
    )
    (folder / "overrides").mkdir(exist_ok=True)
    (folder / "overrides" / "cavities.csv").write_text(f"{CAVITY_HEAD}\n{row}\n", encoding="utf-8")


def test_weighing_then_strokes(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Strokes would be counted for a gun nobody weighed, or the weighing be forgotten."""
    assert grease(folder, "propshaft_ujoints", None, None, TODAY, False) == 0
    assert "strokes not known" in capsys.readouterr().out
    assert weigh_gun(folder, "10=13.2g", TODAY, False) == 0
    gun, problems = read_gun(folder / "grease_gun.toml")
    assert gun is not None and gun.g_per_stroke == pytest.approx(1.32) and gun.strokes == 10 and not problems
    capsys.readouterr()
    assert grease(folder, "propshaft_ujoints", None, None, TODAY, False) == 0
    assert "strokes of your gun" in capsys.readouterr().out


@pytest.mark.parametrize("text", ["10=13.2g", " 10 = 13.2 g ", "10=0.0132kg", "10=13.2"])
def test_ways_to_write_a_weighing(text: str) -> None:
    """A scale that shows kilograms would give a gun a thousand times too small."""
    assert read_weighing(text) == pytest.approx((10, 13.2))


@pytest.mark.parametrize(
    ("text", "code"),
    [("10=0g", "G18"), ("10=-3g", "G18"), ("0=13g", "G18"), ("4=6g", "G18"), ("500=600g", "G18"), ("10", "G17"),
     ("1O=13.2g", "G17"), ("10=13,2g", "G17"), ("", "G17"), ("10=nang", "G17"), ("10=300g", "G19"), ("10=1g", "G19")],
)  # fmt: skip
def test_nonsense_is_not_a_weighing(folder: Path, capsys: pytest.CaptureFixture[str], text: str, code: str) -> None:
    """An empty gun or a slip of the keys would be written down as the gun's output."""
    assert codes_of(capsys, lambda: weigh_gun(folder, text, TODAY, True)) == (2, [code])
    assert not (folder / "grease_gun.toml").exists()


def test_a_new_weighing_tells_the_old_one(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A gun that gives half of what it did would pass unnoticed."""
    weigh_gun(folder, "10=13.2g", "2026-05-01", False)
    capsys.readouterr()
    assert weigh_gun(folder, "10=8g", TODAY, False) == 0
    assert "It was 1.32 g on 2026-05-01" in capsys.readouterr().out


def test_with_a_grease_that_does_not_belong(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Solid lubricant would be packed into a wheel bearing with a clean exit."""
    assert grease(folder, "front_wheel_bearings", "black cartridge", None, TODAY, False) == 1
    out = capsys.readouterr().out
    assert "black cartridge: not for this place" in out and "may skid" in out
    assert grease(folder, "front_wheel_bearings", "grey tub", None, TODAY, False) == 0


def test_json_says_the_same(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The page and the terminal would give two answers."""
    assert grease(folder, "Trailer wheel bearings", None, None, TODAY, True) == 0
    told = json.loads(capsys.readouterr().out)
    assert [place["position"] for place in told["places"]] == ["left", "right"] and told["gun"] is None
    left = told["places"][0]
    assert left["in_it_now"]["lubricant"] == "wheel_bearing_grease" and left["in_it_now"]["origin"]["row"] == 7
    assert {choice["name"]: choice["verdict"] for choice in left["choices"]} == {
        "grey tub": "go ahead", "black cartridge": "not for this place",
    }  # fmt: skip
    assert left["choices"][0]["on_top"]["word"] == "unknown: do not mix"


def test_a_tin_named_in_the_book_is_known(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The owner would be told to wash out the very grease in hand."""
    with (folder / "history.csv").open("a", encoding="utf-8") as book:
        book.write("2026-06-15,wagon,188200,propshaft_ujoints,,grease,serviceable,grey tub,\n")
    assert grease(folder, "propshaft_ujoints", "grey tub", None, TODAY, False) == 0
    out = capsys.readouterr().out
    assert "grey tub: go ahead" in out and "is what is in there already" in out


def test_another_gun(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The small gun in the trailer would be counted as the large one on the wall."""
    (tmp_path / "small.toml").write_text(GUN.replace("1.32", "0.77"), encoding="utf-8")
    assert grease(folder, "propshaft_ujoints", None, tmp_path / "small.toml", TODAY, False) == 0
    assert "0.77 g a stroke" in capsys.readouterr().out
    assert codes_of(capsys, lambda: grease(folder, "winch", None, tmp_path / "none.toml", TODAY, True)) == (2, ["F01"])


CASES: list[tuple[str, str, Callable[[Path], object]]] = [
    ("G01", "no kind", lambda f: (f / "lubricants.csv").write_text("id,own_name\na,b\n")),
    ("G02", "no name", lambda f: replaced(f, "lubricants.csv", ",grey tub,", ",,")),
    ("G03", "a word for a number", lambda f: replaced(f, "lubricants.csv", ",140,", ",hot,")),
    ("G04", "not a date", lambda f: (f / "grease_gun.toml").write_text(GUN.replace("2026-06-01", '"last year"'))),
    ("G04", "a number for a date", lambda f: (f / "grease_gun.toml").write_text(GUN.replace("2026-06-01", "0"))),
    ("G03", "yes for a number", lambda f: (f / "grease_gun.toml").write_text(GUN.replace("1.32", "true"))),
    ("G05", "unknown thickener", lambda f: replaced(f, "lubricants.csv", "lithium complex", "lithum complx")),
    ("G06", "a negative amount", lambda f: (f / "shelf.csv").write_text(SHELF.replace("150", "-150"))),
    ("G07", "an unknown key", lambda f: (f / "grease_gun.toml").write_text(GUN + "colour = 3\n")),
    ("G03", "a list for a number", lambda f: (f / "grease_gun.toml").write_text(GUN.replace("= 10", "= [10]"))),
    ("G09", "an id with blanks", lambda f: replaced(f, "lubricants.csv", "grey_tub,", "Grey Tub,")),
    ("G10", "nothing we use", lambda f: (f / "shelf.csv").write_text(SHELF.replace("wheel_bearing_grease", "jam"))),
    ("G11", "another unit", lambda f: (f / "shelf.csv").write_text(SHELF.replace(",g,", ",L,"))),
    ("G12", "one name twice", lambda f: replaced(f, "lubricants.csv", ",black cartridge,", ",Grey Tub,")),
    ("G15", "shaft in a smaller bore", lambda f: override(f, ",65,38,60,", ",65,83,60,")),
    ("G16", "larger than an axle", lambda f: override(f, ",65,38,60,", ",290,38,490,")),
    ("G16", "a bore in metres", lambda f: override(f, ",65,38,60,", ",0.065,0.038,60,")),
    ("G19", "a gun of buckets", lambda f: (f / "grease_gun.toml").write_text(GUN.replace("1.32", "40"))),
    ("F14", "a damaged gun file", lambda f: (f / "grease_gun.toml").write_text("g_per_stroke =")),
    ("F08", "semicolons", lambda f: (f / "shelf.csv").write_text(SHELF.replace(",", ";"))),
]  # fmt: skip


@pytest.mark.parametrize(("code", "spoil"), [pytest.param(c, s, id=f"{c} {about}") for c, about, s in CASES])
def test_each_mistake_is_told(
    folder: Path, capsys: pytest.CaptureFixture[str], code: str, spoil: Callable[[Path], object]
) -> None:
    """A mistake in the owner's files would end in a wrong amount, or in a traceback."""
    spoil(folder)
    status, codes = codes_of(capsys, lambda: grease(folder, "trailer_bearings", None, None, TODAY, True))
    assert set(codes) == {code} and len(codes) <= 3
    assert status == (1 if code in ("G10", "G11") else 2)


@pytest.mark.parametrize(
    ("item", "lubricant", "code"),
    [("battery", None, "G14"), ("trailer_bearings", "green goo", "G13"), ("no_such_thing", None, "A02"),
     ("auto_trans_fluid", None, "G20")],
)  # fmt: skip
def test_each_wrong_word_is_told(
    folder: Path, capsys: pytest.CaptureFixture[str], item: str, lubricant: str | None, code: str
) -> None:
    """A slip on the command line would be answered for something else."""
    assert codes_of(capsys, lambda: grease(folder, item, lubricant, None, TODAY, True)) == (2, [code])


def test_every_grease_code_is_made_to_happen() -> None:
    """A code would be listed that no mistake gives."""
    here = {code for code, _, _ in CASES} | {"G13", "G14", "G17", "G18", "G20"}
    assert {code for code in here if code.startswith("G")} == set(GREASE_CODES)


def test_no_files_no_kit(tmp_path: Path) -> None:
    """An owner who keeps no such files would be sent away."""
    kit, problems = read_kit(good_folder(tmp_path), read_catalogue()[0])
    assert (kit.lubricants, kit.gun, kit.shelf, problems) == ((), None, (), ())


def test_a_folder_that_is_not_there(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A weighing would be written to a folder that a slip of the keys made."""
    assert codes_of(capsys, lambda: weigh_gun(tmp_path / "nowhere", "10=13.2g", TODAY, True)) == (2, ["F01"])
    with pytest.raises(BadInput):
        read_weighing("ten")
