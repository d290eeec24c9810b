"""`tasks.csv` and `shopping.csv`: the work and the needs as tables for a spreadsheet.

A text cell that a spreadsheet would run as a formula gets a single quote in front.
"""

import csv
import io
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from tripplan.records.cell_values import FORMULA_MARKS
from tripplan.records.plan import Plan
from tripplan.sheets import words
from tripplan.sheets.materials import full
from tripplan.sheets.worksheet import work_order

TASK_COLUMNS = (
    "slot", "date", "place", "order", "unit", "item", "position", "act", "minutes", "opened",
    "materials", "why", "if_left_out", "job",
)  # fmt: skip
SHOPPING_COLUMNS = (
    "when", "what", "quantity", "unit", "jobs", "order_by", "packs", "pack", "pack_holds", "cost", "send_to",
)  # fmt: skip


def tasks_csv(plan: Plan) -> str:
    """One row a job, in working order; `order` counts from 1 in each slot, `job` is the job as every other sheet calls it."""
    return csv_text(TASK_COLUMNS, _task_rows(plan))


def shopping_csv(plan: Plan) -> str:
    """One row a need: to buy, then to carry, in the plan's order."""
    rows = [
        {
            "when": need.when,
            "what": need.name,
            "quantity": f"{need.quantity:g}",
            "unit": need.unit_of_measure,
            "jobs": "; ".join(map(words.use_text, need.uses)),
            "order_by": "" if need.order_by is None else need.order_by.isoformat(),
            "packs": "" if need.containers is None else need.containers,
            "pack": "" if need.containers is None else need.pack,
            "pack_holds": "" if need.container_size is None else f"{need.container_size:g}",
            "cost": "" if need.cost is None else f"{need.cost:g}",
            "send_to": need.send_to,
        }
        for need in (*plan.shopping, *plan.carry)
    ]
    return csv_text(SHOPPING_COLUMNS, rows)


def neutral(cell: Any) -> Any:
    """The cell as a spreadsheet shows it without running it."""
    if not isinstance(cell, str):
        return cell
    kept = words.printable(cell.replace("\r", " "))
    risky = cell.startswith(FORMULA_MARKS) or kept.lstrip().startswith(FORMULA_MARKS)
    return f"'{kept}" if risky else kept


def _task_rows(plan: Plan) -> Iterator[dict[str, Any]]:
    for slot in plan.slots:
        jobs = [(group, job) for group in work_order.groups(slot) for job in group.jobs]
        for number, (group, job) in enumerate(jobs, 1):
            yield {
                "slot": slot.id,
                "date": slot.date.isoformat(),
                "place": slot.place,
                "order": number,
                "unit": job.unit,
                "item": job.name,
                "position": job.position or "",
                "act": job.act,
                "minutes": f"{job.minutes:g}",
                "opened": "; ".join(step.words for step in group.opened_for(job)),
                "materials": "; ".join(map(full, job.materials)),
                "why": job.why,
                "if_left_out": job.skip.text if job.skip else "",
                "job": words.doing(job.said_act, job.name, job.position),
            }


def csv_text(columns: Sequence[str], rows: Iterable[Mapping[str, Any]]) -> str:
    """Rows as a table for a spreadsheet, with these columns."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows([neutral(row[name]) for name in columns] for row in rows)
    return text.getvalue()
