"""`tripplan numbers`: the tables, one table, or the numbers behind one item."""

import json

from tripplan.commands.status import MADE, refused, tells_refusals
from tripplan.commands.terminal import say, say_json

MOST_NAMED = 8


@tells_refusals
def numbers(what: str, as_json: bool) -> int:
    """Print the tables, one table, or the numbers behind one item."""
    from tripplan.files.data_tables import read_catalogue
    from tripplan.records.lookups import resolve_item
    from tripplan.records.problem_codes import nearest
    from tripplan.sheets.numbers_text import PROBLEMS, STANDING, TABLES, numbers_rows, numbers_text

    catalogue, _ = read_catalogue()
    rows = numbers_rows(catalogue, what)
    if rows is None and (item := resolve_item(catalogue, what)) is not None:
        what = item.id
        rows = numbers_rows(catalogue, what)
    if rows is None:
        known = [*TABLES, STANDING, PROBLEMS, "sources", *(item.id for item in catalogue.items)]
        hint = "tripplan numbers, with no word behind it, lists the tables"
        raise refused("A02", what, f"an item or a table, such as {nearest(what, known, MOST_NAMED)}", hint)
    if as_json:
        say_json(json.dumps(rows, indent=2, ensure_ascii=False, default=str))
    else:
        say(numbers_text(catalogue, what))
    return MADE
