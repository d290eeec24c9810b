"""What `tripplan numbers` prints: the tables, their rows, and the standing of each number."""

from collections import Counter
from collections.abc import Sequence

from tripplan.records.catalogue import SHARED_PLACE, Catalogue, Item, Multiplier, Sourced
from tripplan.records.problem_codes import ALL_CODES

TABLES = (
    "items", "multipliers", "grades", "teardown", "acts", "consumables", "spares", "water_rules", "services",
    "thickener_pairs", "lubricants", "cavities", "assumptions",
)  # fmt: skip
BASES = ("published", "derived", "common practice", "judgement")
STANDING, PROBLEMS = "standing", "problems"
SKIPPED = ("origin", "cautions", "early_signs", "words", "look_for", "if_clean", "if_found")


def numbers_rows(catalogue: Catalogue, what: str) -> list[dict[str, object]] | None:
    """Rows behind a table or an item, or one summary row a table; None for an unknown word."""
    if not what:
        return [_summary(name, getattr(catalogue, name)) for name in TABLES]
    if what == STANDING:
        return standing_rows(catalogue)
    if what == PROBLEMS:
        return [{"code": code, "meaning": meaning} for code, meaning in sorted(ALL_CODES.items())]
    name = what.removesuffix(".csv")
    if name in TABLES:
        return [_row(row) for row in getattr(catalogue, name)]
    if name == "sources":
        return [row.model_dump(exclude={"origin"}) for row in catalogue.sources]
    items = [item for item in catalogue.items if item.id == what]
    return [_row(row) for row in _behind(items[0], catalogue)] if items else None


def numbers_text(catalogue: Catalogue, what: str) -> str:
    """The same as text for a terminal."""
    rows = numbers_rows(catalogue, what) or []
    if what == STANDING:
        return _standing_text(rows)
    if what == PROBLEMS:
        return "\n".join(f"{row['code']}  {row['meaning']}" for row in rows)
    if what:
        return "\n\n".join(_paragraph(row) for row in rows)
    lines = [f"Tables, edition {catalogue.edition}", "", _line("table", ["rows", *BASES, "judged"])]
    for row in rows:
        share = f"{100 * int(str(row['judgement'])) / max(1, int(str(row['rows']))):.0f}%"
        lines.append(_line(str(row["table"]), [row["rows"], *(row[basis] for basis in BASES), share]))
    lines += ["", "`tripplan numbers standing` says for each item what its multipliers rest on.",
              "`tripplan numbers TABLE` or `tripplan numbers ITEM` shows the rows with their sources.",
              "`tripplan numbers problems` lists every problem code with its meaning.",
              "To change a number for your rig, copy its row to overrides/ in the trip folder.", "", _together(rows)]  # fmt: skip
    return "\n".join(lines)


def standing_rows(catalogue: Catalogue) -> list[dict[str, object]]:
    """For each item, how many of the multipliers that can bear on it have which basis."""
    found: list[dict[str, object]] = []
    for item in catalogue.items:
        rows = [row for row in _behind(item, catalogue) if isinstance(row, Multiplier)]
        counts = Counter(row.basis for row in rows)
        by_basis = {basis: counts[basis] for basis in BASES}  # type: ignore[index]
        found.append({"item": item.id, "interval": item.basis, "multipliers": len(rows)} | by_basis)
    return found


def _standing_text(rows: Sequence[dict[str, object]]) -> str:
    """One line an item, and the shares of all multipliers together."""
    lines = [f"{'item':<30}{'interval':<17}{'multipliers':>11}" + "".join(f"{basis:>17}" for basis in BASES)]
    lines += [
        f"{row['item']!s:<30}{row['interval']!s:<17}{row['multipliers']!s:>11}"
        + "".join(f"{row[basis]!s:>17}" for basis in BASES)
        for row in rows
    ]
    total = {basis: sum(int(str(row[basis])) for row in rows) for basis in BASES}
    whole = sum(total.values()) or 1
    shares = ", ".join(f"{basis} {100 * number / whole:.0f}%" for basis, number in total.items())
    return "\n".join([*lines, "", f"All items together, multipliers by basis: {shares}."])


def _together(rows: Sequence[dict[str, object]]) -> str:
    """How many rows of all tables have which basis."""
    counted = {basis: sum(int(str(row[basis])) for row in rows) for basis in BASES}
    by_basis = ", ".join(f"{basis} {number}" for basis, number in counted.items())
    return f"All tables together, {sum(counted.values())} rows by basis: {by_basis}."


def _summary(name: str, rows: Sequence[Sourced]) -> dict[str, object]:
    counts = Counter(row.basis for row in rows)
    return {"table": name, "rows": len(rows)} | {basis: counts[basis] for basis in BASES}  # type: ignore[index]


def _behind(item: Item, catalogue: Catalogue) -> list[Sourced]:
    """The item's own row and every row that can bear on it."""
    found: list[Sourced] = [item]
    for grade in catalogue.grades:
        level = getattr(item, grade.sensitivity)
        found += [
            row
            for row in catalogue.multipliers
            if (row.condition, row.grade, row.sensitivity) == (grade.condition, grade.grade, level)
        ]
    own = [row for row in catalogue.teardown if row.place == item.place]
    shared = {item.state, *(row.parent for row in own)} - {row.state for row in own}
    found += [*own, *(row for row in catalogue.teardown if row.place == SHARED_PLACE and row.state in shared)]
    found += [row for row in catalogue.water_rules if row.item == item.id]
    return found


def _row(row: Sourced) -> dict[str, object]:
    facts = {k: v for k, v in row if k not in SKIPPED and v not in (None, (), "")}
    return {"from": str(row.origin)} | facts


def _paragraph(row: dict[str, object]) -> str:
    head = str(row["from"]) if "from" in row else str(row.get("id", ""))
    facts = [f"{k}={cell(v)}" for k, v in row.items() if k not in ("from", "basis", "source", "locator")]
    tail = [f"{k} {row[k]}" for k in ("basis", "source", "locator") if k in row]
    return f"{head}\n    {' '.join(facts)}\n    {'; '.join(tail)}".rstrip()


def cell(value: object) -> str:
    """A value of a table row as it stands in its cell."""
    if isinstance(value, tuple):
        return ";".join(map(str, value))
    return f"{value:g}" if isinstance(value, float) else str(value)


def _line(head: str, cells: Sequence[object]) -> str:
    return f"{head:<14}" + "".join(f"{cell!s:>17}" if i else f"{cell!s:>9}" for i, cell in enumerate(cells))
