"""An order's ticket: what it is for, what it needs, what is held for it, what it waits for, and why."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import partial

from stockroom.domain.catalogue import BY_LENGTH
from stockroom.domain.changes import change_sentence
from stockroom.domain.group_rule import MatchingGroup
from stockroom.domain.kitbook import KitBook
from stockroom.domain.matching import Match
from stockroom.domain.quantities import show_length
from stockroom.domain.shortage import lot_name
from stockroom.jobs.amounts import show_amount
from stockroom.jobs.left_over import ToPutAway, lying_about, to_put_away
from stockroom.jobs.lookup import Catalogue, book_of, catalogue_of
from stockroom.jobs.lot_colours import lot_colours
from stockroom.jobs.margin import margin_words
from stockroom.jobs.offer import Offer, offers_in
from stockroom.jobs.parts import whereabouts
from stockroom.jobs.rail import overdue_days
from stockroom.jobs.stand_in import Proposal, proposals_in
from stockroom.jobs.swatch_awaited import Awaited, awaited_as_told
from stockroom.store import bill, cars, customer_parts, finished, holds, margins, orders, pieces, swatches, waits
from stockroom.store.bill import KeptRequirement
from stockroom.store.cars import KeptCar
from stockroom.store.database import Shop, Tx
from stockroom.store.finished import Became, FromStock
from stockroom.store.holds import KeptHold, KeptShortage
from stockroom.store.orders import KeptLine, KeptOrder
from stockroom.store.pieces import KeptPiece


@dataclass(frozen=True, slots=True)
class TicketHold:
    """Where one requirement is held."""

    tag: str
    """Tag of the roll or bin."""
    place: str
    lot: str
    amount: str
    """'from 2.10 m to 3.40 m' of a roll, '1.25 m' of a reel, '8' of a bin."""
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TicketNeed:
    """One requirement as the ticket shows it."""

    line: int
    kit: str
    """Kit path, for people ('Touring set / Full boot set')."""
    piece: str
    part: str
    hand: str
    item: str
    title: str
    """Title of the item."""
    colour: str
    amount: str
    """'1 panel', '3.20 m', '12'."""
    held: str
    """'held', 'part held', 'short' or 'not held yet'."""
    holds: tuple[TicketHold, ...]
    reasons: tuple[str, ...]
    changed: bool


@dataclass(frozen=True, slots=True)
class TicketWait:
    """One answer awaited."""

    line: int
    kind: str
    name: str
    question: str
    choices: tuple[str, ...]
    holds_up: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TicketLine:
    """One line of the order."""

    number: int
    kit: str
    title: str
    quantity: int
    car: str
    car_words: str
    """The car in words: 'RP 2417, Series 1, Ashgate, trim red, body green, hood black'."""
    changes: tuple[str, ...]
    on_car: tuple[str, ...]
    advice: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TicketPart:
    """A customer's part that came in with the order."""

    tag: str
    what: str
    where: str
    """'in M3', or when it was given back."""
    is_here: bool
    """Whether it is still in the shop."""


@dataclass(frozen=True, slots=True)
class TicketMix:
    """Something short of which several lots together would do, if somebody approves the mix."""

    item: str
    title: str
    lots: tuple[str, ...]
    """All that its matching group would have."""
    to_see: tuple[str, ...]
    """The pairs that whoever approves it must look at in daylight: 'lot A beside lot B'."""


@dataclass(frozen=True, slots=True)
class TicketStock:
    """A finished thing of the stock that the order has, or is to have."""

    tag: str
    title: str
    is_fetched: bool
    sentence: str


@dataclass(frozen=True, slots=True)
class Ticket:
    """One order, whole."""

    number: str
    tag: str
    customer: str
    state: str
    wanted: date | None
    overdue_days: int
    fitted_here: bool
    note: str
    book: str
    """Kit book and version it was taken under."""
    taken_by: str
    taken_at: datetime
    lines: tuple[TicketLine, ...]
    needs: tuple[TicketNeed, ...]
    waits: tuple[TicketWait, ...]
    shortages: tuple[str, ...]
    """What is short, one sentence each, with the reason."""
    history: tuple[str, ...]
    """What was changed since it was taken, with who and when."""
    customers_parts: tuple[TicketPart, ...] = ()
    mixes: tuple[TicketMix, ...] = ()
    """Mixes of lots that somebody may approve."""
    margins: tuple[str, ...] = ()
    """What is held beside what it needs, until it is packed: sentences."""
    for_stock: bool = False
    """Nobody ordered it: what is made is kept."""
    from_stock: tuple[TicketStock, ...] = ()
    """Finished things of the stock that it has, or is to have."""
    offers: tuple[Offer, ...] = ()
    """Finished things of the stock that fit it."""
    left_over: tuple[str, ...] = ()
    """What of it, as it is cancelled, is still to be put back, kept or scrapped: sentences."""
    became: tuple[str, ...] = ()
    """What became of its pieces, where they were kept or scrapped: sentences."""
    to_put_away: tuple[ToPutAway, ...] = ()
    """The same as what is left over, thing by thing; of an order for stock, what is still to be kept."""
    swatches: tuple[Awaited, ...] = ()
    """Swatches that were sent for it and are not answered."""
    swatch_answers: tuple[str, ...] = ()
    """What the customer said to those that are: sentences."""
    substitutes: tuple[Proposal, ...] = ()
    """Permitted substitutes of what is short."""


