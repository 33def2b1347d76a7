"""Where a kit book needs an answer: every value of a piece, kit or role that is fixed or left to a rule list."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

from stockroom.domain.kitbook import Ask, Hardware, Kit, KitBook, Panel, Piece, Then
from stockroom.domain.wording import quoted

UseKind = Literal["cloth", "narrow", "item", "coloured", "count", "there", "hole", "colour"]
"""What an answer is used as. 'coloured': made-up goods which are an item in each colour."""


@dataclass(frozen=True, slots=True)
class Use:
    """One value that is needed, and when."""

    kind: UseKind
    asked: Then | Ask
    where: str
    """The place in the book: "piece 'BF', panel 'top'"."""
    guards: tuple[str, ...] = ()
    """Rule lists that must say yes before it is needed: whether the piece and the panel are there."""


@dataclass(frozen=True, slots=True)
class Coloured:
    """Goods that take the colour of a role: together they name an item."""

    goods: str | Ask
    role: str
    where: str
    guards: tuple[str, ...] = ()


def uses_of_piece(book: KitBook, piece: Piece) -> tuple[Use, ...]:
    """Everything a piece needs to know, the colours of its roles included."""
    return tuple(_piece_uses(book, piece))


def uses_of_kit(kit: Kit) -> tuple[Use, ...]:
    """What a kit's own hardware and spares need to know."""
    where = f"kit {quoted(kit.code)}"
    spares = (Use("item", spare.item, f"{where}, spares") for spare in kit.spares)
    return (*_hardware_uses(kit.hardware, where, ()), *spares)


def coloured_of_piece(piece: Piece) -> tuple[Coloured, ...]:
    """Every goods of a piece that takes a role's colour."""
    return tuple(coloured for _, coloured in _coloured(piece)) if piece.present is not False else ()


def _piece_uses(book: KitBook, piece: Piece) -> Iterator[Use]:
    where, guards = _piece_place(piece)
    yield Use("there", piece.present, where)
    if piece.present is False:
        return
    yield Use("count", piece.count, where, guards)
    if piece.made is not None and not piece.made_role:
        yield Use("item", piece.made, where, guards)
    yield from _hardware_uses(piece.hardware, where, guards)
    for panel in piece.panels:
        place, panel_guards = _panel_place(piece, panel)
        yield Use("there", panel.present, place, guards)
        for hole in panel.holes if panel.present is not False else ():
            yield Use("hole", hole.made, f"{place}, hole {quoted(hole.name)}", panel_guards)
    for kind, coloured in _coloured(piece):
        yield Use(kind, coloured.goods, coloured.where, coloured.guards)
        role = book.roles.get(coloured.role)
        if role is not None:
            yield Use("colour", role.colour, f"colour role {quoted(role.code)}", coloured.guards)


def _coloured(piece: Piece) -> Iterator[tuple[UseKind, Coloured]]:
    where, guards = _piece_place(piece)
    if piece.made is not None and piece.made_role:
        yield "coloured", Coloured(piece.made, piece.made_role, where, guards)
    for panel in piece.panels:
        if panel.present is False:
            continue
        place, panel_guards = _panel_place(piece, panel)
        yield "cloth", Coloured(panel.cloth, panel.role, place, panel_guards)
        for edging in panel.edging:
            yield "narrow", Coloured(edging.goods, edging.role, f"{place}, {edging.how} edges", panel_guards)
    for strip in piece.strips:
        yield "narrow", Coloured(strip.goods, strip.role, f"{where}, strips", guards)


def _hardware_uses(lines: Iterable[Hardware], where: str, guards: tuple[str, ...]) -> Iterator[Use]:
    for line in lines:
        yield Use("item", line.item, f"{where}, hardware", guards)
        yield Use("count", line.count, f"{where}, hardware", guards)


def _piece_place(piece: Piece) -> tuple[str, tuple[str, ...]]:
    return f"piece {quoted(piece.code)}", _guard(piece.present)


def _panel_place(piece: Piece, panel: Panel) -> tuple[str, tuple[str, ...]]:
    where, guards = _piece_place(piece)
    return f"{where}, panel {quoted(panel.code)}", guards + _guard(panel.present)


def _guard(present: bool | Ask) -> tuple[str, ...]:
    return (present.rule,) if isinstance(present, Ask) else ()
