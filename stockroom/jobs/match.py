"""The trimmer's question: which cloth can be used together, so that nobody sees a join of two shades."""

from __future__ import annotations

from dataclasses import dataclass

from stockroom.domain.beside import BEST_FIRST
from stockroom.domain.catalogue import BY_LENGTH, Cloth, Colour, Reading
from stockroom.domain.colour_difference import USUAL_FACTORS
from stockroom.domain.matching import Judged, Match, judge_readings
from stockroom.domain.readings import read_bare
from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import listed, unknown
from stockroom.jobs.lookup import Catalogue, catalogue_of
from stockroom.jobs.match_desk import Candidates, MatchDesk, Shade, asks_for, rounded
from stockroom.store import arrivals
from stockroom.store.about import factors_of
from stockroom.store.database import Shop, Tx


@dataclass(frozen=True, slots=True)
class ReadingsMatched:
    """How two bare readings match."""

    words: str
    """'matches', 'check by eye in daylight' or 'does not match'."""
    dE00: float | None  # noqa: N815 - the name that the number has everywhere
    """To 4 decimals."""
    factors: str
    """kL:kC:kH."""
    cloth: str
    """Code of the cloth whose tolerance they were held against; may be empty."""
    why: str


@dataclass(frozen=True, slots=True)
class RollsMatched:
    """How two rolls match."""

    tags: tuple[str, str]
    items: tuple[str, str]
    titles: tuple[str, str]
    lots: tuple[str, str]
    words: str
    """'same lot', 'matches', 'check by eye in daylight' or 'does not match'."""
    dE00: float | None  # noqa: N815
    why: str
    ask: str
    """What is to be done to know more; may be empty."""
    shades: tuple[Shade | None, Shade | None] = (None, None)
    to_see: bool = False
    """Whether somebody has still to look at the two lots side by side, and the answer can be kept."""


@dataclass(frozen=True, slots=True)
class Matched:
    """All that answers one question: the rolls, group by group."""

    asked: str
    """What it was about: 'roll R14T', 'order L-1042', 'colour red'."""
    named: str
    """As it is asked again: 'R14T', 'L-1042', 'red'."""
    groups: tuple[Candidates, ...]
    sentence: str = ""
    """What is to be known besides; may be empty."""


def match_readings(shop: Shop | None, one: str, other: str, cloth_code: str = "", factors: str = "") -> ReadingsMatched:
    """Two bare readings, as 'L,a,b', taken under the same light: their difference, and what it means for a cloth.

    `factors`: kL:kC:kH; empty: the shop's own, or 1:1:1 without a shop. Raises Refusal for what is no reading, and for
    a cloth that is not there.
    """
    first, second = Reading(*read_bare(one)), Reading(*read_bare(other))
    cloth, own = _cloth_and_factors(shop, cloth_code)
    judged = judge_readings(first, second, (cloth, cloth), factors or own)
    return ReadingsMatched(judged.match.value, rounded(judged.de00), factors or own, cloth_code, judged.why)


def match_rolls(shop: Shop, one: str, other: str) -> RollsMatched:
    """How the rolls of two tags match. Raises Refusal for what is no roll."""
    with shop.read() as tx:
        desk = MatchDesk(shop, tx)
        first, second = desk.roll(one), desk.roll(other)
        desk.look_at_lots({first.item, second.item})
        judged = desk.judge(first.item, first.lot, second.item, second.lot)
        shades = desk.shade(first.item, first.lot), desk.shade(second.item, second.lot)
    to_see = _is_to_be_seen(judged) and first.item == second.item and bool(first.lot and second.lot)
    return RollsMatched(
        (first.tag, second.tag),
        (first.item, second.item),
        (first.title, second.title),
        (first.lot, second.lot),
        judged.match.value,
        rounded(judged.de00),
        judged.why,
        asks_for(first.item, second.lot, first.lot) if to_see else "",
        shades,
        to_see,
    )


def match_item(shop: Shop, item: str, lot: str = "") -> Candidates:
    """The rolls of an item, by how well they match a lot of it, or the master of its colour where none is named."""
    with shop.read() as tx:
        return _of_item(shop, tx, item, lot)


def _of_item(shop: Shop, tx: Tx, item: str, lot: str) -> Candidates:
    desk = MatchDesk(shop, tx)
    known = desk.catalogue.items
    if item not in known or known[item].kind not in BY_LENGTH:
        raise Refusal(unknown("cloth in a colour", item, [code for code, one in known.items() if one.cloth]))
    lots = arrivals.lots_of(tx, item)
    if lot and lot not in lots:
        raise Refusal(unknown(f"lot of {item}", lot, [one for one in lots if one]))
    desk.look_at([item])
    return desk.candidates(item, [lot] if lot else [])


def colour_named(catalogue: Catalogue, text: str) -> Colour | None:
    """The colour of this code or name, in small letters or large; `None` where there is none."""
    said = " ".join(text.casefold().split())
    found = (one for one in catalogue.colours.values() if said in (one.code.casefold(), one.name.casefold()))
    return next(found, None)


def of_colour(shop: Shop, tx: Tx, colour: Colour) -> Matched:
    """All cloths in a colour: the rolls of each by how well they match its master."""
    desk = MatchDesk(shop, tx)
    items = [code for code, one in desk.catalogue.items.items() if one.colour == colour.code and one.cloth]
    desk.look_at(items)
    found = sorted((desk.candidates(code, []) for code in items), key=_best_of)
    lacking = [one.title for one in found if not one.rolls]
    said = f"Nothing is free of {listed(lacking)}." if lacking else ""
    if colour.master is None:
        said = f"{colour.name} has no master reading, so its lots are for the eye. {said}".strip()
    return Matched(f"colour {colour.name}", colour.code, tuple(one for one in found if one.rolls), said)


def _best_of(found: Candidates) -> tuple[int, float]:
    """By the best of its rolls; what has none comes last."""
    best = found.rolls[0] if found.rolls else None
    if best is None:
        return len(BEST_FIRST), 0.0
    return BEST_FIRST.index(Match(best.words)), float("inf") if best.dE00 is None else best.dE00


def match_scanned(shop: Shop, tag: str) -> Matched:
    """The other rolls of the same item, by how well they match the roll of this tag: one group."""
    with shop.read() as tx:
        desk = MatchDesk(shop, tx)
        roll = desk.roll(tag)
        desk.look_at([roll.item], but_not=roll.tag)
        found = desk.candidates(roll.item, [roll.lot] if roll.lot else [])
        return Matched(f"roll {roll.tag}", roll.tag, (found,))


def match_cloth(shop: Shop, item: str) -> Matched:
    """`match_item` against the master, as an answer of one group."""
    with shop.read() as tx:
        found = _of_item(shop, tx, item, "")
        return Matched(found.title, item, (found,))


def _is_to_be_seen(judged: Judged) -> bool:
    return judged.match is Match.BY_EYE and judged.seen is None


def _cloth_and_factors(shop: Shop | None, code: str) -> tuple[Cloth | None, str]:
    if shop is None:
        if code:
            raise Refusal("Name the shop that has this cloth: --shop FILE.")
        return None, USUAL_FACTORS
    with shop.read() as tx:
        if not code:
            return None, factors_of(tx)
        cloths = catalogue_of(shop, tx).cloths
        if code not in cloths:
            raise Refusal(unknown("cloth", code, cloths))
        return cloths[code], factors_of(tx)
