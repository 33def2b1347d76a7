"""The trimmer's question: which cloth can be used together, so that nobody sees a join of two shades."""

from __future__ import annotations

from dataclasses import dataclass

from stockroom.domain.about import About
from stockroom.domain.catalogue import Cloth, Reading
from stockroom.domain.colour_difference import USUAL_FACTORS
from stockroom.domain.matching import judge_readings
from stockroom.domain.readings import read_bare
from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import unknown
from stockroom.jobs.lookup import catalogue_of
from stockroom.store.about import read_about
from stockroom.store.database import Shop


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


def match_readings(shop: Shop | None, one: str, other: str, cloth_code: str = "", factors: str = "") -> ReadingsMatched:
    """Two bare readings, as 'L,a,b', taken under the same light: their difference, and what it means for a cloth.

    `factors`: kL:kC:kH; empty: the shop's own, or 1:1:1 without a shop. Raises Refusal for what is no reading, and for
    a cloth that is not there.
    """
    first, second = Reading(*read_bare(one)), Reading(*read_bare(other))
    cloth, own = _cloth_and_factors(shop, cloth_code)
    judged = judge_readings(first, second, (cloth, cloth), factors or own)
    difference = None if judged.de00 is None else round(judged.de00, 4)
    return ReadingsMatched(judged.match.value, difference, factors or own, cloth_code, judged.why)


def _cloth_and_factors(shop: Shop | None, code: str) -> tuple[Cloth | None, str]:
    if shop is None:
        if code:
            raise Refusal("Name the shop that has this cloth: --shop FILE.")
        return None, USUAL_FACTORS
    with shop.read() as tx:
        about = read_about(tx) or About("", "UTC", "")
        if not code:
            return None, about.colour_factors
        cloths = catalogue_of(shop, tx).cloths
        if code not in cloths:
            raise Refusal(unknown("cloth", code, cloths))
        return cloths[code], about.colour_factors
