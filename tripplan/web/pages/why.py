"""The reasons of one item, as the command `why` gives them, with the titles of their sources."""

from dataclasses import dataclass

from tripplan.files.folder import Inputs
from tripplan.records.catalogue import Catalogue, Item, Source
from tripplan.records.facts_in import Origin
from tripplan.records.plan import Plan, PlanItem
from tripplan.sheets.why_text import rows_behind, sources_behind


@dataclass(frozen=True, slots=True, kw_only=True)
class Why:
    """The item's positions in the plan, the rows behind them quoted, and their sources."""

    entries: tuple[PlanItem, ...]
    rows: tuple[str, ...]
    sources: tuple[Source, ...]


def why_of(plan: Plan, item: Item, inputs: Inputs, catalogue: Catalogue) -> Why:
    """Everything the page tells about why."""
    entries = tuple(entry for entry in plan.items if entry.item == item.id)
    origins = [origin for entry in entries for origin in _origins(entry)]
    rows = tuple(row.strip() for row in rows_behind(origins, inputs, catalogue))
    named = {item.source} | sources_behind(origins, catalogue)
    return Why(entries=entries, rows=rows, sources=tuple(source for source in catalogue.sources if source.id in named))


def _origins(entry: PlanItem) -> list[Origin]:
    found = [origin for reason in entry.reasons for origin in reason.origins]
    return found + [part.origin for wear in entry.wear for part in (*wear.parts, *wear.water)]
