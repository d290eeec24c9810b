"""The files speak of the project alone: no paths of one machine, no talk about the work on it, no stray links."""

import ast
import re
from pathlib import Path

import pytest

import tripplan

ROOT = Path(tripplan.__file__).parent.parent
FOLDERS = ("tripplan", "tests", "demo", "notebooks", ".ci")
SUFFIXES = {
    ".py",
    ".csv",
    ".md",
    ".toml",
    ".html",
    ".j2",
    ".css",
    ".js",
    ".json",
    ".txt",
    ".ics",
    ".svg",
    ".yml",
    ".yaml",
    ".ipynb",
    ".cfg",
    "",
}
HERE = Path(__file__).name
# written in two parts so that this file does not find itself
MACHINE = re.compile(
    r"(?<![\w.])/(?:" + "|".join(("wo" + "rk", "ho" + "me", "ro" + "ot", "t" + "mp", "op" + "t")) + r")/\w"
)
TRACKER = re.compile(
    r"\b(?:iss" + r"ue|ticket|pull request) #?\d|\bfix(?:es|ed)? #\d|# ?(?:to" + r"do|fix" + r"me|xx" + r"x)\b", re.I
)
HELPERS = re.compile(
    r"\blanguage "
    + r"model\b|\bchat"
    + r"bot\b|\bAI (?:assistant|agent|model)|\bsub-?agent|\bprom"
    + r"pt engineering",
    re.I,
)
PERSONS = re.compile(
    r"\byou" + r"tube\b|\bpod" + r"cast\b|\bvi" + r"deo\b|\b(?:this|the) tal" + r"k\b|\bsubscri" + r"be\b", re.I
)
PACKAGE = Path(tripplan.__file__).parent
APART = re.compile(r"(?:\d|^) %(?=[.,;:)\"'`<]|\s[a-z]|$)")
LINK = re.compile(r"https?://[^\s\"'<>)\]]+")
ALLOWED_LINKS = (
    "http://www.w3.org/",  # names of XML vocabularies, never fetched
    "http://www.topografix.com/GPX/",  # the name of the track vocabulary
    "http://www.opengis.net/kml/",  # and of the other one
    "http://127.0.0.1",
    "http://localhost",
    "http://testserver",  # this machine
    "https://reliawiki.com",
    "https://example.",
)


def files() -> list[Path]:
    """Every text file of the project."""
    inside = [path for name in FOLDERS for path in (ROOT / name).rglob("*") if path.is_file()]
    beside = [path for path in ROOT.iterdir() if path.is_file()]
    return sorted(
        path
        for path in (*inside, *beside)
        if path.suffix in SUFFIXES and "__pycache__" not in path.parts and path.name != HERE
    )


TEXTS = [(str(path.relative_to(ROOT)), path.read_text(encoding="utf-8", errors="replace")) for path in files()]
# the one printed magazine that counts its numbers so
MAGAZINE = ("tripplan/data/sources.csv",)


def found(pattern: re.Pattern[str], but: tuple[str, ...] = ()) -> list[str]:
    """Every place where a pattern is found."""
    return [f"{name}: {match.group(0)}" for name, text in TEXTS if name not in but for match in pattern.finditer(text)]


def test_there_is_something_to_look_at() -> None:
    """Otherwise these checks would pass on nothing."""
    assert len(TEXTS) > 50


@pytest.mark.parametrize(
    ("pattern", "but"),
    [(MACHINE, ()), (TRACKER, MAGAZINE), (HELPERS, ()), (PERSONS, ())],
    ids=["paths of one machine", "trackers and notes to self", "how it was made", "persons and their shows"],
)
def test_no_such_words(pattern: re.Pattern[str], but: tuple[str, ...]) -> None:
    """Otherwise a stranger's copy would point at things that are not there, or cite what cannot be checked."""
    assert found(pattern, but) == []


def test_links_only_to_what_is_listed() -> None:
    """Otherwise a page could ask the network for something on a track without one."""
    links = [(name, link) for name, text in TEXTS for link in LINK.findall(text)]
    stray = [f"{name}: {link}" for name, link in links if not link.startswith(ALLOWED_LINKS)]
    assert stray == []


def _told(path: Path) -> list[str]:
    """The texts of a file that people read: constants of code but its docstrings, or all of a table or template."""
    text = path.read_text(encoding="utf-8")
    if path.suffix != ".py":
        return text.splitlines()
    tree = ast.parse(text)
    docstrings = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    every = [node for node in ast.walk(tree) if isinstance(node, ast.Constant) and isinstance(node.value, str)]
    return [str(node.value) for node in every if id(node) not in docstrings]


def test_percents_are_written_in_one_way() -> None:
    """Otherwise the same sheet would say 95 % in one line and 41% in the next."""
    told = [path for suffix in ("py", "csv", "j2", "js") for path in PACKAGE.rglob(f"*.{suffix}")]
    assert [f"{path.name}: {text[:80]}" for path in told for text in _told(path) if APART.search(text)] == []
