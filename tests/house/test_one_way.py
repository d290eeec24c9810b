"""One guarded way in for every file, one escaped way out to the terminal, one way to write: nobody goes round them."""

import ast
from pathlib import Path

import pytest

import tripplan

ROOT = Path(tripplan.__file__).parent
# Files of our own that are shipped with the program, and the places that make the ways.
OWN_DATA = {
    "files/data_tables.py", "files/importing/word_book.py", "sheets/pictures/map_land.py", "web/app.py",
    "files/logbook/problems.py", "sheets/field/page.py",
}  # fmt: skip
IN = {"files/way_in.py"}
PIECEWISE = {"files/tracks/any_track.py", "files/tracks/xml.py"}  # looked at by way_in first, then read piece by piece
OUT = {"commands/terminal.py"}
IN_MEMORY = {"web/forms/photo_form.py"}  # a picture out of the bytes that were sent
WRITES = {
    "files/whole_files.py",
    "web/access/keys.py",
    "web/saves/saving.py",
    "web/forms/track_form.py",
    "files/fleet_folders.py",
}  # the last three: passing folders
FORBIDDEN = {
    "read_bytes": IN | OWN_DATA, "read_text": IN | OWN_DATA, "open": IN | OWN_DATA | PIECEWISE | OUT | WRITES | IN_MEMORY,
    "write_bytes": WRITES, "write_text": WRITES, "print": OUT, "fdopen": IN | WRITES, "mkstemp": WRITES,
}  # fmt: skip
METHODS, BY_NAME = ("read_bytes", "read_text", "write_bytes", "write_text"), ("print",)
PARSERS = {("json", "loads"): IN, ("json", "load"): IN, ("tomllib", "loads"): IN, ("tomllib", "load"): IN}
OF_OUR_OWN_TEXT = {"sheets/plan_json.py", "web/open_trip.py", "web/pages/json_pages.py", "web/toml_lines.py"}
FILES = sorted(path.relative_to(ROOT).as_posix() for path in ROOT.rglob("*.py"))


@pytest.mark.parametrize("name", FILES)
def test_nobody_goes_round_the_ways(name: str) -> None:
    """Otherwise the next file read or line printed would bring back a hang, a traceback or an escape sequence."""
    for node in ast.walk(ast.parse((ROOT / name).read_text(encoding="utf-8"))):
        if not isinstance(node, ast.Call):
            continue
        called = node.func
        if isinstance(called, ast.Attribute) and isinstance(called.value, ast.Name):
            parser = (called.value.id, called.attr)
            assert parser not in PARSERS or name in PARSERS[parser] | OF_OUR_OWN_TEXT, f"{name}:{node.lineno} {parser}"
        is_method = isinstance(called, ast.Attribute)
        word = called.attr if isinstance(called, ast.Attribute) else called.id if isinstance(called, ast.Name) else ""
        is_ours = word in (BY_NAME if is_method else METHODS)  # a function of ours may bear the name of a method
        assert is_ours or name in FORBIDDEN.get(word, {name}), f"{name}:{node.lineno} {word}"
