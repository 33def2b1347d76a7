"""What the items made here consist of, by the kit book: found by exploding one of each for every kind of car.

A part that is the same for every car is in the bill. One that hangs on the car (which is not known when something is
made for stock) is named beside it, and not guessed.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import replace

from stockroom.domain.answers import CatalogueView, LineCase
from stockroom.domain.book_uses import coloured_of_piece, uses_of_kit, uses_of_piece
from stockroom.domain.car_kinds import CarKinds
from stockroom.domain.conditions import facts_of
from stockroom.domain.explosion import explode
from stockroom.domain.facts import CarFacts, Case
from stockroom.domain.kitbook import Ask, Kit, KitBook, Piece
from stockroom.domain.made_from import MadeFrom, Part
from stockroom.domain.order import LineRequest
from stockroom.domain.refusal import Refusal
from stockroom.domain.requirement import Requirement
from stockroom.domain.rules import facts_asked

MOST_KINDS = 400
"""Kinds of cars that are walked for one kit; where there are more, what it is made of hangs on too much to say."""

_Bill = dict[str, Part]


def bills_of_book(book: KitBook, catalogue: CatalogueView) -> dict[str, MadeFrom]:
    """Item made here → what it is made of, for those that the book tells of.

    These are blanks, which pieces are made from, and kits that are kept for stock under the kit's own code.
    """
    wanted = {code for code, item in catalogue.items.items() if item.made_here}
    found: defaultdict[str, list[_Bill]] = defaultdict(list)
    for kit in _kits_of_blanks(book):
        for case in _cases(book, catalogue, kit, wanted):
            for item, bill in _blanks(book, catalogue, kit, case):
                if item in wanted:
                    found[item].append(bill)
    for code in sorted(wanted & book.kits.keys()):
        kit = book.kits[code]
        for case in _cases(book, catalogue, kit, wanted):
            bill = _parts(catalogue, (one for one in _exploded(book, catalogue, kit, case) if not _of_unit(one)))
            if bill:
                found[code].append(bill)
    return {item: _agreed(item, bills) for item, bills in sorted(found.items())}


def _kits_of_blanks(book: KitBook) -> Iterator[Kit]:
    """For each piece that is made from a blank, the smallest kit that has it."""
    chosen: dict[str, Kit] = {}
    for piece in book.pieces.values():
        having = [kit for kit in book.kits.values() if piece.code in kit.pieces]
        if piece.made is not None and having:
            kit = min(having, key=lambda kit: (len(kit.pieces), kit.code))
            chosen[kit.code] = kit
    yield from chosen.values()


def _cases(book: KitBook, catalogue: CatalogueView, kit: Kit, wanted: Collection[str]) -> Iterator[Case]:
    """Every kind of car, as far as the kit's rules tell them apart, in each colour that its blanks are kept in."""
    pieces = [book.pieces[code] for code in kit.pieces if code in book.pieces]
    facts = dict.fromkeys(facts_of(kit.when))
    asks = [use.asked for piece in pieces for use in uses_of_piece(book, piece)]
    asks += [goods.goods for piece in pieces for goods in coloured_of_piece(piece)]
    asks += [use.asked for use in uses_of_kit(kit)]
    for ask in asks:
        if isinstance(ask, Ask):
            facts |= dict.fromkeys(facts_asked(book.rules[ask.rule]))
    kinds = CarKinds(book, catalogue.colours)
    if kinds.size(facts) > MOST_KINDS:
        return
    part, colours = _colours(book, catalogue, pieces, wanted)
    for kind in kinds.kinds(facts):
        for colour in colours or ("",):
            yield replace(kind.case, car=_in_colour(kind.case.car, part, colour))


def _in_colour(car: CarFacts, part: str, colour: str) -> CarFacts:
    if part == "trim":
        return replace(car, trim_colour=colour)
    if part == "body":
        return replace(car, body_colour=colour)
    return replace(car, hood_colour=colour) if part == "hood" else car


def _colours(
    book: KitBook, catalogue: CatalogueView, pieces: Iterable[Piece], wanted: Collection[str]
) -> tuple[str, tuple[str, ...]]:
    """Which of the car's colours its blanks take ('trim', 'body', 'hood'), and the colours that they are kept in."""
    for piece in pieces:
        role = piece.made_role
        colour = book.roles[role].colour if role in book.roles else f"@{role}"
        if role and isinstance(colour, str) and colour in ("@trim", "@body", "@hood"):
            return colour[1:], tuple(sorted({catalogue.items[code].colour for code in wanted} - {""}))
    return "", ()


def _exploded(book: KitBook, catalogue: CatalogueView, kit: Kit, case: Case) -> tuple[Requirement, ...]:
    """What one kit takes on a car of this kind; nothing where it does not fit it, or something cannot be told."""
    choices = {code: next(iter(option.choices), "") for code, option in book.options.items()} | dict(case.choices)
    measures = dict.fromkeys(kit.measurements, "as usual")
    line = LineRequest(kit.code, 1, "for stock", choices=choices, measurements=measures)
    try:
        done = explode(book, catalogue, [LineCase(1, line, "for stock", case.car)])
    except Refusal:
        return ()
    return done.requirements


def _blanks(book: KitBook, catalogue: CatalogueView, kit: Kit, case: Case) -> Iterator[tuple[str, _Bill]]:
    """Each made item that a kit takes, with what one of them is made of."""
    needs = _exploded(book, catalogue, kit, case)
    for made in needs:
        if made.need == "made":
            mine = [one for one in needs if _of_unit(one) == 1 and one.key.piece == made.key.piece]
            yield made.item, _parts(catalogue, mine)


def _of_unit(one: Requirement) -> int:
    return one.key.unit


def _parts(catalogue: CatalogueView, needs: Iterable[Requirement]) -> _Bill:
    bill: _Bill = {}
    for one in needs:
        part = bill.get(one.item, Part(one.item, 0))
        if one.shape is None:
            bill[one.item] = replace(part, each=part.each + one.quantity)
        else:
            cloth = catalogue.cloths[catalogue.items[one.item].cloth]
            panels = (*part.panels, (one.shape, one.quantity))
            bill[one.item] = replace(part, panels=panels, width_mm=cloth.width_mm, nap=cloth.nap)
    return bill


def _agreed(item: str, bills: list[_Bill]) -> MadeFrom:
    """What all kinds of cars agree on."""
    first, others = bills[0], bills[1:]
    named: Mapping[str, None] = dict.fromkeys(code for bill in bills for code in bill)
    same = [code for code in named if code in first and all(bill.get(code) == first[code] for bill in others)]
    return MadeFrom(
        item, tuple(first[code] for code in sorted(same)), tuple(code for code in sorted(named) if code not in same)
    )