def ticket(shop: Shop, number_or_tag: str, today: date) -> Ticket:
    """The ticket of an order. Raises Refusal where there is no such order."""
    with shop.read() as tx:
        order = orders.order_by(tx, number_or_tag)
        return ticket_in(shop, tx, order, bill.requirements_of(tx, order.id), today)


def ticket_in(shop: Shop, tx: Tx, order: KeptOrder, requirements: Sequence[KeptRequirement], today: date) -> Ticket:
    """`ticket` of an order whose requirements were read, within a transaction that has begun."""
    book = book_of(shop, tx, order.book_id)
    catalogue = catalogue_of(shop, tx)
    known = cars.cars_by_id(tx, [line.car_id for line in order.lines])
    held = _by_requirement(holds.holds_of(tx, order.id))
    waiting = waits.waits_of(tx, order.id)
    shortages = holds.shortages_of(tx, order.id)
    history = orders.changes_logged(tx, order.id)
    short = {one.item for one in shortages}
    on_pieces: defaultdict[int, list[str]] = defaultdict(list)
    made = pieces.pieces_of(tx, order.id)
    for one in made:
        on_pieces[one.piece.line] += [f"{one.piece.piece}: {sentence}" for sentence in one.piece.changes]
    return Ticket(
        order.number,
        order.tag,
        order.customer,
        order.state,
        order.wanted,
        overdue_days(order.wanted, today) if order.state == "open" else 0,
        order.fitted_here,
        order.note,
        f"{book.title}, version {book.version}",
        order.taken_by,
        order.taken_at,
        tuple(_line(book, catalogue, line, known[line.car_id], on_pieces[line.number]) for line in order.lines),
        tuple(_need(book, catalogue, one, held.get(one.id, []), short) for one in requirements if one.needed),
        tuple(
            TicketWait(one.line, one.wait.kind, one.wait.name, one.wait.question, one.wait.choices, one.wait.holds_up)
            for one in waiting
        ),
        tuple(one.sentence for one in shortages),
        tuple(f"{what} ({by}, {at:%Y-%m-%d %H:%M} UTC)" for what, by, at in history),
        tuple(
            TicketPart(one.tag, one.what, whereabouts(one), one.given_back_at is None)
            for one in customer_parts.parts_of(tx, order.id)
        ),
        tuple(_mixes(catalogue, tx, shortages)),
        tuple(
            margin_words(catalogue, one.item, one.lot, one.tag, (one.from_mm, one.to_mm))
            for one in margins.margins_of(tx, order.id)
        ),
        order.for_stock,
        _from_stock(tx, order, made),
        offers_in(shop, tx, order),
        lying_about(shop, tx, order).sentences,
        _became(tx, order, made),
        to_put_away(shop, tx, order),
        tuple(awaited_as_told(tx, swatches.awaited_of_order(tx, order.id), today)),
        _swatch_answers(tx, order),
        proposals_in(catalogue, tx, order),
    )


def _swatch_answers(tx: Tx, order: KeptOrder) -> tuple[str, ...]:
    return tuple(
        f"{one.said_by} said {one.answer} to swatch {one.tag} of {one.title}, lot {one.lot or 'unknown'}"
        + (f": {one.note}" if one.note else "")
        + f" ({one.answered_by}, {one.answered_at:%Y-%m-%d})."
        for one in swatches.sent_of_order(tx, order.id)
        if one.answer in ("yes", "no")
    )


def _from_stock(tx: Tx, order: KeptOrder, made: Sequence[KeptPiece]) -> tuple[TicketStock, ...]:
    """The finished things that an order has, or is to have."""
    tags = {one.id: one.tag for one in made}
    things: defaultdict[str, list[FromStock]] = defaultdict(list)
    for one in finished.from_stock_of(tx, order.id).values():
        things[one.tag].append(one)
    return tuple(
        TicketStock(
            tag,
            some[0].title,
            some[0].movement_id is not None,
            f"{some[0].title} of the stock ({tag}), "
            f"{'fetched' if some[0].movement_id is not None else f'to be fetched from {some[0].place}'}, "
            f"is {', '.join(tags[one.piece_id] for one in some)}.",
        )
        for tag, some in things.items()
    )


def _became(tx: Tx, order: KeptOrder, made: Sequence[KeptPiece]) -> tuple[str, ...]:
    """What became of the pieces that were kept or scrapped."""
    became = finished.became_of(tx, order.id)
    return tuple(f"{one.piece.title} ({one.tag}) {became_words(became[one.id])}." for one in made if one.id in became)


