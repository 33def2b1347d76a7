"""Counting, blind: somebody goes round with a sheet of what is to be counted, enters figures, and closes it.

What the books hold is kept with each figure at the moment it is entered, and only the difference is booked when the
sheet is closed: what is picked, cut or received meanwhile is no difference.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime

from stockroom.domain.about import About
from stockroom.domain.catalogue import BY_LENGTH
from stockroom.domain.counting import tolerated
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.wording import listed
from stockroom.jobs.adjust import book_difference
from stockroom.jobs.amounts import show_amount
from stockroom.jobs.racks import PlaceContents, look_up
from stockroom.jobs.replan import Replanned, RoomMade, make_room, replan
from stockroom.jobs.scanned import figure_of, stock_scanned
from stockroom.store import counts, ledger, moving, promises, racks, tagged, taking
from stockroom.store.about import read_about
from stockroom.store.counts import KeptFigure, KeptSheet
from stockroom.store.database import Shop, Tx
from stockroom.store.racks import Lying
from stockroom.store.replaced_tags import scanned_tag
from stockroom.store.taking import Found


@dataclass(frozen=True, slots=True)
class ToCount:
    """One thing on a sheet. What the books hold of it is not told."""

    tag: str
    kind: str
    """'roll', 'remnant', 'bin' or 'finished'."""
    title: str
    colour: str
    lot: str
    place: str
    by_length: bool
    """It is measured; otherwise it is counted."""
    state: str
    """'to count', 'count again' or 'counted'."""
    figure: str
    """The one that stands; '' as long as none does."""
    expected: str
    """What the books said when it was counted; '' as long as no figure stands."""
    by: str
    """Initials of whoever counted it last; '' where nobody has."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """A count as those who go round with it see it."""

    number: int
    what: str
    """The place, or the item, with its title."""
    place: str
    """Code; '' where an item is counted."""
    item: str
    state: str
    """'open', 'closed' or 'left'."""
    begun_by: str
    begun_at: datetime
    lines: tuple[ToCount, ...]

    @property
    def left(self) -> int:
        """Things that have no figure that stands."""
        return sum(one.state != "counted" for one in self.lines)


@dataclass(frozen=True, slots=True)
class Begun:
    """A sheet to go round with."""

    is_new: bool
    """False: somebody goes round with it already, and this one joins."""
    sheet: Sheet


@dataclass(frozen=True, slots=True)
class Entered:
    """What became of a figure."""

    sheet: int
    tag: str
    title: str
    figure: str
    state: str
    """'counted' or 'count again'."""
    expected: str
    """What the books said, once the figure stands; '' as long as it is to be counted again."""
    place: str
    """The place that is counted; '' where an item is."""
    elsewhere: str
    """Where it lies by the books, where that is another place; '' of what is gone by them, which is brought here."""
    changed_anything: bool
    """False: it was in already."""
    left: int
    """Things on the sheet that have no figure that stands."""
    sentence: str


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing of which the books were put right."""

    tag: str
    title: str
    counted: str
    expected: str
    """What the books said when it was counted."""
    booked: int
    """Signed, mm or count."""
    sentence: str


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """One thing that lies where it was counted, and elsewhere by the books."""

    tag: str
    place: str
    """Code of the place where it was counted."""
    sentence: str


@dataclass(frozen=True, slots=True)
class Closing:
    """What a count would come to if it were closed now. Nothing is written."""

    sheet: Sheet
    again: tuple[ToCount, ...]
    """What is to be counted again first."""
    agreed: tuple[ToCount, ...]
    differing: tuple[ToCount, ...]
    not_counted: tuple[ToCount, ...]
    """What is here by the books, and nobody has counted: it is missing, or left uncounted."""


@dataclass(frozen=True, slots=True)
class CountClosed:
    """What a count came to."""

    sheet: int
    what: str
    agreed: tuple[str, ...]
    """Tags of what the books were right about."""
    differences: tuple[Difference, ...]
    left: tuple[str, ...]
    """Tags of what was left uncounted."""
    elsewhere: tuple[Elsewhere, ...]
    """Things that lie here and are elsewhere by the books: somebody may move them here."""
    promises: Replanned


