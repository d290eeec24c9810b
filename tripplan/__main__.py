"""The command line: parse, load, call, write, exit. No arithmetic, no wording of its own.

Exit status: 0 plan made, 1 made with warnings, 2 the input stops it, 3 our fault.
"""

import sys
import warnings
from pathlib import Path
from typing import Annotated

import typer

import tripplan
from tripplan.commands import own_process
from tripplan.commands.new_options import answers_of, with_answers
from tripplan.commands.sources import in_folder, kept_place
from tripplan.commands.terminal import NotAnswered, Unheard, say

app = typer.Typer(
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="Trip-aware preventive maintenance for a four-wheel-drive and its trailer.",
)


def _demo_names() -> list[str]:
    from tripplan.files.demos import DEMOS

    return list(DEMOS)


Folder = Annotated[Path, typer.Argument(help="The trip folder, or a logbook file.")]
OutDir = Annotated[Path | None, typer.Option("--out", help="Where the outputs go.")]
Today = Annotated[str | None, typer.Option("--today", help="The day to plan from; else this machine's.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON instead of text.")]


@app.command(epilog="Example: tripplan new my-trip; or, a shape to change: tripplan new my-trip --like outback")
@with_answers
def new(
    folder: Annotated[Path, typer.Argument(help="The folder to make; it must not be there yet, or be empty.")],
    like: Annotated[
        str | None,
        typer.Option("--like", help="Take the shape of a demo instead of asking.", autocompletion=_demo_names),
    ] = None,
    height: Annotated[list[str] | None, typer.Option("--height", help="POINT=MM above ground, again for each.")] = None,
    trailer_height: Annotated[
        list[str] | None, typer.Option("--trailer-height", help="The same of the trailer.")
    ] = None,
    today: Today = None,
    json: AsJson = False,
    **answers: str | None,
) -> None:
    """Make a trip folder of your own. It asks what it needs, writes the files with remarks, and says what comes next."""
    from tripplan.commands import new as command

    raise typer.Exit(command.new(folder, like, answers_of(answers), height or (), trailer_height or (), today, json))


@app.command(epilog='Example: tripplan plan my-trip; or, what if: tripplan plan my-trip --leg "4 dust=heavy"')
def plan(
    folder: Folder,
    out: OutDir = None,
    depart: Annotated[str | None, typer.Option("--depart", help="What if it departs on this day?")] = None,
    leg: Annotated[list[str] | None, typer.Option("--leg", help='What if? e.g. "4 dust=heavy"')] = None,
    without_stop: Annotated[list[str] | None, typer.Option("--without-stop", help="What if not there?")] = None,
    today: Today = None,
    json: AsJson = False,
) -> None:
    """Plan a trip folder and write its sheets. Into FOLDER/outputs, or where they went last. What-ifs only compare."""
    from tripplan.commands import plan as plan_command
    from tripplan.files.plan_file import INSIDE

    if depart is None and not leg and not without_stop:
        out = kept_place(folder, out) or (None if folder.is_file() else folder / INSIDE)
    told = (depart, leg or (), without_stop or ())

    def run(trip: Path) -> int:
        return plan_command.plan(trip, out, today, json, *told)

    raise typer.Exit(in_folder(folder, json, run, alone=out is not None))


@app.command(epilog="Example: tripplan check my-trip")
def check(
    folder: Folder,
    made: Annotated[Path | None, typer.Option("--plan", help="A plan.json to hold against the folder.")] = None,
    today: Today = None,
    json: AsJson = False,
) -> None:
    """Report every problem of a trip folder. Nothing is written."""
    from tripplan.commands import check as check_command

    raise typer.Exit(in_folder(folder, json, lambda trip: check_command.check(trip, today, json, made)))


@app.command(epilog='Example: tripplan cross my-trip --leg 3 --depth 0.7 --water muddy --at "2026-07-08 15:20"')
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
    """Record a crossing made, and plan again. Says what it calls for."""
    from tripplan.commands import log_and_cross

    told = (leg, depth, minutes, water, at, at_km, length, stalled, hubs_hot, kept_place(folder, out), today, json)
    raise typer.Exit(in_folder(folder, json, lambda trip: log_and_cross.cross(trip, *told), keep=True))


