"""How far each piece of an order is: what of it was not taken yet, where its bundle is, whether it is packed.

What is taken is counted for all the copies of a piece together. The copies that are packed, or were kept for stock,
have theirs first, then those that are sewn or tied in a bundle, then the others in their order; of those in a bundle,
the spoilt ones come last. A copy that a finished thing of the stock is to be asks only for what that lacks.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from stockroom.domain.kitbook import KitBook
from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import listed
from stockroom.jobs.amounts import show_amount
from stockroom.jobs.lookup import Catalogue, book_of, catalogue_of
from stockroom.store import bill, bundles, finished, packing, pieces, sewing
from stockroom.store.bill import KeptRequirement
from stockroom.store.bundles import KeptBundle
from stockroom.store.database import Shop, Tx
from stockroom.store.finished import Became, FromStock
from stockroom.store.orders import KeptOrder
from stockroom.store.packing import PackedPiece
from stockroom.store.pieces import KeptPiece
from stockroom.store.sewing import KeptSewn


@dataclass(frozen=True, slots=True)
class PieceState:
    """One piece of an order and how far it is."""

    piece: KeptPiece
    packed: PackedPiece | None
    bundle: KeptBundle | None
    """The bundle that its panels are in."""
    must_scan: bool
    """A handed piece, a bag or a packet of hardware: it is packed by its tag, never by a tick."""
    lacks: tuple[str, ...]
    """What of it is not there yet: sentences without their full stop."""
    panels: tuple[str, ...]
    """Codes of the panels that it is made from, in the kit book's order."""
    panel_count: int
    """How many panels are cut for it."""
    uncut: int
    """How many of those are not cut yet."""
    sewn: KeptSewn | None
    """Who says that its panels are sewn together, and when."""
    became: Became | None = None
    """What became of it, where it was kept for stock or scrapped."""
    from_stock: FromStock | None = None
    """The finished thing of the stock that it is to be."""

    @property
    def state(self) -> str:
        """'packed', 'kept', 'scrapped', 'ready' or 'not ready'."""
        if self.packed is not None:
            return "packed"
        if self.became is not None:
            return "scrapped" if self.became.because else "kept"
        return "not ready" if self.lacks else "ready"

    @property
    def is_assembly(self) -> bool:
        """Whether several panels are sewn into it."""
        return self.panel_count > 1

    @property
    def sewing_words(self) -> str:
        """Whether its panels are one piece yet; '' for a piece of one panel, and where it no longer matters."""
        if self.sewn is not None:
            return f"sewn, one piece ({self.sewn.by}, {self.sewn.at:%Y-%m-%d})"
        if not self.is_assembly or self.packed is not None or self.became is not None:
            return ""
        return f"to be sewn from {panel_words(self.panels, self.panel_count)}"

    @property
    def name(self) -> str:
        """The piece for people: its title and its tag."""
        return f"{self.piece.piece.title} ({self.piece.tag})"


@dataclass(frozen=True, slots=True)
class OrderState:
    """How far an order is."""

    pieces: tuple[PieceState, ...]
    loose: tuple[str, ...]
    """What is not taken yet of what goes into no piece."""