def begin(shop: Shop, what: str, stamp: Stamp) -> Begun:
    """A sheet for a place or for an item, named as in `look_up`. Who begins the same one second joins the first.

    Raises Refusal where no place and no item is called so, and where several items are.
    """
    found = look_up(shop, what)
    if not isinstance(found, PlaceContents) and len(found) > 1:
        raise Refusal(f"One item is counted at a time. Which: {listed((one.item for one in found), 'or')}?")
    place, item = (found.place, "") if isinstance(found, PlaceContents) else ("", found[0].item)
    with shop.write() as tx:
        kept, is_new = counts.begin_sheet(tx, place, item, stamp)
        if is_new:
            job = ledger.begin_job(tx, f"begin count sheet {kept.id}", stamp)
            ledger.keep_no_way_back(tx, job, "A count was begun.", f"Leave it: stockroom count leave {kept.id}.")
        return Begun(is_new, _sheet(tx, kept))


def sheets(shop: Shop) -> tuple[Sheet, ...]:
    """The sheets that somebody goes round with."""
    with shop.read() as tx:
        return tuple(_sheet(tx, one) for one in counts.open_sheets(tx))


def sheet(shop: Shop, number: int) -> Sheet:
    """One sheet. Raises Refusal where there is none of this number."""
    with shop.read() as tx:
        return _sheet(tx, _known(tx, number, counts.sheet_by(tx, number)))


def enter(shop: Shop, number: int, tag: str, figure: str, stamp: Stamp) -> Entered:
    """A figure (a length, a count) of the thing that was scanned. Too far off, it is to be counted again.

    Whatever lies there may be entered, though the books say that it is elsewhere or gone; a second figure stands.
    """
    with shop.write() as tx:
        kept = _open_sheet(tx, number)
        (found,) = stock_scanned(tx, tag)
        if kept.item and found.item != kept.item:
            raise Refusal(
                f"{found.tag} is {found.title}; sheet {number} counts {racks.title_of(tx, kept.item)[0]}. Put it "
                "aside, or begin a count of it."
            )
        said, about = figure_of(found, figure), read_about(tx)
        if found.kind == "made" and said > 1:
            raise Refusal(f"{found.tag} is one finished thing: it is there (1) or it is not (0).")
        before = next((one for one in counts.figures_of(tx, number) if one.holding_id == found.id), None)
        if before is not None and _has_stood(about, before, found.item_kind):
            return _in_already(tx, kept, found, before, said)
        if before is not None:
            counts.keep_second(tx, before.id, said, found.held, stamp)
            again = False
        else:
            counts.keep_first(tx, number, found.id, said, found.held, stamp)
            again = _too_far(about, said, found.held, found)
        job = ledger.begin_job(tx, f"count {found.tag} on sheet {number}", stamp)
        instead = f"When the sheet is closed, put it right: stockroom adjust {found.tag} FIGURE --because WHY."
        ledger.keep_no_way_back(tx, job, "A figure stands on its sheet.", instead)
        return _entered(tx, kept, found, said, found.held, again=again, changed=True)


def closing(shop: Shop, number: int) -> Closing:
    """What there is to say before a sheet is closed. Raises Refusal where it is not open."""
    with shop.read() as tx:
        kept = _known(tx, number, counts.sheet_by(tx, number))
        _refuse_ended(kept)
        found = _sheet(tx, kept)
        counted = [one for one in found.lines if one.state == "counted"]
        held = {one.tag for one in _lying(tx, kept) if one.held}
        return Closing(
            found,
            tuple(one for one in found.lines if one.state == "count again"),
            tuple(one for one in counted if one.figure == one.expected),
            tuple(one for one in counted if one.figure != one.expected),
            tuple(one for one in found.lines if one.state == "to count" and one.tag in held),
        )