def became_words(became: Became) -> str:
    """What became of a piece, as the second half of a sentence."""
    if became.tag:
        return f"was kept for stock, as {became.tag} ({became.by}, {became.at:%Y-%m-%d})"
    return f"was scrapped: {became.because.rstrip('.')} ({became.by}, {became.at:%Y-%m-%d})"


def kit_words(book: KitBook, path: str) -> str:
    """A kit path for people: the titles of the kits, from the line's kit inwards."""
    steps = path.removesuffix("/made").split("/")
    return " / ".join(book.kits[step].title if step in book.kits else step for step in steps)


def car_words(book: KitBook, catalogue: Catalogue, car: KeptCar) -> str:
    """A car in words: its key, what is known of it, and its colours."""
    told = car.told
    words = [told.key]
    if told.chassis_number and told.chassis_number != told.key:
        words.append(f"chassis {told.chassis_number}")
    if told.series:
        words.append(book.series[told.series].title if told.series in book.series else told.series)
    if told.works:
        words.append(book.works.get(told.works, told.works))
    if told.built:
        words.append(f"built {told.built.isoformat()}")
    if told.hand:
        words.append(f"{told.hand}-hand drive")
    for part, colour in (("body", told.body_colour), ("trim", told.trim_colour), ("hood", told.hood_colour)):
        if colour:
            name = catalogue.colours[colour].name if colour in catalogue.colours else colour
            words.append(f"{part} {name.lower()}")
    return ", ".join(words)


def _mixes(catalogue: Catalogue, tx: Tx, shortages: Sequence[KeptShortage]) -> Iterator[TicketMix]:
    """The mixes that are proposed; how their lots match is looked up only where one is."""
    colours = lot_colours(catalogue, tx)
    for one in shortages:
        if one.would_mix:
            group = MatchingGroup(colours=partial(colours, one.item), is_seen_together=bool(one.group))
            to_see = (
                f"{lot_name(first)} beside {lot_name(second)}"
                for first, second, judged in group.judged(frozenset(one.would_mix))
                if judged.match is Match.BY_EYE
            )
            yield TicketMix(one.item, catalogue.items[one.item].title, one.would_mix, tuple(to_see))


def _line(book: KitBook, catalogue: Catalogue, line: KeptLine, car: KeptCar, on_pieces: Sequence[str]) -> TicketLine:
    """`on_pieces`: this car's changes as its pieces have them, those kept with the car from an earlier order too."""
    asked = [f"{one.piece}: {change_sentence(one)}" for one in line.request.changes]
    overruled = tuple(
        f"Rule '{rule}' overruled: {said.then}, because {said.because} ({said.by})."
        for rule, said in line.request.overruled.items()
    )
    return TicketLine(
        line.number,
        line.request.kit,
        line.title if not line.request.pieces else f"{line.title}: only {', '.join(line.request.pieces)}",
        line.request.quantity,
        car.key,
        car_words(book, catalogue, car),
        (*dict.fromkeys([*asked, *on_pieces]), *overruled, *_matching(line.request.match)),
        tuple(
            f"{count} × {catalogue.items[item].title if item in catalogue.items else item}"
            + (f" ({half})" if half else "")
            for _, _, item, count, half in line.on_car
        ),
        line.advice,
    )


def _matching(match: str) -> tuple[str, ...]:
    return (f"Its cloth is to match what went out with {match}.",) if match else ()


def _by_requirement(held: list[KeptHold]) -> dict[int, list[KeptHold]]:
    by_requirement: dict[int, list[KeptHold]] = {}
    for one in held:
        ids = {panel[0] for panel in one.panels} if one.requirement_id is None else {one.requirement_id}
        for requirement_id in ids:
            by_requirement.setdefault(requirement_id, []).append(one)
    return by_requirement


def _need(
    book: KitBook, catalogue: Catalogue, one: KeptRequirement, held: list[KeptHold], short: set[str]
) -> TicketNeed:
    requirement = one.requirement
    key = requirement.key
    item = catalogue.items[requirement.item]
    colour = catalogue.colours[item.colour].name if item.colour else ""
    if requirement.need == "panel":
        amount = f"{one.needed} panel" if one.needed == 1 else f"{one.needed} panels"
    else:
        amount = show_amount(item.kind, one.needed)
    return TicketNeed(
        key.line,
        kit_words(book, key.path),
        key.piece,
        key.part,
        key.hand,
        requirement.item,
        item.title,
        colour,
        amount,
        _held_word(one, requirement.item in short),
        tuple(_hold(one_hold, item.kind) for one_hold in held),
        requirement.reasons,
        requirement.changed,
    )


def _held_word(one: KeptRequirement, short: bool) -> str:
    if one.held == one.needed:
        return "held"
    if one.held:
        return "part held"
    return "short" if short else "not held yet"


def _hold(held: KeptHold, kind: str) -> TicketHold:
    if held.cut_id is not None:
        amount = f"from {show_length(held.from_mm)} to {show_length(held.to_mm)}"
    else:
        amount = show_length(held.quantity) if kind in BY_LENGTH else str(held.quantity)
    return TicketHold(held.tag, held.place, held.lot, amount, held.reasons)
