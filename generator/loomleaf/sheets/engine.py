"""Loading the layout engine without running other programs.

WeasyPrint asks for each system library under several names. For a name that is no file's, Python's ``find_library`` runs
ldconfig, the C compiler and the linker to look for it, three times over for some: a third of a second at each start. The
names by which Linux knows the files are in the same lists, so on Linux nothing has to be looked for.
"""

from __future__ import annotations

import ctypes.util
import sys


def load_engine() -> None:
    """Import WeasyPrint; where its libraries are not found by their own names, let it look for them."""
    if "weasyprint" in sys.modules:
        return
    real = ctypes.util.find_library
    if sys.platform.startswith("linux"):
        ctypes.util.find_library = lambda name: None
    try:
        import weasyprint
    except OSError:
        for name in [name for name in sys.modules if name.partition(".")[0] == "weasyprint"]:
            del sys.modules[name]
        ctypes.util.find_library = real
        import weasyprint  # noqa: F401
    finally:
        ctypes.util.find_library = real
