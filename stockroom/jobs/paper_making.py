"""Any paper by its kind and what it is of, made as PDF. Each kind has a module of its own; this one finds it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from labels import Tag
from stockroom.domain.stamp import Stamp
from stockroom.jobs.claim_paper import claim
from stockroom.jobs.drift_paper import drift_pages
from stockroom.jobs.fitting_paper import fitting_sheets
from stockroom.jobs.packing_paper import bundle_tags, kit_tags, packing_list
from stockroom.jobs.papers import Paper
from stockroom.jobs.pick_list import pick_list
from stockroom.jobs.printing import file_name
from stockroom.jobs.purchase_paper import purchase_order
from stockroom.jobs.tag_again import tags_of
from stockroom.jobs.tag_paper import low_tags, part_tags, piece_tags, print_tags, sheet_for
from stockroom.store.database import Shop


@dataclass(frozen=True, slots=True)
class MadePaper:
    """A paper that was made."""

    name: Path
    """Name of its file, without a folder."""
    pdf: bytes
    sheet: str = ""
    """What its tags are on; '' of what is no tags."""
    start_at: int = 1
    """The label of the first sheet that they begin at."""
    labels: int = 0
    """How many they are."""


def first_label(sheet: str) -> int:
    """Tags begin at the first label of a new sheet."""
    del sheet
    return 1


def make(
    shop: Shop,
    paper: Paper,
    stamp: Stamp,
    today: date,
    labels: str = "",
    begins: Callable[[str], int] = first_label,
) -> list[MadePaper]:
    """A paper of one order or one roll, or the tags that it names: one PDF, or one for each car or cloth.

    Tags go on `labels`, a sheet or roll by its measures (with '' on what suits them); `begins` gives the label at which
    they begin on a sheet of this name. Raises Refusal where it cannot be made.
    """

    def on_labels(name: Path, tags: Sequence[Tag]) -> MadePaper:
        sheet = labels or sheet_for(tags)
        start_at = begins(sheet)
        return MadePaper(name, print_tags(tags, sheet, start_at, 1), sheet, start_at, len(tags))

    if paper.kind == "tag":
        return [on_labels(file_name("tag", *paper.named), tags_of(shop, paper.named))]
    (name,) = paper.named
    if paper.kind == "fitting":
        sheets = fitting_sheets(shop, name, stamp)
        return [MadePaper(file_name("fitting", name, car), pdf) for car, pdf in sheets.items()]
    if paper.kind == "drift":
        drifts = drift_pages(shop, name, stamp)
        return [MadePaper(file_name("drift", item), pdf) for item, pdf in drifts.items()]
    if paper.kind in _TAGS:
        return [on_labels(file_name(paper.kind, name), _TAGS[paper.kind](shop, name))]
    pages: dict[str, Callable[[], bytes]] = {
        "pick-list": lambda: pick_list(shop, name, stamp, today),
        "packing-list": lambda: packing_list(shop, name, stamp),
        "claim": lambda: claim(shop, name, stamp),
        "purchase": lambda: purchase_order(shop, name, stamp),
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
