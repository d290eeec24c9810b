"""What every command shares: the exit status, the day it plans from, and how a refusal is told."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date
from functools import wraps
from inspect import signature
from typing import ParamSpec

from tripplan.commands.terminal import PLAIN, STRONG, TYPED, Part, say, say_document, working
from tripplan.records.cell_values import DAY_ACCEPTED, day, day_hint, day_readings
from tripplan.records.plan import PlanWarning
from tripplan.records.problems import STOPS, BadInput, OutOfRange, Problem, problem_row, shortened, stops
from tripplan.sheets.plan_json import warning_row

MADE, MADE_WITH_WARNINGS, STOPPED = 0, 1, 2
FIRST_YEAR, LAST_YEAR = 1990, 2100
Typed = ParamSpec("Typed")


def day_of(text: str | None) -> date:
    """The day named on the command line, or this machine's day. Figures such as 24/05/2026 can mean one day only."""
    if text is None:
        return date.today()
    either = day_readings(text)
    try:
        found: date = either[0] if len(either) == 1 else day(text)
    except ValueError:
        raise refused("A01", text, DAY_ACCEPTED, day_hint(text)) from None
    if not FIRST_YEAR <= found.year <= LAST_YEAR:
        raise refused("A01", text, f"a day from {FIRST_YEAR} to {LAST_YEAR}")
    return found


def guarded(run: Callable[[], int], as_json: bool) -> int:
    """Run a command; a refusal of the input is told as its problems."""
    try:
        with working():
            return run()
    except BadInput as error:
        return tell(error.problems, as_json)
    except OutOfRange as error:
        return tell([error.as_problem()], as_json)


def tells_refusals(command: Callable[Typed, int]) -> Callable[Typed, int]:
    """The command with every refusal of its input told as problems, in the form that its `as_json` asks for."""
    typed = signature(command)

    @wraps(command)
    def told(*given: Typed.args, **named: Typed.kwargs) -> int:
        as_json = typed.bind(*given, **named).arguments.get("as_json", False)
        return guarded(lambda: command(*given, **named), as_json)

    return told


def command_problem(code: str, found: str, accepted: str, hint: str = "") -> Problem:
    """Something typed on the command line that cannot be used."""
    return Problem(code=code, weight=STOPS, file="command line", found=found, accepted=accepted, hint=hint)


def refused(code: str, found: str, accepted: str, hint: str = "") -> BadInput:
    """The refusal of something typed on the command line."""
    return BadInput([command_problem(code, found, accepted, hint)])


def refuse_beyond(given: Iterable[tuple[str, int | None, int, int]]) -> None:
    """Raise BadInput Y15 for options with a number, lowest and highest in that order, that nobody can have meant."""
    wrong = [
        command_problem("Y15", f"{name} {value}", f"{name} from {low} to {high}")
        for name, value, low, high in given
        if value is not None and not low <= value <= high
    ]
    if wrong:
        raise BadInput(wrong)


def refuse_idle(beside: str, given: Mapping[str, object]) -> None:
    """Raise BadInput A18 for what is given, by its name, beside a word with which it would do nothing."""
    idle = [name for name, value in given.items() if value]
    if idle:
        raise BadInput([command_problem("A18", f"{name} with {beside}", f"{beside} without {name}") for name in idle])


def problem_parts(problem: Problem) -> list[Part]:
    """A problem as it is printed: where it is stands out, and so does what would be accepted."""
    where, found, accepted, *hint = problem.as_lines()
    return [(where, STRONG), (f"\n{found}\n", PLAIN), (accepted, TYPED), *((f"\n{line}", PLAIN) for line in hint)]


def tell(problems: Sequence[Problem], as_json: bool, warnings: Sequence[PlanWarning] = ()) -> int:
    """Print problems and warnings; the status says whether they stop the plan."""
    if as_json:
        rows = [problem_row(problem) for problem in problems]
        say_document({"problems": rows, "warnings": list(map(warning_row, warnings))})
    else:
        shown, more = shortened(problems)
        texts = [problem_parts(problem) for problem in shown] + [[(text, PLAIN)] for text in more]
        texts += [[("warning:", STRONG), (f" {warning.text}", PLAIN)] for warning in warnings]
        parts = [part for text in texts for part in (*text, ("\n\n", PLAIN))]
        say(parts[:-1] or "No problems found.", error=stops(problems))
    return STOPPED if stops(problems) else MADE
