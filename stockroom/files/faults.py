"""Every fault of a shop's files, gathered while reading goes on, so that a person sees them all at once."""

from __future__ import annotations

from dataclasses import dataclass, field

from stockroom.domain.refusal import Refusal

GIVE_UP_AT = 20_000
"""With so many faults it is the wrong file, or one made to keep us busy."""
SHOWN_AT_MOST = 200
"""Faults that are kept word for word; the rest is counted."""


@dataclass(slots=True)
class Faults:
    """The faults found so far.

    >>> faults = Faults()
    >>> faults.add("items.csv, row 3, column 'least': 'few' is not a whole number.")
    >>> faults.count
    1
    """

    sentences: list[str] = field(default_factory=list)
    """The first of them, in the order found."""
    count: int = 0
    """All of them, those beyond `SHOWN_AT_MOST` too."""

    @property
    def full(self) -> bool:
        """Whether further faults are only counted: then their words need not be found, which may take long."""
        return self.count >= SHOWN_AT_MOST

    def add(self, sentence: str) -> None:
        """One more fault."""
        if not self.full:
            self.sentences.append(sentence)
        self.count += 1
        if self.count == GIVE_UP_AT:
            raise Refusal(
                f"There are {GIVE_UP_AT} faults and more; reading stopped there and nothing was loaded. "
                "These are the first of them.",
                tuple(self.sentences),
            )

    def add_refusal(self, refusal: Refusal, place: str = "") -> None:
        """What another reader refused: each of its faults, or its one sentence. `place` is put before them."""
        for sentence in refusal.faults or (refusal.sentence,):
            self.add(f"{place}: {sentence}" if place else sentence)

    def refuse_any(self, what: str) -> None:
        """Raises `Refusal` with every fault where there is one. `what` names what was read."""
        if not self.count:
            return
        faults = list(self.sentences)
        if self.count > len(faults):
            faults.append(f"... and {self.count - len(faults)} more")
        number = "one fault" if self.count == 1 else f"{self.count} faults"
        raise Refusal(f"{what} has {number}. Nothing was loaded; put it right and load again.", tuple(faults))
