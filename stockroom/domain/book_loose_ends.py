"""Loose ends of a kit book: kits whose steps or options do not go with what they hold, and things nothing uses."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from stockroom.domain.book_uses import Use, uses_of_kit, uses_of_piece
from stockroom.domain.conditions import facts_of
from stockroom.domain.kitbook import Ask, Kit, KitBook, Outline
from stockroom.domain.rules import facts_asked
from stockroom.domain.wording import quoted

_OPTION = "option "


def closed_kit_faults(book: KitBook, kit: Kit, uses: Iterable[Use]) -> Iterator[str]:
    """Steps naming pieces that are not in the kit, and options that its rules ask but the kit does not."""
    where = f"kit {quoted(kit.code)}"
    within = {code for inner in kits_within(book, kit) for code in inner.pieces}
    for number, step in enumerate(kit.steps, 1):
        for code in step.pieces:
            if code not in within:
                yield f"{where}, step {number} (at {step.at}): the piece {quoted(code)} is not in the kit."
    asked = _options(facts_of(kit.when))
    for use in uses:
        for rule in _lists(use):
            asked |= dict.fromkeys(_options(facts_asked(book.rules[rule])), f"{use.where}, rules.{rule}")
    for option, asker in asked.items():
        if option not in kit.options:
            asker = asker or "the cars it fits"
            yield f"{where}: {asker} asks the option {quoted(option)}, which is not among the kit's options."


def loose_ends(book: KitBook) -> Iterator[str]:
    """What nothing uses, and what is never there."""
    in_kits = {code for kit in book.kits.values() for code in kit.pieces}
    for code, piece in book.pieces.items():
        if code not in in_kits:
            yield f"piece {quoted(code)}: in no kit."
        if piece.present is False:
            yield f"piece {quoted(code)}: 'present = false', so it is never there."
        for panel in piece.panels:
            if panel.present is False:
                yield f"piece {quoted(code)}, panel {quoted(panel.code)}: 'present = false', so it is never there."
    for what, code in _unused(book):
        yield f"{what} {quoted(code)}: nothing uses it."


def kits_within(book: KitBook, kit: Kit) -> list[Kit]:
    """The kit and every kit within it, each once."""
    found: dict[str, Kit] = {}
    ahead = [kit]
    while ahead:
        next_kit = ahead.pop()
        if next_kit.code not in found:
            found[next_kit.code] = next_kit
            ahead.extend(book.kits[code] for code in next_kit.kits)
    return list(found.values())


def _unused(book: KitBook) -> Iterator[tuple[str, str]]:
    pieces = book.pieces.values()
    panels = [panel for piece in pieces for panel in piece.panels]
    outlines = {panel.shape.code for panel in panels if isinstance(panel.shape, Outline)}
    roles = {panel.role for panel in panels} | {edging.role for panel in panels for edging in panel.edging}
    roles |= {strip.role for piece in pieces for strip in piece.strips} | {piece.made_role for piece in pieces}
    uses = [use for piece in pieces for use in uses_of_piece(book, piece)]
    uses += [use for kit in book.kits.values() for use in uses_of_kit(kit)]
    rules = {rule for use in uses for rule in _lists(use)}
    options = {option for kit in book.kits.values() for option in (*kit.options, *_options(facts_of(kit.when)))}
    yield from (("outline", code) for code in book.outlines if code not in outlines)
    yield from (("colour role", code) for code in book.roles if code not in {*roles, "trim", "body", "hood"})
    yield from (("rule list", code) for code in book.rules if code not in rules)
    yield from (("option", code) for code in book.options if code not in options)


def _lists(use: Use) -> tuple[str, ...]:
    return (*use.guards, use.asked.rule) if isinstance(use.asked, Ask) else use.guards


def _options(facts: Iterable[str]) -> dict[str, str]:
    return {fact.removeprefix(_OPTION): "" for fact in facts if fact.startswith(_OPTION)}
