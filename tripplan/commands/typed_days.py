"""Days as people type them on the command line: the one that is meant, or a question, never a guess."""

from tripplan.records.cell_values import day_readings


def only_day(text: str) -> str:
    """The day in the form of the files where only one can be meant; else the text as it is, to be refused."""
    found = day_readings(text)
    return str(found[0]) if len(found) == 1 else text.strip()
