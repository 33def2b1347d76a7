"""A new tag for what lost its own: the old one is void, and says so when it is scanned."""

from __future__ import annotations

from dataclasses import dataclass

from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.tags import KINDS
from stockroom.jobs.scanned import reason_said
from stockroom.jobs.way_back import Undoing, WayBack
from stockroom.store import jobs_done, ledger
from stockroom.store.database import Shop, Tx
from stockroom.store.replaced_tags import replace_tag, restore_tag, scanned_tag


@dataclass(frozen=True, slots=True)
class Retagged:
    """What a new tag took the place of."""

    old: str
    new: str
    kind: str
    """What the tag is on: 'roll', 'bin', 'piece' …"""
    sentence: str


def retag(shop: Shop, tag: str, because: str, stamp: Stamp) -> Retagged:
    """Gives what carries a tag a new one of the same kind, since the old one is `because`: lost, torn, unreadable.

    Raises Refusal for a mistyped tag, one that was replaced already, and one that is on nothing here.
    """
    why = reason_said(because, "the tag is lost, torn, unreadable")
    with shop.write() as tx:
        old = scanned_tag(tx, tag)
        new = replace_tag(tx, old, why, stamp)
        job = ledger.begin_job(tx, f"new tag {new} in place of {old}, {why}", stamp)
        ledger.keep_way_back(tx, job, "retag", {"old": str(old), "new": new})
        jobs_done.keep_printed(tx, job, [f"tag {new}"], stamp)
    kind = KINDS[old.kind]
    return Retagged(
        str(old), new, kind, f"The {kind} {old} is {new} now. Print the new tag; if {old} turns up, throw it away."
    )


def _old_tag_again(shop: Shop, tx: Tx, undoing: Undoing) -> tuple[str, ...]:  # noqa: ARG001 - the signature of a way
    old, new = undoing.data["old"], undoing.data["new"]
    if not restore_tag(tx, old, new):
        raise Refusal(f"{new} was replaced itself.")
    return (f"{old} stands again; {new} is on nothing.",)


WAYS_BACK = {"retag": WayBack(_old_tag_again)}
