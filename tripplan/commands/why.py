"""`tripplan why`: the rows behind one item's verdict, or behind each that the words typed can mean."""

from pathlib import Path

from tripplan.commands.status import MADE, day_of, tells_refusals
from tripplan.commands.terminal import say, say_document, say_json


@tells_refusals
def why(folder: Path, item: str, today: str | None, as_json: bool) -> int:
    """Print the rows behind one item's verdict."""
    from tripplan.commands.item_words import few_items
    from tripplan.files.plan_folder import read_to_plan, unproven_plan
    from tripplan.files.way_in import json_of
    from tripplan.sheets.text_lines import folded
    from tripplan.sheets.why_text import why_json, why_text

    asked = inputs, catalogue, _, _ = read_to_plan(folder, day_of(today))
    items = few_items(item, catalogue, inputs.rig)
    made = unproven_plan(*asked)
    if not as_json:
        say("\n\n".join(folded(why_text(made, one, inputs, catalogue)) for one in items))
    elif len(items) == 1:
        say_json(why_json(made, items[0], inputs, catalogue))
    else:
        say_document([json_of(why_json(made, one, inputs, catalogue)) for one in items])
    return MADE
