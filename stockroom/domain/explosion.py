"""Explosion: kit × car × options → requirements, every one with its reason.

What cannot be answered waits by name and holds up only what hangs on it; the rest is exploded. Quantities for several
kits add up exactly: edges are rounded up a piece, spare is whole a kit.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from stockroom.domain.answers import Answers, CatalogueView, LineCase, known_choices
from stockroom.domain.changes import (
    ChangedPiece,
    apply_changes,
    change_sentence,
    refuse_contradictions,
)
from stockroom.domain.conditions import holds, missing
from stockroom.domain.fitting import KitOnCar, fitting_steps, steps_of
from stockroom.domain.kitbook import Kit, KitBook, Piece
from stockroom.domain.order import Change, LineRequest, Wait
from stockroom.domain.parts import Part, Parts, add_hardware, parts_of
from stockroom.domain.refusal import Refusal
from stockroom.domain.requirement import AlreadyOnCar, FittingStep, Key, PieceMade, Requirement
from stockroom.domain.rules import facts_asked
from stockroom.domain.wording import listed, literal, quoted, unknown

__all__ = ["CatalogueView", "Explosion", "LineCase", "explode", "fits_code"]

MOST_KITS = 1000
"""So many kits in one line; more is a slip of the pen."""


@dataclass(frozen=True, slots=True)
class Explosion:
    """What an order comes to."""

    requirements: tuple[Requirement, ...]
    """What is needed, without what waits."""
    pieces: tuple[PieceMade, ...]
    """Every physical piece that gets a tag, without those that wait: by line, set by set, in the order of fitting."""
    steps: Mapping[str, tuple[FittingStep, ...]]
    """Car key → the fitting steps of all its kits; pieces that wait are reckoned in, so that numbers stay."""
    waits: tuple[tuple[int, Wait], ...]
    """Line number and what it waits for."""
    on_car: tuple[AlreadyOnCar, ...]
    """Hardware that is on the car already."""
    advice: tuple[tuple[int, str], ...]
    """Line number and a sentence; it stops nothing."""


@dataclass(frozen=True, slots=True)
class _KitPlace:
    """A kit within a line's kit: where, and how many times it is in there."""

    kit: Kit
    path: str
    times: int


@dataclass(frozen=True, slots=True)
class _PieceOnLine:
    """A piece that is on the car, before it is known which steps it comes up in."""

    path: str
    piece: Piece
    copies: int
    holes_left: tuple[str, ...] = ()
    changes: tuple[str, ...] = ()


@dataclass(slots=True)
class _Line:
    """One line while it is being exploded."""

    book: KitBook
    case: LineCase
    answers: Answers
    places: tuple[_KitPlace, ...]
    requirements: list[tuple[str, Requirement]] = field(default_factory=list)
    """With the piece or kit that it belongs to, whose waits hold it up."""
    pieces: list[_PieceOnLine] = field(default_factory=list)
    present: dict[str, None] = field(default_factory=dict)
    on_car: list[tuple[str, AlreadyOnCar]] = field(default_factory=list)
    advice: dict[str, None] = field(default_factory=dict)
    piped_in: dict[str, None] = field(default_factory=dict)


def explode(book: KitBook, catalogue: CatalogueView, lines: Sequence[LineCase]) -> Explosion:
    """The bill of materials of an order's lines.

    Raises `Refusal` for a kit, piece, option, choice, colour or target of a change that does not exist, a quantity
    that is not a positive whole number, and changes that contradict each other.
    """
    done = [_explode_line(book, catalogue, line) for line in lines]
    steps = _steps_by_car(done)
    return Explosion(
        tuple(req for line in done for holder, req in line.requirements if not _is_held(line, holder)),
        tuple(made for line in done for made in _pieces_made(line, steps[line.case.car_key])),
        steps,
        tuple((line.case.number, wait) for line in done for wait in _waits(line)),
        tuple(there for line in done for holder, there in line.on_car if not _is_held(line, holder)),
        tuple((line.case.number, sentence) for line in done for sentence in line.advice),
    )


def fits_code(kit: str) -> str:
    """The code under which it can be overruled that a kit does not fit a car."""
    return f"fits:{kit}"


