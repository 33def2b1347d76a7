"""One order line while it is being exploded: its kits within kits, and what has been found so far."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from stockroom.domain.answers import Answers, LineCase
from stockroom.domain.kitbook import Kit, KitBook, Piece
from stockroom.domain.order import Wait
from stockroom.domain.refusal import Refusal
from stockroom.domain.requirement import AlreadyOnCar, Requirement
from stockroom.domain.wording import quoted, unknown


@dataclass(frozen=True, slots=True)
class KitPlace:
    """A kit within a line's kit: where, and how many times it is in there."""

    kit: Kit
    path: str
    times: int


@dataclass(frozen=True, slots=True)
class PieceOnLine:
    """A piece that is on the car, before it is known which steps it comes up in."""

    path: str
    piece: Piece
    copies: int
    holes_left: tuple[str, ...] = ()
    changes: tuple[str, ...] = ()


@dataclass(slots=True)
class KitLine:
    """One line while it is being exploded."""

    book: KitBook
    case: LineCase
    answers: Answers
    places: tuple[KitPlace, ...]
    requirements: list[tuple[str, Requirement]] = field(default_factory=list)
    """With the piece or kit that it belongs to, whose waits hold it up."""
    pieces: list[PieceOnLine] = field(default_factory=list)
    packets: list[KitPlace] = field(default_factory=list)
    """Kits that have hardware or spares of their own, which go into a packet."""
    present: dict[str, None] = field(default_factory=dict)
    on_car: list[tuple[str, AlreadyOnCar]] = field(default_factory=list)
    advice: dict[str, None] = field(default_factory=dict)
    piped_in: dict[str, None] = field(default_factory=dict)

    def is_held(self, holder: str) -> bool:
        """Whether a piece (or a kit, for its own hardware) hangs on an answer."""
        return holder in self.answers.held or "" in self.answers.held

    def waits(self) -> Iterator[Wait]:
        """What the line waits for, each with what hangs on it."""
        for key, wait in self.answers.waits.items():
            holders = self.answers.holds_up[key]
            yield wait if "" in holders else replace(wait, holds_up=tuple(holders))

    def within(self, place: KitPlace) -> list[str]:
        """What hangs on a kit: '' (everything) for the line's own kit, else its pieces and the kits themselves."""
        if place is self.places[0]:
            return [""]
        inner = [other for other in self.places if other.path == place.path or other.path.startswith(f"{place.path}/")]
        return [code for other in inner for code in (other.kit.code, *other.kit.pieces)]


def walk(book: KitBook, code: str, above: str, times: int, seen: tuple[str, ...]) -> Iterator[KitPlace]:
    """A kit and every kit within it."""
    if code in seen:
        raise Refusal(f"The kit {quoted(code)} holds itself ({' / '.join((*seen, code))}). Correct the kit book.")
    kit = book.kits.get(code)
    if kit is None:
        raise Refusal(unknown("kit", code, book.kits))
    path = f"{above}/{code}" if above else code
    yield KitPlace(kit, path, times)
    for inner, count in Counter(kit.kits).items():
        yield from walk(book, inner, path, times * count, (*seen, code))
