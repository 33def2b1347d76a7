"""What was scanned, for jobs that want a piece or a bundle and refuse everything else in words."""

from __future__ import annotations

from stockroom.domain.refusal import Refusal
from stockroom.domain.tags import KINDS, read_tag
from stockroom.store import bundles, packing
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
