"""The command line: parse, load, call, write, exit. No arithmetic, no wording of its own.

Exit status: 0 plan made, 1 made with warnings, 2 the input stops it, 3 our fault.
"""

import sys
from pathlib import Path
from typing import Annotated

import typer

from tripplan.edges import commands

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="Trip-aware preventive maintenance for a four-wheel-drive and its trailer.",
)

Folder = Annotated[Path, typer.Argument(help="The trip folder.")]
OutDir = Annotated[Path, typer.Option("--out", help="Where the outputs go.")]
Today = Annotated[str | None, typer.Option("--today", help="The day to plan from, e.g. 2026-06-01.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON instead of text.")]


@app.command()
def plan(folder: Folder, out: OutDir, today: Today = None, json: AsJson = False) -> None:
    """Read a trip folder; write the worksheet, lists, calendar and plan.json."""
    raise typer.Exit(commands.plan(folder, out, today, json))


@app.command()
def check(folder: Folder, today: Today = None, json: AsJson = False) -> None:
    """Read a trip folder and report every problem in it; write nothing."""
    raise typer.Exit(commands.check(folder, today, json))


@app.command()
def why(
    folder: Folder,
    item: Annotated[str, typer.Argument(help="An item id, e.g. front_wheel_bearings.")],
    today: Today = None,
    json: AsJson = False,
) -> None:
    """Print every history row and table row behind one item's verdict."""
    raise typer.Exit(commands.why(folder, item, today, json))


@app.command()
def numbers(
    what: Annotated[str, typer.Argument(help="An item id or a table name; empty for all.")] = "",
    json: AsJson = False,
) -> None:
    """List the numbers the planner leans on, with their source and basis."""
    raise typer.Exit(commands.numbers(what, json))


@app.command()
def demo(
    name: Annotated[str, typer.Argument(help="outback, long-tour or after-crossing.")] = "",
    out: Annotated[Path | None, typer.Option("--out", help="Where the demo folder is written.")] = None,
    json: AsJson = False,
) -> None:
    """Write one of the demo trip folders and plan it."""
    raise typer.Exit(commands.demo(name, out, json))


def main() -> None:
    """Run the command line; whatever is unforeseen ends with status 3 and one line, no traceback."""
    try:
        app()
    except Exception as error:
        print(f"tripplan failed; this is our fault, not yours: {type(error).__name__}: {error}", file=sys.stderr)
        sys.exit(3)


if __name__ == "__main__":
    main()
