"""One car's own changes to a piece: what the piece becomes, in which parts, and the sentence that says so.

Changes of what a piece is (holes, allowances, outlines, cloths, colours) make a new `Piece`; changes of hardware are
looked up line by line once the rules have said which hardware it is (`hardware_changes`), since a rule may choose it.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from stockroom.domain.kitbook import Card, Hole, KitBook, Outline, Panel, Piece, Shape
from stockroom.domain.order import Change, ChangeWhat
from stockroom.domain.quantities import show_length
from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import listed, literal, quoted, unknown

FIXED = "="
"""A role that begins so is a colour somebody asked for: '=red'."""
OF_HARDWARE: frozenset[ChangeWhat] = frozenset({"hardware", "count", "not-on-car"})
_MADE_WORDS = {"cut": "cut", "marked": "marked on the back", "solid": "left solid"}

_SAID: dict[ChangeWhat, str] = {
    "hole": "the hole {part}{where} is {made}",
    "overlong": "the edge {part}{where} is left {length} over-long",
    "outline": "the outline{where} is this car's own",
    "cloth": "the cloth{where} is {to}",
    "colour": "the colour{where} is {to}",
    "hardware": "{to} is used instead of {part}",
    "count": "{count} of {counted}",
    "leave-out": "the piece is left out",
    "add": "the piece is added",
    "not-on-car": "{part}, usually on the car already, is missing",
}


@dataclass(frozen=True, slots=True)
class ChangedPiece:
    """A piece as it is on this car."""

    piece: Piece
    sentences: tuple[str, ...] = ()
    """Every change of it, in words."""
    by_panel: Mapping[str, tuple[str, ...]] | None = None
    """Panel code → the sentences of the changes that touch it."""
    bespoke: bool = False
    """What it is made of differs, so that one from stock will not do."""
    colour: str = ""
    """Colour asked for the whole piece; '' where none was."""


def change_sentence(change: Change) -> str:
    """The change in words, with the reason and the initials."""
    said = _SAID[change.what].format(
        part=quoted(change.part),
        where=f" of panel {literal(change.panel)}" if change.panel else "",
        to=quoted(change.to),
        made=_MADE_WORDS[change.made or "cut"],
        length=show_length(change.mm),
        count=change.mm,
        counted=quoted(change.part) if change.part else "the piece",
    )
    kept = ", proved on this car" if change.proved else ""
    because = literal(change.because).strip().rstrip(".")
    return f"Changed for this car: {said}{f', because {because}' if because else ''} ({literal(change.by)}{kept})."


def target_of(change: Change) -> tuple[str, ...]:
    """What a change is about: two of one target exclude each other."""
    return change.what, change.piece, change.panel, change.part


def refuse_contradictions(changes: Sequence[Change]) -> None:
    """Refuses two changes of one thing that ask for different things."""
    seen: dict[tuple[str, ...], Change] = {}
    for change in changes:
        first = seen.setdefault(target_of(change), change)
        if _asked(first) != _asked(change):
            raise Refusal(
                f"Two changes of {quoted(change.piece)} contradict each other: {_brief(first)}, and {_brief(change)}. "
                "Keep one of them."
            )


def apply_changes(book: KitBook, cloths: Collection[str], piece: Piece, changes: Sequence[Change]) -> ChangedPiece:
    """The piece with every change of what it is made of, in order; later ones win.

    `changes` are those that name the piece. Raises `Refusal` for a panel, hole, edge or cloth that is not there.
    """
    if not changes:
        return ChangedPiece(piece)
    by_panel: dict[str, tuple[str, ...]] = {}
    sentences: list[str] = []
    whole_colour = ""
    bespoke = False
    for change in changes:
        if change.what == "add":
            continue
        sentence = change_sentence(change)
        sentences.append(sentence)
        if change.what == "count" and not change.part:
            piece = replace(piece, count=_positive(change))
        elif change.what in _PANEL_CHANGES:
            panels = _panels_of(piece, change)
            changed = {panel.code: _PANEL_CHANGES[change.what](book, cloths, panel, change) for panel in panels}
            piece = replace(piece, panels=tuple(changed.get(panel.code, panel) for panel in piece.panels))
            by_panel.update({code: (*by_panel.get(code, ()), sentence) for code in changed})
        if change.what == "colour" and not change.panel:
            whole_colour = change.to
        bespoke |= _makes_bespoke(piece, change)
    return ChangedPiece(piece, tuple(sentences), by_panel, bespoke, whole_colour)


def hardware_changes(changes: Iterable[Change], item: str) -> tuple[Change, ...]:
    """The changes that are about this item of hardware."""
    return tuple(change for change in changes if change.what in OF_HARDWARE and change.part and change.part == item)


def refuse_unmatched_hardware(changes: Iterable[Change], items: Iterable[str], title: str) -> None:
    """Refuses a change of hardware that the piece does not have."""
    known = set(items)
    for change in changes:
        if change.what in OF_HARDWARE and change.part and change.part not in known:
            raise Refusal(f"{unknown(f'hardware in {quoted(title)}', change.part, known)} Correct the change.")


def _asked(change: Change) -> tuple[object, ...]:
    return change.to, change.mm, change.made, change.x_mm, change.y_mm, change.diameter_mm, change.shape


def _brief(change: Change) -> str:
    return change_sentence(replace(change, because="")).removeprefix("Changed for this car: ").rstrip(".")


def _makes_bespoke(piece: Piece, change: Change) -> bool:
    if change.what == "colour":
        return bool(change.panel) or not piece.made_role
    return change.what not in ("leave-out", "add") and not (change.what == "count" and not change.part)


def _panels_of(piece: Piece, change: Change) -> tuple[Panel, ...]:
    """The panels a change is about. Without a panel's name: all for cloth and colour, the only one for the rest."""
    if change.panel:
        found = tuple(panel for panel in piece.panels if panel.code == change.panel)
        if not found:
            codes = [panel.code for panel in piece.panels]
            raise Refusal(f"{unknown(f'panel in {quoted(piece.code)}', change.panel, codes)} Correct the change.")
        return found
    if change.what in ("cloth", "colour") or len(piece.panels) == 1:
        return piece.panels
    names = listed(quoted(panel.code) for panel in piece.panels)
    raise Refusal(f"A change of {quoted(piece.code)} ({change.what}) does not say which panel. Name one of {names}.")


