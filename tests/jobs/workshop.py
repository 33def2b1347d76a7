"""Whole stretches of work in a few words, for tests that begin in the middle of an order."""

from __future__ import annotations

from stockroom.domain.order import LineRequest
from stockroom.jobs.cut import cut
from stockroom.jobs.pick import pick
from stockroom.jobs.reserve import reserve
from stockroom.jobs.take import take
from stockroom.store import taking
from stockroom.store.database import Shop
from tests.shops import STAMP, look, order


def taken_order(shop: Shop, *lines: LineRequest, **more: object) -> str:
    """An order that is taken and wholly reserved; its number."""
    number = take(shop, order(*lines, **more), STAMP).number  # type: ignore[arg-type]
    reserve(shop, number, STAMP)
    return number


def cut_all(shop: Shop, number: str) -> None:
    """Cuts everything that is planned for an order, each roll from its outer end inwards."""
    while planned := [one for one in look(shop, number).holds if one.cut_id is not None]:
        cut(shop, number, planned[0].tag, STAMP)


def pick_all(shop: Shop, number: str) -> None:
    """Picks everything that is reserved for an order."""
    while reserved := [one for one in look(shop, number).holds if one.cut_id is None]:
        pick(shop, number, reserved[0].tag, STAMP)


def take_all(shop: Shop, number: str) -> None:
    """Cuts and picks everything that is held for an order."""
    cut_all(shop, number)
    pick_all(shop, number)


def made_order(shop: Shop, *lines: LineRequest, **more: object) -> str:
    """An order that is reserved, picked and cut; its number."""
    number = taken_order(shop, *lines, **more)
    take_all(shop, number)
    return number


def piece_tag(shop: Shop, number: str, piece: str, copy: int = 1, line: int = 1) -> str:
    """The tag of a piece of an order; '' is a packet of hardware."""
    return look(shop, number).tags[line, piece, copy]


def taken_in_all(shop: Shop, number: str) -> int:
    """How many requirements of an order something was taken for."""
    with shop.read() as tx:
        return taking.taken_of_order(tx, look(shop, number).order.id)
