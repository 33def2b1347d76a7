"""The trimmer's question as the screens ask it of the jobs, and how its answer is put into words and colours."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from stockroom.domain.on_screen import NO_PROOF
from stockroom.domain.refusal import Refusal
from stockroom.domain.shortage import lot_name
from stockroom.domain.stamp import Stamp
from stockroom.domain.wording import quoted
from stockroom.jobs.match import Matched, RollsMatched
from stockroom.jobs.match_desk import Candidate, Candidates, LotThere, Shade
from stockroom.jobs.verdict import VerdictKept
from stockroom.screens.paragraphs import SIGN, Line, sentence
from stockroom.screens.row_list import Cell

_VERDICTS = {
    "match": "match", "matches": "match", "m": "match",
    "near": "near", "nearly": "near",
    "no-match": "no-match", "no match": "no-match", "does not match": "no-match", "no": "no-match",
}  # fmt: skip
"""What is typed → what is kept."""
_SHORT = {"check by eye in daylight": "check by eye", "does not match": "NO MATCH"}
_PATCH = "     "


@dataclass(frozen=True, slots=True)
class MatchJobs:
    """The jobs of matching."""

    named: Callable[[str], Matched]
    """About a roll, an order, a car, a kit, a piece, a colour or a cloth in its colour."""
    rolls: Callable[[str, str], RollsMatched]
    """How the rolls of two tags match."""
    verdict: Callable[[str, tuple[str, str], str, str, Stamp], VerdictKept]
    """An item, two lots of it, what was seen, in which light; whoever signs it has seen it."""


@dataclass(frozen=True, slots=True)
class MatchRow:
    """One roll that may do, or a group for which nothing is free."""

    group: Candidates
    roll: Candidate | None

    @property
    def key(self) -> tuple[str, str, str, str]:
        """What tells it apart."""
        return self.group.car, self.group.group, self.group.item, self.roll.tag if self.roll else ""


# Cells


def match_cell(row: MatchRow, *, short: bool) -> Cell:
    """How it matches, in the trimmer's words."""
    if row.roll is None:
        return Cell("nothing free", "alarm")
    words = row.roll.words
    tone = "alarm" if words == "does not match" else "strong" if words == "same lot" else ""
    return Cell(_SHORT.get(words, words) if short else words, tone)


def number_cell(row: MatchRow) -> Cell:
    """The nearest and the largest difference to anything in the group."""
    if row.roll is None or row.roll.dE00 is None:
        return Cell("")
    nearest, largest = row.roll.nearest_dE00, row.roll.dE00
    return Cell(f"{largest:.2f}" if nearest is None or nearest == largest else f"{nearest:.2f} to {largest:.2f}")


def patch_cell(row: MatchRow) -> Cell:
    """The colour itself; with a sign where a screen has no such colour."""
    shade = row.roll.shade if row.roll else None
    if shade is None:
        return Cell("  ?" if row.roll else "")
    return Cell(_PATCH if shade.in_gamut else f"  {SIGN}  ", ground=shade.on_screen)


def reading_words(shade: Shade | None) -> str:
    """What was read, in figures."""
    return f"L* {shade.L:g}  a* {shade.a:g}  b* {shade.b:g}" if shade else "no reading"


def whose_words(group: Candidates) -> str:
    """Whose group it is: '' where it is nobody's."""
    if not group.car:
        return ""
    return f"car {group.car}, {f'matching group {group.group}' if group.group else 'seen beside nothing'}"


def match_haystack(row: MatchRow) -> str:
    """What the filter looks through."""
    said = [row.group.item, row.group.title, whose_words(row.group)]
    if row.roll is not None:
        roll = row.roll
        kind = "remnant" if roll.remnant else "roll"
        said += [roll.tag, roll.lot, roll.place, roll.free, roll.words, kind, reading_words(roll.shade)]
    return " ".join(said)


# The writing beside the rows


