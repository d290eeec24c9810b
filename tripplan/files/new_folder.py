"""A new trip folder from a person's answers: files with remarks that teach, never written over anything.

Pure but for `put_new_folder`: answers as they were typed come in, the bytes of each file go out, and the readers of
the trip folder judge them. The terminal and the page call the same functions.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from tripplan.files.append import CROSSING_COLUMNS, HISTORY_COLUMNS
from tripplan.files.held import FOLDER_LOCK
from tripplan.files.logbook.text import table_text
from tripplan.files.new_questions import QUESTIONS, SHEETS, Answers, Question, completed, parted
from tripplan.files.new_toml import rig_text, trip_text
from tripplan.files.read_me_first import READ_ME, read_me_first
from tripplan.files.refusals import wording
from tripplan.files.whole_files import put
from tripplan.files.zones import zones_like
from tripplan.records import facts_in
from tripplan.records.cell_values import PLAIN_NUMBER, day
from tripplan.records.facts_in import Origin, Record
from tripplan.records.lookups import READING, SERVICE
from tripplan.records.problem_codes import nearest, problem
from tripplan.records.problems import STOPS, BadInput, Problem

ANSWERED = Origin(file="answers")
LEG_COLUMNS = (
    "leg", "from", "to", "depart", "distance_km", "speed_kmh", "surface", "corrugation", "dust", "heat_c", "load",
    "towing", "hubs", "low_range_km", "remote", "note",
)  # fmt: skip
STOP_COLUMNS = ("stop", "after_leg", "arrive", "leave", "facility", "minutes", "note")
WORKSHOP_COLUMNS = ("date", "minutes", "note")
STARTS_AT, DRIVING_HOURS_A_DAY = "07:00", 8
DAYS = ("service.date", "trailer_service.date", "trip.depart", "trip.return", "shed.days")
ONE_STRETCH = "one stretch, as told at the start: cut it where road, dust or day change, and at each night"
Row = Mapping[str, str]


def new_folder_files(answers: Answers, today: date) -> dict[str, bytes]:
    """Every file of a new trip folder, by its name. `answers` are texts by the keys of `QUESTIONS`.

    Beside them `height.POINT` and `trailer_height.POINT` are heights in mm. What is not answered stays
    unknown. Nothing is judged here: ask `refusals_of` first, or read what comes out.
    """
    given = completed(answers).items()
    said = {key: "; ".join(map(_iso, parted(text))) if key in DAYS else text for key, text in given}
    texts = {"rig.toml": rig_text(said), "trip.toml": trip_text(said), READ_ME: read_me_first()}
    tables = {
        "history.csv": table(HISTORY_COLUMNS, _history(said, today)),
        "legs.csv": table(LEG_COLUMNS, _legs(said)),
        "crossings.csv": table((*CROSSING_COLUMNS, "note"), ()),
        "stops.csv": table(STOP_COLUMNS, ()),
        "workshop.csv": table(WORKSHOP_COLUMNS, _shed_days(said)),
    }
    return {name: text.encode("utf-8", "replace") for name, text in (texts | tables).items()}


def put_new_folder(folder: Path, files: Mapping[str, bytes]) -> list[Path]:
    """Write the files into a folder that is not there yet, or is empty. Raises BadInput for any other."""
    refuse_to_overwrite(folder)
    for name in files:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        put(folder / name, files[name])
    return [folder / name for name in files]


def refuse_to_overwrite(target: Path) -> None:
    """Raise BadInput A04 unless there is nothing at this path, or an empty folder."""
    if target.exists() and (not target.is_dir() or any(path.name != FOLDER_LOCK for path in target.iterdir())):
        found = Problem(
            code="A04", weight=STOPS, file=str(target), found="something that is there already",
            accepted="a folder that does not exist yet, or an empty one", hint="name another one",
        )  # fmt: skip
        raise BadInput([found])


def next_steps(folder: str, has_way: bool) -> tuple[str, str, str]:
    """The three things to do with a new folder, in order."""
    way = (
        "Cut the way in legs.csv where the road changes" if has_way else "Write the way into legs.csv, a row a stretch"
    )
    return (
        f"{way}; water and stops go into crossings.csv and stops.csv. READ-ME-FIRST.txt says what each column takes.",
        f"Write what you know was done into history.csv, or bring in an old table: "
        f"tripplan import OLD.xlsx --into {folder}",
        f"tripplan plan {folder}     (or the same as a page in the browser: tripplan serve {folder})",
    )


def table(columns: Sequence[str], rows: Iterable[Row]) -> str:
    """A table as text, its columns in that order and those that the rows add behind them."""
    listed = list(rows)
    return table_text(dict.fromkeys((*columns, *(name for row in listed for name in row))), listed)


def _iso(text: str) -> str:
    """A day such as 6 June 2026 as the files write it; what is no day stays for the reader to refuse."""
    try:
        return str(day(text))
    except ValueError:
        return text


def _history(said: Answers, today: date) -> list[Row]:
    """The last services and the reading of today, the oldest first as far as days can be told apart."""
    rows = [_served(said, "service", said.get("id", ""), said.get("service.odometer_km", ""), "service"),
            _served(said, "trailer_service", said.get("trailer_id", ""), "", "trailer_service")]  # fmt: skip
    if km := said.get("odometer_km"):
        note = "as this folder was begun"
        rows.append({"date": str(today), "unit": said.get("id", ""), "odometer_km": km, "act": READING, "note": note})
    return sorted((row for row in rows if row["date"]), key=lambda row: row["date"])


def _served(said: Answers, key: str, unit: str, odometer_km: str, sheet: str) -> Row:
    which = SHEETS.get(said.get(f"{key}.sheet", ""), "")
    day_of_it = said.get(f"{key}.date", "")
    return {"date": day_of_it, "unit": unit, "odometer_km": odometer_km, "item": f"{sheet}_{which}", "act": SERVICE}


def _legs(said: Answers) -> list[Row]:
    """There and back, each as one stretch; none where the way was not told."""
    if not said.get("way.from"):
        return []
    same = {key: said.get(f"way.{key}", "") for key in ("distance_km", "speed_kmh", "surface", "corrugation", "dust",
                                                         "heat_c", "towing", "hubs", "remote")}  # fmt: skip
    same |= {"load": "normal", "low_range_km": "0", "towing": same["towing"] or "no", "note": ONE_STRETCH}
    there, back = said.get("way.from", ""), said.get("way.to", "")
    depart, home = said.get("trip.depart", ""), _last_start(said)
    return [
        {"leg": "1", "from": there, "to": back, "depart": f"{depart} {STARTS_AT}", **same},
        {"leg": "2", "from": back, "to": there, "depart": f"{home} {STARTS_AT}", **same},
    ]


def _last_start(said: Answers) -> str:
    """The day the way home begins, so that it ends on the day of return; that day where it cannot be told."""
    km, kmh, home = (said.get(key, "") for key in ("way.distance_km", "way.speed_kmh", "trip.return"))
    if not (PLAIN_NUMBER.fullmatch(km) and PLAIN_NUMBER.fullmatch(kmh) and float(kmh) > 0):
        return home
    try:
        return str(day(home) - timedelta(days=math.ceil(float(km) / float(kmh) / DRIVING_HOURS_A_DAY) - 1))
    except (ValueError, OverflowError):
        return home


def _shed_days(said: Answers) -> list[Row]:
    minutes = said.get("shed.minutes", "")
    return [{"date": each, "minutes": minutes} for each in parted(said.get("shed.days", ""))]


def refusals_of(answers: Answers) -> tuple[Problem, ...]:
    """Every answer that is missing or cannot be used, one Problem each, named by its key."""
    said = completed(answers)
    found = (answer_refused(one, said.get(one.key, "")) for one in QUESTIONS if one.stands(said))
    return tuple(entry for entry in found if entry)


def answer_refused(question: Question, text: str) -> Problem | None:
    """Why this answer cannot be used; None where it can."""
    if not text.strip():
        return _missing(question) if question.is_needed else None
    if question.words:
        return None if text in question.words else _refused(question, text, nearest(text, question.words))
    if question.key == "home_zone":
        return _zone_refusal(question, text)
    parts = parted(text) if question.is_list else (text,)
    return next((found for part in parts if (found := _refused_by_record(question, part))), None)


def zone_of(text: str) -> str:
    """The zone that a text names for certain; else the text as it is, to be refused."""
    found = zones_like(text)
    return found[0] if len(found) == 1 else text


def _zone_refusal(question: Question, text: str) -> Problem | None:
    found = zones_like(text)
    if found == (text,):
        return None
    hint = f"is {found[0]} meant?" if len(found) == 1 else ""
    accepted = nearest(text, found, 4) if found else "a zone named after a large town, such as Australia/Darwin"
    return _refused(question, text, accepted, hint)


def _refused_by_record(question: Question, text: str) -> Problem | None:
    value: Any = [text] if question.field == "fitted" else text
    record: type[Record] = getattr(facts_in, question.record)
    try:
        record.model_validate({question.field: value, "origin": ANSWERED})
    except ValidationError as error:
        told = wording(error, record, "R", ANSWERED, {question.field: value}, {}, question.field)
        found = next(told, None)
        return found and _refused(question, text, found.accepted, found.hint)
    return None


def _missing(question: Question) -> Problem:
    accepted = nearest("", question.words) or question.hint or "an answer"
    return problem("A51", ANSWERED, question.key, "nothing", accepted, f"{question.asks}?")


def _refused(question: Question, found: str, accepted: str, hint: str = "") -> Problem:
    return problem("A52", ANSWERED, question.key, found, accepted, hint)