@app.command(
    epilog='Example: tripplan log my-trip --date 2026-07-03 --item "hub seals:left" --act renew --finding worn'
)
def log(
    folder: Folder,
    date: Annotated[
        str | None, typer.Option("--date", help="The day of the work, e.g. 2026-07-03 or 24/05/2026.")
    ] = None,
    unit: Annotated[
        str | None, typer.Option("--unit", help="A unit of rig.toml, where the item leaves it open.")
    ] = None,
    item: Annotated[
        list[str] | None,
        typer.Option("--item", help="""An item by its words or its id, e.g. "winch" or "front wheel bearings:left"."""),
    ] = None,
    act: Annotated[str | None, typer.Option("--act", help="What was done, e.g. repack.")] = None,
    finding: Annotated[str | None, typer.Option("--finding", help="What was seen, e.g. water.")] = None,
    odometer: Annotated[str | None, typer.Option("--odometer", help="The reading in km.")] = None,
    lubricant: Annotated[str | None, typer.Option("--lubricant", help="What went in.")] = None,
    hours: Annotated[str | None, typer.Option("--hours", help="The engine's hour meter.")] = None,
    note: Annotated[str | None, typer.Option("--note", help="Anything else.")] = None,
    job: Annotated[
        list[str] | None, typer.Option("--job", help='"unit item position act finding", - for none.')
    ] = None,
    undo: Annotated[str | None, typer.Option("--undo", help="A history row to strike out, or last.")] = None,
    because: Annotated[str, typer.Option("--because", help="Why it is struck out.")] = "",
    done: Annotated[list[str] | None, typer.Option("--done", help="A slot done as planned; after = at home.")] = None,
    but: Annotated[list[str] | None, typer.Option("--except", help="item[:position] of --done left out.")] = None,
    sent: Annotated[Path | None, typer.Option("--from", help="Records made on the phone, as a text file.")] = None,
    out: OutDir = None,
    today: Today = None,
    json: AsJson = False,
) -> None:
    """Record work or a reading, and plan again. Or strike a row out (--undo)."""
    from tripplan.commands import log_and_cross

    out = kept_place(folder, out)
    if sent is not None:
        from tripplan.commands import field_records

        alone = not any((date, unit, item, act, finding, odometer, lubricant, hours, note, job, undo, done, but))
        take = field_records.take_records
        raise typer.Exit(in_folder(folder, json, lambda trip: take(trip, sent, out, today, json, alone), keep=True))
    told = (unit, item or (), act, date, odometer, finding, lubricant, note, job or (), out, today, json, undo, because)
    more = (hours, done or (), but or ())
    raise typer.Exit(in_folder(folder, json, lambda trip: log_and_cross.log(trip, *told, *more), keep=True))


@app.command(name="leave-out", epilog='Example: tripplan leave-out my-trip winch --as never --because "sold it"')
def leave_out(
    folder: Folder,
    item: Annotated[str, typer.Argument(help="An item by its words or its id, e.g. winch.")],
    word: Annotated[str | None, typer.Option("--as", help="'not on my rig', never or 'done elsewhere'.")] = None,
    because: Annotated[str, typer.Option("--because", help="The reason, in your own words.")] = "",
    unit: Annotated[str | None, typer.Option("--unit", help="A unit of rig.toml; without it all.")] = None,
    back: Annotated[bool, typer.Option("--back", help="Take it in again.")] = False,
    today: Today = None,
    json: AsJson = False,
) -> None:
    """Leave an item out of every plan. With the reason; or take it in again (--back)."""
    from tripplan.commands import leave_out as command

    told = (item, word, because, unit, back, today, json)
    raise typer.Exit(in_folder(folder, json, lambda trip: command.leave_out(trip, *told), keep=True))