def close(
    shop: Shop, number: int, stamp: Stamp, missing: Sequence[str] = (), left: Sequence[str] | None = ()
) -> CountClosed:
    """Ends a count: every difference is booked, and whoever holds what is not there is planned again, or named.

    What the books say is here and nobody counted is `missing` (it is gone) or `left` uncounted, by its tag; `None`
    leaves all the others. Raises Refusal naming what is neither, and what is to be counted again.
    """
    with shop.write() as tx:
        kept = _open_sheet(tx, number)
        gone, uncounted = _accounted_for(tx, kept, missing, left)
        figures = counts.figures_of(tx, number)
        promises.lock_with_orders(tx, [*(one.holding_id for one in figures), *(one.holding_id for one in gone)])
        for one in gone:
            (found,) = stock_scanned(tx, one.tag)
            counts.keep_first(tx, number, found.id, 0, found.held, stamp)
        job = ledger.begin_job(tx, f"close count sheet {number}", stamp)
        rooms: list[RoomMade] = []
        differences, agreed, elsewhere = [], [], []
        for figure in sorted(counts.figures_of(tx, number), key=lambda one: one.holding_id):
            (found,) = stock_scanned(tx, figure.tag)
            room, difference = _book(tx, job, stamp, number, found, figure)
            if difference is None:
                agreed.append(found.tag)
            else:
                differences.append(difference)
            rooms.append(room)
            elsewhere += _brought_here(tx, job, stamp, kept, found, figure)
        counts.end_sheet(tx, number, "closed", stamp)
        done = replan(shop, tx, _together(rooms), stamp)
        instead = "If a figure was wrong, count again, or put it right: stockroom adjust TAG FIGURE --because WHY."
        ledger.keep_no_way_back(tx, job, "What was counted is what is there.", instead)
        return CountClosed(
            number, _what(tx, kept), tuple(agreed), tuple(differences), tuple(one.tag for one in uncounted),
            tuple(elsewhere), done,
        )  # fmt: skip


def leave(shop: Shop, number: int, stamp: Stamp) -> Sheet:
    """Drops a count: its figures stay written on the sheet, and nothing is booked."""
    with shop.write() as tx:
        kept = _open_sheet(tx, number)
        job = ledger.begin_job(tx, f"leave count sheet {number}", stamp)
        instead = f"Begin another: stockroom count begin {kept.place or kept.item}."
        ledger.keep_no_way_back(tx, job, "Nothing was booked by it.", instead)
        counts.end_sheet(tx, number, "left", stamp)
        return _sheet(tx, _known(tx, number, counts.sheet_by(tx, kept.id)))


# --- what is on a sheet --------------------------------------------------------------------------------------------


def _known(tx: Tx, number: int, found: KeptSheet | None) -> KeptSheet:
    if found is None:
        known = counts.open_sheets(tx)
        there = listed(f"{one.id} ({one.place or one.item})" for one in known)
        hint = f"Open are {there}." if known else "None is open: begin one with 'stockroom count begin PLACE'."
        raise Refusal(f"There is no count sheet {number}. {hint}")
    return found


def _open_sheet(tx: Tx, number: int) -> KeptSheet:
    kept = _known(tx, number, counts.sheet_to_change(tx, number))
    _refuse_ended(kept)
    return kept


def _refuse_ended(kept: KeptSheet) -> None:
    if kept.state != "open":
        raise Refusal(f"Count sheet {kept.id} ({kept.place or kept.item}) is {kept.state}. Begin another.")


def _lying(tx: Tx, kept: KeptSheet) -> list[Lying]:
    return racks.lying_of(tx, kept.item) if kept.item else racks.lying_in(tx, kept.place)


def _what(tx: Tx, kept: KeptSheet) -> str:
    if kept.item:
        return f"{racks.title_of(tx, kept.item)[0]} ({kept.item})"
    return f"{kept.place}, {next(title for _, code, title in tagged.places(tx) if code == kept.place)}"


def _sheet(tx: Tx, kept: KeptSheet) -> Sheet:
    about = read_about(tx)
    figures = {one.holding_id: one for one in counts.figures_of(tx, kept.id)}
    here = _lying(tx, kept)
    known = {one.holding_id for one in here}
    also = racks.lying_by_id(tx, [one for one in figures if one not in known])
    is_closed = kept.state == "closed"
    lines = tuple(_to_count(about, one, figures.get(one.holding_id), is_closed) for one in (*here, *also))
    return Sheet(
        kept.id, _what(tx, kept), kept.place, kept.item, kept.state, kept.begun_by, kept.begun_at, lines
    )  # fmt: skip


