"""Every problem code with its meaning, and how a problem with such a code is worded.

The letter names the file. 01 to 09 are about one cell and mean the same for every file;
10 and above are about rows held against each other. Codes are stable: one that is no
longer used is not given to something else.
"""

from collections.abc import Iterable
from difflib import SequenceMatcher

from tripplan.records.facts_in import Origin
from tripplan.records.problems import LOOK, STOPS, Problem

FILE_LETTERS = {
    "R": "rig.toml", "H": "the history", "T": "trip.toml", "L": "legs.csv", "C": "crossings.csv",
    "S": "stops.csv", "W": "workshop.csv", "B": "busy.ics", "O": "an override",
}  # fmt: skip
CELL_KINDS = {
    "01": ("RHTLCSWBO", "a column or key that is needed is missing"),
    "02": ("RHTLCSWO", "a cell or value that must be filled is empty"),
    "03": ("RHTLCSWO", "not a number"),
    "04": ("HTLCSWB", "not a date, or not a date and time"),
    "05": ("RHTLCSO", "a word that is not in the list"),
    "06": ("RHTLCSWO", "a number outside its range"),
    "07": ("RHTLCSWO", "a column or key that is not known"),
    "08": ("RT", "not the kind of value asked for, such as text, a list or a section"),
    "09": ("BO", "not written in the form asked for"),
}
FILE_CODES = {
    "F01": "a folder or file that is needed is not there",
    "F02": "a file cannot be opened, or is not a file",
    "F03": "a file is not in UTF-8, so its letters cannot be known",
    "F04": "a file is empty",
    "F05": "a table has a header and no rows",
    "F06": "the history is there twice, as CSV and as spreadsheet",
    "F07": "a file holds zero bytes, so it is damaged or not a text file",
    "F08": "a table is separated by semicolons or tabs, not by commas",
    "F09": "a quotation mark is opened and never closed",
    "F10": "a spreadsheet file is damaged, locked by a password, or unsafe to open",
    "F11": "a spreadsheet formula was saved without its result",
    "F12": "two columns have the same name",
    "F13": "a row has more cells than the header names",
    "F14": "a TOML file has a mistake of form",
    "F15": "a file of overrides has a name that no table has",
    "F16": "a spreadsheet has more than one sheet with entries; the first is read",
    "F17": "a file has nearly the name of one that would be read",
    "F18": "rows or a name of an invented demo stand in a folder of somebody's own",
}
CROSS_CODES = {
    "R10": "the rig needs one vehicle, no more and no fewer",
    "R11": "two units have the same id",
    "R12": "a fact that decides which items the unit has is missing",
    "R13": "an unknown time zone",
    "R14": "a height is given for a point that no item has",
    "R15": "the usual driving per week is not given, so use up to departure is not counted",
    "R16": "crossings are planned and heights of points are not given",
    "R17": "something fitted that no item goes with",
    "R18": "a country code that is not known, so its public holidays are not",
    "R19": "a region code that the country does not have, or a region without its country",
    "R20": "a height above the ground that no such point has",
    "R21": "a fuel that is none of the usual and that no item needs",
    "H10": "an unknown unit",
    "H11": "the odometer goes back",
    "H12": "an unknown item",
    "H13": "an item that the unit does not have",
    "H14": "an unknown position",
    "H15": "an unknown act",
    "H16": "an act without the item it was done to",
    "H17": "a date in the future",
    "H18": "more km in the time than can be driven",
    "H19": "the same row twice; it is counted once",
    "H20": "a replaced odometer without both figures",
    "H21": "a reading without a figure",
    "H22": "a service sheet without the act service, or that act without a service sheet",
    "H23": "an odometer of a vehicle that never came to 1000 km",
    "H24": "a reading that the legs of the trip do not explain",
    "T10": "the return is before the departure",
    "T11": "minutes or weekdays of free days are given and no busy.ics is read for them; they are not used",
    "L10": "no legs",
    "L11": "two legs have the same number",
    "L12": "legs are out of order",
    "L13": "a leg departs before the one before it can have been driven",
    "L14": "a leg departs before the trip does, or after its return",
    "L15": "a leg starts elsewhere than the one before it ended",
    "L16": "more km in low range than the leg is long",
    "L17": "a leg is driven towing, and the rig has no trailer",
    "L18": "some but not all of the columns that a wear model needs; the graded row is used",
    "L19": "the range of an estimated distance has one end only, or does not hold the distance",
    "L20": "an earlier leg that is there twice, or is not before this trip; it is not counted",
    "C10": "a crossing on a leg that is not there",
    "C11": "a crossing beyond the end of its leg",
    "C12": "a crossing said to be done, dated in the future",
    "C13": "a crossing done before its leg departs",
    "C14": "the same crossing twice",
    "C15": "a crossing said to be made in water deeper than the vehicle is high",
    "C16": "a crossing that is recorded as made already",
    "C17": "which crossing of a leg was made is not clear",
    "C18": "a crossing done more than a month after the return",
    "C19": "two crossings of one leg made at the same moment",
    "S10": "a stop after a leg that is not there",
    "S11": "a stop is left before it is reached",
    "S12": "a stop is reached before its leg departs",
    "S13": "a stop lasts past the departure of the next leg",
    "S14": "an unknown time zone",
    "S15": "the same stop twice",
    "W10": "a workshop day after departure; it is not used",
    "W11": "a workshop day that is past, and more than half a year before the departure; it is not used",
    "W12": "the same workshop day twice",
    "B10": "an unknown time zone; the entry's times are taken as times at home",
    "B11": "an entry ends before it starts; it takes the rest of the day it starts on",
    "B12": "a calendar too large to be one person's",
    "B13": "a rule with more repeats than are worked out; every day after them counts as busy",
    "B14": "a workshop day on which the owner is busy; it has fewer minutes, or is not used",
    "B15": "departure is too far off; free days are found for the first two years",
    "B16": "a rule of repeats or a length that cannot be read",
    "X01": "a track file of a kind that is not read",
    "X02": "a track file with a DOCTYPE, which is refused",
    "X03": "a track file that is too large or nested too deep",
    "X04": "a track file with a fault of form, or cut short",
    "X05": "a track file in which no way can be seen",
    "X06": "a point of a track that is no position; it is left out",
    "X07": "a height or time of a track that cannot be read; it is left out",
    "X08": "a leg's distance and its track, or the line of its ends, differ by more than a tenth",
    "X09": "the column remote of a leg and the distance to help along the way do not agree",
    "X10": "a stop at sea; its clock is taken from its longitude alone",
    "X11": "the zone of a stop keeps another time than its position; the zone is used",
    "X12": "a leg would end after dark at the speed it states",
    "X13": "a leg's descent and the heights of its track differ by more than a tenth",
    "X14": "a line of a track file that is not used, since it holds another that is the way",
    "X15": "a GeoJSON file that names its system of coordinates; it is read as WGS-84",
    "X16": "a GeoJSON file in a system of coordinates that is not read",
    "O10": "an override without its reason",
    "O11": "two overrides of the same row",
    "O12": "an override names something that the tables do not have",
    "O13": "an override in the form of an earlier version of its table",
    "O14": "an override by which something has to be open before itself",
}
CODES: dict[str, str] = FILE_CODES | CROSS_CODES | {
    letter + kind: f"{FILE_LETTERS[letter]}: {meaning}"
    for kind, (letters, meaning) in CELL_KINDS.items()
    for letter in letters
}  # fmt: skip
COMMAND_CODES: dict[str, str] = {
    "A01": "a day on the command line that cannot be read",
    "A02": "an item or table that is not there",
    "A03": "no such demo",
    "A04": "a demo would overwrite something",
    "A05": "a what-if that changes nothing there is",
    "A06": "a job on the command line that is not complete",
    "A07": "a leg of a what-if that is not written as NUMBER column=value",
    "A08": "no folder for the outputs is named",
    "A09": "a word that the command does not know, or one that is missing",
    "A11": "no such way of cutting a track into legs",
    "A12": "a number of km a day out of range",
    "A13": "a track without the times or waypoints that the cutting needs",
    "A14": "another track of that name is in the folder",
    "A15": "no positions to export",
    "A16": "a row to strike out that is not there, or that is struck out already",
    "A17": "a row struck out without a word why",
    "A18": "words on the command line that do not go together",
    "A21": "a form of the page that cannot be read",
    "A22": "a port that cannot be used",
    "A23": "a folder that the page cannot serve",
    "A24": "a package that the page needs is not installed",
    "A25": "a rig.toml that cannot be read, so that the page cannot change it without loss",
    "A26": "a figure of the folder that a model of the plan does not hold for",
    "A41": "a slot said to be done that no plan of this trip has",
    "A42": "something excepted that is in none of those slots",
    "A51": "an answer that a new folder needs and that was not given",
    "A52": "an answer for a new folder that cannot be used",
    "A53": "the same work recorded twice, with nothing to tell them apart",
    "K01": "a calendar file that cannot be read back",
    "K02": "a calendar file that somebody else wrote; it is not overwritten",
    "K03": "a folder for the outputs that cannot be read or written",
    "K04": "a spreadsheet with formulas, which a new row would spoil",
    "K05": "a folder or logbook that another program is writing to; nothing was written",
    "P01": "a plan.json that cannot be read",
    "P02": "a plan.json of another form",
    "P03": "a plan that breaks a rule of placement",
}
GREASE_CODES: dict[str, str] = {
    **{f"G{kind}": f"lubricants.csv, shelf.csv or grease_gun.toml: {CELL_KINDS[kind][1]}"
       for kind in ("01", "02", "03", "04", "05", "06", "07", "09")},
    "G10": "a thing on the shelf that no job uses; it is not counted",
    "G11": "a thing on the shelf in another unit than it is used in; it is not counted",
    "G12": "two of the owner's lubricants answer to the same name",
    "G13": "a lubricant that nobody knows",
    "G14": "an item that takes neither grease nor oil",
    "G15": "a shaft thicker than the bore it runs in",
    "G16": "a space that no axle has",
    "G17": "a weighing that is not written as strokes=grams",
    "G18": "a weighing in which nothing came out, or of too few strokes",
    "G19": "a gun that gives more or less than any hand gun does",
    "G20": "the unit has no such item",
}  # fmt: skip
IMPORT_CODES: dict[str, str] = {
    "I01": "a mapping file that cannot be used",
    "I02": "columns that nobody has confirmed",
    "I03": "a table without a column of dates",
    "I04": "a folder that cannot be written",
}
LOGBOOK_CODES: dict[str, str] = {
    "J01": "a logbook that is damaged",
    "J02": "a logbook written by a newer edition of this program",
    "J03": "a logbook that cannot be written: the disk is full, or writing is not permitted",
    "J04": "a logbook that another program holds",
    "J05": "a file that is not a logbook",
    "J06": "no logbook of that name",
    "J07": "a correction of an entry that is not there, or that was corrected already",
    "J08": "a folder that cannot be taken into a logbook",
    "J09": "a folder written out before the logbook was last changed, and changed since itself",
    "J10": "a logbook that is damaged in part; the rest is read",
}
PHONE_CODES: dict[str, str] = {
    "Y01": "a text that is not that of records made on the phone, or of another form",
    "Y02": "records of the phone cut short or changed on the way; what is whole is read",
    "Y03": "records of the phone that are of another trip",
    "Y04": "a record of the phone that is damaged, or of no known kind; it is not taken in",
    "Y05": "a record of the phone that the folder was told by another hand; it is not taken in",
    "Y06": "a record of the phone that the folder refuses; it is not taken in",
    "Y07": "a crossing undone on the phone that is in the folder already; it stays",
}
FLEET_CODES: dict[str, str] = {
    "Y11": "a rig whose planning failed for a reason that is not in its folder",
    "Y12": "a package that a cluster needs is not installed",
    "Y13": "a scheduler that cannot be reached, or that has no workers",
    "Y14": "a worker with another program, other tables or other packages",
    "Y15": "a number of workers, bays, people, minutes or draws out of range",
    "Y16": "no trip folder to plan",
}
ALL_CODES = CODES | COMMAND_CODES | GREASE_CODES | IMPORT_CODES | LOGBOOK_CODES | PHONE_CODES | FLEET_CODES
ONLY_WORTH_A_LOOK = frozenset(
    ("Y02", "Y04", "Y05", "Y06", "Y07", "X06", "X07", "X08", "X09", "X10", "X11", "X12", "X13", "X14", "X15",
     "F05", "F16", "F17", "F18", "R14", "R15", "R16", "R17", "R20", "R21", "C19", "H13", "H18", "H19", "H21", "H23", "H24", "L15", "L18", "L20", "W10",
     "W11", "G10", "G11", "T11", "B01", "B04", "B10", "B11", "B13", "B14", "B15", "B16")
)  # fmt: skip

MAY_BE_SO = frozenset(("H24",))
"""What is asked about a row that may well be true: it is put in all the same."""


def problem(
    code: str, origin: Origin, column: str | None, found: str, accepted: str, hint: str = "",
    weight: str | None = None,
) -> Problem:  # fmt: skip
    """A Problem at that origin, with the weight that its code has unless another is given."""
    usual = LOOK if code in ONLY_WORTH_A_LOOK else STOPS
    return Problem(
        code=code, weight=weight or usual, file=origin.file, row=origin.row, column=column,
        found=found, accepted=accepted, hint=hint,
    )  # fmt: skip


def nearest(found: str, words: Iterable[str], most: int = 1000) -> str:
    """The words as `a, b or c`, those most like `found` first, at most so many."""
    rank = {word: -SequenceMatcher(None, word, found.strip().lower()).ratio() for word in words}
    listed = sorted(rank, key=lambda word: (rank[word], word))[:most]
    return f"{', '.join(listed[:-1])} or {listed[-1]}" if len(listed) > 1 else "".join(listed)


def figure(value: float) -> str:
    """A number as a person writes it: no exponent, no needless decimals."""
    return f"{value:.3f}".rstrip("0").rstrip(".")
