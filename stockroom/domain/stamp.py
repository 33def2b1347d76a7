"""Who did it and when: it stands on every movement, order change and purchase."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from stockroom.domain.refusal import Refusal
from stockroom.domain.tags import is_misread
from stockroom.domain.wording import quoted


@dataclass(frozen=True, slots=True)
class Stamp:
    """Initials and an instant. Only the front ends read the clock; everything below is given one of these."""

    by: str
    """Initials, 1 to 8 characters, in capitals: `hm` and `HM` are one person, wherever they are given."""
    at: datetime
    """An aware moment."""

    def __post_init__(self) -> None:
        if self.at.utcoffset() is None:
            raise ValueError("a stamp's moment must say its zone")
        object.__setattr__(self, "by", in_capitals(self.by))
        if not (1 <= len(self.by) <= 8) or not self.by.isprintable() or self.by.strip() != self.by:
            raise Refusal(f"Initials are 1 to 8 printable characters with no blanks around them; {self.by!r} is not.")


def in_capitals(text: str) -> str:
    """Initials as they stand on paper: typed in small letters, they are the same person's as in capitals.

    >>> in_capitals("hm"), in_capitals("McK"), in_capitals("ß")
    ('HM', 'MCK', 'ß')
    """
    # Letter by letter: one that is two letters in capitals stays, since eight must still be eight.
    return "".join(one.upper() if len(one.upper()) == 1 else one for one in text)


def given_at(text: str, at: datetime) -> Stamp:
    """The stamp of whoever gives initials where tags are scanned too: a tag that was misread is nobody's initials.

    Raises `Refusal` for what cannot be initials.
    """
    if is_misread(text):
        raise Refusal(f"{quoted(text)} is a tag that was misread, and nobody's initials. Type your initials first.")
    return Stamp(text, at)
