"""The one place that writes: whole trees or single files, in full or not at all. See ``write``."""

from .tables import csv_bytes
from .write import write_file, write_new_folder, write_tree

__all__ = ["csv_bytes", "write_file", "write_new_folder", "write_tree"]
