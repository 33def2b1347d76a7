"""What was scanned, for jobs that want a piece, a bundle or a place and refuse everything else in words."""

from __future__ import annotations

from stockroom.domain.refusal import Refusal
from stockroom.domain.tags import KINDS, is_tag, read_tag
from stockroom.domain.wording import unknown
from stockroom.store import bundles, packing, tagged
from stockroom.store.bundles import KeptBundle
from stockroom.store.database import Tx
from stockroom.store.packing import Owner


def piece_scanned(tx: Tx, tag: str) -> Owner:
    """The piece that a tag names, of whatever order. Raises Refusal for a mistyped tag and for anything else."""
    read = read_tag(tag)
    if read.kind != "P":
        raise Refusal(f"{read} is the tag of a {KINDS[read.kind]}. Scan the tag of a piece.")
    found = packing.owner_of_piece(tx, str(read))
    if found is None:
        raise Refusal(f"No piece in this shop has the tag {read}. It is well formed, so it may be from another shop.")
    return found


def bundle_scanned(tx: Tx, tag: str) -> KeptBundle:
    """The bundle that a tag names. Raises Refusal for a mistyped tag and for anything else."""
    read = read_tag(tag)
    if read.kind != "T":
        raise Refusal(f"{read} is the tag of a {KINDS[read.kind]}. Scan the tag of a bundle.")
    found = bundles.bundle_by_tag(tx, str(read))
    if found is None:
        raise Refusal(f"No bundle in this shop has the tag {read}. It is well formed, so it may be from another shop.")
    return found


def place_scanned(tx: Tx, text: str) -> str:
    """The code of the place that was scanned or typed, in capitals or not. Raises Refusal where there is none."""
    typed = text.strip()
    known = tagged.places(tx)
    codes = {code for _, code, _ in known}
    if typed in codes:
        return typed
    by_tag = {tag: code for tag, code, _ in known}
    if is_tag(typed):
        read = read_tag(typed)
        if str(read) in by_tag:
            return by_tag[str(read)]
        if read.kind != "L":
            raise Refusal(f"{read} is the tag of a {KINDS[read.kind]}. Scan the tag of a place, or type its code.")
    alike = [code for code in codes if code.casefold() == typed.casefold()]
    if len(alike) == 1:
        return alike[0]
    raise Refusal(unknown("place", typed, codes))