def _to_count(about: About | None, one: Lying, figure: KeptFigure | None, is_closed: bool) -> ToCount:
    # Once the sheet is closed every figure stands: what was missing was put down as nothing, without a second look.
    state, stands, expected = "to count", "", ""
    if figure is not None:
        state = "counted" if is_closed or _has_stood(about, figure, one.item_kind) else "count again"
    if figure is not None and state == "counted":
        stands, expected = (show_amount(one.item_kind, amount) for amount in (figure.stands, figure.expected))
    kind = "remnant" if one.remnant else {"made": "finished"}.get(one.kind, one.kind)
    by_length = one.item_kind in BY_LENGTH
    return ToCount(
        one.tag, kind, one.title, one.colour, one.lot, one.place, by_length, state, stands, expected,
        figure.by if figure is not None else "",
    )  # fmt: skip


def _left(tx: Tx, kept: KeptSheet) -> int:
    """How many things of a sheet are not counted. Only those with a figure are read: a full place has thousands."""
    about = read_about(tx)
    figures = {one.holding_id: one for one in counts.figures_of(tx, kept.id)}
    begun = racks.lying_by_id(tx, sorted(figures))
    also = sum(not _is_here(kept, one) for one in begun)
    stand = sum(_has_stood(about, figures[one.holding_id], one.item_kind) for one in begun)
    return racks.number_lying(tx, kept.place, kept.item) + also - stand


def _is_here(kept: KeptSheet, one: Lying) -> bool:
    """Whether the books say of a thing that it is on the sheet; as `racks.lying_in` and `racks.lying_of` do."""
    is_there = one.held > 0 or (one.kind == "bin" and not one.quarantined_because)
    return is_there and (one.item == kept.item if kept.item else one.place == kept.place)


# --- figures -------------------------------------------------------------------------------------------------------


def _too_far(about: About | None, said: int, expected: int, found: Found) -> bool:
    return abs(said - expected) > _tolerated(about, expected, found.item_kind)


def _tolerated(about: About | None, expected: int, item_kind: str) -> int:
    by_length = item_kind in BY_LENGTH
    if about is None:
        return tolerated(expected, by_length=by_length)
    return tolerated(expected, by_length=by_length, percent=about.recount_length if by_length else about.recount_count)


def _has_stood(about: About | None, figure: KeptFigure, item_kind: str) -> bool:
    off = abs(figure.first - figure.expected)
    return figure.second is not None or off <= _tolerated(about, figure.expected, item_kind)


def _in_already(tx: Tx, kept: KeptSheet, found: Found, figure: KeptFigure, said: int) -> Entered:
    shown = show_amount(found.item_kind, figure.stands)
    if said != figure.stands:
        raise Refusal(
            f"{found.tag} ({found.title}) is counted already ({figure.by}): {shown} stands on sheet {kept.id}. If that "
            f"is wrong, close the sheet and put it right: stockroom adjust {found.tag} FIGURE --because WHY."
        )
    return _entered(tx, kept, found, said, figure.expected, again=False, changed=False)


def _entered(tx: Tx, kept: KeptSheet, found: Found, said: int, expected: int, *, again: bool, changed: bool) -> Entered:
    shown, books = (show_amount(found.item_kind, one) for one in (said, expected))
    gone = not expected and found.kind != "bin"
    elsewhere = found.place if kept.place and found.place != kept.place and not gone else ""
    if again:
        sentence = f"{found.title} ({found.tag}): {shown}. Count it again."
    elif said == expected:
        sentence = f"{found.title} ({found.tag}): {shown}, as the books say."
    else:
        sentence = f"{found.title} ({found.tag}): {shown} stands; the books say {books}."
    if elsewhere:
        sentence += f" By the books it lies in {elsewhere}."
    return Entered(
        kept.id, found.tag, found.title, shown, "count again" if again else "counted", "" if again else books,
        kept.place, elsewhere, changed, _left(tx, kept), sentence,
    )  # fmt: skip


# --- closing -------------------------------------------------------------------------------------------------------


