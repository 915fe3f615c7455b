"""Run a loomleaf command over and over in a process of its own, and kill it after so many seconds as each line of input says.

First says how long the command takes when nobody kills it. Everything is imported before, so that the moments fall into the
work and not into the start of Python.
"""

from __future__ import annotations

import os
import signal
import sys
import time

import weasyprint  # noqa: F401

from loomleaf.cli import main
from loomleaf.sheets import registry  # noqa: F401


def start() -> int:
    """Fork a process that runs the command, silently."""
    pid = os.fork()
    if pid == 0:
        nowhere = os.open(os.devnull, os.O_RDWR)
        for stream in (0, 1, 2):
            os.dup2(nowhere, stream)
        os._exit(main(sys.argv[1:]))
    return pid


def ended(pid: int, seconds: float) -> bool:
    """Wait so long at most; True when the process has ended by itself."""
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        if os.waitpid(pid, os.WNOHANG)[0]:
            return True
        time.sleep(0.002)
    return False


def run() -> None:
    begun = time.monotonic()
    assert ended(start(), 120)
    print(time.monotonic() - begun, flush=True)
    for line in sys.stdin:
        process = start()
        if ended(process, float(line)):
            print("ended", flush=True)
        else:
            os.kill(process, signal.SIGKILL)
            os.waitpid(process, 0)
            print("killed", flush=True)


if __name__ == "__main__":
    run()
