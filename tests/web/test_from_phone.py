"""Records of a phone given to the page: pasted or as a file, taken in once, taken back in one press."""

import zlib
from pathlib import Path
from typing import Any

import pytest

pytest.importorskip("fastapi")

from fastapi.testclient import TestClient

from tests.logbooks import line_of
from tests.support import good_folder
from tripplan.files.field_records.text import FIRST
from tripplan.files.field_records.trip_key import trip_key
from tripplan.web.app import create_app

DAY = "2026-07-08"
LOOK = {"id": "mtnr985c-0001", "kind": "work", "at": "2026-07-06T20:00:00+08:00", "unit": "wagon", "item": "rear_diff_oil",
        "act": "look", "finding": "water"}  # fmt: skip


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A good trip folder."""
    return good_folder(tmp_path / "trip")


@pytest.fixture
def page(folder: Path) -> Any:
    """The page of it, seen from a day on the way, with the form's token at hand."""
    from datetime import date

    client = TestClient(create_app(folder, date.fromisoformat(DAY), background=False), base_url="http://127.0.0.1")
    shown = client.get("/from-phone").text
    client.csrf = shown.partition('name="csrf" value="')[2].partition('"')[0]  # type: ignore[attr-defined]
    return client


def sent(folder: Path, *records: dict[str, Any]) -> str:
    """The text as the phone of that folder's trip gives it."""
    import tomllib

    rig, trip = (tomllib.loads((folder / f"{name}.toml").read_text()) for name in ("rig", "trip"))
    head = {"rig": rig["name"], "trip": trip["name"], "depart": str(trip["depart"])}
    whole = "\n".join([f"{FIRST}1", line_of({"key": trip_key(*head.values()), **head}), *map(line_of, records)])
    return f"{whole}\nend {len(records)} {zlib.crc32(whole.encode()):08x}\n"


def test_a_pasted_text_is_taken_once_and_can_be_taken_back(page: Any, folder: Path) -> None:
    """Otherwise an evening would count twice, or a wrong one could not be undone."""
    before = (folder / "history.csv").read_bytes()
    note = {"id": "mtnr985c-0002", "kind": "note", "at": LOOK["at"], "note": "a log in the creek"}
    told = page.post(
        "/from-phone", data={"csrf": page.csrf, "text": sent(folder, LOOK, note)}, files={"file": ("", b"")}
    )
    assert told.status_code == 200 and "Records from the phone" in told.text
    assert (folder / "history.csv").read_text().count("mtnr985c-0001") == 1
    page.post("/from-phone", data={"csrf": page.csrf, "text": sent(folder, LOOK)}, files={"file": ("", b"")})
    assert (folder / "history.csv").read_text().count("mtnr985c-0001") == 1
    page.post("/undo", data={"csrf": page.csrf, "number": told.url.params["said"], "back": "/saved"})
    assert (folder / "history.csv").read_bytes() == before and not (folder / "field_notes.csv").exists()


def test_what_is_not_taken_is_told(page: Any, folder: Path) -> None:
    """Otherwise somebody would think that all of it is in the folder."""
    text = sent(folder, LOOK, {**LOOK, "id": "mtnr985c-0002", "item": "flux"})
    told = page.post("/from-phone", data={"csrf": page.csrf}, files={"file": ("sent.txt", text.encode())})
    assert "Y06" in told.text and "1 record was taken in" in told.text
    assert (folder / "history.csv").read_text().count("mtnr985c") == 1


@pytest.mark.parametrize(("text", "said"), [("", "pasted or as a file"), ("hello", "Y01")])
def test_what_is_no_text_of_records_is_refused(page: Any, text: str, said: str) -> None:
    """Otherwise a photo given by mistake would be taken for an evening without findings."""
    told = page.post("/from-phone", data={"csrf": page.csrf, "text": text}, files={"file": ("", b"")})
    assert told.status_code == 422 and said in told.text


def test_the_file_for_the_phone_is_handed_over_whole(page: Any) -> None:
    """Otherwise the page's own policy would keep its script from running."""
    told = page.get("/files/field.html")
    assert "attachment" in told.headers["content-disposition"] and "Content-Security-Policy" in told.text
