"""Run a loomleaf command inside a fence: ``python fenced.py FOLDER WORD ...``.

Any use of the network raises, and so does opening a file for writing, making, moving or removing one outside FOLDER. It
stands on Python's audit events (PEP 578), which no Python code can go round.
"""

from __future__ import annotations

import os
import sys

FENCE = os.path.realpath(sys.argv[1] if len(sys.argv) > 1 else ".")
NET = ("socket.connect", "socket.bind", "socket.getaddrinfo", "socket.gethostbyname", "socket.sendto", "urllib.Request")
CHANGES = ("os.mkdir", "os.rename", "os.remove", "os.rmdir", "os.symlink", "os.link", "os.truncate", "os.chmod", "shutil.move")
RUNS = ("subprocess.Popen", "os.system", "os.exec", "os.posix_spawn", "os.startfile")


class Fenced(BaseException):
    """Nothing may catch it."""


def inside(path: object) -> bool:
    if isinstance(path, int) or path is None:
        return True
    text = os.path.realpath(os.fsdecode(path))  # type: ignore[arg-type]
    return text == os.devnull or text == FENCE or text.startswith(FENCE + os.sep)


def watch(event: str, words: tuple[object, ...]) -> None:
    if event == "urllib.Request" and str(words[0]).startswith("file:///"):
        return
    if event in NET or event in RUNS:
        raise Fenced(f"{event} {words}")
    if event == "open":
        path, mode, flags = words
        wants = isinstance(flags, int) and flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND)
        if (wants or (isinstance(mode, str) and set(mode) & set("wax+"))) and not inside(path):
            raise Fenced(f"open {words}")
    elif event in CHANGES:
        for path in words[:2]:
            target = event == "os.symlink" and path is words[0]
            if isinstance(path, (str, bytes, os.PathLike)) and not inside(path) and not target:
                raise Fenced(f"{event} {words}")


if __name__ == "__main__":
    from loomleaf.cli import main

    sys.dont_write_bytecode = True
    sys.addaudithook(watch)
    if sys.argv[2] == "--try":  # the fence itself is tried
        exec(sys.argv[3])
        sys.exit(0)
    sys.exit(main(sys.argv[2:]))
