"""The pick list of an order on paper: what is held for it, in walking order."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from labels import CutPanel, OpenLine, PickCut, PickLine, PickList, pick_list_pdf
from stockroom.domain.kitbook import KitBook
from stockroom.domain.on_screen import on_screen
from stockroom.domain.quantities import cloth_mass_g, show_length
from stockroom.domain.requirement import PanelShape
from stockroom.domain.stamp import Stamp
from stockroom.jobs.amounts import show_amount
from stockroom.jobs.lookup import Catalogue, book_of, catalogue_of
from stockroom.jobs.printed import LIFT_LIMIT_G, LIFTING, delivery, printed_by, wanted_words
from stockroom.jobs.ticket import Ticket, TicketWait, ticket
from stockroom.store import bill, holds, orders
from stockroom.store.bill import KeptRequirement
from stockroom.store.database import Shop
from stockroom.store.holds import KeptHold

CAUTIONS = (
    "Blades: cut away from yourself on a clear table; change and put away blades as your own rules say.",
    "Heavy rolls: two people or a roll stand. Your own rules and a competent assessment decide, not this paper.",
)


@dataclass(frozen=True, slots=True)
class _Desk:
    """What every line of one pick list is made from."""

    book: KitBook
    catalogue: Catalogue
    requirements: dict[int, KeptRequirement]


def pick_list(shop: Shop, number: str, stamp: Stamp, today: date) -> bytes:
    """The pick list of an order as PDF. Raises Refusal where there is no such order."""
    shown = ticket(shop, number, today)
    with shop.read() as tx:
        order = orders.order_by(tx, number)
        requirements = {one.id: one for one in bill.requirements_of(tx, order.id)}
        held = holds.holds_of(tx, order.id)
        desk = _Desk(book_of(shop, tx, order.book_id), catalogue_of(shop, tx), requirements)
    return pick_list_pdf(
        PickList(
            order=shown.number,
            order_code=shown.tag,
            customer=shown.customer,
            wanted=wanted_words(shown.wanted, shown.overdue_days),
            delivery=delivery(shown.fitted_here),
            printed=printed_by(stamp),
            lines=tuple(_lines(desk, held)),
            cars=tuple(dict.fromkeys(line.car_words for line in shown.lines)),
            changes=tuple(change for line in shown.lines for change in line.changes),
            waiting=tuple(_waiting(shown, one) for one in shown.waits),
            short=tuple(OpenLine(title="", reason=sentence) for sentence in shown.shortages),
            cautions=CAUTIONS,
            overdue=shown.overdue_days > 0,
        )
    )


def _waiting(shown: Ticket, wait: TicketWait) -> OpenLine:
    line = next(line for line in shown.lines if line.number == wait.line)
    pieces = f", {', '.join(wait.holds_up)}" if wait.holds_up else ""
    return OpenLine(title=f"{line.title}{pieces}", reason=f"Waits for {wait.name}: {wait.question}", for_what=line.car)


def _lines(desk: _Desk, held: Sequence[KeptHold]) -> list[PickLine]:
    """One line a walk to one holding: each cut, and all that is taken out of one reel or bin together."""
    together: defaultdict[tuple[int, int | None], list[KeptHold]] = defaultdict(list)
    for one in held:
        together[one.holding_id, one.cut_id].append(one)
    return [_line(desk, some) for some in together.values()]


def _line(desk: _Desk, some: Sequence[KeptHold]) -> PickLine:
    first = some[0]
    item = desk.catalogue.items[first.item]
    colour = desk.catalogue.colours.get(item.colour)
    cloth = desk.catalogue.cloths.get(item.cloth)
    ids = [one.requirement_id for one in some if one.requirement_id is not None]
    ids += [panel[0] for one in some for panel in one.panels]
    served = [desk.requirements[one] for one in dict.fromkeys(ids)]
    mass = cloth_mass_g(first.held_mm, first.width_mm, cloth.mass_g_m2) if cloth and first.kind == "roll" else 0
    return PickLine(
        place=first.place,
        tag=first.tag,
        title=item.title,
        quantity=show_amount(item.kind, sum(one.quantity for one in some)),
        item=first.item,
        colour=colour.name if colour else "",
        swatch=on_screen(colour.master).rgb if colour and colour.master else None,
        roll=first.tag if first.kind == "roll" else "",
        dye_lot=first.lot,
        reason=" ".join(dict.fromkeys(reason for one in some for reason in one.reasons)),
        changes=tuple(
            dict.fromkeys(f"{_name(one)}: {one.requirement.reasons[-1]}" for one in served if one.requirement.changed)
        ),
        mass_g=mass if mass >= LIFT_LIMIT_G else None,
        lifting_caution=LIFTING if mass >= LIFT_LIMIT_G else None,
        cut=_cut(desk, first) if first.cut_id is not None else None,
        for_what=", ".join(dict.fromkeys(_name(one) for one in served)),
    )


def _name(one: KeptRequirement) -> str:
    key = one.requirement.key
    return f"{key.piece or 'kit'} {key.hand}".strip()


def _cut(desk: _Desk, held: KeptHold) -> PickCut:
    panels = []
    for requirement_id, x_mm, y_mm, turned in held.panels:
        one = desk.requirements[requirement_id]
        shape = one.requirement.shape
        if shape is None:
            continue
        key = one.requirement.key
        panels.append(
            CutPanel(
                label=f"{key.piece} {key.part}".strip(),
                polygon=laid(shape, x_mm, y_mm, turned, held.width_mm),
                title=show_length(shape.length_mm),
                change="changed for this car" if one.requirement.changed else "",
            )
        )
    return PickCut(held.from_mm, held.to_mm, held.width_mm, tuple(panels))


def laid(shape: PanelShape, x_mm: int, y_mm: int, turned: int, roll_width_mm: int) -> tuple[tuple[int, int], ...]:
    """A panel where it lies on its cut: (along the roll, across it), mm from the cut's start and the roll's edge."""
    if not shape.width_mm:
        return ((y_mm, 0), (y_mm, roll_width_mm), (y_mm + shape.length_mm, roll_width_mm), (y_mm + shape.length_mm, 0))
    if turned == 180:
        return tuple((y_mm + shape.length_mm - y, x_mm + shape.width_mm - x) for x, y in shape.points)
    if turned == 90:
        return tuple((y_mm + x, x_mm + shape.length_mm - y) for x, y in shape.points)
    return tuple((y_mm + y, x_mm + x) for x, y in shape.points)
