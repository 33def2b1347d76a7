"""The fitting sheet of one car: every step over all its kits, with what is unbolted and refitted between."""

from __future__ import annotations

from collections import defaultdict

from labels import FittingPiece, FittingSheet, FittingStep, fitting_sheet_pdf
from stockroom.domain.kitbook import KitBook
from stockroom.domain.refusal import Refusal
from stockroom.domain.requirement import FittingStep as Step
from stockroom.domain.stamp import Stamp
from stockroom.jobs.lookup import book_of, catalogue_of
from stockroom.jobs.printed import delivery, printed_by
from stockroom.jobs.ticket import car_words
from stockroom.store import cars, orders, pieces, waits
from stockroom.store.database import Shop
from stockroom.store.pieces import KeptPiece

CAUTIONS = (
    "Adhesives and solvents: ventilate well, keep away from flame, wear what the maker's sheet asks for.",
    "Drilling near the fuel tank, its lines or the battery: look behind first, disconnect, and leave it to licensed "
    "practice where your rules say so. Your own rules decide, not this paper.",
)


def fitting_sheets(shop: Shop, number: str, stamp: Stamp) -> dict[str, bytes]:
    """Car key → its fitting sheet as PDF, for every car of the order that has steps."""
    with shop.read() as tx:
        order = orders.order_by(tx, number)
        steps_of = pieces.fitting_of(tx, order.id)
        made = pieces.pieces_of(tx, order.id)
        known = cars.cars_by_id(tx, [line.car_id for line in order.lines])
        waiting = waits.waits_of(tx, order.id)
        book = book_of(shop, tx, order.book_id)
        catalogue = catalogue_of(shop, tx)
    if not any(steps_of.values()):
        raise Refusal(
            f"Order {order.number} has no fitting steps: nothing of it is exploded yet, or nothing is fitted."
        )
    car_of_line = {line.number: known[line.car_id] for line in order.lines}
    by_car: defaultdict[str, dict[str, list[KeptPiece]]] = defaultdict(lambda: defaultdict(list))
    for one in made:
        by_car[car_of_line[one.piece.line].key][one.piece.piece].append(one)
    sheets: dict[str, bytes] = {}
    for car in {one.key: one for one in car_of_line.values()}.values():
        steps = steps_of.get(car.key, ())
        if not steps:
            continue
        lines = [line for line in order.lines if line.car_id == car.id]
        sheets[car.key] = fitting_sheet_pdf(
            FittingSheet(
                car=car_words(book, catalogue, car),
                car_code=car.tag,
                steps_total=len(steps),
                steps=tuple(_step(book, step, by_car[car.key]) for step in steps),
                orders=order.number,
                customer=order.customer,
                kits=", ".join(dict.fromkeys(f"{line.request.quantity} × {line.title}" for line in lines)),
                delivery=delivery(order.fitted_here),
                printed=printed_by(stamp),
                waiting=tuple(
                    f"{one.wait.name}: {one.wait.question}" for one in waiting if car_of_line[one.line].id == car.id
                ),
                cautions=CAUTIONS,
            )
        )
    return sheets


def _step(book: KitBook, step: Step, made: dict[str, list[KeptPiece]]) -> FittingStep:
    theirs = [one for code in step.pieces for one in made.get(code, [])]
    return FittingStep(
        number=step.number,
        what=step.do,
        kit=book.kits[step.kit].title if step.kit in book.kits else step.kit,
        pieces=tuple(
            FittingPiece(one.piece.piece, one.piece.title, one.tag, one.piece.hand, "; ".join(one.piece.holes_left))
            for one in theirs
        ),
        unbolt=(step.unbolt,) if step.unbolt else (),
        refit=(step.refit,) if step.refit else (),
        cautions=(step.caution,) if step.caution else (),
        changes=tuple(dict.fromkeys(change for one in theirs for change in one.piece.changes)),
        note=_notes(theirs),
    )


def _notes(pieces_made: list[KeptPiece]) -> str:
    """The fitter's notes, each headed by the pieces it is for."""
    of_note: defaultdict[str, dict[str, None]] = defaultdict(dict)
    for one in pieces_made:
        if one.piece.note:
            of_note[one.piece.note][one.piece.piece] = None
    return "\n".join(f"{', '.join(codes)}: {note}" for note, codes in of_note.items())
