"""`tripplan check`: every problem of a folder at once; with a plan.json, that plan against every rule."""

from datetime import date
from pathlib import Path

from tripplan.commands.status import MADE, MADE_WITH_WARNINGS, day_of, guarded, tell
from tripplan.records.problems import stops


def check(folder: Path, today: str | None, as_json: bool, made: Path | None = None) -> int:
    """Report every problem of a folder; the status is the one `plan` would give.

    With `made`, a plan.json, hold that against the folder and every rule of placement first.
    """
    return guarded(lambda: _check(folder, day_of(today), as_json, made), as_json)


def _check(folder: Path, today: date, as_json: bool, made: Path | None) -> int:
    from tripplan.files.plan_folder import plan_of, read

    inputs, catalogue, problems = read(folder, today)
    if inputs is None or stops(problems):
        return tell(problems, as_json)
    if made is not None:
        from tripplan.commands.verify_plan import verify_file

        broken = verify_file(made, inputs, catalogue)
        if broken:
            return tell(broken, as_json)
    warnings = plan_of(inputs, catalogue, today, problems).warnings
    tell(problems, as_json, warnings)
    return MADE_WITH_WARNINGS if problems or warnings else MADE
