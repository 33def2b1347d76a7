"""Customers' parts on the screen: one is received with its order, put in a place, given back."""

from __future__ import annotations

from stockroom.domain.tags import is_tag, read_tag
from stockroom.jobs.papers import Paper, tags_again
from stockroom.jobs.parts import PartMoved
from stockroom.screens.desk import Question
from stockroom.screens.work_page import WorkPage

BACK = "back"
"""The answer that gives a part back to its owner."""


def part_tag(text: str) -> str:
    """The tag, where a customer's part was scanned; else ''."""
    return str(read_tag(text)) if is_tag(text) and read_tag(text).kind == "G" else ""


def ask_received(page: WorkPage, number: str) -> None:
    """Ask what came in with an order and where it lies."""

    def came(what: str) -> None:
        def lies(place: str) -> None:
            receive = page.desk.jobs.ordering.receive_part
            page.change(
                f"Receiving {what}", lambda stamp: receive(number, what, place, stamp), _part_words, _received_papers
            )

        page.desk.ask(Question(f"{what} lies at", "scan or type the place where you put it", lies, takes_tags=True))

    page.desk.tell((f"A part of the customer's came in with order {number}. It is never counted as stock.", "bold"))
    page.desk.ask(Question("What came in", "hood frame, bright strip", came))


def ask_where_to(page: WorkPage, tag: str) -> None:
    """Ask where a customer's part that was scanned goes."""

    def answered(text: str) -> None:
        ordering = page.desk.jobs.ordering
        if text.casefold() == BACK:
            page.change(f"Giving back {tag}", lambda stamp: ordering.give_back(tag, stamp), _part_words)
        else:
            page.change(f"Moving {tag}", lambda stamp: ordering.move_part(tag, text, stamp), _part_words)

    hint = f"scan or type the place; or type {BACK}: it is given back to the customer"
    page.desk.ask(Question(f"{tag} goes to", hint, answered, takes_tags=True))


def _part_words(done: PartMoved) -> tuple[str, ...]:
    return (done.sentence,)


def _received_papers(done: PartMoved, _: object) -> tuple[Paper, ...]:
    return tags_again(done.tag)
