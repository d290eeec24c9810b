"""`tripplan check`: every problem of a folder at once; with a plan.json, that plan against every rule."""

from pathlib import Path

from tripplan.commands.status import MADE, MADE_WITH_WARNINGS, day_of, tell, tells_refusals


@tells_refusals
def check(folder: Path, today: str | None, as_json: bool, made: Path | None = None) -> int:
    """Report every problem of a folder; the status is the one `plan` would give.

    With `made`, a plan.json, hold that against the folder and every rule of placement first.
    """
    from tripplan.files.plan_folder import plan_of, read_to_plan

    inputs, catalogue, day, problems = read_to_plan(folder, day_of(today))
    if made is not None:
        from tripplan.commands.verify_plan import verify_file

        if broken := verify_file(made, inputs, catalogue):
            return tell(broken, as_json)
    warnings = plan_of(inputs, catalogue, day, problems).warnings
    tell(problems, as_json, warnings)
    return MADE_WITH_WARNINGS if problems or warnings else MADE
