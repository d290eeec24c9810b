"""Templates in which every word that is put in is escaped: of the sheet, the cards, the phone's file and the page."""

from jinja2 import Environment, PackageLoader, StrictUndefined

from tripplan.sheets import words


def templates(package: str, folder: str) -> Environment:
    """The templates in a folder of a package; a name that nobody gave is an error, never an empty word."""
    made = Environment(
        loader=PackageLoader(package, folder), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True,
    )  # fmt: skip
    made.filters["clean"] = words.printable
    return made
