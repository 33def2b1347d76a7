"""The trimmer's question about an order, a car or a kit: what must each matching group match, and what would do?"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from stockroom.domain.refusal import Refusal
from stockroom.domain.tags import is_tag, read_tag
from stockroom.domain.wording import listed, quoted
from stockroom.jobs.lookup import catalogue_of
from stockroom.jobs.match import Matched, colour_named, match_cloth, match_scanned, of_colour
from stockroom.jobs.match_desk import LotThere, MatchDesk
from stockroom.jobs.went_in import Went, came_to_the_cars, how_words, went_into
from stockroom.store import cars, groups
from stockroom.store.database import Shop, Tx
from stockroom.store.groups import Group
from stockroom.store.went_in import WentIn

_SHAPED_LIKE_A_TAG = re.compile(r"[A-Za-z]\s?[0-9]+\s?[0-9A-Za-z]", re.ASCII)


def match_named(shop: Shop, text: str) -> Matched:
    """What a typed or scanned text asks about.

    A roll's tag; an order by its number or tag; a car, a kit, a bundle or a piece by its tag; a car by its chassis
    number; a colour; a cloth in its colour. Raises Refusal for what is none of them.
    """
    said = text.strip()
    if is_tag(said) and read_tag(said).kind == "R":
        return match_scanned(shop, said)
    with shop.read() as tx:
        catalogue = catalogue_of(shop, tx)
        colour = None if is_tag(said) else colour_named(catalogue, said)
        if colour is None and said not in catalogue.items:
            return _of_what_went(shop, tx, said)
        if colour is not None:
            return of_colour(shop, tx, colour)
    return match_cloth(shop, said)


def match_order(shop: Shop, number: str) -> Matched:
    """Each matching group of an order's cars, as far as the order has a part in it."""
    with shop.read() as tx:
        return _of_what_went(shop, tx, number)


def _of_what_went(shop: Shop, tx: Tx, text: str) -> Matched:
    try:
        went = went_into(tx, text)
    except Refusal:
        if is_tag(text):
            raise
        if _SHAPED_LIKE_A_TAG.fullmatch(text):
            read_tag(text)  # says what is wrong with it
        raise Refusal(
            f"Nothing here is called {quoted(text)}. Name an order, a car, a colour, a cloth in its colour, or the tag "
            "of a roll, a kit, a bundle or a piece."
        ) from None
    desk = MatchDesk(shop, tx)
    asked = groups.groups_of(tx, went.order) if went.order else []
    of_pieces = is_tag(went.short_name)
    if of_pieces or not went.order:
        asked = _groups_of_rows(went.rows)
    if not asked:
        return Matched(went.name, went.short_name, (), f"No cloth is needed for {went.name}, so nothing is to match.")
    together = came_to_the_cars(tx, went.car_ids)
    keys = cars.cars_by_id(tx, list(went.car_ids))
    to_match = _asked_to_match(tx, asked)
    items = {one.item for one in asked}
    desk.look_at(items | {one.item for one in together if one.item in desk.catalogue.items})
    found = []
    for one in asked:
        rows = _seen_with(one, together) if one.group else [row for row in went.rows if _is_of(one, row)]
        there = _lots_there(desk, one.item, rows, to_match.get(one.match, ()))
        answer = desk.candidates(one.item, [lot.lot for lot in there])
        found.append(
            replace(
                answer,
                car=keys[one.car_id].key,
                group=one.group,
                must_match=there,
                other_cloths=tuple(_other_cloths(desk, one, together)),
            )
        )
    return Matched(went.name, went.short_name, tuple(found))


def _groups_of_rows(rows: Iterable[WentIn]) -> list[Group]:
    return list(dict.fromkeys(Group(one.car_id, one.group, one.item, "") for one in rows))


def _is_of(group: Group, row: WentIn) -> bool:
    return (row.car_id, row.group, row.item) == (group.car_id, group.group, group.item)


def _seen_with(group: Group, rows: Iterable[WentIn]) -> list[WentIn]:
    return [row for row in rows if _is_of(group, row)]


def _asked_to_match(tx: Tx, asked: Collection[Group]) -> Mapping[str, tuple[Went, ...]]:
    """What lines ask to match → what went into that; nothing where that is known no more."""
    found: dict[str, tuple[Went, ...]] = {}
    for name in {one.match for one in asked if one.match}:
        try:
            found[name] = (went_into(tx, name),)
        except Refusal:
            found[name] = ()
    return found


def _lots_there(desk: MatchDesk, item: str, rows: Sequence[WentIn], asked: Sequence[Went]) -> tuple[LotThere, ...]:
    """The lots of an item that are to be matched, each with how it came there."""
    told: dict[str, list[str]] = {}
    for lot in dict.fromkeys(row.lot for row in rows):
        told.setdefault(lot, []).append(how_words(row for row in rows if row.lot == lot))
    for went in asked:
        for lot in sorted(went.lots.get(item, ())):
            how = how_words(row for row in went.rows if (row.item, row.lot) == (item, lot))
            told.setdefault(lot, []).append(f"to match {went.name}: {how}")
    return tuple(LotThere(lot, "; ".join(dict.fromkeys(how)), desk.shade(item, lot)) for lot, how in told.items())


def _other_cloths(desk: MatchDesk, group: Group, together: Iterable[WentIn]) -> Iterator[str]:
    """What else of this colour is seen beside it, in another cloth: the eye alone judges that."""
    items = desk.catalogue.items
    beside: dict[str, list[str]] = {}
    for row in together:
        same_place = group.group and (row.car_id, row.group) == (group.car_id, group.group)
        if same_place and row.item != group.item and items[row.item].colour == items[group.item].colour:
            beside.setdefault(row.item, []).append(row.lot or "no lot number")
    for item, lots in beside.items():
        yield f"Beside it, in another cloth: {items[item].title}, lot {listed(dict.fromkeys(lots))}. The eye decides."
