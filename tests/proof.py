"""Tools that some proofs need beside Python: passed over with a word on a workbench, a failure in continuous integration."""

from __future__ import annotations

import os
import shutil
from typing import NoReturn

import pytest


def absent(what: str) -> NoReturn:
    """Says what is missing. Where CI is set, nothing may be passed over: there it fails.

    CI is the variable that the common services for continuous integration set (common practice, no source).
    """
    said = f"{what} is not installed here; `sh generator/setup.sh test` installs it where there is apt-get"
    if os.environ.get("CI"):
        pytest.fail(said, pytrace=False)
    pytest.skip(said)


def need(what: str, *programs: str) -> str:
    """The path of the first of these programs that is installed."""
    for program in programs:
        path = shutil.which(program)
        if path:
            return path
    absent(what)
