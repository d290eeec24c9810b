"""`tripplan why`: the rows behind one item's verdict."""

from datetime import date
from pathlib import Path

from tripplan.commands.status import MADE, command_problem, day_of, guarded, tell
from tripplan.commands.terminal import say, say_json
from tripplan.records.problems import stops


def why(folder: Path, item: str, today: str | None, as_json: bool) -> int:
    """Print the rows behind one item's verdict."""
    return guarded(lambda: _why(folder, item, day_of(today), as_json), as_json)


def _why(folder: Path, item_text: str, today: date, as_json: bool) -> int:
    from tripplan.files.plan_folder import plan_of, read
    from tripplan.records.lookups import resolve_item
    from tripplan.records.problem_codes import nearest
    from tripplan.sheets.why_text import why_json, why_text

    inputs, catalogue, problems = read(folder, today)
    if inputs is None or stops(problems):
        return tell(problems, as_json)
    item = resolve_item(catalogue, item_text)
    if item is None:
        accepted = nearest(item_text, [known.id for known in catalogue.items])
        return tell([command_problem("A02", item_text, f"an item id: {accepted}")], as_json)
    made = plan_of(inputs, catalogue, today, problems)
    if as_json:
        say_json(why_json(made, item, inputs, catalogue))
    else:
        say(why_text(made, item, inputs, catalogue))
    return MADE