def _accounted_for(
    tx: Tx, kept: KeptSheet, missing: Sequence[str], left: Sequence[str] | None
) -> tuple[list[Lying], list[Lying]]:
    """What is gone and what is left uncounted, of what nobody counted. Raises Refusal where some of it is neither."""
    figures = counts.figures_of(tx, kept.id)
    lines = _sheet(tx, kept).lines
    again = [one for one in lines if one.state == "count again"]
    if again:
        raise Refusal(
            f"Count again before sheet {kept.id} is closed: {listed(f'{one.title} ({one.tag})' for one in again)}."
        )
    known = {one.holding_id for one in figures}
    uncounted = {one.tag: one for one in _lying(tx, kept) if one.holding_id not in known and one.held}
    gone = _named(tx, missing, uncounted, kept)
    stay = [tag for tag in uncounted if tag not in gone] if left is None else _named(tx, left, uncounted, kept)
    both = set(gone) & set(stay)
    if both:
        raise Refusal(f"{listed(sorted(both))} cannot be both missing and left uncounted. Say which.")
    unsaid = [one for tag, one in uncounted.items() if tag not in gone and tag not in stay]
    if unsaid:
        raise Refusal(
            f"By the books these lie there, and nobody has counted them on sheet {kept.id}. Count each, or say that it "
            "is missing (--missing TAG) or left uncounted (--left TAG; --rest-left for all the others).",
            faults=tuple(
                f"{one.tag}  {one.title}{f', lot {one.lot}' if one.lot else ''} in {one.place}" for one in unsaid
            ),
        )
    return [uncounted[tag] for tag in gone], [uncounted[tag] for tag in stay]


def _named(tx: Tx, tags: Sequence[str], uncounted: Collection[str], kept: KeptSheet) -> list[str]:
    read = list(dict.fromkeys(str(scanned_tag(tx, tag)) for tag in tags))
    strange = [tag for tag in read if tag not in uncounted]
    if strange:
        raise Refusal(
            f"{listed(strange)} {'is' if len(strange) == 1 else 'are'} not uncounted on sheet {kept.id}: counted "
            "already, empty, or not of it. Name only what nobody has counted."
        )
    return read


def _book(
    tx: Tx, job: int, stamp: Stamp, number: int, found: Found, figure: KeptFigure
) -> tuple[RoomMade, Difference | None]:
    """Books the difference that was found, whatever came or went since; nothing ever falls below nothing."""
    difference = figure.stands - figure.expected
    if found.kind == "roll" and figure.stands:
        taking.mark_measured(tx, found.id)
    if not difference:
        return RoomMade(0, (), ()), None
    booked = max(difference, -found.held)
    counted, expected = (show_amount(found.item_kind, one) for one in (figure.stands, figure.expected))
    said = f"{found.title} ({found.tag}): {counted} counted, {expected} by the books."
    if not figure.expected:
        said += " It was gone by the books, and is found again."
    if booked != difference:
        said += " More has gone since than was there: count it again."
    room = make_room(tx, found, found.held + booked)
    if booked:
        movement = book_difference(tx, job, stamp, found, booked, f"count sheet {number}")
        counts.keep_movement(tx, figure.id, movement)
    return room, Difference(found.tag, found.title, counted, expected, booked, said)


def _brought_here(tx: Tx, job: int, stamp: Stamp, kept: KeptSheet, found: Found, figure: KeptFigure) -> list[Elsewhere]:
    """What was gone and is found again lies here now; what lies elsewhere by the books is told."""
    if not kept.place or found.place == kept.place or not figure.stands:
        return []
    if not figure.expected and found.kind != "bin":
        moving.put_in_place(tx, job, stamp, [found], kept.place)
        return []
    return [
        Elsewhere(
            found.tag,
            kept.place,
            f"{found.title} ({found.tag}) lies in {kept.place}, by the books in {found.place or 'no place'}.",
        )
    ]


def _together(rooms: Sequence[RoomMade]) -> RoomMade:
    return RoomMade(
        sum(one.moved for one in rooms),
        tuple(lost for one in rooms for lost in one.lost),
        tuple(order for one in rooms for order in one.without_margin),
    )