def _explode_line(book: KitBook, catalogue: CatalogueView, case: LineCase) -> _Line:
    request = case.request
    if request.kit not in book.kits:
        raise Refusal(unknown("kit", request.kit, book.kits))
    quantity = request.quantity
    if isinstance(quantity, bool) or not isinstance(quantity, int) or not 1 <= quantity <= MOST_KITS:
        raise Refusal(
            f"{quoted(str(quantity))} of kit {quoted(request.kit)} cannot be made. "
            f"Give a whole number from 1 to {MOST_KITS}."
        )
    places = tuple(_walk(book, request.kit, "", quantity, ()))
    _refuse_unknown_names(book, request, places)
    line = _Line(book, case, Answers(book, catalogue, case), places)
    changes = _changes_by_piece(line)
    for place in places:
        _explode_kit(line, place, changes)
    for code in dict.fromkeys(change.piece for change in request.changes if change.what == "add"):
        place = _KitPlace(book.kits[request.kit], f"{request.kit}/added", quantity)
        _explode_piece(line, place, code, 1, changes.get(code, ()))
    _wait_for_the_customer(line)
    _advise(line)
    return line


def _walk(book: KitBook, code: str, above: str, times: int, seen: tuple[str, ...]) -> Iterator[_KitPlace]:
    """A kit and every kit within it."""
    if code in seen:
        raise Refusal(f"The kit {quoted(code)} holds itself ({' / '.join((*seen, code))}). Correct the kit book.")
    kit = book.kits.get(code)
    if kit is None:
        raise Refusal(unknown("kit", code, book.kits))
    path = f"{above}/{code}" if above else code
    yield _KitPlace(kit, path, times)
    for inner, count in Counter(kit.kits).items():
        yield from _walk(book, inner, path, times * count, (*seen, code))


def _refuse_unknown_names(book: KitBook, request: LineRequest, places: Sequence[_KitPlace]) -> None:
    kit = quoted(request.kit)
    known_choices(book, request)
    codes = {piece for place in places for piece in place.kit.pieces}
    for piece in request.pieces:
        if piece not in codes:
            raise Refusal(unknown(f"piece in kit {kit}", piece, codes))
    added = {change.piece for change in request.changes if change.what == "add"}
    for change in request.changes:
        if change.what == "add" and change.piece not in book.pieces:
            raise Refusal(unknown("piece", change.piece, book.pieces))
        if change.piece and change.piece not in codes | added:
            raise Refusal(f"{unknown(f'piece in kit {kit}', change.piece, codes)} Correct the change.")
        if not change.piece and change.what not in ("hardware", "count", "not-on-car"):
            raise Refusal(f"A change ({change.what}) of kit {kit} does not say of which piece. Name the piece.")
    refuse_contradictions(request.changes)
    rules = {*book.rules, *(fits_code(place.kit.code) for place in places)}
    for code in request.overruled:
        if code not in rules:
            raise Refusal(unknown("rule list to overrule", code, rules))
    asked = {question for place in places for question in place.kit.measurements}
    for question in request.measurements:
        if question not in asked:
            raise Refusal(unknown(f"measurement asked for kit {kit}", question, asked))


def _changes_by_piece(line: _Line) -> dict[str, tuple[Change, ...]]:
    """Piece → its changes, those proved on the car first. What is kept of other kits' pieces is left aside."""
    codes = {piece for place in line.places for piece in place.kit.pieces} | {
        change.piece for change in line.case.request.changes
    }
    by_piece: dict[str, tuple[Change, ...]] = {}
    for change in line.case.kept_changes:
        if change.what == "add":
            title = line.book.pieces[change.piece].title if change.piece in line.book.pieces else change.piece
            line.advice[
                f"An earlier order added {quoted(title)} for this car, because {literal(change.because)}. "
                "Add it again if it is wanted."
            ] = None
        elif change.piece and change.piece in codes:
            kept = replace(change, proved=True)
            by_piece[change.piece] = (*by_piece.get(change.piece, ()), kept)
    for change in line.case.request.changes:
        by_piece[change.piece] = (*by_piece.get(change.piece, ()), change)
    return by_piece


def _explode_kit(line: _Line, place: _KitPlace, changes: Mapping[str, tuple[Change, ...]]) -> None:
    _check_fit(line, place)
    wanted = line.case.request.pieces
    for code, times in Counter(place.kit.pieces).items():
        if not wanted or code in wanted:
            _explode_piece(line, place, code, times, changes.get(code, ()))
    if not wanted:
        _explode_kit_hardware(line, place, changes.get("", ()))


