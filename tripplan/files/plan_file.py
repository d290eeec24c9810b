"""The plan.json that an earlier run left in a folder."""

import json
from pathlib import Path
from typing import Any

PLAN_FILE = "plan.json"
NEEDED = ("depart", "return", "legs", "crossings", "items", "slots", "totals", "warnings")


def issued_plan(out: Path) -> dict[str, Any] | None:
    """The plan.json left in a folder by an earlier run; None when there is none that can be read."""
    try:
        document = json.loads((out / PLAN_FILE).read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return None
    is_plan = isinstance(document, dict) and all(name in document for name in NEEDED)
    return document if is_plan else None
