"""What is wrong with an input, as a value: one shape for terminal, page and JSON.

A reader returns `(records, problems)` and never prints or exits. A Problem whose weight
is `STOPS` means no plan can be made; one whose weight is `LOOK` is listed at the top of
the plan that is made in spite of it.
"""

from collections.abc import Iterable

from msgspec import Struct

STOPS = "stops the plan"
LOOK = "worth a look"
SHOWN_PER_CODE = 20


class Problem(Struct, frozen=True, kw_only=True):
    """One thing wrong in one place, with what would be accepted there.

    `code` is stable and documented in DEVELOPERS.md; its letter names the file.
    `row` is the row a spreadsheet shows, the header being row 1; None means the file.
    """

    code: str
    weight: str
    file: str
    found: str
    accepted: str
    hint: str = ""
    row: int | None = None
    column: str | None = None

    @property
    def place(self) -> str:
        """Where to look, as a person would say it: file, row and column."""
        row = f" row {self.row}" if self.row is not None else ""
        column = f", column {self.column}" if self.column else ""
        return f"{self.file}{row}{column}"

    def as_lines(self) -> tuple[str, ...]:
        """The message part by part: where and which, what was found, what is accepted, and the hint if there is one."""
        tag = f"[{self.code} {self.weight}]"
        told = (f"{self.place:<58} {tag}", f"    found     {self.found}", f"    accepted  {self.accepted}")
        return (*told, f"    hint      {self.hint}") if self.hint else told

    def as_text(self) -> str:
        """The whole message, as printed under `tripplan check`."""
        return "\n".join(self.as_lines())


class BadInput(ValueError):
    """The input cannot give a plan; `problems` says every reason at once."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(problem.as_text() for problem in self.problems))


class OutOfRange(ValueError):
    """A model was asked for something outside the range it holds for.

    Keeps `name`, `value`, `low`, `high`, `unit` and `source` as attributes.
    """

    def __init__(self, name: str, value: float, low: float, high: float, unit: str, source: str) -> None:
        self.name, self.value, self.low, self.high = name, value, low, high
        self.unit, self.source = unit, source
        of_unit = f" {unit}" if unit else ""
        super().__init__(f"{name} is {value:g}{of_unit}; the model holds for {low:g} to {high:g}{of_unit} ({source})")

    def as_problem(self) -> Problem:
        """As it is told where figures of a folder, each accepted by itself, lead there."""
        hint = f"look for a figure far too large or small, in trip.toml or overrides; {self.source}"
        return Problem(
            code="A26", weight=STOPS, file="the folder", found=f"{self.name} of {self.value:g} {self.unit}".rstrip(),
            accepted=f"{self.low:g} to {self.high:g} {self.unit}".rstrip(), hint=hint,
        )  # fmt: skip


def stops(problems: Iterable[Problem]) -> bool:
    """True when at least one problem stops the plan."""
    return any(problem.weight == STOPS for problem in problems)


def in_order(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """Problems by file and row, each told once."""
    unique = dict.fromkeys(problems)
    return tuple(sorted(unique, key=lambda p: (p.file, p.row or 0, p.column or "", p.code)))


def shortened(problems: Iterable[Problem]) -> tuple[tuple[Problem, ...], tuple[str, ...]]:
    """The first twenty of each code in each file, and a line for those left out."""
    shown: list[Problem] = []
    count: dict[tuple[str, str], int] = {}
    for problem in in_order(problems):
        key = (problem.file, problem.code)
        count[key] = count.get(key, 0) + 1
        if count[key] <= SHOWN_PER_CODE:
            shown.append(problem)
    more = tuple(
        f"{file}: and {number - SHOWN_PER_CODE} more like {code}"
        for (file, code), number in count.items()
        if number > SHOWN_PER_CODE
    )
    return tuple(shown), more


def problem_row(problem: Problem) -> dict[str, object]:
    """A Problem as JSON shows it."""
    return {name: getattr(problem, name) for name in
            ("code", "weight", "file", "row", "column", "found", "accepted", "hint")}  # fmt: skip
