"""What changed in the work between two issues of a job: circuits, joints, checks, figures and price, not the wording."""

from .facts import NOT_WORK, Change, Side, changes
from .rows import changed_rows
from .sides import changed_since, earlier_issue, sides
from .words import compare_json, compare_lines
from .work import merged, work_data

__all__ = [
    "NOT_WORK",
    "Change",
    "Side",
    "changed_rows",
    "changed_since",
    "changes",
    "compare_json",
    "compare_lines",
    "earlier_issue",
    "merged",
    "sides",
    "work_data",
]
