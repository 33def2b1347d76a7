"""Explosion: kit × car × options → requirements, every one with its reason.

What cannot be answered waits by name and holds up only what hangs on it; the rest is exploded. Quantities for several
kits add up exactly: edges are rounded up a piece, spare is whole a kit.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from stockroom.domain.answers import Answers, CatalogueView, LineCase, lowered
from stockroom.domain.changes import ChangedPiece, apply_changes, change_sentence
from stockroom.domain.fitting import KitOnCar, fitting_steps, steps_of
from stockroom.domain.kit_line import KitLine, KitPlace, PieceOnLine, walk
from stockroom.domain.kitbook import KitBook, Piece
from stockroom.domain.line_checks import changes_by_piece, refuse_unknown_names, refuse_what_makes_no_sense
from stockroom.domain.line_waits import advise, check_fit, fit_overruled, fits_code, wait_for_the_customer
from stockroom.domain.order import Change, Wait
from stockroom.domain.parts import Part, Parts, add_hardware, parts_of
from stockroom.domain.refusal import Refusal
from stockroom.domain.requirement import AlreadyOnCar, FittingStep, Key, PieceMade, Requirement
from stockroom.domain.wording import unknown

__all__ = ["CatalogueView", "Explosion", "LineCase", "explode", "fits_code"]


@dataclass(frozen=True, slots=True)
class Explosion:
    """What an order comes to."""

    requirements: tuple[Requirement, ...]
    """What is needed, without what waits."""
    pieces: tuple[PieceMade, ...]
    """Every physical piece that gets a tag, without those that wait: set by set, in the order of fitting."""
    steps: Mapping[str, tuple[FittingStep, ...]]
    """Car key → the fitting steps of all its kits; pieces that wait are reckoned in, so that numbers stay."""
    waits: tuple[tuple[int, Wait], ...]
    """Line number and what it waits for."""
    on_car: tuple[AlreadyOnCar, ...]
    """Hardware that is on the car already."""
    advice: tuple[tuple[int, str], ...]
    """Line number and a sentence; it stops nothing."""


def explode(book: KitBook, catalogue: CatalogueView, lines: Sequence[LineCase]) -> Explosion:
    """The bill of materials of an order's lines.

    Raises `Refusal` for a kit, piece, option, choice, colour or target of a change that does not exist, a quantity
    that is not a positive whole number, and changes that contradict each other.
    """
    done = [_explode_line(book, catalogue, line) for line in lines]
    steps = _steps_by_car(done)
    return Explosion(
        tuple(req for line in done for holder, req in line.requirements if not line.is_held(holder)),
        tuple(made for line in done for made in _pieces_made(line, steps[line.case.car_key])),
        steps,
        tuple((line.case.number, wait) for line in done for wait in line.waits()),
        tuple(there for line in done for holder, there in line.on_car if not line.is_held(holder)),
        tuple((line.case.number, sentence) for line in done for sentence in line.advice),
    )


def _explode_line(book: KitBook, catalogue: CatalogueView, case: LineCase) -> KitLine:
    request = case.request
    refuse_what_makes_no_sense(book, request)
    places = tuple(walk(book, request.kit, "", request.quantity, ()))
    refuse_unknown_names(book, request, places)
    line = KitLine(book, case, Answers(book, catalogue, case), places)
    changes = changes_by_piece(line)
    for place in places:
        _explode_kit(line, place, changes)
    for code in dict.fromkeys(change.piece for change in request.changes if change.what == "add"):
        place = KitPlace(book.kits[request.kit], f"{request.kit}/added", request.quantity)
        _explode_piece(line, place, code, 1, changes.get(code, ()))
    wait_for_the_customer(line)
    advise(line)
    return line


def _explode_kit(line: KitLine, place: KitPlace, changes: Mapping[str, tuple[Change, ...]]) -> None:
    check_fit(line, place)
    wanted = line.case.request.pieces
    for code, times in Counter(place.kit.pieces).items():
        if not wanted or code in wanted:
            _explode_piece(line, place, code, times, changes.get(code, ()))
    if not wanted:
        _explode_kit_hardware(line, place, changes.get("", ()))


def _explode_piece(line: KitLine, place: KitPlace, code: str, times: int, changes: tuple[Change, ...]) -> None:
    book_piece = line.book.pieces.get(code)
    if book_piece is None:
        raise Refusal(unknown("piece", code, line.book.pieces))
    if _is_left_out(line, book_piece, changes):
        return
    answers = line.answers
    changed = apply_changes(line.book, answers.catalogue.cloths, book_piece, changes)
    piece = changed.piece
    present = answers.present(piece.present, code)
    count = answers.count(piece.count, code) if present is None or present[0] else None
    if (present is not None and not present[0]) or (count is not None and not count[0]):
        if any(change in line.case.request.changes for change in changes):
            line.advice[f"{piece.title} is not on this car, so what was asked of it changes nothing."] = None
        return
    line.present[code] = None
    if present is None or count is None:
        return
    copies = count[0] * times * place.times
    parts = parts_of(answers, changed, book_piece, changes)
    for settled in (present[1], count[1]):
        parts.overruled.update(dict.fromkeys(settled.overruled))
    line.piped_in.update(parts.piped_in)
    why_many = (*present[1].because, *count[1].because, *_why_so_many(place, times, count[0]))
    if piece.made is not None and not changed.bespoke:
        _require_made(line, place, changed, copies, (parts, why_many))
    else:
        bespoke = ("Made for this car: the changes rule out one from stock.",) if piece.made is not None else ()
        _require_parts(line, place, piece, copies, (parts, (*why_many, *bespoke)))
    sentences = (
        *changed.sentences,
        *_added(changes),
        *parts.overruled,
        *fit_overruled(line, place),
        *_substituted(line, parts),
    )
    line.pieces.append(PieceOnLine(place.path, piece, copies, tuple(parts.holes_left), sentences))


def _substituted(line: KitLine, parts: Parts) -> tuple[str, ...]:
    """What is taken for a piece instead of what the book has: sentences."""
    taken = (line.case.substituted.get(part.item) for part in parts.by_part.values())
    return tuple(dict.fromkeys(one.sentence(line.answers.catalogue.items) for one in taken if one is not None))


def _added(changes: Sequence[Change]) -> tuple[str, ...]:
    return tuple(change_sentence(change) for change in changes if change.what == "add")


def _is_left_out(line: KitLine, piece: Piece, changes: Sequence[Change]) -> bool:
    """Whether a change leaves the piece out. One kept from an earlier order does not, where the piece is asked for."""
    request = line.case.request
    for change in changes:
        if change.what == "leave-out" and (change in request.changes or piece.code not in request.pieces):
            line.advice[f"{piece.title}: {change_sentence(change)}"] = None
            return True
    return False


def _why_so_many(place: KitPlace, times: int, count: int) -> tuple[str, ...]:
    kits = place.times * times
    if kits * count == 1:
        return ()
    if count == 1:
        return (f"{kits} pieces: one for each kit.",)
    return (f"{kits * count} pieces: {count} for each of {kits} kits." if kits > 1 else f"{count} pieces.",)


def _require_parts(
    line: KitLine, place: KitPlace, piece: Piece, copies: int, parts: tuple[Parts, tuple[str, ...]]
) -> None:
    """Requires what `copies` of a piece are made of."""
    made_of, why_many = parts
    fit = fit_overruled(line, place)
    differs = bool(fit) or place.path.endswith("/added")
    for part in made_of.by_part.values():
        _require(line, piece, _key(line, place.path, piece, part.part), part, copies, (*why_many, *fit), differs)
    for there in made_of.on_car:
        _list_on_car(line, place.path, piece.code, piece.code, there.item, there.count * copies, there.half)


def _require_made(
    line: KitLine, place: KitPlace, changed: ChangedPiece, copies: int, parts: tuple[Parts, tuple[str, ...]]
) -> None:
    """Requires `copies` of a made-up item, and under each unit what it is made of."""
    piece, answers = changed.piece, line.answers
    assert piece.made is not None
    told = answers.text(piece.made, piece.code)
    role = f"={changed.colour}" if changed.colour else piece.made_role
    colour = answers.colour(role, piece.code) if piece.made_role else None
    if told is None or (piece.made_role and colour is None):
        return
    item = answers.item(told[0], colour[0] if colour else "", piece.code)
    if item is None:
        return
    made_of, why_many = parts
    fit = fit_overruled(line, place)
    settled = (told[1], colour[1]) if colour else (told[1],)
    reasons = [
        f"{piece.title}: {answers.item_title(item)}, taken from stock first.",
        *(reason for answer in settled for reason in answer.because),
        *changed.sentences,
    ]
    whole = Part(f"made:{item}", "made", item, 1, 0, reasons, None, bool(changed.sentences))
    whole.changed |= any(bool(answer.overruled) for answer in settled)
    differs = bool(fit) or place.path.endswith("/added")
    _require(line, piece, _key(line, place.path, piece, whole.part), whole, copies, (*why_many, *fit), differs)
    for unit in range(1, copies + 1):
        why = (f"For number {unit} of {copies}, should stock not have it.", *fit)
        for part in made_of.by_part.values():
            key = _key(line, f"{place.path}/made", piece, part.part, unit)
            _require(line, piece, key, part, 1, why, differs)
    for there in made_of.on_car:
        _list_on_car(line, place.path, piece.code, piece.code, there.item, there.count * copies, there.half)


def _key(line: KitLine, path: str, piece: Piece, part: str, unit: int = 0) -> Key:
    return Key(line.case.number, path, piece.code, part, piece.hand, unit)


def _require(
    line: KitLine, piece: Piece, key: Key, part: Part, times: int, why: tuple[str, ...], differs: bool
) -> None:
    quantity, reasons, changed = part.quantity * times, (*part.reasons, *why), part.changed or differs
    item, taken = part.item, line.case.substituted.get(part.item)
    if taken is not None:
        item, changed = taken.instead, True
        reasons = (*reasons, taken.sentence(line.answers.catalogue.items))
    req = Requirement(key, part.need, item, quantity, part.each_mm, piece.group, reasons, part.shape, changed)
    line.requirements.append((piece.code, req))


def _explode_kit_hardware(line: KitLine, place: KitPlace, changes: tuple[Change, ...]) -> None:
    """Hardware and spare of the kit itself. Changes without a piece are about the line's own kit."""
    kit, number = place.kit, line.case.number
    parts = Parts()
    own = changes if place is line.places[0] else ()
    add_hardware(line.answers, parts, (kit.title, kit.code), kit.hardware, own)
    for spare in kit.spares:
        if spare.count and line.answers.item(spare.item, "", kit.code) is not None:
            reasons = [f"{kit.title}: {spare.count} spare of {line.answers.item_title(spare.item)} with each kit."]
            reasons += [f"{spare.because.strip().rstrip('.')}."] if spare.because.strip() else []
            parts.add(Part(f"spare:{spare.item}", "count", spare.item, spare.count, 0, reasons))
    fit = fit_overruled(line, place)
    many = (f"For {place.times} kits.",) if place.times > 1 else ()
    for part in parts.by_part.values():
        key = Key(number, place.path, "", part.part, "")
        quantity, reasons_all = part.quantity * place.times, (*part.reasons, *many, *fit)
        req = Requirement(key, part.need, part.item, quantity, 0, "", reasons_all, None, part.changed or bool(fit))
        line.requirements.append((kit.code, req))
    for there in parts.on_car:
        _list_on_car(line, place.path, "", kit.code, there.item, there.count * place.times, there.half)
    if parts.by_part:
        line.packets.append(place)