def _check_fit(line: _Line, place: _KitPlace) -> None:
    """Waits where the kit does not fit the car, or where it cannot be told."""
    kit, answers = place.kit, line.answers
    said = line.case.request.overruled.get(fits_code(kit.code))
    if said is not None:
        if said.then.strip().casefold() not in ("yes", "true"):
            raise Refusal(f"Overruling that kit {quoted(kit.code)} does not fit the car takes the answer 'yes'.")
        return
    told = holds(kit.when, answers.case)
    if told:
        return
    for holder in _within(line, place):
        if told is None:
            for fact in missing(kit.when, answers.case):
                answers.wait_for_fact(fact, holder)
        else:
            question = (
                f"By the book the kit {quoted(kit.code)} ({kit.title}) is not for this car. "
                "Say 'yes' with initials and a reason to make it all the same."
            )
            answers.wait(Wait("rule", fits_code(kit.code), question, ("yes",)), holder)


def _within(line: _Line, place: _KitPlace) -> list[str]:
    """What hangs on a kit: '' (everything) for the line's own kit, else its pieces and the kits themselves."""
    if place is line.places[0]:
        return [""]
    inner = [other for other in line.places if other.path == place.path or other.path.startswith(f"{place.path}/")]
    return [code for other in inner for code in (other.kit.code, *other.kit.pieces)]


def _explode_piece(line: _Line, place: _KitPlace, code: str, times: int, changes: tuple[Change, ...]) -> None:
    book_piece = line.book.pieces.get(code)
    if book_piece is None:
        raise Refusal(unknown("piece", code, line.book.pieces))
    if _is_left_out(line, book_piece, changes):
        return
    answers = line.answers
    changed = apply_changes(line.book, answers.catalogue.cloths, book_piece, changes)
    piece = changed.piece
    present = answers.present(piece.present, code)
    if present is not None and not present[0]:
        return
    count = answers.count(piece.count, code)
    if count is not None and not count[0]:
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
    sentences = (*changed.sentences, *_added(changes), *parts.overruled, *_fit_overruled(line, place))
    line.pieces.append(_PieceOnLine(place.path, piece, copies, tuple(parts.holes_left), sentences))


def _added(changes: Sequence[Change]) -> tuple[str, ...]:
    return tuple(change_sentence(change) for change in changes if change.what == "add")


def _is_left_out(line: _Line, piece: Piece, changes: Sequence[Change]) -> bool:
    """Whether a change leaves the piece out. One kept from an earlier order does not, where the piece is asked for."""
    request = line.case.request
    for change in changes:
        if change.what == "leave-out" and (change in request.changes or piece.code not in request.pieces):
            line.advice[f"{piece.title}: {change_sentence(change)}"] = None
            return True
    return False


def _why_so_many(place: _KitPlace, times: int, count: int) -> tuple[str, ...]:
    kits = place.times * times
    if kits * count == 1:
        return ()
    if count == 1:
        return (f"{kits} pieces: one for each kit.",)
    return (f"{kits * count} pieces: {count} for each of {kits} kits." if kits > 1 else f"{count} pieces.",)


def _fit_overruled(line: _Line, place: _KitPlace) -> tuple[str, ...]:
    """The sentence where a kit is made although it does not fit the car by the book."""
    codes = place.path.split("/")
    overruled = line.case.request.overruled
    return tuple(
        f"{literal(said.by)} said that kit {quoted(code)} is made for this car all the same: {literal(said.because)}"
        for code in codes
        if (said := overruled.get(fits_code(code)))
    )


def _require_parts(
    line: _Line, place: _KitPlace, piece: Piece, copies: int, parts: tuple[Parts, tuple[str, ...]]
) -> None:
    """Requires what `copies` of a piece are made of."""
    made_of, why_many = parts
    fit = _fit_overruled(line, place)
    differs = bool(fit) or place.path.endswith("/added")
    for part in made_of.by_part.values():
        _require(line, piece, _key(line, place.path, piece, part.part), part, copies, (*why_many, *fit), differs)
    for there in made_of.on_car:
        _list_on_car(line, place.path, piece.code, piece.code, there.item, there.count * copies, there.half)


