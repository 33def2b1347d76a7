"""The master reading of a colour: what every lot of it is held against, until another is written down.

It is the colour's in whatever cloth, or that of one cloth in the colour: grain and pile change what an instrument
reads, so that a carpet may have a master of its own. What stood before stays known, with who read it and when.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from stockroom.domain.catalogue import Reading
from stockroom.domain.colour_difference import conditions, delta_e00, why_not_compared
from stockroom.domain.readings import FAR, read_bare, read_conditions, refuse_swapped
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.wording import unknown
from stockroom.jobs.lookup import Catalogue, catalogue_of
from stockroom.jobs.read_order import said_in_a_line
from stockroom.jobs.way_back import Undoing, WayBack
from stockroom.store import ledger, masters
from stockroom.store.about import factors_of
from stockroom.store.database import Shop, Tx
from stockroom.store.masters import KeptMaster


@dataclass(frozen=True, slots=True)
class MasterRead:
    """A master that was written down."""

    colour: str
    cloth: str
    """The cloth that it holds in; '' in every one that has none of its own."""
    reading: Reading
    before: Reading | None
    """What stood until now."""
    dE00: float | None  # noqa: N815 - the name that the number has everywhere
    """From what stood until now, to 4 decimals; `None` where there was none, or none that can be compared."""
    sentence: str


@dataclass(frozen=True, slots=True)
class Named:
    """A colour, or a cloth in a colour, as somebody named it."""

    colour: str
    cloth: str
    """'' of the colour in whatever cloth."""
    title: str


def read_master(
    shop: Shop,
    name: str,
    figures: str,
    under: tuple[str, str],
    stamp: Stamp,
    instrument: str = "",
    sure: Collection[str] = (),
) -> MasterRead:
    """Writes down a master, 'L,a,b', of a colour, or of a cloth in a colour (`CLOTH/COLOUR`), which stands from now on.

    Raises Refusal for a colour that is not there, for what is no reading, for figures that seem swapped, and for a
    reading far from what stood, until that is confirmed: 'far' in `sure`.
    """
    said_in_a_line(instrument=instrument)
    new = Reading(*read_bare(figures), *read_conditions(*under))
    with shop.write() as tx:
        named = named_colour(catalogue_of(shop, tx), name)
        stood = masters.standing(masters.masters_to_change(tx, named.colour), named.cloth)
        before = None if stood is None else stood.reading
        refuse_swapped(new, before)
        apart = _apart(new, before, factors_of(tx))
        if before is not None and apart is not None and apart > FAR and "far" not in sure:
            raise Refusal(
                f"ΔE00 is {apart:.2f} from the master of {named.title} that stands ({_figures(before)}): so far is "
                "usually another colour. If it is so: --sure far."
            )
        job = ledger.begin_job(tx, f"write down the master of {named.title}", stamp)
        number = masters.keep_master(tx, named.colour, named.cloth, new, stamp, instrument)
        ledger.keep_way_back(tx, job, "master", {"id": number, "of": named.title})
    return MasterRead(
        named.colour,
        named.cloth,
        new,
        before,
        None if apart is None else round(apart, 4),
        _sentence(named, new, stood, apart),
    )


def named_colour(catalogue: Catalogue, text: str) -> Named:
    """What somebody names: a colour by its code or name, or a cloth in a colour by the code or title of its item.

    Raises Refusal for what is neither.
    """
    typed = " ".join(text.split()).casefold()
    for code, colour in catalogue.colours.items():
        if typed in (code.casefold(), colour.name.casefold()):
            return Named(code, "", colour.name)
    for code, item in catalogue.items.items():
        if item.cloth and item.colour and typed in (code.casefold(), item.title.casefold()):
            return Named(item.colour, item.cloth, item.title)
    if "/" in text:
        known = [code for code, item in catalogue.items.items() if item.cloth and item.colour]
        raise Refusal(unknown("cloth in a colour", text, known))
    raise Refusal(unknown("colour", text, catalogue.colours))


def _apart(new: Reading, before: Reading | None, factors: str) -> float | None:
    return None if before is None or why_not_compared(new, before) else delta_e00(new, before, factors)


def _figures(reading: Reading) -> str:
    return f"L* {reading.lightness:g}, a* {reading.a:g}, b* {reading.b:g}"


def _sentence(named: Named, new: Reading, stood: KeptMaster | None, apart: float | None) -> str:
    said = f"The master of {named.title} is {_figures(new)} under {conditions(new)}."
    if stood is None or stood.reading is None:
        return f"{said} It had none."
    before = stood.reading
    whose = "the colour's, " if stood.cloth != named.cloth else ""
    was = f"Until now: {whose}{_figures(before)} under {conditions(before)}"
    return (
        f"{said} {was}, ΔE00 {apart:.2f} from it." if apart is not None else f"{said} {was}; the two are not compared."
    )


def _take_back(shop: Shop, tx: Tx, undoing: Undoing) -> tuple[str, ...]:  # noqa: ARG001 - the signature of a way
    masters.drop_master(tx, undoing.data["id"])
    return (f"The master of {undoing.data['of']} that was written down is gone; what stood before stands again.",)


WAYS_BACK = {"master": WayBack(_take_back)}
