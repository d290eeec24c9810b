"""`tripplan leave-out`: not on my rig, never, or done elsewhere, with the reason; or taken in again."""

import json
from pathlib import Path
from typing import Any

from tripplan.commands.status import MADE, command_problem, day_of, guarded
from tripplan.commands.terminal import say, say_json
from tripplan.files.held import folder_held
from tripplan.files.left_out import left_out_file, with_row, without_row
from tripplan.files.plan_folder import read
from tripplan.files.recording import put
from tripplan.records.lookups import resolve_item
from tripplan.records.problem_codes import nearest
from tripplan.records.problems import BadInput, stops


def leave_out(
    folder: Path, item: str, word: str | None, because: str, unit: str | None, back: bool, today: str | None,
    as_json: bool,
) -> int:  # fmt: skip
    """Leave an item out of every plan of this folder, or with `back` take it in again."""

    def run() -> int:
        with folder_held(folder):
            return _leave_out()

    def _leave_out() -> int:
        inputs, catalogue, problems = read(folder, day_of(today))
        if inputs is None or stops(problems):
            raise BadInput(problems)
        known = resolve_item(catalogue, item)
        if known is None:
            accepted = f"an item id such as {nearest(item, [one.id for one in catalogue.items], 4)}"
            raise BadInput([command_problem("A02", item, accepted)])
        units = [one.id for one in inputs.rig.units]
        if unit is not None and unit not in units:
            raise BadInput([command_problem("A02", unit, f"a unit of rig.toml: {', '.join(units)}")])
        if not back and word is None:
            raise BadInput([command_problem("A06", "no --as", "--as 'not on my rig', never or 'done elsewhere'")])
        place = left_out_file(folder)
        content = (
            without_row(folder, known.id, unit or "") if back
            else with_row(folder, known.id, unit or "", word or "", because)
        )  # fmt: skip
        place.parent.mkdir(exist_ok=True)
        put(place, content)
        where = f" on {unit}" if unit else ""
        said = f"{known.name}{where}: {'planned again' if back else f'left out of every plan, {word}'}."
        shown: dict[str, Any] = {"item": known.id, "unit": unit, "left_out": None if back else word, "problems": []}
        (say_json if as_json else say)(
            json.dumps(shown, indent=2) if as_json else f"{said} It stands in overrides/{place.name}."
        )
        return MADE

    return guarded(run, as_json)
