"""What an order line names, held against the kit book: what is not there is refused with the nearest name."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from stockroom.domain.answers import known_choices
from stockroom.domain.changes import (
    OF_HARDWARE,
    apply_changes,
    change_sentence,
    refuse_contradictions,
    target_of,
)
from stockroom.domain.kit_line import KitLine, KitPlace
from stockroom.domain.kitbook import KitBook
from stockroom.domain.line_waits import fits_code
from stockroom.domain.order import Change, LineRequest, Wait
from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import literal, quoted, unknown

MOST_KITS = 1000
"""So many kits in one line; more is a slip of the pen."""
KEPT = "kept:"
"""A wait that begins so is about a change kept with the car."""
NAMES_A_PART = frozenset({"hole", "overlong", "hardware", "not-on-car"})
"""Changes that must say of which hole, edge or item."""


def refuse_what_makes_no_sense(book: KitBook, request: LineRequest) -> None:
    """Refuses a kit that does not exist and a quantity that is not a positive whole number."""
    if request.kit not in book.kits:
        raise Refusal(unknown("kit", request.kit, book.kits))
    quantity = request.quantity
    if isinstance(quantity, bool) or not isinstance(quantity, int) or not 1 <= quantity <= MOST_KITS:
        raise Refusal(
            f"{quoted(str(quantity))} of kit {quoted(request.kit)} cannot be made. "
            f"Give a whole number from 1 to {MOST_KITS}."
        )


def refuse_unknown_names(book: KitBook, request: LineRequest, places: Sequence[KitPlace]) -> None:
    """Refuses pieces, choices, targets of changes, overruled rules and measurements that do not exist."""
    kit = quoted(request.kit)
    known_choices(book, request)
    codes = {piece for place in places for piece in place.kit.pieces}
    for piece in request.pieces:
        if piece not in codes:
            raise Refusal(unknown(f"piece in kit {kit}", piece, codes))
    _refuse_changes(book, request, codes)
    rules = {*book.rules, *(fits_code(place.kit.code) for place in places)}
    for code in request.overruled:
        if code not in rules and not code.startswith(KEPT):
            raise Refusal(unknown("rule list to overrule", code, rules))
    asked = {question for place in places for question in place.kit.measurements}
    for question in request.measurements:
        if question not in asked:
            raise Refusal(unknown(f"measurement asked for kit {kit}", question, asked))


def _refuse_changes(book: KitBook, request: LineRequest, in_kit: set[str]) -> None:
    kit = quoted(request.kit)
    ordered = set(request.pieces) or in_kit
    added = {change.piece for change in request.changes if change.what == "add"}
    for change in request.changes:
        if change.what == "add" and change.piece not in book.pieces:
            raise Refusal(unknown("piece", change.piece, book.pieces))
        if change.piece and change.piece not in ordered | added:
            raise Refusal(f"{unknown(f'piece ordered of kit {kit}', change.piece, ordered)} Correct the change.")
        if not change.part and (change.what in NAMES_A_PART or (change.what == "count" and not change.piece)):
            raise Refusal(f"A change ({change.what}) of {quoted(change.piece or request.kit)} does not say of what.")
        if not change.piece and (change.what not in OF_HARDWARE or request.pieces):
            raise Refusal(f"A change ({change.what}) of kit {kit} does not say of which piece. Name the piece.")
    refuse_contradictions(request.changes)


def changes_by_piece(line: KitLine) -> dict[str, tuple[Change, ...]]:
    """Piece → its changes, those proved on the car first. What is kept of other kits' pieces is left aside.

    A kept change gives way to one of the order's own that is about the same thing. One that no longer fits the book
    holds its piece up until somebody says what is done now.
    """
    own = line.case.request.changes
    said = {target_of(change) for change in own}
    codes = {piece for place in line.places for piece in place.kit.pieces} | {change.piece for change in own}
    by_piece: dict[str, tuple[Change, ...]] = {}
    for change in line.case.kept_changes:
        if change.what == "add":
            _remind(line, change)
        elif change.piece and change.piece in codes and target_of(change) not in said and _still_fits(line, change):
            by_piece[change.piece] = (*by_piece.get(change.piece, ()), replace(change, proved=True))
    for change in own:
        by_piece[change.piece] = (*by_piece.get(change.piece, ()), change)
    return by_piece


def _remind(line: KitLine, change: Change) -> None:
    title = line.book.pieces[change.piece].title if change.piece in line.book.pieces else change.piece
    because = f", because {literal(change.because).strip().rstrip('.')}" if change.because.strip() else ""
    line.advice[f"An earlier order added {quoted(title)} for this car{because}. Add it again if it is wanted."] = None


def _still_fits(line: KitLine, change: Change) -> bool:
    piece = line.book.pieces.get(change.piece)
    if piece is None or change.what in OF_HARDWARE or change.what == "leave-out":
        return True
    try:
        apply_changes(line.book, line.answers.catalogue.cloths, piece, (change,))
    except Refusal as refusal:
        code = f"{KEPT}{change.piece}:{change.what}:{change.part}"
        if code not in line.case.request.overruled:
            question = (
                f"A change proved on this car no longer fits the kit book. {refusal.sentence} "
                f"{change_sentence(change)} "
                "Ask for it in this order's own words, or overrule it with 'without'."
            )
            line.answers.wait(Wait("rule", code, question, ("without",)), change.piece)
        return False
    return True
