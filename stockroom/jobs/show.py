"""Anything that has a tag: what it is, where it lies, what it is promised to."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Shown:
    """What a tag names."""

    tag: str
    kind: str
    """'roll', 'bin', 'piece', 'order', 'car', 'place' or 'customer's part'."""
    title: str
    facts: tuple[tuple[str, str], ...]
    """Label and value, in reading order."""
    promises: tuple[str, ...] = ()
    """What is reserved from it, and for whom."""
    movements: tuple[str, ...] = ()
    """Its latest movements, newest first."""
    order: str = ""
    """Number of the order it belongs to, if it belongs to one (a scan of it opens that ticket)."""
