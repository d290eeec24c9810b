"""What an import made of each row: a record, a question or a stated skip, and the sum of them."""

from collections.abc import Iterator, Mapping

from msgspec import Struct

from tripplan.files.importing.columns import Laid
from tripplan.files.logbook.text import table_text
from tripplan.records.facts_in import HistoryRow

QUESTION_COLUMNS = (
    "from row", "date", "unit", "odometer_km", "odometer_mi", "odometer_km_or_mi", "item", "position", "act", "finding",
    "lubricant", "work",
    "note", "old_odometer_km", "asked", "may mean",
)  # fmt: skip
NAMED_OUTSIDE = {"odometer": "odometer_km_or_mi"}
QUESTIONS_FILE = "import_questions.csv"


class Question(Struct, frozen=True, kw_only=True):
    """Something only the owner can say. A whole question keeps its row out of the history."""

    sheet: str
    row: int
    found: str
    asked: str
    may_mean: tuple[str, ...] = ()
    is_whole: bool = True
    texts: Mapping[str, str]


class Skip(Struct, frozen=True, kw_only=True):
    """A row that is no record, and why."""

    sheet: str
    row: int
    why: str


class ImportReport(Struct, frozen=True, kw_only=True):
    """An import as a whole. `rows_recorded` counts rows of the table, of which one may give several records."""

    file: str
    rows_in: int
    rows_recorded: int
    records: tuple[HistoryRow, ...]
    questions: tuple[Question, ...]
    skips: tuple[Skip, ...]
    sheets: tuple[Laid, ...]
    estimates: int

    @property
    def rows_asked(self) -> int:
        """Rows of the table that wait for an answer."""
        return len({(one.sheet, one.row) for one in self.questions if one.is_whole})

    @property
    def adds_up(self) -> bool:
        """True when every row is accounted for once."""
        return self.rows_in == self.rows_recorded + self.rows_asked + len(self.skips)


def questions_csv(report: ImportReport) -> str:
    """The questions as a table: fill in item and act (and what else is asked) and import that table."""
    return table_text(QUESTION_COLUMNS, _question_rows(report))


def _question_rows(report: ImportReport) -> Iterator[dict[str, str]]:
    for one in report.questions:
        named = {NAMED_OUTSIDE.get(name, name): text for name, text in one.texts.items()}
        texts = {name: text for name, text in named.items() if name in QUESTION_COLUMNS}
        work = texts.get("work", "") if one.is_whole else one.found
        said = {"from row": f"{one.row}", "asked": one.asked, "may mean": " or ".join(one.may_mean)}
        yield {**texts, "work": work, **said}
