"""`tripplan check`: every problem of a folder at once; with a plan.json, that plan against every rule."""

from datetime import date
from pathlib import Path
from typing import Any

from msgspec import ValidationError, convert

from tripplan.commands.status import MADE, MADE_WITH_WARNINGS, day_of, tell, tells_refusals
from tripplan.files.folder import Inputs
from tripplan.files.way_in import NotRead, json_of, read_file
from tripplan.records.catalogue import Catalogue
from tripplan.records.plan import SCHEMA, PlanWarning
from tripplan.records.problems import STOPS, Problem

UNREADABLE, OTHER_SCHEMA, RULE_BROKEN = "P01", "P02", "P03"


@tells_refusals
def check(folder: Path, today: str | None, as_json: bool, made: Path | None = None) -> int:
    """Report every problem of a folder; the status is the one `plan` would give.

    With `made`, a plan.json, hold that against the folder and every rule of placement first; where it was made for the
    same day, what it warns of is told from it, and nothing is planned again.
    """
    from tripplan.files.plan_folder import read_to_plan, unproven_plan

    inputs, catalogue, day, problems = read_to_plan(folder, day_of(today))
    warnings = None
    if made is not None:
        plan, broken = verified(made, inputs, catalogue)
        if broken:
            return tell(broken, as_json)
        warnings = _warnings_told(plan, day)
    if warnings is None:
        warnings = unproven_plan(inputs, catalogue, day, problems).warnings
    tell(problems, as_json, warnings)
    return MADE_WITH_WARNINGS if problems or warnings else MADE


def _warnings_told(plan: Any, day: date) -> tuple[PlanWarning, ...] | None:
    """What a plan warns of, as its file tells; None where it was made for another day, or its warnings are not to be read."""
    if plan["today"] != day.isoformat():
        return None
    try:
        return convert(plan["warnings"], tuple[PlanWarning, ...])
    except ValidationError:
        return None


def verified(plan_path: Path, inputs: Inputs, catalogue: Catalogue) -> tuple[Any, tuple[Problem, ...]]:
    """A plan file as read, and what is wrong with it: not to be read, not of this schema, or a rule it breaks."""
    from tripplan.verify.whole import verify

    plan, problem = _read(plan_path)
    if problem is not None:
        return plan, (problem,)
    try:
        found = verify(plan, inputs.rig, inputs.history, inputs.trip, catalogue, inputs.kit.shelf)
    except (KeyError, TypeError, ValueError, AttributeError, IndexError, StopIteration, ArithmeticError) as error:
        says = f"a field is missing or not of its kind ({type(error).__name__}: {str(error)[:80]})"
        accepted = f"a plan of schema {SCHEMA}, as `tripplan plan` writes it"
        return plan, (_problem(OTHER_SCHEMA, plan_path, says, accepted),)
    return plan, tuple(
        _problem(RULE_BROKEN, plan_path, f"{broken.where}: {broken.says}", f"the rule: {broken.rule}")
        for broken in found
    )


def _read(path: Path) -> tuple[Any, Problem | None]:
    accepted = "the plan.json that `tripplan plan` wrote"
    try:
        plan = json_of(read_file(path))
    except NotRead as why:
        return None, _problem(UNREADABLE, path, why.found, accepted)
    if not isinstance(plan, dict) or plan.get("schema") != SCHEMA:
        found = f"schema {plan.get('schema')}" if isinstance(plan, dict) else "something else than a plan"
        return None, _problem(OTHER_SCHEMA, path, found, f"schema {SCHEMA}")
    return plan, None


def _problem(code: str, path: Path, found: str, accepted: str) -> Problem:
    hint = "make the plan again with `tripplan plan`" if code != RULE_BROKEN else ""
    return Problem(code=code, weight=STOPS, file=path.name, found=found, accepted=accepted, hint=hint)