def _require_made(
    line: _Line, place: _KitPlace, changed: ChangedPiece, copies: int, parts: tuple[Parts, tuple[str, ...]]
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
    fit = _fit_overruled(line, place)
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


def _key(line: _Line, path: str, piece: Piece, part: str, unit: int = 0) -> Key:
    return Key(line.case.number, path, piece.code, part, piece.hand, unit)


def _require(line: _Line, piece: Piece, key: Key, part: Part, times: int, why: tuple[str, ...], differs: bool) -> None:
    line.requirements.append(
        (
            piece.code,
            Requirement(
                key,
                part.need,
                part.item,
                part.quantity * times,
                part.each_mm,
                piece.group,
                (*part.reasons, *why),
                part.shape,
                part.changed or differs,
            ),
        )
    )


def _explode_kit_hardware(line: _Line, place: _KitPlace, changes: tuple[Change, ...]) -> None:
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
    fit = _fit_overruled(line, place)
    many = (f"For {place.times} kits.",) if place.times > 1 else ()
    for part in parts.by_part.values():
        key = Key(number, place.path, "", part.part, "")
        quantity, reasons_all = part.quantity * place.times, (*part.reasons, *many, *fit)
        req = Requirement(key, part.need, part.item, quantity, 0, "", reasons_all, None, part.changed or bool(fit))
        line.requirements.append((kit.code, req))
    for there in parts.on_car:
        _list_on_car(line, place.path, "", kit.code, there.item, there.count * place.times, there.half)


def _list_on_car(line: _Line, path: str, piece: str, holder: str, item: str, count: int, half: str) -> None:
    line.on_car.append((holder, AlreadyOnCar(line.case.number, path, piece, item, count, half)))


def _wait_for_the_customer(line: _Line) -> None:
    """Notes swatches, which the whole line waits for, and each kit's own measurements and choices."""
    request, answers = line.case.request, line.answers
    for swatch in request.swatches:
        answers.wait(Wait("swatch", swatch, f"A swatch was sent for {literal(swatch)}. What is the answer?"), "")
    reckoned_with = {fact for code in answers.rules_told() for fact in facts_asked(line.book.rules[code])}
    for place in line.places:
        if request.pieces and not any(code in request.pieces for code in place.kit.pieces):
            continue
        for question in place.kit.measurements:
            if not request.measurements.get(question, "").strip():
                for holder in _within(line, place):
                    answers.wait(Wait("measurement", question, question), holder)
        for option in () if request.pieces else place.kit.options:
            if option not in answers.case.choices and f"option {option}" not in reckoned_with:
                # No rule of these kits looked at it, so nothing says what hangs on it: everything of the kit does.
                for holder in _within(line, place):
                    answers.wait_for_option(option, holder)


def _advise(line: _Line) -> None:
    """Which colours usually go together: advice only."""
    car, answers = line.case.car, line.answers
    chosen: dict[str, tuple[str | None, ...]] = {
        "hood": (car.hood_colour,),
        "body": (car.body_colour,),
        "piping": tuple(line.piped_in),
    }
    for pairing in line.book.pairings:
        if pairing.trim != car.trim_colour:
            continue
        because = f"{pairing.because.strip().rstrip('.')}. " if pairing.because.strip() else ""
        for part, usual in pairing.goes_with.items():
            names = listed((answers.colour_name(code) for code in usual), "or")
            for colour in chosen.get(part, ()):
                if colour and colour not in usual:
                    trim, name = answers.colour_name(pairing.trim), answers.colour_name(colour)
                    said = f"With {trim} trim the {part} is usually {names}; here it is {name}. {because}Advice only."
                    line.advice[said] = None


def _waits(line: _Line) -> Iterator[Wait]:
    for key, wait in line.answers.waits.items():
        holders = line.answers.holds_up[key]
        yield wait if "" in holders else replace(wait, holds_up=tuple(holders))


def _is_held(line: _Line, holder: str) -> bool:
    return holder in line.answers.held or "" in line.answers.held


def _steps_by_car(done: Sequence[_Line]) -> dict[str, tuple[FittingStep, ...]]:
    kits: dict[str, list[KitOnCar]] = {}
    present: dict[str, set[str]] = {}
    for line in done:
        whole = not line.case.request.pieces
        kits.setdefault(line.case.car_key, []).extend(KitOnCar(place.kit, whole) for place in line.places)
        present.setdefault(line.case.car_key, set()).update(line.present)
    return {car: fitting_steps(on_car, present[car]) for car, on_car in kits.items()}


def _pieces_made(line: _Line, steps: tuple[FittingStep, ...]) -> list[PieceMade]:
    """The line's pieces, set by set, each set in the order in which its pieces are fitted."""
    made: list[tuple[int, int, PieceMade]] = []
    for entry in line.pieces:
        if _is_held(line, entry.piece.code):
            continue
        numbers = steps_of(steps, entry.piece.code)
        first = numbers[0] if numbers else len(steps) + 1
        in_a_set = entry.copies // line.case.request.quantity
        made += [
            ((copy - 1) // in_a_set, first, _piece_made(line, entry, copy, (numbers, len(steps))))
            for copy in range(1, entry.copies + 1)
        ]
    made.sort(key=lambda one: one[:2])
    return [piece for _, _, piece in made]


def _piece_made(line: _Line, entry: _PieceOnLine, copy: int, steps: tuple[tuple[int, ...], int]) -> PieceMade:
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
