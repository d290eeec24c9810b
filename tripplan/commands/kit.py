"""`tripplan kit`: which spares and materials are worth their weight on this trip."""

from datetime import date
from pathlib import Path

from tripplan.commands.status import MADE, command_problem, day_of, guarded, tell
from tripplan.commands.terminal import say, say_json
from tripplan.records.problems import BadInput, stops

MOST = 1000.0


def kit(folder: Path, kg: str, litres: str, today: str | None, as_json: bool) -> int:
    """Print the kit of the greatest worth within a weight and a volume."""
    return guarded(lambda: _kit(folder, _limit(kg, "kg"), _limit(litres, "litres"), day_of(today), as_json), as_json)


def _limit(text: str, unit: str) -> float:
    try:
        found = float(text.strip())
    except ValueError:
        found = -1.0
    if not 0.0 <= found <= MOST:
        raise BadInput([command_problem("A09", text or "nothing", f"{unit} from 0 to {MOST:.0f}, e.g. 25")])
    return found


def _kit(folder: Path, most_kg: float, most_litres: float, today: date, as_json: bool) -> int:
    from tripplan.explain.shelf import stocks
    from tripplan.files.plan_folder import plan_of, read
    from tripplan.risk.kit import carry_kit
    from tripplan.sheets.kit_text import kit_json, kit_text

    inputs, catalogue, problems = read(folder, today)
    if inputs is None or stops(problems):
        return tell(problems, as_json)
    made = plan_of(inputs, catalogue, today, problems)
    held = {what: stock.quantity for what, stock in stocks(inputs.kit.shelf, catalogue.consumables).items()}
    hours = made.risk.standing_hours_expected.plan if made.risk else 0.0
    found = carry_kit(made.spares, hours, most_kg, most_litres, held)
    say_json(kit_json(found)) if as_json else say(kit_text(found, made.trip))
    return MADE
