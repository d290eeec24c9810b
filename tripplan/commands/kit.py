"""`tripplan kit`: which spares and materials are worth their weight on this trip."""

from pathlib import Path

from tripplan.commands.status import MADE, day_of, refused, tells_refusals
from tripplan.commands.terminal import say, say_json

MOST = 1000.0


@tells_refusals
def kit(folder: Path, kg: str, litres: str, today: str | None, as_json: bool) -> int:
    """Print the kit of the greatest worth within a weight and a volume."""
    from tripplan.explain.shelf import stocks
    from tripplan.files.plan_folder import read_to_plan, unproven_plan
    from tripplan.risk.kit import carry_kit
    from tripplan.sheets.kit_text import kit_json, kit_text

    most_kg, most_litres = _limit(kg, "kg"), _limit(litres, "litres")
    asked = inputs, catalogue, _, _ = read_to_plan(folder, day_of(today))
    made = unproven_plan(*asked)
    held = {what: stock.quantity for what, stock in stocks(inputs.kit.shelf, catalogue.consumables).items()}
    hours = made.risk.standing_hours_expected.plan if made.risk else 0.0
    found = carry_kit(made.spares, hours, most_kg, most_litres, held)
    say_json(kit_json(found)) if as_json else say(made.over or kit_text(found, made.trip))
    return MADE


def _limit(text: str, unit: str) -> float:
    try:
        found = float(text.strip())
    except ValueError:
        found = -1.0
    if not 0.0 <= found <= MOST:
        raise refused("A09", text or "nothing", f"{unit} from 0 to {MOST:.0f}, e.g. 25")
    return found
