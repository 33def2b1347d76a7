"""Tags that were torn or lost, and what took their place: an old one that is scanned says so.

Whoever reads a tag within a transaction reads it here, so that no job meets an old tag as one that it does not know.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import delete, insert, select, update

from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.tags import Tag, read_tag
from stockroom.store import tables as t
from stockroom.store.database import Tx, refusing
from stockroom.store.tags import next_tags

_ON: dict[str, tuple[Any, ...]] = {
    "R": (t.Holding,),
    "B": (t.Holding,),
    "K": (t.Parcel, t.Holding),
    "P": (t.Piece,),
    "L": (t.Place,),
    "O": (t.CustomerOrder,),
    "C": (t.Car,),
    "G": (t.CustomerPart,),
    "T": (t.Bundle,),
    "S": (t.Swatch,),
}
"""Kind letter → the tables whose rows carry such tags."""
_TWICE = {"pk_replaced_tag": "Somebody else has just replaced that tag. Scan the new one."}


def scanned_tag(tx: Tx, text: str) -> Tag:
    """The tag that was scanned or typed. Raises Refusal for a mistyped one, and for one that was replaced."""
    read = read_tag(text)
    refuse_replaced(tx, str(read))
    return read


def refuse_replaced(tx: Tx, tag: str) -> None:
    """Raises Refusal for a tag that was replaced, naming the one that stands now."""
    r = t.ReplacedTag
    first = tx.execute(select(r.new, r.because, r.by, r.at).where(r.old == tag)).one_or_none()
    if first is None:
        return
    newest, then = first.new, tx.execute(select(r.new).where(r.old == first.new)).scalar()
    while then is not None:
        newest, then = then, tx.execute(select(r.new).where(r.old == then)).scalar()
    since = "" if newest == first.new else f", and is {newest} now"
    raise Refusal(
        f"{tag} was replaced by {first.new} on {first.at:%Y-%m-%d} ({first.by}, {first.because}){since}. "
        f"Throw the old tag away and scan {newest}."
    )


def replace_tag(tx: Tx, old: Tag, because: str, stamp: Stamp) -> str:
    """Gives what carries a tag a new one of the same kind, and keeps which it replaced.

    Raises Refusal where nothing in the shop carries it.
    """
    table = _carrier(tx, str(old))
    if table is None:
        raise Refusal(f"Nothing in this shop has the tag {old}. It is well formed, so it may be from another shop.")
    (new,) = next_tags(tx, old.kind, 1)
    row = {"old": str(old), "new": new, "because": because, "by": stamp.by, "at": stamp.at}
    with refusing(_TWICE):
        tx.execute(insert(t.ReplacedTag), row)
    tx.execute(update(table).where(table.tag == str(old)).values(tag=new))
    return new


def restore_tag(tx: Tx, old: str, new: str) -> bool:
    """The old tag stands again. False, and nothing changed, where the new one is on nothing any more."""
    table = _carrier(tx, new)
    if table is None:
        return False
    tx.execute(update(table).where(table.tag == new).values(tag=old))
    tx.execute(delete(t.ReplacedTag).where(t.ReplacedTag.old == old))
    return True


def _carrier(tx: Tx, tag: str) -> Any:
    return next((one for one in _ON[tag[0]] if tx.execute(select(one.tag).where(one.tag == tag)).first()), None)
