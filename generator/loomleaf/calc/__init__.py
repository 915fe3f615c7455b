"""The engineering: pure functions from typed arguments and tables to figures. Nothing here reads a job or prints.

One module a topic. Each topic function returns ``(figures, problems)``: figures by name, in the order they are
worked out, and what was wrong with the input. A figure whose inputs were not given is left out; a figure that has
no answer has the value None. Tables come in as ``tables.Tables``; without one the shipped tables are used.
"""
