"""Words that sentences share: a value shown literally, a list of names, and what to say of a name nobody knows."""

from __future__ import annotations

import unicodedata
from bisect import bisect_left
from collections.abc import Iterable, Sequence
from difflib import SequenceMatcher

SHOWN_AT_MOST = 60
"""Characters of a value that a sentence shows; the rest is cut off with an ellipsis."""
_NAMED_AT_MOST = 8
_COMPARED_AT_MOST = 400
_LIKE_ENOUGH = 0.5
"""Least `SequenceMatcher` ratio of two names that are like each other."""


def literal(text: str) -> str:
    r"""`text` with everything that does not print (control and format characters, breaks of lines, lone surrogates) as
    escapes.

    >>> literal("bo\x07ot")
    'bo\\u0007ot'
    """
    return "".join(_escape(mark) if _is_hidden(mark) else mark for mark in text)


def _is_hidden(mark: str) -> bool:
    category = unicodedata.category(mark)
    return category[0] == "C" or category in ("Zl", "Zp")


def _escape(mark: str) -> str:
    number = ord(mark)
    return f"\\u{number:04x}" if number <= 0xFFFF else f"\\U{number:08x}"


def quoted(text: str) -> str:
    """`text` literally, between quotes, cut to a length that a sentence bears.

    >>> quoted("boot-set")
    "'boot-set'"
    """
    cut = text if len(text) <= SHOWN_AT_MOST else text[:SHOWN_AT_MOST] + "…"
    return f"'{literal(cut)}'"


def listed(words: Iterable[str], last: str = "and") -> str:
    """The words in one line, as a person writes them.

    >>> listed(["red", "black", "fawn"])
    'red, black and fawn'
    """
    parts = list(words)
    if len(parts) < 2:
        return "".join(parts)
    return f"{', '.join(parts[:-1])} {last} {parts[-1]}"


def nearest(name: str, known: Iterable[str]) -> str:
    """The known name most like `name` (the first of several), or an empty text where none is like it."""
    wanted = name[:200].casefold()
    best, best_ratio = "", _LIKE_ENOUGH
    for code in known:
        ratio = SequenceMatcher(None, wanted, code.casefold()).ratio()
        if ratio >= best_ratio and (not best or ratio > best_ratio):
            best, best_ratio = code, ratio
    return best


def unknown(what: str, name: str, known: Iterable[str]) -> str:
    """The sentence for a name that is not there: what it is, the nearest name, and what there is.

    >>> unknown("series", "s9", ["s1", "s2"])
    "There is no series 's9'. The nearest name is 's1'. Known: 's1' and 's2'."
    """
    names = sorted(set(known))
    if not names:
        return f"There is no {what} {quoted(name)}; none is known at all."
    near = nearest(name, names if len(names) <= _COMPARED_AT_MOST else _near_in_order(name, names))
    hint = f" The nearest name is {quoted(near)}." if near else ""
    shown = [quoted(code) for code in names[:_NAMED_AT_MOST]]
    if len(names) > len(shown):
        shown.append(f"{len(names) - len(shown)} more")
    return f"There is no {what} {quoted(name)}.{hint} Known: {listed(shown)}."


def _near_in_order(name: str, names: Sequence[str]) -> Sequence[str]:
    """Of very many names in order, those that stand around where `name` would: not all can be compared."""
    place = bisect_left(names, name)
    return names[max(0, place - _COMPARED_AT_MOST // 2) : place + _COMPARED_AT_MOST // 2]
