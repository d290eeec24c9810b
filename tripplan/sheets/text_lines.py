"""Lines of plain text: wrapped paragraphs, headings, and ruled room for a finding."""

import textwrap

COLUMNS = 78
TICK, HELD = "[ ] ", "\0"
LEAST_RULE = 12


def wrap(text: str, first: str = "", rest: str | None = None) -> list[str]:
    """A paragraph of at most 78 columns; `first` and `rest` begin its lines. A box stays whole, and with what it is for."""
    following = " " * len(first) if rest is None else rest
    lines = textwrap.wrap(
        " ".join(text.split()).replace(TICK, TICK.replace(" ", HELD)),
        COLUMNS,
        initial_indent=first,
        subsequent_indent=following,
        break_on_hyphens=False,
    )
    return [line.replace(HELD, " ") for line in lines] or [first.rstrip()]


def folded(text: str) -> str:
    """The text with its long lines wrapped, what follows of each set in further than it began."""
    lines = []
    for line in text.splitlines():
        indent = " " * (len(line) - len(line.lstrip()))
        lines += wrap(line, indent, f"{indent}    ") if len(line) > COLUMNS else [line]
    return "\n".join(lines)


def bullet(text: str) -> list[str]:
    """One thing of a list, its further lines set in."""
    return wrap(text, "- ", "  ")


def heading(text: str, mark: str = "=") -> list[str]:
    """A heading with a rule under it and a free line above."""
    lines = wrap(text)
    return ["", *lines, mark * max(len(line) for line in lines), ""]


def with_rule(lines: list[str]) -> list[str]:
    """The lines with ruled room for a finding after the last one, or on a line of its own."""
    room = COLUMNS - len(lines[-1]) - 1
    if room >= LEAST_RULE:
        return [*lines[:-1], f"{lines[-1]} {'_' * room}"]
    return [*lines, "    " + "_" * (COLUMNS - 4)]
