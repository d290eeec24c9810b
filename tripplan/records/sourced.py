"""A table row that says where it comes from, and how such a row's cells are read."""

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from tripplan.records.facts_in import Origin, Record

Basis = Literal["published", "derived", "common practice", "judgement"]


def words(value: object) -> object:
    """A `;`-separated cell as a tuple of trimmed words; empty = ()."""
    if value is None:
        return ()
    if isinstance(value, str):
        return tuple(part.strip() for part in value.split(";") if part.strip())
    return value


Words = Annotated[tuple[str, ...], BeforeValidator(words)]


class Sourced(Record):
    """A row that says where it comes from. A row without basis is refused."""

    basis: Basis
    source: str = Field(min_length=1, description="a source id of sources.csv, or: none")
    locator: str | None = None
    origin: Origin


class Source(Record):
    """A document: title, author, year, and whether it was read or recalled."""

    id: str
    title: str
    author: str = ""
    year: str = ""
    number: str = ""
    how_seen: Literal["read", "read in part", "read secondary", "memory", "none"]
    note: str = ""
    origin: Origin