@app.command(epilog='Example: tripplan order my-trip "hub inner seal" --arrives 2027-05-01')
def order(
    folder: Folder,
    what: Annotated[list[str] | None, typer.Argument(help="Parts by their names; without any, the list.")] = None,
    everything: Annotated[bool, typer.Option("--all", help="All that is to be ordered.")] = False,
    arrives: Annotated[str | None, typer.Option("--arrives", help="The day on which it comes.")] = None,
    today: Today = None,
    json: AsJson = False,
) -> None:
    """List the parts to order. Or write that they are ordered, into shelf.csv."""
    from tripplan.commands import order as command

    told = (what or [], everything, arrives, today, json)
    raise typer.Exit(in_folder(folder, json, lambda trip: command.order(trip, *told), keep=True))


@app.command(epilog='Example: tripplan why my-trip "wheel bearings"')
def why(
    folder: Folder,
    item: Annotated[str, typer.Argument(help="""An item by its words or its id, e.g. "engine oil".""")],
    today: Today = None,
    json: AsJson = False,
) -> None:
    """Show what is behind an item's verdict. Every history row and table row."""
    from tripplan.commands import why as why_command

    raise typer.Exit(in_folder(folder, json, lambda trip: why_command.why(trip, item, today, json)))


@app.command(epilog="Example: tripplan risk my-trip --hours 10")
def risk(
    folder: Folder,
    hours: Annotated[str | None, typer.Option("--hours", help="Hours of work at home; the best plan within.")] = None,
    road_hours: Annotated[str | None, typer.Option("--road-hours", help="Hours of work on the road.")] = None,
    today: Today = None,
    json: AsJson = False,
) -> None:
    """Say what the trip risks. Where that comes from, and what each hour of work buys."""
    from tripplan.commands import risk as risk_command

    raise typer.Exit(in_folder(folder, json, lambda trip: risk_command.risk(trip, hours, road_hours, today, json)))


@app.command(epilog="Example: tripplan kit my-trip --kg 20 --litres 30")
def kit(
    folder: Folder,
    kg: Annotated[str, typer.Option("--kg", help="The most it may weigh.")] = "25",
    litres: Annotated[str, typer.Option("--litres", help="The most room it may take.")] = "40",
    today: Today = None,
    json: AsJson = False,
) -> None:
    """Say which spares to carry. Within a weight and a volume, and what is left out."""
    from tripplan.commands import kit as kit_command

    raise typer.Exit(in_folder(folder, json, lambda trip: kit_command.kit(trip, kg, litres, today, json)))


@app.command(epilog='Example: tripplan grease my-trip "front wheel bearings"')
def grease(
    folder: Folder,
    item: Annotated[str, typer.Argument(help="An item id or name; empty with --weighed.")] = "",
    lubricant: Annotated[str | None, typer.Option("--with", help="What is meant to go in.")] = None,
    gun: Annotated[Path | None, typer.Option("--gun", help="A gun file other than the folder's.")] = None,
    weigh: Annotated[str | None, typer.Option("--weighed", help="strokes=grams, e.g. 10=13.2g")] = None,
    today: Today = None,
    json: AsJson = False,
) -> None:
    """Which grease is in there, what may go in. And how much; or record a weighed grease gun (--weighed)."""
    from tripplan.commands import grease as grease_command

    raise typer.Exit(grease_command.grease_or_gun(folder, item, lubricant, gun, weigh, today, json))


@app.command(epilog="Example: tripplan review my-trip")
def review(folder: Folder, today: Today = None, json: AsJson = False) -> None:
    """Tell what findings say about intervals. And the km and speed that readings tell."""
    from tripplan.commands import review as review_command

    raise typer.Exit(in_folder(folder, json, lambda trip: review_command.review(trip, today, json)))


@app.command(name="import", epilog="Example: tripplan import old-book.xlsx --into my-trip")
def import_table(
    file: Annotated[Path, typer.Argument(help="An old table of services, .csv or .xlsx.")],
    into: Annotated[Path, typer.Option("--into", help="The trip folder or logbook it goes into.")],
    mapping: Annotated[Path | None, typer.Option("--mapping", help="A mapping file saved before.")] = None,
    yes: Annotated[bool, typer.Option("--yes", help="Take the columns as they were understood.")] = False,
    today: Today = None,
    json: AsJson = False,
) -> None:
    """Read an old table into the history. Every row ends as a record, a question or a stated skip."""
    from tripplan.commands import import_table as import_table_command

    raise typer.Exit(import_table_command.import_table(file, into, mapping, yes, today, json))


