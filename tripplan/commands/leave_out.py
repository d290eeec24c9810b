"""`tripplan leave-out`: not on my rig, never, or done elsewhere, with the reason; or taken in again."""

from pathlib import Path

from tripplan.commands.item_words import known_item
from tripplan.commands.status import MADE, command_problem, day_of, refused, tells_refusals
from tripplan.commands.terminal import say, say_document
from tripplan.files.held import folder_held
from tripplan.files.left_out import left_out_content, left_out_file
from tripplan.files.plan_folder import read_to_plan
from tripplan.files.whole_files import put
from tripplan.records.problems import BadInput


@tells_refusals
def leave_out(
    folder: Path, item: str, word: str | None, because: str, unit: str | None, back: bool, today: str | None,
    as_json: bool,
) -> int:  # fmt: skip
    """Leave an item out of every plan of this folder, or with `back` take it in again."""
    with folder_held(folder):
        inputs, catalogue, _, _ = read_to_plan(folder, day_of(today))
        known = known_item(item, catalogue, inputs.rig)
        units = [one.id for one in inputs.rig.units]
        if unit is not None and unit not in units:
            raise refused("A02", unit, f"a unit of rig.toml: {', '.join(units)}")
        owning = [one.id for one in inputs.rig.units if known.belongs_to(one)]
        if not back and unit is not None and unit not in owning:
            accepted = f"a unit that has it: {', '.join(owning)}" if owning else "nothing to leave out: no unit has it"
            raise refused("A02", f"{known.said} on {unit}", accepted)
        if not back and word is None:
            missing = [command_problem("A06", "no --as", "--as 'not on my rig', never or 'done elsewhere'")]
            if not because.strip():
                missing.append(command_problem("A06", "no --because", "--because and the reason, in your own words"))
            raise BadInput(missing)
        content = left_out_content(folder, known.id, unit or "", None if back else word, because)
        left_out_file(folder).parent.mkdir(exist_ok=True)
        put(left_out_file(folder), content)
    if as_json:
        say_document({"item": known.id, "unit": unit, "left_out": None if back else word, "problems": []})
    else:
        where = f" on {unit}" if unit else ""
        said = f"{known.name}{where}: {'planned again' if back else f'left out of every plan, {word}'}."
        say(f"{said} It stands in overrides/{left_out_file(folder).name}.")
    return MADE
