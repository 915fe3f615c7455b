"""Loomleaf: job sheets and an apprentice handbook for workshops that fit car radios and sound systems."""

__version__ = "0.1.0"
