"""A program that writes one tree or another over and over, to be killed at any moment.

    python writer.py OUT AREA FILES BYTES TIMES MARK...

Each round writes the next MARK as the content of every file, so that a mixed tree shows.
"""

from __future__ import annotations

import sys
from pathlib import Path

from loomleaf.output import write_tree


def tree(mark: str, files: int, size: int) -> dict[str, bytes]:
    """``files`` files in two levels of folders, each filled with the mark."""
    return {f"part{n % 5}/file{n}.txt": (mark.encode() * size)[:size] for n in range(files)}


def main() -> int:
    out, area, files, size, times = Path(sys.argv[1]), sys.argv[2], *(int(word) for word in sys.argv[3:6])
    marks = sys.argv[6:]
    print("ready", flush=True)
    for count in range(times):
        problems = write_tree(out, tree(marks[count % len(marks)], files, size), area=area)
        for problem in problems:
            print(problem.line(), flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
