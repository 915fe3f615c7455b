"""A job's lists as spreadsheets, beside its PDFs."""

from __future__ import annotations

from collections.abc import Sequence

from ..plan.picking import CUT_HEADER, PICK_HEADER, Pick, cut_rows, pick_rows
from ..plan.types import Plan
from .tables import csv_bytes


def job_tables(plan: Plan) -> dict[str, bytes]:
    """The picking list of the whole job and the cut list of one vehicle, by file name."""
    work = plan.workshop
    if work is None:
        return {}
    number, vehicles = plan.job.job, len(plan.job.registrations)
    return {
        f"{number}-picking.csv": csv_bytes(PICK_HEADER, pick_rows(work.picks)),
        f"{number}-cut-list.csv": csv_bytes(CUT_HEADER, cut_rows(work.cuts, vehicles)),
    }


def order_table(picks: Sequence[Pick]) -> bytes:
    """What to order for all open jobs."""
    return csv_bytes(PICK_HEADER, pick_rows(picks))