@app.command(epilog="Example: tripplan logbook take-in wagon.logbook my-trip")
def logbook(
    what: Annotated[
        str, typer.Argument(help="take-in FILE FOLDER, write-out FILE FOLDER, entries FILE, undo FILE, mend FILE.")
    ],
    file: Annotated[Path, typer.Argument(help="The logbook file.")],
    folder: Annotated[Path | None, typer.Argument(help="The trip folder, for take-in and write-out.")] = None,
    number: Annotated[int | None, typer.Option("--number", help="The entry to undo.")] = None,
    because: Annotated[str, typer.Option("--because", help="Why it is undone.")] = "",
    json: AsJson = False,
) -> None:
    """Keep a trip folder in one file. It never loses a record; list its entries; strike one out; mend it."""
    from tripplan.commands import logbook as logbook_command

    raise typer.Exit(logbook_command.logbook(what, file, folder, number, because, json))


@app.command(epilog="Example: tripplan route add my-trip way.gpx --by overnight")
def route(
    what: Annotated[str, typer.Argument(help="add (a track to a folder) or export (a plan's places).")],
    folder: Annotated[Path, typer.Argument(help="The trip folder.")],
    track: Annotated[Path | None, typer.Argument(help="A .gpx, .geojson or .kml file, for add.")] = None,
    by: Annotated[str, typer.Option("--by", help="Cut by overnight, waypoints or km.")] = "overnight",
    km_a_day: Annotated[float | None, typer.Option("--km-a-day", help="With --by km.")] = None,
    write: Annotated[bool, typer.Option("--write", help="Write the proposed legs.")] = False,
    item: Annotated[list[str] | None, typer.Option("--item", help="An item of the wear profile, for export.")] = None,
    out: OutDir = None,
    today: Today = None,
    json: AsJson = False,
) -> None:
    """Take legs from a track. Or export stops, crossings and run-out points as waypoints."""
    from tripplan.commands import route as route_command

    raise typer.Exit(route_command.route(what, folder, track, by, km_a_day, write, out, today, json, item or []))


@app.command(epilog="Example: tripplan numbers front_wheel_bearings")
def numbers(
    what: Annotated[str, typer.Argument(help="An item id or a table name; empty for all.")] = "",
    json: AsJson = False,
) -> None:
    """List the numbers, with source and basis. Of an item, of a table, or all."""
    from tripplan.commands import numbers as numbers_command

    raise typer.Exit(numbers_command.numbers(what, json))


@app.command(epilog="Example: tripplan demo outback")
def demo(
    name: Annotated[str, typer.Argument(help="outback, long-tour or after-crossing.", autocompletion=_demo_names)] = "",
    out: Annotated[Path | None, typer.Option("--out", help="Where the demo folder is written.")] = None,
    json: AsJson = False,
) -> None:
    """Write an invented trip and plan it."""
    from tripplan.commands import demo as demo_command

    raise typer.Exit(demo_command.demo(name, out, json))