def _hole(_book: KitBook, _cloths: Collection[str], panel: Panel, change: Change) -> Panel:
    made = change.made
    if made is None:
        raise Refusal(f"The change of hole {quoted(change.part)} does not say whether it is cut, marked or left solid.")
    if any(hole.name == change.part for hole in panel.holes):
        holes = tuple(replace(hole, made=made) if hole.name == change.part else hole for hole in panel.holes)
        return replace(panel, holes=holes)
    if change.diameter_mm <= 0:
        sentence = unknown(f"hole in panel {quoted(panel.code)}", change.part, [hole.name for hole in panel.holes])
        raise Refusal(f"{sentence} A new hole needs its place and its diameter.")
    new = Hole(change.part, change.x_mm, change.y_mm, change.diameter_mm, made)
    return replace(panel, holes=(*panel.holes, new))


def _overlong(_book: KitBook, _cloths: Collection[str], panel: Panel, change: Change) -> Panel:
    edges = edges_to_leave_long(panel.shape)
    if change.part not in edges:
        raise Refusal(f"{unknown(f'edge of panel {quoted(panel.code)}', change.part, edges)} Correct the change.")
    if change.mm < 0:
        raise Refusal(f"An edge cannot be left {change.mm} mm over-long. Give a whole number of mm, 0 for none.")
    return replace(panel, overlong_mm={**panel.overlong_mm, change.part: change.mm})


def edges_to_leave_long(shape: Shape) -> tuple[str, ...]:
    """What `overlong_mm` may name for a shape."""
    if isinstance(shape, Outline):
        return tuple(shape.edges)
    return ("width", "length") if isinstance(shape, Card) else ("length",)


def _outline(book: KitBook, _cloths: Collection[str], panel: Panel, change: Change) -> Panel:
    shape = change.shape
    if shape is None:
        if change.to not in book.outlines:
            raise Refusal(unknown("outline", change.to, book.outlines))
        shape = book.outlines[change.to]
    named = set(shape.edges) if isinstance(shape, Outline) else set(shape.edges_mm)
    wanted = {edge for edging in panel.edging for edge in edging.edges}
    missing = sorted(wanted.difference(named)) + sorted(set(panel.overlong_mm) - set(edges_to_leave_long(shape)))
    if missing:
        raise Refusal(
            f"The new outline of {quoted(change.piece)}, panel {quoted(panel.code)}, has no edge "
            f"{listed(quoted(name) for name in missing)}, which the book binds, pipes or leaves over-long. Name it."
        )
    # An outline of the book is drawn for one hand; one that was taken off this car is drawn as it is.
    of_book = isinstance(shape, Outline) and book.outlines.get(shape.code) == shape
    return replace(panel, shape=shape, mirrored=panel.mirrored and of_book)


def _cloth(_book: KitBook, cloths: Collection[str], panel: Panel, change: Change) -> Panel:
    if change.to not in cloths:
        raise Refusal(unknown("cloth", change.to, cloths))
    return replace(panel, cloth=change.to)


def _colour(_book: KitBook, _cloths: Collection[str], panel: Panel, change: Change) -> Panel:
    return replace(panel, role=FIXED + change.to)


def _positive(change: Change) -> int:
    if change.mm < 1:
        raise Refusal(f"A count of {change.mm} of {quoted(change.piece)} makes no sense. Use 'leave-out' for none.")
    return change.mm


_PANEL_CHANGES: dict[ChangeWhat, Callable[[KitBook, Collection[str], Panel, Change], Panel]] = {
    "hole": _hole,
    "overlong": _overlong,
    "outline": _outline,
    "cloth": _cloth,
    "colour": _colour,
}