def shade_line(before: str, shade: Shade | None, *, in_colour: bool) -> Line:
    """A patch of the colour, where the terminal has it, and its figures."""
    if shade is None:
        return sentence(f"{before}no reading", hang=2)
    patch = (" ", (_PATCH, f"on {shade.on_screen}"), " ") if in_colour else ()
    outside = "" if shade.in_gamut else f"  {SIGN} outside what a screen can show; the nearest it can is shown"
    several = f", middle of {shade.readings}, up to ΔE00 {shade.spread:.2f} from it" if shade.readings > 1 else ""
    return sentence(before, *patch, f"{reading_words(shade)} under {shade.under}{several}{outside}", hang=2)


def row_words(row: MatchRow, *, in_colour: bool) -> Iterator[Line]:
    """One row in full."""
    group, roll = row.group, row.roll
    if roll is None:
        yield sentence((f"{SIGN} {group.title}: nothing of it is free", "bold"), hang=2)
        return
    kind = "remnant" if roll.remnant else "roll"
    yield sentence((f"{roll.tag}  {group.title}, {lot_name(roll.lot)}", "bold"), f"  {kind}, {roll.free} free", hang=2)
    yield sentence(f"In {roll.place or 'no place that is known'}.", hang=2)
    yield sentence((f"{roll.words[:1].upper()}{roll.words[1:]}. ", "bold"), roll.why, hang=2)
    yield shade_line("", roll.shade, in_colour=in_colour)
    if roll.more_of_lot:
        yield sentence(f"There are {roll.more_of_lot}.", hang=2)
    if roll.to_see and group.lots:
        beside = " and ".join(map(lot_name, roll.to_see))
        yield sentence(
            (f"{SIGN} Look at it beside {beside} in daylight", "bold"), "; Ctrl and L writes down what you saw.", hang=2
        )


def group_words(group: Candidates, *, in_colour: bool) -> Iterator[Line]:
    """What a row's group has to match."""
    whose = whose_words(group)
    if whose:
        yield sentence((f"{whose[:1].upper()}{whose[1:]}", "bold"), hang=2)
    for lot in group.must_match:
        yield from _lot_words(lot, bool(group.group), in_colour=in_colour)
    if not group.must_match:
        yield sentence(f"Held against {group.beside}.", hang=2)
        if group.master is not None and not group.lots:
            yield shade_line("", group.master, in_colour=in_colour)
    for words in group.other_cloths:
        yield sentence(words, hang=2)


def _lot_words(lot: LotThere, is_seen_beside: bool, *, in_colour: bool) -> Iterator[Line]:
    name = lot_name(lot.lot)
    start = f"Must match {name}" if is_seen_beside else f"{name[:1].upper()}{name[1:]}"
    yield sentence((f"{start}: ", "bold"), f"{lot.how}.", hang=2)
    yield shade_line("  ", lot.shade, in_colour=in_colour)


def pair_words(pair: RollsMatched, *, in_colour: bool) -> Iterator[Line]:
    """How two rolls match."""
    one, other = pair.tags
    said = f"{pair.words[:1].upper()}{pair.words[1:]}"
    yield sentence((f"{one} beside {other}: {said}. ", "bold"), pair.why, hang=2)
    for tag, title, lot, shade in zip(pair.tags, pair.titles, pair.lots, pair.shades, strict=True):
        yield sentence(f"{tag}: {title}, {lot_name(lot)}", hang=2)
        yield shade_line("  ", shade, in_colour=in_colour)


def proof_line() -> Line:
    """A screen is no proof."""
    return sentence((NO_PROOF, "$quiet-ink"), hang=2)


# What was typed


def verdict_said(text: str) -> str:
    """What somebody saw, as it is kept. Raises Refusal for what is no verdict."""
    said = _VERDICTS.get(" ".join(text.casefold().split()))
    if said is None:
        raise Refusal(f"{quoted(text)} is no verdict. Type match, near or no match; Esc leaves it.")
    return said


def verdict_words(kept: VerdictKept) -> tuple[str, ...]:
    """What was written down, and how it is taken back."""
    return (f"{kept.sentence} It stands above a number from now on. ^Y takes it back.",)
