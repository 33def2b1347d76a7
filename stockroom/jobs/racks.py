"""What is where: by place and by item."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from stockroom.domain.catalogue import BY_LENGTH
from stockroom.domain.refusal import Refusal
from stockroom.domain.tags import is_tag
from stockroom.domain.wording import quoted, unknown
from stockroom.jobs.amounts import show_amount
from stockroom.jobs.lookup import Catalogue, catalogue_of
from stockroom.jobs.parts import part_scanned
from stockroom.jobs.printed import LIFT_LIMIT_G, LIFTING
from stockroom.jobs.scanned import not_in_stock, place_scanned
from stockroom.jobs.show import holding_mass_g
from stockroom.jobs.swatches import swatch_scanned, swatch_words
from stockroom.store import customer_parts, moving, racks, swatches, tagged
from stockroom.store.customer_parts import KeptPart
from stockroom.store.database import Shop, Tx
from stockroom.store.racks import Lying, PlaceSum
from stockroom.store.replaced_tags import scanned_tag

MOST_ITEMS = 20
"""So many items are shown for words that several are called by."""


@dataclass(frozen=True, slots=True)
class Thing:
    """One thing in stock as it lies there."""

    tag: str
    kind: str
    """'roll', 'remnant', 'bin' or 'finished'."""
    item: str
    title: str
    colour: str
    lot: str
    place: str
    amount: str
    """What it holds: '12.50 m', '40'; 'empty' of a bin."""
    reserved: str
    """Of that, what is reserved; '' where nothing is."""
    free: str
    """'nothing' of what is in quarantine."""
    quarantined: str
    """Why it is in quarantine; '' otherwise."""
    by_length: bool
    """It is measured; otherwise it is counted."""


@dataclass(frozen=True, slots=True)
class Alike:
    """Things that lie in one place and differ in nothing but their tags and how much each holds."""

    tags: tuple[str, ...]
    kind: str
    """As of a `Thing`."""
    item: str
    title: str
    colour: str
    lot: str
    amount: str
    """What they hold in all: '12.50 m', '40'; 'empty' of bins."""
    reserved: str
    """Of that, what is reserved; '' where nothing is."""
    quarantined: str
    """Why they are in quarantine; '' otherwise."""


@dataclass(frozen=True, slots=True)
class Rack:
    """A place, as it is looked over among all the others."""

    place: str
    """Code; '' of what lies in no place that is known."""
    tag: str
    title: str
    lying: tuple[Alike, ...]
    no_stock: tuple[str, ...]
    """As in `PlaceContents`."""
    held: int
    """How many things there hold something."""
    promised: int
    """Of how many something is reserved."""
    quarantined: int
    """How many are in quarantine."""


@dataclass(frozen=True, slots=True)
class InHand:
    """A thing that somebody has in hand, to put it in another place or to do something else with it."""

    tag: str
    title: str
    """With its lot, where it has one."""
    place: str
    """Where it lay; '' where that is not known."""
    amount: str
    """'12.50 m', '40'; '' of a customer's part, which is no stock."""
    is_bin: bool
    """Some of it can be moved without the rest."""
    by_length: bool
    quarantined: str
    """Why it is in quarantine; '' otherwise."""
    cautions: tuple[str, ...]
    """What to mind when it is carried: sentences."""


@dataclass(frozen=True, slots=True)
class PlaceContents:
    """A place with all that lies in it."""

    place: str
    """Code; '' of what lies in no place that is known."""
    tag: str
    title: str
    things: tuple[Thing, ...]
    no_stock: tuple[str, ...]
    """What lies there and is no stock: customers' parts and swatches, a sentence each."""


@dataclass(frozen=True, slots=True)
class Whereabouts:
    """An item with every place where it lies."""

    item: str
    title: str
    things: tuple[Thing, ...]
    """In walking order."""
    held: str
    """In all, quarantine too."""
    reserved: str
    free: str
    quarantined: str
    """How much is in quarantine; '' where nothing is."""


def places(shop: Shop) -> tuple[PlaceSum, ...]:
    """Every place and how much lies in it, in walking order."""
    with shop.read() as tx:
        return tuple(racks.places_summed(tx))


def looked_over(shop: Shop, places: Sequence[str] = ()) -> tuple[Rack, ...]:
    """Every place with all that lies in it, in walking order; last, what lies in none that is known.

    `places`: codes of those that are looked over; every one where none is named.
    """
    with shop.read() as tx:
        stocked = catalogue_of(shop, tx)
        lying: dict[str, list[racks.Alike]] = defaultdict(list)
        for one in racks.alike(tx, places):
            lying[one.place].append(one)
        parts: dict[str, list[str]] = defaultdict(list)
        for part in customer_parts.parts_here(tx):
            parts[part.place].append(_part_words(part))
        for swatch in swatches.swatches_lying(tx):
            parts[swatch.place].append(f"{swatch_words(swatch)} ({swatch.tag})")
        found = [
            _rack(stocked, (code, tag, title), lying[code], tuple(parts[code]))
            for tag, code, title in tagged.places(tx)
            if not places or code in places
        ]
        unknown_place = ("", "", "in no place that is known")
        nowhere = (_rack(stocked, unknown_place, lying[""], ()),) if lying[""] else ()
        return (*found, *nowhere)


