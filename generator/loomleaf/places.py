"""Where the program's own content and templates lie: beside ``generator/`` in a checkout, in the package in a wheel."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def _folder(inside: str, beside: str) -> Path:
    packed = _PACKAGE / inside
    if packed.is_dir():
        return packed
    checkout = _PACKAGE.parent.parent / beside
    if checkout.is_dir():
        return checkout
    raise FileNotFoundError(f"neither {packed} nor {checkout} is a folder; the program is not fully installed")


def content_folder() -> Path:
    """The shipped content: reference tables, handbook, demo shop."""
    return _folder("_content", "content")


def templates_folder() -> Path:
    """The shipped templates, style sheets and fonts."""
    return _folder("_templates", "templates")
