"""Any paper by its kind and what it is of, made as PDF. Each kind has a module of its own; this one finds it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from labels import Tag
from stockroom.domain.stamp import Stamp
from stockroom.jobs.claim_paper import claim
from stockroom.jobs.fitting_paper import fitting_sheets
from stockroom.jobs.packing_paper import bundle_tags, kit_tags, packing_list
from stockroom.jobs.papers import Paper
from stockroom.jobs.pick_list import pick_list
from stockroom.jobs.printing import file_name
from stockroom.jobs.tag_again import tags_of
from stockroom.jobs.tag_paper import low_tags, part_tags, piece_tags, print_tags, sheet_for
from stockroom.store.database import Shop


@dataclass(frozen=True, slots=True)
class MadePaper:
    """A paper that was made."""

    name: Path
    """Name of its file, without a folder."""
    pdf: bytes


def make(shop: Shop, paper: Paper, stamp: Stamp, today: date, labels: str = "", start_at: int = 1) -> list[MadePaper]:
    """A paper of one order or one roll, or the tags that it names: one PDF, or one for each car.

    Tags go on `labels`, a sheet or roll by its measures (with '' on what suits them), from this label of the sheet on.
    Raises Refusal where it cannot be made.
    """

    def on_labels(tags: Sequence[Tag]) -> bytes:
        return print_tags(tags, labels or sheet_for(tags), start_at, 1)

    if paper.kind == "tag":
        return [MadePaper(file_name("tag", *paper.named), on_labels(tags_of(shop, paper.named)))]
    (name,) = paper.named
    if paper.kind == "fitting":
        sheets = fitting_sheets(shop, name, stamp)
        return [MadePaper(file_name("fitting", name, car), pdf) for car, pdf in sheets.items()]
    if paper.kind in _TAGS:
        return [MadePaper(file_name(paper.kind, name), on_labels(_TAGS[paper.kind](shop, name)))]
    pages: dict[str, Callable[[], bytes]] = {
        "pick-list": lambda: pick_list(shop, name, stamp, today),
        "packing-list": lambda: packing_list(shop, name, stamp),
        "claim": lambda: claim(shop, name, stamp),
    }
    return [MadePaper(file_name(paper.kind, name), pages[paper.kind]())]


_TAGS: dict[str, Callable[[Shop, str], Sequence[Tag]]] = {
    "tags": piece_tags,
    "bundle-tags": bundle_tags,
    "kit-tags": kit_tags,
    "part-tags": part_tags,
    "low-tag": lambda shop, item: low_tags(shop, [item]),
}
"""Kind of a paper → the tags that are on it."""