def _list_on_car(line: KitLine, path: str, piece: str, holder: str, item: str, count: int, half: str) -> None:
    line.on_car.append((holder, AlreadyOnCar(line.case.number, path, piece, item, count, half)))


def _steps_by_car(done: Sequence[KitLine]) -> dict[str, tuple[FittingStep, ...]]:
    kits: dict[str, list[KitOnCar]] = {}
    present: dict[str, set[str]] = {}
    for line in done:
        whole = not line.case.request.pieces
        kits.setdefault(line.case.car_key, []).extend(KitOnCar(place.kit, whole) for place in line.places)
        present.setdefault(line.case.car_key, set()).update(line.present)
    return {car: fitting_steps(on_car, present[car]) for car, on_car in kits.items()}


def _pieces_made(line: KitLine, steps: tuple[FittingStep, ...]) -> list[PieceMade]:
    """The line's pieces, set by set, each set in the order in which its pieces are fitted."""
    made: list[tuple[int, int, PieceMade]] = []
    for entry in line.pieces:
        if line.is_held(entry.piece.code):
            continue
        numbers = steps_of(steps, entry.piece.code)
        first = numbers[0] if numbers else len(steps) + 1
        in_a_set = entry.copies // line.case.request.quantity
        made += [
            ((copy - 1) // in_a_set, first, _piece_made(line, entry, copy, (numbers, len(steps))))
            for copy in range(1, entry.copies + 1)
        ]
    for place in line.packets:
        if not line.is_held(place.kit.code):
            in_a_set = place.times // line.case.request.quantity
            made += [
                ((copy - 1) // in_a_set, len(steps) + 2, _packet(line, place, copy, len(steps)))
                for copy in range(1, place.times + 1)
            ]
    made.sort(key=lambda one: one[:2])
    return [piece for _, _, piece in made]


def _packet(line: KitLine, place: KitPlace, copy: int, steps_in_all: int) -> PieceMade:
    """The packet of hardware and spares of the kit itself: a piece without a code."""
    title = f"Packet of hardware, {lowered(place.kit.title)}"
    return PieceMade(line.case.number, place.path, "", copy, title, "", "", "", (), steps_in_all, (), False)


def _piece_made(line: KitLine, entry: PieceOnLine, copy: int, steps: tuple[tuple[int, ...], int]) -> PieceMade:
    piece = entry.piece
    return PieceMade(
        line.case.number,
        entry.path,
        piece.code,
        copy,
        piece.title,
        piece.hand,
        piece.group,
        piece.note,
        *steps,
        entry.holes_left,
        bool(entry.changes),
        entry.changes,
    )
