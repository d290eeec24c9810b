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
OutDir = Annotated[Path | None, typer.Option("--out", help="Where the outputs go.")]
Today = Annotated[str | None, typer.Option("--today", help="The day to plan from, e.g. 2026-06-01.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON instead of text.")]


@app.command()
def plan(
    folder: Folder,
    out: OutDir = None,
    depart: Annotated[str | None, typer.Option("--depart", help="What if it departs on this day?")] = None,
    leg: Annotated[list[str] | None, typer.Option("--leg", help='What if? e.g. "4 dust=heavy"')] = None,
    without_stop: Annotated[list[str] | None, typer.Option("--without-stop", help="What if not there?")] = None,
    today: Today = None,
    json: AsJson = False,
) -> None:
    """Read a trip folder; write the worksheet, lists, calendar and plan.json. What-ifs only compare."""
    raise typer.Exit(commands.plan(folder, out, today, json, depart, leg or (), without_stop or ()))


@app.command()
def check(folder: Folder, today: Today = None, json: AsJson = False) -> None:
    """Read a trip folder and report every problem in it; write nothing."""
    raise typer.Exit(commands.check(folder, today, json))


@app.command()
def cross(
    folder: Folder,
    leg: Annotated[str, typer.Option("--leg", help="The leg's number.")],
    depth: Annotated[str, typer.Option("--depth", help="How deep, in metres.")],
    water: Annotated[str, typer.Option("--water", help="fresh, muddy or salt.")],
    at: Annotated[str, typer.Option("--at", help="When, e.g. '2026-07-03 15:20'.")],
    minutes: Annotated[str | None, typer.Option("--minutes", help="Minutes in the water.")] = None,
    at_km: Annotated[str | None, typer.Option("--at-km", help="Km from the start of the leg.")] = None,
    length: Annotated[str | None, typer.Option("--length", help="How long, in metres.")] = None,
    stalled: Annotated[bool, typer.Option("--stalled", help="The engine stopped in the water.")] = False,
    hubs_hot: Annotated[bool, typer.Option("--hubs-hot", help="The hubs went in hot.")] = False,
    out: OutDir = None,
    today: Today = None,
    json: AsJson = False,
) -> None:
    """Record a water crossing that was made, say what it calls for, and plan again."""
    from tripplan.edges import field_commands

    told = (leg, depth, minutes, water, at, at_km, length, stalled, hubs_hot)
    raise typer.Exit(field_commands.cross(folder, *told, out, today, json))


@app.command()
def log(
    folder: Folder,
    date: Annotated[str, typer.Option("--date", help="The day of the work, e.g. 2026-07-03.")],
    unit: Annotated[str | None, typer.Option("--unit", help="A unit of rig.toml.")] = None,
    item: Annotated[list[str] | None, typer.Option("--item", help="item or item:position.")] = None,
    act: Annotated[str | None, typer.Option("--act", help="What was done, e.g. repack.")] = None,
    finding: Annotated[str | None, typer.Option("--finding", help="What was seen, e.g. water.")] = None,
    odometer: Annotated[str | None, typer.Option("--odometer", help="The reading in km.")] = None,
    lubricant: Annotated[str | None, typer.Option("--lubricant", help="What went in.")] = None,
    note: Annotated[str | None, typer.Option("--note", help="Anything else.")] = None,
    job: Annotated[list[str] | None, typer.Option("--job", help='"unit item position act finding"')] = None,
    out: OutDir = None,
    today: Today = None,
    json: AsJson = False,
) -> None:
    """Record work done and what was found, or a bare odometer reading, and plan again."""
    from tripplan.edges import field_commands

    told = (unit, item or (), act, date, odometer, finding, lubricant, note, job or ())
    raise typer.Exit(field_commands.log(folder, *told, out, today, json))


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
def grease(
    folder: Folder,
    item: Annotated[str, typer.Argument(help="An item id or name; empty with --weighed.")] = "",
    lubricant: Annotated[str | None, typer.Option("--with", help="What is meant to go in.")] = None,
    gun: Annotated[Path | None, typer.Option("--gun", help="A gun file other than the folder's.")] = None,
    weigh: Annotated[str | None, typer.Option("--weighed", help="strokes=grams, e.g. 10=13.2g")] = None,
    today: Today = None,
    json: AsJson = False,
) -> None:
    """Say what is in an item's spaces, what may go in and how much; or record a weighed grease gun."""
    from tripplan.edges import grease_command

    if weigh is not None:
        raise typer.Exit(grease_command.weigh_gun(folder, weigh, today, json))
    raise typer.Exit(grease_command.grease(folder, item, lubricant, gun, today, json))


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
        kind = type(error).__name__
        print(f"tripplan failed; this is our fault, not yours: {kind}: {error}", file=sys.stderr)
        sys.exit(3)


if __name__ == "__main__":
    main()
