"""Tags on sheets and rolls of labels."""

from collections.abc import Sequence

from labels.errors import PaperError
from labels.paper import Paper
from labels.sheet import Sheet
from labels.tag_layout import draw_tag, label_size
from labels.tag_lines import tag_content
from labels.tags import Tag

MOST_LABELS = 20_000
"""More in one file is taken for a slip of the keyboard."""


def tags_pdf(tags: Sequence[Tag], sheet: Sheet, start_at: int = 1, copies: int = 1) -> bytes:
    """A PDF of `tags`, each `copies` times in a row, from free position `start_at` of the first sheet on.

    Position 1 is the first label of the top row. Raises PaperError: nothing to print, a position the sheet does not
    have, a count that is not positive, a code no barcode holds, a tag its label is too small for.
    """
    if not tags:
        raise PaperError("There are no tags to print.")
    if not 1 <= start_at <= sheet.positions:
        raise PaperError(
            f"The sheet {sheet.name!r} has positions 1 to {sheet.positions}, so printing cannot start at {start_at}."
        )
    if copies < 1 or copies * len(tags) > MOST_LABELS:
        raise PaperError(
            f"{copies} copies of {len(tags)} tags cannot be printed: "
            f"ask for at least one copy and at most {MOST_LABELS} labels."
        )
    paper = Paper(sheet.page_width_mm, sheet.page_height_mm, "Tags", sheet.resolution_dpi)
    size = label_size(sheet)
    position = start_at
    for tag in tags:
        content = tag_content(tag)
        for _ in range(copies):
            if position > sheet.positions:
                paper.next_page()
                position = 1
            left_mm, top_mm = sheet.corner_mm(position)
            draw_tag(paper, left_mm, top_mm, tag.code, content, size)
            position += 1
    return paper.finish()
