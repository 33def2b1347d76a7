"""Tags: the short code on a label. A kind letter, a serial number and a check character.

The check character is that of ISO/IEC 7064, Mod 37,36 (digits and capital letters in, one of them out). It catches
every single mistyped character and nearly every swap of two neighbours. The standard's method, character by character:
with p starting at 36, add the character's value modulo 36 (0 counts as 36), double it modulo 37; the check character
makes the last sum come to 1.

| kind | of what                                          |
|------|--------------------------------------------------|
| R    | a roll, a reel or a remnant                      |
| B    | a bin: a counted item of one lot in one place    |
| P    | a piece of an order, a packet of hardware too    |
| K    | a finished kit, a parcel of one, or one for stock |
| L    | a place: a rack, a shelf                         |
| O    | an order                                         |
| C    | a car                                            |
| G    | a part of a customer's that came in, goods not ours |
| T    | a bundle of cut panels, tied                     |
| S    | a swatch of a dye lot                            |

>>> check_character('A12425GABC1234002')
'M'
>>> make_tag('R', 1042)
'R1042L'
>>> read_tag(' r 1042-l ')
Tag(kind='R', serial=1042)
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import quoted

ALPHABET: Final = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
KINDS: Final[dict[str, str]] = {
    "R": "roll",
    "B": "bin",
    "P": "piece",
    "K": "kit",
    "L": "place",
    "O": "order",
    "C": "car",
    "G": "customer's part",
    "T": "bundle",
    "S": "swatch",
}
"""Kind letter → what the tag is on."""


@dataclass(frozen=True, slots=True)
class Tag:
    """What a tag says.

    >>> str(Tag('P', 7))
    'P7Y'
    """

    kind: str
    """Kind letter, one of `KINDS`."""
    serial: int
    """Running number within the kind, from 1."""

    def __str__(self) -> str:
        return make_tag(self.kind, self.serial)


def check_character(text: str) -> str:
    """The check character of ISO/IEC 7064 Mod 37,36 for `text` (digits and capital letters)."""
    product = 36
    for character in text:
        product = ((ALPHABET.index(character) + product) % 36 or 36) * 2 % 37
    return ALPHABET[(1 - product) % 36]


def make_tag(kind: str, serial: int) -> str:
    """The tag of `serial` (from 1) within `kind`."""
    if kind not in KINDS or serial < 1:
        raise ValueError(f"no tag of kind {kind!r} and serial {serial!r}")
    body = f"{kind}{serial}"
    return body + check_character(body)


def read_tag(text: str) -> Tag:
    """The tag that was scanned or typed. Small letters, blanks and hyphens are forgiven; a wrong character is not.

    Raises `Refusal` when it is no tag, or when the check character says that it was mistyped.
    """
    match = _match(text)
    if match is None:
        example = make_tag("R", 1042)
        raise Refusal(
            f"{quoted(text)} is not a tag. A tag is a letter, a number and a check character, such as {example}."
        )
    if check_character(match[1] + match[2]) != match[3]:
        raise Refusal(
            f"The tag {quoted(text)} was mistyped: its check character does not fit. Read it again or scan it."
        )
    return Tag(match[1], int(match[2]))


def _match(text: str) -> re.Match[str] | None:
    """Kind letter, serial and last character of what has the form of a tag."""
    plain = re.sub(r"[\s-]", "", text).upper() if len(text) <= 60 else ""
    match = re.fullmatch(r"([A-Z])([1-9][0-9]{0,17})([0-9A-Z])", plain, re.ASCII)
    return match if match is not None and match[1] in KINDS else None


def is_misread(text: str) -> bool:
    """Whether `text` has the form of a tag, and its check character does not fit.

    >>> is_misread("R1042X"), is_misread("R1042L"), is_misread("HM")
    (True, False, False)
    """
    return _match(text) is not None and not is_tag(text)


def is_tag(text: str) -> bool:
    """Whether `text` can be read as a tag."""
    try:
        read_tag(text)
    except Refusal:
        return False
    return True
