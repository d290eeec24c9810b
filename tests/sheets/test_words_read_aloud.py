"""Jobs as a mechanic reads them aloud: no name holds its act already."""

import csv
from importlib.resources import files

from tripplan.sheets import words

ACTING = {"look": ("hand", "walk-under", "look"), "grease": ("grease",), "repack": ("repack", "grease"), "clean": ("one wash", "wash", "clean")}  # fmt: skip


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
