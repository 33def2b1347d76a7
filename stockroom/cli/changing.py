"""One change of a piece as it is typed at the shell, made into the change that a job understands."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import cast

from stockroom.cli.asked import WrongCall
from stockroom.domain.kitbook import HoleAs
from stockroom.domain.order import Change, ChangeWhat
from stockroom.domain.quantities import need_mm
from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import quoted

_WRITTEN = {
    "leave-out": ("PIECE", r"(?P<piece>[^:=]+)"),
    "add": ("PIECE", r"(?P<piece>[^:=]+)"),
    "hole": ("PIECE:PANEL:HOLE=MADE", r"(?P<piece>[^:=]+):(?P<panel>[^:=]*):(?P<part>[^:=]+)=(?P<to>cut|marked|solid)"),
    "overlong": ("PIECE:PANEL:EDGE=MM", r"(?P<piece>[^:=]+):(?P<panel>[^:=]*):(?P<part>[^:=]+)=(?P<to>.+)"),
    "cloth": ("PIECE=CLOTH", r"(?P<piece>[^:=]+)(:(?P<panel>[^:=]+))?=(?P<to>.+)"),
    "colour": ("PIECE=COLOUR", r"(?P<piece>[^:=]+)(:(?P<panel>[^:=]+))?=(?P<to>.+)"),
}
"""What is asked → how it is written, for people and for matching."""


def asked_change(asked: Mapping[str, str], because: str, by: str, proved: bool) -> Change | None:
    """The one change among `asked` that is not empty; `None` where there is none.

    Raises WrongCall for two, or for one that is not written as it should be; Refusal for one without a reason.
    """
    given = [(what, text) for what, text in asked.items() if text]
    if not given:
        return None
    if len(given) > 1:
        raise WrongCall(f"One change at a time: --{given[0][0]} or --{given[1][0]}.")
    if not because.strip():
        raise Refusal('A change for one car needs a reason: --because "…". It stands on the paper.')
    (what, text) = given[0]
    written, pattern = _WRITTEN[what]
    found = re.fullmatch(pattern, text)
    if found is None:
        raise WrongCall(f"--{what} is written {written}; '{text}' is not.")
    parts = {name: value or "" for name, value in found.groupdict().items()}
    to = parts.get("to", "")
    return Change(
        what=cast("ChangeWhat", what),
        piece=parts["piece"],
        because=because,
        by=by,
        panel=parts.get("panel", ""),
        part=parts.get("part", ""),
        to=to if what in ("cloth", "colour") else "",
        mm=_allowance_mm(to) if what == "overlong" else 0,
        made=cast("HoleAs", to) if what == "hole" else None,
        proved=proved,
    )


def _allowance_mm(text: str) -> int:
    """An edge that is left over-long, held to what a file may say."""
    from stockroom.files.border import LARGEST_MM

    length_mm = need_mm(text)
    if length_mm > LARGEST_MM:
        raise Refusal(f"{quoted(text)} is too much to leave an edge over-long by. {LARGEST_MM} mm are the most.")
    return length_mm
