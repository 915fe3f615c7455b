"""Apprentices and what they have shown they can do."""

from __future__ import annotations

from typing import Annotated, Literal

from .base import Content, Day, Id, Several, Text


class Shown(Content):
    """One skill shown once: at which level, to whom, when. ``redo_by`` None: no date set."""

    skill: Id
    level: Literal["watched", "helped", "did-supervised", "did-alone", "can-teach"]
    on: Day
    signed_by: Text
    job: Text = ""
    redo_by: Day | None = None
    result: Text = ""


class Apprentice(Content):
    apprentice: Id
    name: Text
    started: Day
    year: Text = ""
    mentor: Text = ""
    shown: Annotated[tuple[Shown, ...], Several] = ()
    note: Text = ""