def _rack(
    stocked: Catalogue, named: tuple[str, str, str], lying: Sequence[racks.Alike], parts: tuple[str, ...]
) -> Rack:
    """`named`: code, tag and title of the place."""
    return Rack(
        *named,
        tuple(_alike(stocked, one) for one in lying),
        parts,
        sum(one.holding for one in lying),
        sum(one.promised for one in lying),
        sum(len(one.tags) for one in lying if one.quarantined_because),
    )


def _alike(stocked: Catalogue, one: racks.Alike) -> Alike:
    item = stocked.items[one.item]
    colour = stocked.colours.get(item.colour)
    return Alike(
        one.tags,
        "remnant" if one.remnant else {"made": "finished"}.get(one.kind, one.kind),
        one.item,
        one.finished or item.title,
        colour.name if colour is not None else "",
        one.lot,
        show_amount(item.kind, one.held) if one.held else "empty",
        show_amount(item.kind, one.reserved) if one.reserved else "",
        one.quarantined_because,
    )


def in_hand(shop: Shop, tag: str) -> InHand:
    """What was taken in hand: stock or a customer's part. Raises Refusal for what is neither."""
    with shop.read() as tx:
        read = scanned_tag(tx, tag)
        if read.kind == "G":
            part = part_scanned(tx, str(read))
            return InHand(part.tag, part.what, part.place, "", False, False, "", ())
        if read.kind == "S":
            swatch = swatch_scanned(tx, str(read))
            return InHand(swatch.tag, swatch_words(swatch), swatch.place, "", False, False, "", ())
        found = tagged.holdings_by_tag(tx, [str(read)])
        if not found or moving.holding_of(tx, str(read)) is None:
            raise not_in_stock(read)
        (held,) = found
        lot = f", lot {held.lot}" if held.lot else ""
        mass_g = holding_mass_g(held)
        cautions = (f"{mass_g / 1000:.1f} kg. {LIFTING}",) if mass_g >= LIFT_LIMIT_G else ()
        return InHand(
            held.tag, f"{held.title}{lot}", held.place, show_amount(held.item_kind, held.held), held.kind == "bin",
            held.item_kind in BY_LENGTH, held.quarantined_because, cautions,
        )  # fmt: skip


def place_contents(shop: Shop, place: str) -> PlaceContents:
    """What lies in a place, named by its code or its tag. Raises Refusal where there is no such place."""
    with shop.read() as tx:
        return _contents(tx, place_scanned(tx, place))


def where_is(shop: Shop, text: str) -> tuple[Whereabouts, ...]:
    """Where an item lies, named by its code; or each of the items that these words are in the names of.

    Raises Refusal where nothing is called so, and where too much is.
    """
    with shop.read() as tx:
        return _whereabouts(tx, text)


def look_up(shop: Shop, text: str) -> PlaceContents | tuple[Whereabouts, ...]:
    """What lies in the place, or where the item lies, that was scanned; of a thing in stock, where its like is."""
    with shop.read() as tx:
        typed = text.strip()
        known = {code.casefold() for _, code, _ in tagged.places(tx)}
        held = tagged.holdings_by_tag(tx, [str(scanned_tag(tx, typed))]) if is_tag(typed) else []
        if held:
            return _whereabouts(tx, held[0].item)
        if is_tag(typed) or typed.casefold() in known:
            return _contents(tx, place_scanned(tx, typed))
        return _whereabouts(tx, typed)


def _contents(tx: Tx, code: str) -> PlaceContents:
    tag, title = next((tag, title) for tag, known, title in tagged.places(tx) if known == code)
    parts = (
        *map(_part_words, customer_parts.parts_in(tx, code)),
        *(f"{swatch_words(one)} ({one.tag})" for one in swatches.swatches_in(tx, code)),
    )
    return PlaceContents(code, tag, title, tuple(map(_thing, racks.lying_in(tx, code))), parts)


def _part_words(part: KeptPart) -> str:
    return f"{part.what} ({part.tag}): a customer's part, order {part.order}"


def _whereabouts(tx: Tx, text: str) -> tuple[Whereabouts, ...]:
    codes = racks.items_like(tx, text)
    if not codes:
        raise Refusal(unknown("place and no item", text, racks.item_codes(tx)))
    if len(codes) > MOST_ITEMS:
        raise Refusal(f"{len(codes)} items have {quoted(text)} in their names. Type more of the name.")
    return tuple(_of_item(racks.lying_of(tx, code), code, racks.title_of(tx, code)) for code in codes)


def _of_item(lying: Sequence[Lying], code: str, named: tuple[str, str]) -> Whereabouts:
    title, kind = named
    good = [one for one in lying if not one.quarantined_because]
    apart = sum(one.held for one in lying if one.quarantined_because)
    reserved = sum(one.reserved for one in good)
    free = sum(one.held for one in good) - reserved
    return Whereabouts(
        code,
        title,
        tuple(map(_thing, lying)),
        show_amount(kind, sum(one.held for one in lying)),
        show_amount(kind, reserved),
        show_amount(kind, free),
        show_amount(kind, apart) if apart else "",
    )


def _thing(one: Lying) -> Thing:
    kind = "remnant" if one.remnant else {"made": "finished"}.get(one.kind, one.kind)
    free = "nothing" if one.quarantined_because else show_amount(one.item_kind, one.held - one.reserved)
    return Thing(
        one.tag,
        kind,
        one.item,
        one.title,
        one.colour,
        one.lot,
        one.place,
        show_amount(one.item_kind, one.held) if one.held else "empty",
        show_amount(one.item_kind, one.reserved) if one.reserved else "",
        free,
        one.quarantined_because,
        one.item_kind in BY_LENGTH,
    )
