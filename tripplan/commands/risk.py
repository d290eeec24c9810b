"""`tripplan risk`: will we get home, where the risk comes from, and what each hour of work buys."""

from dataclasses import replace
from datetime import date
from pathlib import Path

from tripplan.commands.status import MADE, MADE_WITH_WARNINGS, command_problem, day_of, guarded, tell
from tripplan.commands.terminal import say, say_json
from tripplan.records.problems import BadInput, stops

MOST_HOURS = 1000.0


def risk(folder: Path, hours: str | None, road_hours: str | None, today: str | None, as_json: bool) -> int:
    """Print what the trip risks; with `hours` at home or on the road also the best plan within them."""
    return guarded(lambda: _risk(folder, _hours(hours), _hours(road_hours), day_of(today), as_json), as_json)


def _hours(text: str | None) -> float | None:
    """Hours as typed, 0 to 1000; None when they were not."""
    if text is None:
        return None
    try:
        found = float(text.strip().removesuffix("h"))
    except ValueError:
        found = -1.0
    if not 0.0 <= found <= MOST_HOURS:
        raise BadInput([command_problem("A09", text, f"hours from 0 to {MOST_HOURS:.0f}, e.g. 10 or 2.5")])
    return found


def _risk(folder: Path, hours: float | None, road_hours: float | None, today: date, as_json: bool) -> int:
    from tripplan.files.plan_folder import plan_of, read
    from tripplan.sheets.risk_text import risk_json, risk_text
    from tripplan.trip.what_if import within_hours

    inputs, catalogue, problems = read(folder, today)
    if inputs is None or stops(problems):
        return tell(problems, as_json)
    made = plan_of(inputs, catalogue, today, problems)
    limited = None
    if hours is not None or road_hours is not None:
        trip = within_hours(inputs.trip, hours, road_hours, today)
        limited = plan_of(replace(inputs, trip=trip), catalogue, today, problems)
    if as_json:
        say_json(risk_json(made, limited))
    else:
        say(risk_text(made, limited, _words(hours, road_hours)))
    return MADE_WITH_WARNINGS if problems or made.warnings else MADE


def _words(hours: float | None, road_hours: float | None) -> str:
    told = [f"{hours:g} h at home"] if hours is not None else []
    told += [f"{road_hours:g} h on the road"] if road_hours is not None else []
    return " and ".join(told)
