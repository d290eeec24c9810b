"""The plan.json that an earlier run left in a folder."""

from pathlib import Path
from typing import Any

from tripplan.files.way_in import NotRead, json_of, read_file

PLAN_FILE = "plan.json"
NEEDED = ("depart", "return", "legs", "crossings", "items", "slots", "totals", "warnings")


def issued_plan(out: Path) -> dict[str, Any] | None:
    """The plan.json left in a folder by an earlier run; None when there is none that can be read."""
    try:
        document = json_of(read_file(out / PLAN_FILE))
    except NotRead:
        return None
    is_plan = isinstance(document, dict) and all(name in document for name in NEEDED)
    return document if is_plan else None
