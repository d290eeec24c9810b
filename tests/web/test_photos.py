"""A photo to a finding: nothing but its picture is kept, in a place of its own, named where it belongs."""

import io
import re
from typing import Any

import pytest
from PIL import Image

from tests.web.test_forms import rows
from tripplan.files.folder_mark import folder_mark
from tripplan.records.problems import BadInput
from tripplan.web.forms.photo_form import LONGEST_SIDE_PX, name_for, photos_in, pixels_only, with_photo
from tripplan.web.saves.memory import read_memory

DAY = "/jobs/stop-2-home-yard"
GPS, ORIENTATION, MADE_BY, TAKEN_AT = 0x8825, 0x0112, 0x010F, 0x0132  # tags of Exif 2.3, from memory
APP0, COMMENT, SCAN = 0xE0, 0xFE, 0xDA  # segments of a JPEG file, ISO/IEC 10918-1 annex B, from memory


def photo(size: tuple[int, int] = (64, 32), kind: str = "JPEG", turned: int = 6) -> bytes:
    """A picture whose left half is white, as a phone writes it: turned, with its place, time and maker."""
    picture = Image.new("RGB", size, "black")
    picture.paste("white", (0, 0, size[0] // 2, size[1]))
    exif = Image.Exif()
    exif[ORIENTATION], exif[MADE_BY], exif[TAKEN_AT] = turned, "Secret maker", "2026:08:16 10:00:00"
    exif.get_ifd(GPS).update({1: "S", 2: (31.0, 57.0, 8.0), 3: "E", 4: (115.0, 51.0, 32.0)})
    out = io.BytesIO()
    picture.save(out, kind, exif=exif, comment=b"Secret comment") if kind == "JPEG" else picture.save(
        out, kind, exif=exif
    )
    return out.getvalue()


def segments(raw: bytes) -> list[int]:
    """The marks of a JPEG file's segments up to its picture, read byte by byte."""
    assert raw[:2] == b"\xff\xd8"
    found, spot = [], 2
    while raw[spot + 1] != SCAN:
        assert raw[spot] == 0xFF
        found.append(raw[spot + 1])
        spot += 2 + int.from_bytes(raw[spot + 2 : spot + 4], "big")
    return found


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_only_the_picture_is_kept(kind: str) -> None:
    """Otherwise a photo handed on would tell where the rig stands, when, and what it was taken with."""
    raw = photo(kind=kind)
    assert Image.open(io.BytesIO(raw)).getexif().get_ifd(GPS)[2] == (31.0, 57.0, 8.0)
    bare = pixels_only(raw)
    marks = segments(bare)
    assert not [mark for mark in marks if APP0 < mark <= 0xEF or mark == COMMENT]
    assert not Image.open(io.BytesIO(bare)).getexif() and b"Secret" not in bare and b"Exif" not in bare


def test_a_turned_photo_is_kept_upright() -> None:
    """Otherwise the photo would lie on its side once the word about its turning is gone."""
    upright = Image.open(io.BytesIO(pixels_only(photo(turned=6)))).convert("L")
    assert upright.size == (32, 64)
    assert upright.getpixel((16, 4)) > 200 and upright.getpixel((16, 60)) < 50  # 6: turned right, so the left is on top


def test_a_large_photo_is_made_smaller() -> None:
    """Otherwise a season of photos would fill the phone."""
    kept = Image.open(io.BytesIO(pixels_only(photo((4000, 1000), turned=1))))
    assert kept.size == (LONGEST_SIDE_PX, LONGEST_SIDE_PX // 4)


@pytest.mark.parametrize("raw", [b"", b"no picture", b"\xff\xd8\xff\xe0" + b"\0" * 40, b"GIF89a" + b"\0" * 30])
def test_what_is_no_photo_is_refused(raw: bytes) -> None:
    """Otherwise any file could be put into the folder under the name of a photo."""
    with pytest.raises(BadInput):
        pixels_only(raw)


@pytest.mark.parametrize("size", [(9500, 9000), (20_000, 20_000)])
def test_a_picture_of_bearable_bytes_and_unbearable_size_is_refused(size: tuple[int, int]) -> None:
    """Otherwise a small file could unfold until the memory of the machine is full."""
    out = io.BytesIO()
    Image.new("1", size).save(out, "PNG")
    with pytest.raises(BadInput, match=r"9500 x 9000 points|cannot be read as a picture"):
        pixels_only(out.getvalue())


def test_a_photo_of_a_job_goes_with_its_row_into_the_history(wet: Any) -> None:
    """Otherwise the photo would lie somewhere, and nobody would know of what it is."""
    key = re.findall(r'class="tick" name="toggle" value="([^"]+)=done"', wet.get(DAY).text)[0]
    mark = folder_mark(wet.folder)
    sent = {"csrf": wet.token(), "day": "stop-2-home-yard", "job": key}
    answer = wet.client.post("/photo", data=sent, files={"photo": ("IMG_1.jpg", photo())})
    assert answer.status_code == 200 and answer.url.path == DAY
    (kept,) = (wet.folder / "photos").iterdir()
    assert folder_mark(wet.folder) == mark  # a photo changes no plan
    assert read_memory(wet.folder).ticks("stop-2-home-yard")[key].note == f"photos/{kept.name}"
    wet.post(DAY, {"toggle": f"{key}=done"})
    assert wet.post(f"{DAY}/close", {"date": "2026-08-17", "unit": "wagon"}).status_code == 200
    assert rows(wet.folder / "history.csv")[-1]["note"].endswith(f"photos/{kept.name}")
    page = wet.get("/history").text
    assert f'href="/photos/{kept.name}"' in page and f'src="/photos/{kept.name}"' in page and "Photos: 1" in page
    shown = wet.get(f"/photos/{kept.name}")
    assert shown.headers["content-type"] == "image/jpeg" and shown.content == kept.read_bytes()
    assert wet.get("/photos.json").json() == {"photos": [f"photos/{kept.name}"]}


def test_a_photo_is_put_to_a_row_and_taken_back(wet: Any) -> None:
    """Otherwise a finding written down at the roadside would stay without its picture, or with a wrong one."""
    before = (wet.folder / "history.csv").read_bytes()
    version = wet.get("/history.json").json()["version"]
    sent = {"csrf": wet.token(), "row": "47", "version": version}
    answer = wet.client.post("/photo", data=sent, files={"photo": ("a.png", photo(kind="PNG"))})
    assert answer.status_code == 200 and "A photo to row 47" in answer.text
    (name,) = photos_in(rows(wet.folder / "history.csv")[45])
    assert (wet.folder / "photos" / name).is_file()
    wet.post("/undo", {"number": answer.url.params["said"], "back": "/history"})
    assert (wet.folder / "history.csv").read_bytes() == before and not (wet.folder / "photos" / name).exists()


def test_a_photo_that_cannot_be_taken_is_told_beside_its_field(wet: Any) -> None:
    """Otherwise a wrong file would look like a broken page."""
    sent = {"csrf": wet.token(), "row": "47", "version": wet.get("/history.json").json()["version"]}
    answer = wet.client.post("/photo", data=sent, files={"photo": ("a.jpg", b"words")})
    assert answer.status_code == 422 and 'aria-describedby="photo-wrong"' in answer.text
    assert not (wet.folder / "photos").exists()
    assert (
        wet.client.post("/photo", data=sent | {"row": "9999"}, files={"photo": ("a.jpg", photo())}).status_code == 404
    )
    assert (
        wet.client.post("/photo", data=sent | {"version": "x"}, files={"photo": ("a.jpg", photo())}).status_code == 409
    )
    assert wet.client.post("/photo", data={"csrf": "x"}, files={"photo": ("a.jpg", photo())}).status_code == 403


@pytest.mark.parametrize("name", ["../rig.toml", "a.png", "..jpg", "nothing.jpg", "A.JPG"])
def test_only_photos_are_to_be_had(wet: Any, name: str) -> None:
    """Otherwise any file beside the photos could be read."""
    assert wet.get(f"/photos/{name}").status_code == 404


def test_names_are_told_apart_and_found_again(tmp_path: Any) -> None:
    """Otherwise the second photo of a day would take the place of the first."""
    (tmp_path / "photos").mkdir()
    one = name_for(tmp_path, "2026-08-16", "Front wheel bearings, left")
    (tmp_path / "photos" / one).write_bytes(b"")
    two = name_for(tmp_path, "2026-08-16", "Front wheel bearings, left")
    assert one == "2026-08-16_front_wheel_bearings_left_1.jpg" and two.endswith("_2.jpg")
    note = with_photo(with_photo("growls", one), two)
    assert photos_in({"note": note}) == (one, two) and note.startswith("growls; ")
    assert name_for(tmp_path, "", "../..") == "undated_photo_1.jpg"
