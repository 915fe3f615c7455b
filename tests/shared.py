"""Work that the processes of one test run share: whoever needs it first does it, the others read it back from the disk."""

from __future__ import annotations

import os
import pickle
import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

T = TypeVar("T")


def place() -> Path | None:
    """The folder of this run; None when there is one process, which has nobody to share with."""
    run = os.environ.get("PYTEST_XDIST_TESTRUNUID", "")
    if not run:
        return None
    folder = Path(tempfile.gettempdir()) / f"loomleaf-tests-{run}"
    folder.mkdir(mode=0o700, exist_ok=True)
    return folder


def shared(name: str, make: Callable[[], T]) -> T:
    """What ``make`` gives. Two processes that begin at once both do it, and both get the same."""
    folder = place()
    if folder is None:
        return make()
    path = folder / name
    if not path.exists():
        made = make()
        beside = folder / f".{name}.{os.getpid()}"
        beside.write_bytes(pickle.dumps(made))
        beside.replace(path)  # whole or not at all
        return made
    found: T = pickle.loads(path.read_bytes())
    return found


def forget(run: str) -> None:
    """Nothing of a run that is over stays on the disk."""
    shutil.rmtree(Path(tempfile.gettempdir()) / f"loomleaf-tests-{run}", ignore_errors=True)