@dataclass(slots=True)
class MadeOf:
    """What all copies of one piece are made of, and how much of that was taken."""

    copies: int
    plain: list[KeptRequirement]
    made: list[KeptRequirement]
    """The made-up item, taken from stock."""
    units: dict[int, list[KeptRequirement]]
    """Unit → the materials that are needed to make it."""
    taken: Mapping[int, int]
    stocked: dict[int, Mapping[int, int]] = field(default_factory=dict)
    """Copy that a finished thing of the stock is to be → requirement id → how much of it that has."""

    def has_panels(self, copy: int) -> bool:
        """Whether panels are cut for this copy (from 1)."""
        return self.panel_count(copy) > 0

    def panel_count(self, copy: int) -> int:
        """How many panels are cut for this copy."""
        if copy in self.stocked:
            return 0
        plain = sum(one.requirement.quantity // self.copies for one in self.plain if one.requirement.need == "panel")
        return plain + sum(one.needed for one in self.units.get(copy, ()) if one.requirement.need == "panel")

    @property
    def panels(self) -> tuple[str, ...]:
        """Codes of the panels of one copy."""
        units = (one for some in self.units.values() for one in some)
        return tuple(
            dict.fromkeys(one.requirement.key.part for one in (*self.plain, *units) if one.requirement.need == "panel")
        )

    def uncut(self, copy: int) -> int:
        """How many panels of this copy are not cut yet, the copies before it having theirs."""
        served = range(1, copy + 1)
        plain = sum(self._short(one, served) for one in self.plain if one.requirement.need == "panel")
        unit = [one for one in self.units.get(copy, ()) if one.requirement.need == "panel"]
        return plain + sum(one.needed - self.taken[one.id] for one in unit)

    def is_settled(self, copy: int) -> bool:
        """Whether it is known if this copy is a made-up one from stock or is made from its materials."""
        if not self.made or copy in self.stocked:
            return True
        settled = sum(one.held for one in self.made) + len(self.units) + len(self.stocked)
        return copy in self.units or settled >= self.copies

    def lacks(self, served: Sequence[int], catalogue: Catalogue) -> tuple[str, ...]:
        """What is not taken yet of the last of the copies that are served, in their order."""
        return tuple(_lacking(one, missing, self.taken, catalogue) for one, missing in self._missing(served))

    def panels_missing(self, served: Sequence[int]) -> int:
        """How many panels of the last of these copies are not cut yet."""
        return sum(missing for one, missing in self._missing(served) if one.requirement.need == "panel")

    def _missing(self, served: Sequence[int]) -> list[tuple[KeptRequirement, int]]:
        short = [(one, self._short(one, served)) for one in self.plain]
        if self.made and served[-1] not in self.stocked:
            nth = sum(copy not in self.stocked for copy in served)
            done = [unit for unit, some in self.units.items() if all(self._is_taken(one) for one in some)]
            ready = len(done) + sum(self.taken[one.id] for one in self.made)
            begun = [some for unit, some in sorted(self.units.items()) if unit not in done]
            if nth > ready and nth - ready <= len(begun):
                short += [(one, one.needed - self.taken[one.id]) for one in begun[nth - ready - 1]]
            elif nth > ready:
                short += [(one, 1) for one in self.made]
        return [(one, missing) for one, missing in short if missing]

    def _short(self, one: KeptRequirement, served: Sequence[int]) -> int:
        each = one.requirement.quantity // self.copies
        asked = [each - self.stocked.get(copy, {}).get(one.id, 0) for copy in served]
        return min(asked[-1], max(0, sum(asked) - self.taken[one.id]))

    def _is_taken(self, one: KeptRequirement) -> bool:
        return self.taken[one.id] == one.needed


PieceKey = tuple[int, str, str]
"""Line, path and piece code: what all copies of a piece share."""


def made_of(tx: Tx, order: KeptOrder, made: Sequence[KeptPiece]) -> dict[PieceKey, MadeOf]:
    """What each piece of an order is made of; 0 copies for what goes into no piece."""
    taken = packing.taken_of(tx, order.id)
    found: dict[PieceKey, MadeOf] = {}
    copies: defaultdict[PieceKey, int] = defaultdict(int)
    for one in made:
        copies[key_of(one)] += 1
        found[key_of(one)] = MadeOf(0, [], [], {}, taken)
    for kept in bill.requirements_of(tx, order.id):
        key = kept.requirement.key
        owner = key.line, key.path.removesuffix("/made"), key.piece
        of = found.setdefault(owner, MadeOf(0, [], [], {}, taken))
        if key.unit:
            if kept.needed:
                of.units.setdefault(key.unit, []).append(kept)
        elif kept.requirement.need == "made":
            of.made.append(kept)
        else:
            of.plain.append(kept)
    for owner, of in found.items():
        of.copies = copies[owner]
    stocked = finished.from_stock_of(tx, order.id)
    for one in made:
        if one.id in stocked:
            found[key_of(one)].stocked[one.piece.copy] = stocked[one.id].amounts
    return found


def key_of(one: KeptPiece) -> PieceKey:
    """What a piece shares with its other copies."""
    return one.piece.line, one.piece.path, one.piece.piece


def order_state(shop: Shop, tx: Tx, order: KeptOrder, in_hand: int | None = None) -> OrderState:
    """How far each piece of an order is, in the order of its pieces.

    `in_hand`: id of the piece that was scanned. Of copies that are alike, it is the next to be served.
    """
    made = pieces.pieces_of(tx, order.id)
    of = made_of(tx, order, made)
    book, catalogue = book_of(shop, tx, order.book_id), catalogue_of(shop, tx)
    packed = packing.packed_of(tx, order.id)
    tied = {one.id: one for one in bundles.bundles_of(tx, order.id)}
    bundled = {piece: tied[bundle] for piece, bundle in bundles.bundled_of(tx, order.id).items()}
    spoilt = packing.spoilt_of(tx, order.id)
    became = finished.became_of(tx, order.id)
    sewn = sewing.sewn_of(tx, order.id)
    stocked = finished.from_stock_of(tx, order.id)
    served: defaultdict[PieceKey, list[KeptPiece]] = defaultdict(list)
    for one in made:
        served[key_of(one)].append(one)
    for alike in served.values():
        alike.sort(
            key=lambda one: (
                one.id not in packed and one.id not in became,
                one.id not in sewn,
                one.id not in bundled,
                spoilt.get(one.id, 0),
                one.id != in_hand,
                one.piece.copy,
            )
        )
    states = []
    for one in made:
        mine = of[key_of(one)]
        alike = served[key_of(one)]
        before = [other.piece.copy for other in alike[: alike.index(one) + 1]]
        lacks = mine.lacks(before, catalogue)
        bundle = bundled.get(one.id)
        if one.id not in packed:
            lacks += _out(bundle)
        fetch = stocked.get(one.id)
        if fetch is not None and fetch.movement_id is None:
            lacks += (f"{fetch.tag} ({fetch.title}) of the stock not fetched from {fetch.place} yet",)
        panels = mine.panels if fetch is None else ()
        states.append(
            PieceState(
                one,
                packed.get(one.id),
                bundle,
                _must_scan(book, one, mine),
                lacks,
                panels,
                mine.panel_count(one.piece.copy),
                mine.panels_missing(before),
                sewn.get(one.id),
                became.get(one.id),
                fetch,
            )
        )
    return OrderState(tuple(states), _loose(of, catalogue))


def refuse_unready_packed(shop: Shop, tx: Tx, order: KeptOrder) -> None:
    """Raises Refusal where a packed or kept piece is no longer whole, so that what was just done must not be done."""
    for one in order_state(shop, tx, order).pieces:
        if one.became is not None and one.lacks:
            raise Refusal(f"{one.name} was kept for stock already, as {one.became.tag}. What is in it stays in it.")
        if one.packed is not None and one.lacks:
            raise Refusal(f"{one.name} is packed in parcel {one.packed.parcel}. Unpack it first, then do this again.")


def _loose(of: Mapping[PieceKey, MadeOf], catalogue: Catalogue) -> tuple[str, ...]:
    missing = [
        (one, one.needed - found.taken[one.id], found.taken)
        for found in of.values()
        if not found.copies
        for one in (*found.plain, *found.made, *(part for unit in found.units.values() for part in unit))
    ]
    return tuple(_lacking(one, short, taken, catalogue) for one, short, taken in missing if short)


def _lacking(one: KeptRequirement, missing: int, taken: Mapping[int, int], catalogue: Catalogue) -> str:
    """What is not there of one requirement, and whether it is at least held."""
    item = catalogue.items[one.requirement.item]
    held = one.held - taken[one.id] >= missing
    if one.requirement.need == "panel":
        part = one.requirement.key.part
        what = f"panel {part}" if missing == 1 else f"{missing} panels {part}"
        return f"{what} of {item.title} {'not cut yet' if held else 'not cut, and no cloth is held'}"
    amount = show_amount(item.kind, missing)
    return f"{amount} of {item.title} {'not picked yet' if held else 'not picked, and not held'}"


def _out(bundle: KeptBundle | None) -> tuple[str, ...]:
    if bundle is None or not bundle.stage:
        return ()
    return (f"its bundle {bundle.tag} is {where(bundle)}",)


def panel_words(panels: Sequence[str], count: int) -> str:
    """What so many panels with these codes are, for people.

    >>> panel_words(["face", "band"], 3), panel_words(["side"], 2)
    ('face and band', '2 × side')
    """
    return listed(panels) if len(panels) > 1 else f"{count} × {listed(panels)}"


def where(bundle: KeptBundle) -> str:
    """Where a bundle is, in words: 'at the bench', 'out: sewing (Tom)'; and that nobody waits for it any more."""
    left = ", left over" if bundle.state == "left over" else ""
    if not bundle.stage:
        return f"at the bench{left}"
    holder = f" ({bundle.holder})" if bundle.holder else ""
    return f"out: {bundle.stage_title.lower()}{holder}{left}"


def _must_scan(book: KitBook, one: KeptPiece, of: MadeOf) -> bool:
    in_book = book.pieces.get(one.piece.piece)
    is_bag = in_book is not None and in_book.made is not None
    is_packet = all(part.requirement.need == "count" for part in of.plain) and not of.made
    return bool(one.piece.hand) or is_bag or is_packet
