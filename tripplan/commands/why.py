"""`tripplan why`: the rows behind one item's verdict, or behind each that the words typed can mean."""

import json as json_text
from datetime import date
from pathlib import Path

from tripplan.commands.status import MADE, day_of, guarded, tell
from tripplan.commands.terminal import say, say_json
from tripplan.records.problems import BadInput, stops

MOST_SHOWN = 4


def why(folder: Path, item: str, today: str | None, as_json: bool) -> int:
    """Print the rows behind one item's verdict."""
    return guarded(lambda: _why(folder, item, day_of(today), as_json), as_json)


def _why(folder: Path, text: str, today: date, as_json: bool) -> int:
    from tripplan.commands.item_words import items_meant, not_one
    from tripplan.files.plan_folder import plan_of, read
    from tripplan.sheets.why_text import why_json, why_text

    inputs, catalogue, problems = read(folder, today)
    if inputs is None or stops(problems):
        return tell(problems, as_json)
    items = items_meant(text, catalogue, inputs.rig)
    if not 1 <= len(items) <= MOST_SHOWN:
        raise BadInput([not_one(text, items, catalogue)])
    made = plan_of(inputs, catalogue, today, problems)
    if not as_json:
        say("\n\n".join(why_text(made, item, inputs, catalogue) for item in items))
    elif len(items) == 1:
        say_json(why_json(made, items[0], inputs, catalogue))
    else:
        each = [json_text.loads(why_json(made, item, inputs, catalogue)) for item in items]
        say_json(json_text.dumps(each, indent=2, ensure_ascii=False))
    return MADE
