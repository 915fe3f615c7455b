"""The files that every page uses: fonts, style sheets, scripts. They are copied as they are."""

from __future__ import annotations

from ..places import templates_folder

STYLES = ("css/book-colours.css", "css/book.css")
FONTS = (
    "fonts/B612-Regular.otf",
    "fonts/B612-Bold.otf",
    "fonts/B612Mono-Regular.otf",
    "fonts/B612Mono-Bold.otf",
    "fonts/OFL.txt",
)
SCRIPTS = ("js/book.js", "js/search.js", "js/minisearch.js", "js/minisearch-LICENSE.txt")


def asset_files() -> dict[str, bytes]:
    """Path in the site to bytes."""
    folder = templates_folder()
    return {f"assets/{name.rpartition('/')[2]}": (folder / name).read_bytes() for name in STYLES + FONTS + SCRIPTS}
