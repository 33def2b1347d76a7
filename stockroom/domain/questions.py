"""What is asked before something is booked: what can be but is not likely, each confirmed by its name."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import listed, quoted


@dataclass(frozen=True, slots=True)
class Question:
    """Something that is only unlikely: it is booked once somebody confirms it by name."""

    name: str
    """What it is confirmed with."""
    sentence: str


def refuse_strange(sure: Iterable[str], known: Collection[str]) -> None:
    """Raises `Refusal` where something is confirmed that nothing is `known` to be asked about under."""
    strange = sorted(set(sure) - set(known))
    if strange:
        raise Refusal(f"Nothing is asked about under {quoted(strange[0])}. What may be: {listed(known, 'or')}.")


def open_of(asked: Iterable[Question], sure: Collection[str]) -> list[Question]:
    """What is asked and not confirmed."""
    return [one for one in asked if one.name not in sure]


def refuse_open(unconfirmed: Sequence[Question], nothing: str, besides: str = "") -> None:
    """Raises `Refusal` where anything is not confirmed, with all of it.

    `nothing`: what was not done, 'Nothing was bought yet'. `besides`: what else can be done about it, '; or ...'.
    """
    if unconfirmed:
        names = " ".join(f"--sure {name}" for name in dict.fromkeys(one.name for one in unconfirmed))
        raise Refusal(
            f"{nothing}. If it is so, confirm it ({names}); if not, put right what was typed{besides}.",
            tuple(f"{one.name}: {one.sentence}" for one in unconfirmed),
        )
