"""Reading filled sheets back: a PDF's form fields to readings files. Nothing is written here."""

from .pdf import MAX_BYTES, FilledSheet, read_sheet, read_sheets
from .readings_file import Collected, blank_of, collected_from, readings_text, same_already
from .run import Gathered, blanks, collect
from .told import Told, refused, tell

__all__ = [
    "MAX_BYTES",
    "Collected",
    "FilledSheet",
    "Gathered",
    "Told",
    "blank_of",
    "blanks",
    "collect",
    "collected_from",
    "read_sheet",
    "read_sheets",
    "readings_text",
    "refused",
    "same_already",
    "tell",
]
