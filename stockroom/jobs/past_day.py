"""What is past its day: it is not held for an order, not picked and not cut, and a shortage says that it lies there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import listed
from stockroom.jobs.amounts import show_amount
from stockroom.store.database import Tx
from stockroom.store.expiring import past_their_day
from stockroom.store.holds import KeptShortage
from stockroom.store.taking import Found


def refuse_past_day(found: Found, today: date) -> None:
    """Raises Refusal for what may not be used any more: set apart, what it is promised to is looked for elsewhere."""
    if found.expires is not None and found.expires < today:
        raise Refusal(
            f"{found.tag} ({found.title}) was to be used by {found.expires}: nothing is taken from it. Set it apart, "
            f"and what it was promised to is looked for elsewhere: stockroom quarantine {found.tag} "
            "--because 'past its day'. Dispose of it as its data sheet and local rules say."
        )


def told_of_past_days(tx: Tx, short: Sequence[KeptShortage], today: date) -> list[KeptShortage]:
    """The shortages, each telling what of its item lies there and is past its day."""
    past = past_their_day(tx, (one.item for one in short), today) if short else []
    told = []
    for one in short:
        mine = [
            f"{show_amount(it.item_kind, it.held)} in {it.tag} ({it.expires})" for it in past if it.item == one.item
        ]
        words = f" Not counted, since its day is past: {listed(mine)}." if mine else ""
        told.append(replace(one, sentence=one.sentence + words))
    return told
