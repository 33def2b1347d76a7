"""What must hold of colours: what instruments read and what eyes saw, as the audit proves it."""

from __future__ import annotations

from collections.abc import Iterator

from sqlalchemy import text

from stockroom.domain.catalogue import Reading
from stockroom.domain.readings import why_no_reading
from stockroom.store.database import Tx

_FIGURES = "lightness, a, b, illuminant, observer"


def readings_can_be(tx: Tx) -> Iterator[str]:
    """Every reading is of a roll, its figures can be, and it is known what it was taken under."""
    query = f"""
        SELECT r.id, h.kind, h.tag, h.item, {_FIGURES} FROM reading r JOIN holding h ON h.id = r.holding_id
        WHERE h.kind <> 'roll' OR {_unlikely("r")} ORDER BY r.id"""
    for row in tx.execute(text(query)):
        if row.kind != "roll":
            yield f"Reading {row.id} is of {row.tag or 'the past'} ({row.item}), which is no roll."
        if why := why_no_reading(Reading(row.lightness, row.a, row.b, row.illuminant, row.observer)):
            yield f"Reading {row.id} of roll {row.tag} ({row.item}) cannot be: {why}."
    known = "SELECT DISTINCT illuminant, observer FROM reading ORDER BY 1, 2"
    for illuminant, observer in tx.execute(text(known)):
        if observer in ("2", "10") and (why := why_no_reading(Reading(50.0, 0.0, 0.0, illuminant, observer))):
            yield f"Readings under {illuminant!r} cannot be: {why}."


def _unlikely(table: str) -> str:
    """The clause for rows whose figures cannot be; the light is looked at by itself."""
    return (
        f"{table}.lightness < 0 OR {table}.lightness > 100 OR abs({table}.a) > 128 OR abs({table}.b) > 128 "
        f"OR {table}.observer NOT IN ('2', '10')"
    )


def masters_stand(tx: Tx) -> Iterator[str]:
    """Every master can be, and what each colour says is what was written down last."""
    query = f"SELECT id, colour, {_FIGURES} FROM master_reading ORDER BY id"
    for row in tx.execute(text(query)):
        figures = (row.lightness, row.a, row.b, row.illuminant, row.observer)
        if any(one is None for one in figures) and any(one is not None for one in figures):
            yield f"Master {row.id} of {row.colour} is only half written down."
        elif row.lightness is not None and (why := why_no_reading(Reading(*figures))):
            yield f"Master {row.id} of {row.colour} cannot be: {why}."
    same = " AND ".join(
        f"(m.{name} = c.{name} OR (m.{name} IS NULL AND c.{name} IS NULL))" for name in _FIGURES.split(", ")
    )
    other = f"""
        SELECT c.code, m.id FROM colour c
        LEFT JOIN master_reading m ON m.colour = c.code AND m.cloth IS NULL
            AND m.id = (SELECT max(n.id) FROM master_reading n WHERE n.colour = c.code AND n.cloth IS NULL)
        WHERE (m.id IS NULL AND c.lightness IS NOT NULL) OR (m.id IS NOT NULL AND NOT ({same})) ORDER BY c.code"""
    for row in tx.execute(text(other)):
        said = f"master {row.id}, the latest written down, is another" if row.id else "none was written down"
        yield f"The colour {row.code} has a master of its own, but {said}."


def verdicts_are_on_lots(tx: Tx) -> Iterator[str]:
    """An eye verdict is on two lots that the shop had of its item, in their order, and says who saw them and how."""
    had = "SELECT 1 FROM holding h WHERE h.item = v.item AND h.kind <> 'past' AND h.lot ="
    query = f"""
        SELECT v.id, v.item, v.lot, v.other_lot, v.verdict, v.eyes, v.light,
               EXISTS ({had} v.lot) AS has_one, EXISTS ({had} v.other_lot) AS has_other
        FROM eye_verdict v ORDER BY v.id"""
    for row in tx.execute(text(query)):
        which = f"Eye verdict {row.id} on {row.item}"
        missing = [lot for lot, there in ((row.lot, row.has_one), (row.other_lot, row.has_other)) if not there]
        if missing:
            yield f"{which} is on lot {missing[0]!r}, of which there never was any."
        if row.lot == row.other_lot:
            yield f"{which} is on one lot, {row.lot!r}, and not on two."
        elif row.lot > row.other_lot:
            yield f"{which} names its lots {row.lot!r} and {row.other_lot!r} the wrong way round, so it is not found."
        if row.verdict not in ("match", "near", "no-match"):
            yield f"{which} says {row.verdict!r}, which is no verdict."
        if not row.eyes or not row.light:
            yield f"{which} does not say who saw them, or in which light."
    twice = """
        SELECT item, lot, other_lot, count(*) AS n FROM eye_verdict
        GROUP BY item, lot, other_lot, "by", at HAVING count(*) > 1 ORDER BY item, lot, other_lot"""
    for row in tx.execute(text(twice)):
        yield f"Lots {row.lot!r} and {row.other_lot!r} of {row.item} have {row.n} eye verdicts of one moment."
