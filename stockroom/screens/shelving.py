"""What lies where, as the pages of the racks ask it of the jobs, and how they put it into words."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.tags import is_tag
from stockroom.jobs.adjust import Adjusted
from stockroom.jobs.move import MovedTo, ThingMoved
from stockroom.jobs.papers import Paper, tags_again
from stockroom.jobs.quarantine import Quarantined, Released
from stockroom.jobs.racks import Alike, InHand, PlaceContents, Rack, Thing, Whereabouts
from stockroom.jobs.replan import Replanned
from stockroom.jobs.scrap import Scrapped
from stockroom.screens.calls import named_by
from stockroom.screens.paragraphs import SIGN, Line, sentence
from stockroom.screens.wording import counted

if TYPE_CHECKING:
    from stockroom.screens.calls import Jobs

Contents = PlaceContents | tuple[Whereabouts, ...]
"""What lies in a place, or where items lie."""
_EACH = 3
"""So many things that were moved at once are told one by one."""


@dataclass(frozen=True, slots=True)
class RackJobs:
    """The jobs of the racks. Amounts are as somebody types them; '' is all there is."""

    looked_over: Callable[[Sequence[str]], tuple[Rack, ...]]
    """By the codes of places; all of them where none is given."""
    look_up: Callable[[str], Contents]
    """By a place's code or tag, or by an item's code or words of its name."""
    in_hand: Callable[[str], InHand]
    """By a tag."""
    move: Callable[[Sequence[str], str, Stamp], MovedTo]
    move_part: Callable[[str, str, str, Stamp], ThingMoved]
    """Out of a bin, an amount, to a place."""
    adjust: Callable[[str, str, str, Stamp], Adjusted]
    """The thing of a tag, its true figure, why."""
    quarantine: Callable[[str, str, Stamp, str], Quarantined]
    """A thing, why, how much of it."""
    quarantine_stretch: Callable[[str, str, str, str, Stamp], Quarantined]
    """Of a roll: from, to, why."""
    release: Callable[[str, str, Stamp], Released]
    scrap: Callable[[str, str, Stamp, str], Scrapped]
    """A thing, why, how much of it."""


# What lies there


def state_words(thing: Thing | Alike) -> str:
    """Whether a thing may be used, in words: where it may not, why."""
    return f"QUARANTINE: {thing.quarantined}" if thing.quarantined else ""


def what_short(thing: Thing | Alike) -> str:
    """The colour first: it must not be what is cut off where there is little room."""
    return ": ".join(filter(None, (thing.colour, thing.title.removesuffix(f", {thing.colour}"))))


def thing_haystack(thing: Thing) -> str:
    """What the filter looks through."""
    return " ".join(
        (thing.tag, thing.kind, thing.item, thing.title, thing.colour, thing.lot, thing.place, state_words(thing))
    )


def thing_words(thing: Thing) -> Iterator[Line]:
    """One thing in full, since its row may have been cut short."""
    lot = f", lot {thing.lot}" if thing.lot else ""
    yield sentence((f"{thing.tag}  {thing.title}{lot}", "bold"), f" ({thing.item}), {thing.kind}", hang=2)
    reserved = f"{thing.reserved} of it reserved" if thing.reserved else "nothing of it reserved"
    place = thing.place or "no place that is known"
    yield sentence(f"{thing.amount} in {place}, {reserved}, {thing.free} free", hang=2)
    if thing.quarantined:
        yield sentence((f"{SIGN} {state_words(thing)}. It may not be used.", "bold"), hang=2)


def alike_haystack(some: Alike) -> str:
    """What the filter looks through."""
    return " ".join((*some.tags, some.kind, some.item, some.title, some.colour, some.lot, state_words(some)))


def alike_line(some: Alike) -> Line:
    """Things that are alike, among the others of their place: the tag of one, how many more, and what they hold."""
    lot = f", lot {some.lot}" if some.lot else ""
    reserved = f", {some.reserved} reserved" if some.reserved else ""
    first, *others = some.tags
    beside = f", in {first} and {len(others):,} more" if others else ""
    apart = (f"  {SIGN} {state_words(some)}", "bold") if some.quarantined else ""
    return sentence(f"{first:<8}{some.amount:>9}  {some.title}{lot}{reserved}{beside}", apart, hang=19)


def hand_words(things: Sequence[InHand]) -> Iterator[Line]:
    """What is in hand, latest first."""
    yield sentence((f"In hand: {counted(len(things), 'thing')}", "bold"))
    for one in reversed(things):
        yield sentence(f"{one.tag:<8}{one.amount:>9}  {one.title}, from {one.place or 'nowhere'}", hang=19)


# What was done


def replanned_words(done: Replanned) -> tuple[str, ...]:
    """What became of promises: first what needs no attention, in a sentence or '', then what does."""
    said = []
    if done.moved:
        said.append(f"{counted(done.moved, 'planned cut')} moved along it.")
    if done.planned_elsewhere:
        said.append(f"Held elsewhere now: order {', '.join(done.planned_elsewhere)}.")
    return (" ".join(said), *(f"{SIGN} Now short: {words}" for words in done.short))


def with_promises(words: str, done: Replanned) -> tuple[str, ...]:
    """What was done, with what became of promises."""
    first, *attention = replanned_words(done)
    return (" ".join(filter(None, (words, first))), *attention)


def moved_words(done: MovedTo) -> tuple[str, ...]:
    """What was moved: each thing, or where there are many, how many."""
    if len(done.things) <= _EACH:
        return (" ".join(one.sentence for one in done.things),)
    gone = [one for one in done.things if one.changed_anything]
    lay = [one.tag for one in done.things if not one.changed_anything]
    first = f"{counted(len(gone), 'thing')} moved to {done.place}: {', '.join(one.tag for one in gone)}."
    return (first + (f" There already: {', '.join(lay)}." if lay else ""),)


def moved_papers(done: MovedTo, _: object) -> tuple[Paper, ...]:
    """Tags of bins that goods were put into and that are new."""
    return tags_again(*(one.tag_now for one in done.things if one.is_new))


def released_words(done: Released) -> tuple[str, ...]:
    """What may be used again, and who waited for it."""
    waited = ", ".join(done.waited_for)
    return (done.sentence, *([f"{SIGN} Short of it: order {waited}. Reserve again."] if waited else []))


# What was typed


def resolved(jobs: Jobs, text: str) -> Contents | None:
    """What of the racks a text names; `None` where it names something else, which opens as everywhere.

    Raises `Refusal` with what the racks say where it names nothing at all.
    """
    try:
        return jobs.racks.look_up(text)
    except Refusal:
        if is_tag(text):
            raise
        try:
            named_by(jobs, text)
        except Refusal:
            pass
        else:
            return None
        raise


def code_of(found: Contents, text: str) -> str:
    """What to look it up by again: a place's code, an item's, or where several are meant the words that were typed."""
    if isinstance(found, PlaceContents):
        return found.place
    return found[0].item if len(found) == 1 else text


def stretch_of(text: str) -> tuple[str, str] | None:
    """The two ends of a stretch that was typed, or `None`.

    >>> stretch_of("0.2 m to 60 cm"), stretch_of("2 m")
    (('0.2 m', '60 cm'), None)
    """
    first, to, last = (part.strip() for part in text.casefold().partition(" to "))
    return (first, last) if to and first and last else None
