"""`tripplan risk`: will we get home, where the risk comes from, and what each hour of work buys."""

from pathlib import Path

from msgspec.structs import replace

from tripplan.commands.status import MADE, MADE_WITH_WARNINGS, day_of, refused, tells_refusals
from tripplan.commands.terminal import say, say_json

MOST_HOURS = 1000.0


@tells_refusals
def risk(folder: Path, hours: str | None, road_hours: str | None, today: str | None, as_json: bool) -> int:
    """Print what the trip risks; with `hours` at home or on the road also the best plan within them."""
    from tripplan.files.plan_folder import read_to_plan, unproven_plan
    from tripplan.sheets.risk_text import risk_json, risk_text
    from tripplan.trip.what_if import within_hours

    home_h, road_h = _hours(hours), _hours(road_hours)
    inputs, catalogue, day, problems = read_to_plan(folder, day_of(today))
    made = unproven_plan(inputs, catalogue, day, problems)
    limited = None
    if home_h is not None or road_h is not None:
        trip = within_hours(inputs.trip, home_h, road_h, day)
        limited = unproven_plan(replace(inputs, trip=trip), catalogue, day, problems)
    if as_json:
        say_json(risk_json(made, limited))
    else:
        say(risk_text(made, limited, _words(home_h, road_h)))
    return MADE_WITH_WARNINGS if problems or made.warnings else MADE


def _hours(text: str | None) -> float | None:
    """Hours as typed, 0 to 1000; None when they were not."""
    if text is None:
        return None
    try:
        found = float(text.strip().removesuffix("h"))
    except ValueError:
        found = -1.0
    if not 0.0 <= found <= MOST_HOURS:
        raise refused("A09", text, f"hours from 0 to {MOST_HOURS:.0f}, e.g. 10 or 2.5")
    return found


def _words(hours: float | None, road_hours: float | None) -> str:
    told = [f"{hours:g} h at home"] if hours is not None else []
    told += [f"{road_hours:g} h on the road"] if road_hours is not None else []
    return " and ".join(told)
