"""`tripplan numbers`: the tables, one table, or the numbers behind one item."""

import json

from tripplan.commands.status import MADE, refused, tells_refusals
from tripplan.commands.terminal import say, say_json


@tells_refusals
def numbers(what: str, as_json: bool) -> int:
    """Print the tables, one table, or the numbers behind one item."""
    from tripplan.files.data_tables import read_catalogue
    from tripplan.records.problem_codes import nearest
    from tripplan.sheets.numbers_text import numbers_rows, numbers_text

    catalogue, _ = read_catalogue()
    rows = numbers_rows(catalogue, what)
    if rows is None:
        known = [item.id for item in catalogue.items]
        raise refused("A02", what, f"an item id or a table: {nearest(what, known)}")
    if as_json:
        say_json(json.dumps(rows, indent=2, ensure_ascii=False, default=str))
    else:
        say(numbers_text(catalogue, what))
    return MADE