@app.command(epilog="Example: tripplan fleet rigs --out summary")
def fleet(
    folders: Annotated[list[Path], typer.Argument(help="Trip folders or logbooks, or a folder of trip folders.")],
    out: Annotated[Path, typer.Option("--out", help="Where the summary and each rig's outputs go.")],
    workers: Annotated[int, typer.Option("--workers", help="How many processes plan at once.")] = 1,
    scheduler: Annotated[
        str | None, typer.Option("--scheduler", help="A cluster's scheduler, tcp://host:port.")
    ] = None,
    plain: Annotated[bool, typer.Option("--plain", help="Place by the plain rule: faster, dearer plans.")] = False,
    summary_only: Annotated[bool, typer.Option("--summary-only", help="Of each rig only lists and calendar.")] = False,
    bays: Annotated[int | None, typer.Option("--bays", help="Bays of the shed; gives the shared days.")] = None,
    people: Annotated[int | None, typer.Option("--people", help="People in the shed.")] = None,
    benches: Annotated[int, typer.Option("--benches", help="Benches in the shed.")] = 1,
    day_minutes: Annotated[int, typer.Option("--day-minutes", help="Minutes of a day in the shed.")] = 480,
    today: Today = None,
    json: AsJson = False,
) -> None:
    """Plan many rigs at once. Each one's outputs, and one summary, shopping list, calendar and shared days."""
    from tripplan.commands.fleet import run

    wanted = run.Wanted(
        workers=workers, scheduler=scheduler, is_plain=plain, is_summary_only=summary_only,
        bays=bays, people=people, day_minutes=day_minutes, benches=benches,
    )  # fmt: skip
    own_process.runs_long()
    raise typer.Exit(run.fleet(folders, out, today, json, wanted))


@app.command(epilog="Example: tripplan futures my-trip --draws 500")
def futures(
    folder: Folder,
    draws: Annotated[int, typer.Option("--draws", help="How many futures are drawn.")] = 1000,
    seed: Annotated[int, typer.Option("--seed", help="Equal seeds give equal futures.")] = 1,
    searches: Annotated[int, typer.Option("--searches", help="In how many of them the work is placed anew.")] = 3,
    today: Today = None,
    json: AsJson = False,
) -> None:
    """Say what in a plan hangs on luck. Roads, distances, depths and departure drawn many times."""
    from tripplan.commands import futures as futures_command

    own_process.runs_long()
    raise typer.Exit(
        in_folder(folder, json, lambda trip: futures_command.futures(trip, draws, seed, searches, today, json))
    )


def _version(is_asked: bool) -> None:
    if is_asked:
        say(f"tripplan {tripplan.__version__}")
        raise typer.Exit


@app.callback()
def whole(
    version: Annotated[
        bool, typer.Option("--version", help="Say which version this is.", is_eager=True, callback=_version)
    ] = False,
) -> None:
    """What holds for every command."""


def with_logbook(words: list[str]) -> list[str]:
    """`--logbook FILE COMMAND ...` as `COMMAND FILE ...`: the file stands where the folder would.

    For `import`, whose first word is the table, that is behind `--into`.
    """
    if "--logbook" not in words[:-2]:
        return words
    at = words.index("--logbook")
    file, rest = words[at + 1], words[:at] + words[at + 2 :]
    return [*rest, "--into", file] if rest[0] == "import" else [rest[0], file, *rest[1:]]


@app.command(epilog="Example: tripplan serve my-trip")
def serve(
    folder: Annotated[Path, typer.Argument(help="The trip folder, which need not be there yet, or a logbook.")],
    port: Annotated[int, typer.Option("--port", help="The port of the page.")] = 8765,
    lan: Annotated[bool, typer.Option("--lan", help="Serve to the local network, with a pairing code.")] = False,
    today: Today = None,
) -> None:
    """Show it all as a page in the browser. To this machine alone unless --lan is given."""
    from tripplan.web import serve as page

    own_process.runs_long()
    raise typer.Exit(page.serve(folder, port, lan, today))


def main() -> None:
    """Run the command line; whatever is unforeseen ends with status 3 and one line, no traceback."""
    if not sys.warnoptions:
        warnings.simplefilter("ignore")  # what a library makes of a file goes round the one way out
    try:
        with own_process.soon_over():
            app(with_logbook(sys.argv[1:]), prog_name="tripplan")
    except NotAnswered:
        say("\nNothing was written.", error=True)
        sys.exit(2)
    except Unheard as error:
        say(f"The answer could not be printed: {error}. What was to be done is done.", error=True)
        sys.exit(2)
    except Exception as error:
        kind = type(error).__name__
        say(f"tripplan failed; this is our fault, not yours: {kind}: {error}", error=True)
        sys.exit(3)


if __name__ == "__main__":
    main()
