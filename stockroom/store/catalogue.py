"""The catalogue as it is kept: colours, cloths, items, places, stages, suppliers and their terms, written and read.

Writing the same again changes nothing; a code that is known already takes the new facts, and what changed is reported.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, cast

from sqlalchemy import RowMapping, Table, bindparam, insert, select, text, update

from stockroom.domain import catalogue as trade
from stockroom.domain.catalogue import BY_LENGTH, ItemKind, Reading
from stockroom.domain.refusal import Refusal
from stockroom.store.database import Tx
from stockroom.store.edition import new_edition
from stockroom.store.tables import Cloth, Colour, Holding, Item, ItemGroup, Place, Requirement, Stage, Supplier, Terms
from stockroom.store.tags import tags_for


@dataclass(frozen=True, slots=True)
class Written:
    """What writing did to one kind of thing."""

    what: str
    """What they are, in the plural: 'colours', 'items', ..."""
    added: int = 0
    same: int = 0
    changes: tuple[str, ...] = ()
    """One sentence for each that was known and has changed."""


def one_load_at_a_time(tx: Tx) -> None:
    """Keeps a second load waiting until this one is done, so that it finds what this one wrote.

    Must come first in its transaction. On SQLite writers take turns anyway.
    """
    if tx.dialect.name != "sqlite":
        tx.execute(text("LOCK TABLE about IN SHARE ROW EXCLUSIVE MODE"))


def write_colours(tx: Tx, colours: Iterable[trade.Colour]) -> Written:
    """Adds or updates colours by their code."""
    rows = [
        {"code": one.code, "name": one.name, "name_folded": one.name.casefold(), **reading_columns(one.master)}
        for one in colours
    ]
    return _write(tx, "colours", _table(Colour), ("code",), rows)


def write_cloths(tx: Tx, cloths: Iterable[trade.Cloth]) -> Written:
    """Adds or updates cloths and narrow goods by their code."""
    rows = [
        {
            "code": one.code,
            "title": one.title,
            "kind": one.kind,
            "fibre": one.fibre,
            "grain": one.grain,
            "width_mm": one.width_mm,
            "mass_g_m2": one.mass_g_m2,
            "nap": one.nap,
            "shortest_useful_mm": one.shortest_useful_mm,
            "colour_tolerance": float(one.colour_tolerance),
            "hazards": one.hazards,
            "substitutes": list(one.substitutes),
            "discontinued": one.discontinued,
            "margin_mm": one.margin_mm,
        }
        for one in cloths
    ]
    return _write(tx, "cloths", _table(Cloth), ("code",), rows)


def write_items(tx: Tx, items: Iterable[trade.Item]) -> Written:
    """Adds or updates items by their code. Their cloths and colours must be there.

    Raises `Refusal` where an item that is stocked or required would change between by length and by count.
    """
    rows = [
        {
            "code": one.code,
            "title": one.title,
            "title_folded": one.title.casefold(),
            "kind": one.kind,
            "cloth": one.cloth or None,
            "colour": one.colour or None,
            "mass_g": one.mass_g,
            "group": one.group,
            "least": one.least,
            "most": one.most,
            "hazards": one.hazards,
            "storage": one.storage,
            "made_here": one.made_here,
            "posting": one.posting,
            "substitutes": list(one.substitutes),
            "discontinued": one.discontinued,
            "planned_by": one.planned_by,
            "make_days": one.make_days,
            "batch": one.batch,
        }
        for one in items
    ]
    _keep_measures(tx, rows)
    return _write(tx, "items", _table(Item), ("code",), rows)


def write_groups(tx: Tx, groups: Iterable[trade.ItemGroup]) -> Written:
    """Adds or updates item groups by their code."""
    rows = [
        {
            "code": one.code,
            "planned_by": one.planned_by,
            "target_of": one.target_of,
            "target_permille": one.target_permille,
        }
        for one in groups
    ]
    return _write(tx, "groups", _table(ItemGroup), ("code",), rows)


def write_places(tx: Tx, places: Iterable[trade.Place]) -> Written:
    """Adds or updates places by their code; a new one gets a tag, or keeps the one that the file brings along.

    Raises `Refusal` where that tag is on something else.
    """
    wanted = list(places)
    tags = dict(tx.execute(select(Place.code, Place.tag)).all())
    new = [one for one in wanted if one.code not in tags]
    given = tags_for(tx, "L", [one.tag for one in new], set(tags.values()))
    tags.update(zip((one.code for one in new), given, strict=True))
    rows = [{"code": one.code, "tag": tags[one.code], "title": one.title, "walk": one.walk} for one in wanted]
    return _write(tx, "places", _table(Place), ("code",), rows)


def write_stages(tx: Tx, stages: Iterable[trade.Stage]) -> Written:
    """Adds or updates stages of the sewing room by their code."""
    rows = [{"code": one.code, "title": one.title, "turn": one.turn} for one in stages]
    return _write(tx, "stages", _table(Stage), ("code",), rows)


def write_suppliers(tx: Tx, suppliers: Iterable[trade.Supplier]) -> Written:
    """Adds or updates suppliers by their code."""
    rows = [
        {
            "code": one.code,
            "name": one.name,
            "lead_days": one.lead_days,
            "currency": one.currency,
            "carriage_paid_minor": one.carriage_paid_minor,
        }
        for one in suppliers
    ]
    return _write(tx, "suppliers", _table(Supplier), ("code",), rows)


def write_terms(tx: Tx, terms: Iterable[trade.Terms]) -> Written:
    """Adds or updates terms by supplier and item, which must be there."""
    rows = [
        {
            "supplier": one.supplier,
            "item": one.item,
            "lead_days": one.lead_days,
            "least_quantity": one.least_quantity,
            "multiple": one.multiple,
            "preferred": one.preferred,
            "breaks": [[step.from_quantity, step.price_minor] for step in one.breaks],
            "roll_mm": one.roll_mm,
        }
        for one in terms
    ]
    return _write(tx, "terms", _table(Terms), ("supplier", "item"), rows)


def read_colours(tx: Tx) -> dict[str, trade.Colour]:
    """Every colour, by code, in the order of codes."""
    return {
        row["code"]: trade.Colour(row["code"], row["name"], reading_of(row))
        for row in tx.execute(select(_table(Colour)).order_by(Colour.code)).mappings()
    }


def read_cloths(tx: Tx) -> dict[str, trade.Cloth]:
    """Every cloth and narrow goods, by code, in the order of codes."""
    return {
        row["code"]: trade.Cloth(
            code=row["code"],
            title=row["title"],
            kind=cast(ItemKind, row["kind"]),
            fibre=row["fibre"],
            grain=row["grain"],
            width_mm=row["width_mm"],
            mass_g_m2=row["mass_g_m2"],
            nap=row["nap"],
            shortest_useful_mm=row["shortest_useful_mm"],
            colour_tolerance=row["colour_tolerance"],
            hazards=row["hazards"],
            substitutes=tuple(row["substitutes"]),
            discontinued=row["discontinued"],
            margin_mm=row["margin_mm"],
        )
        for row in tx.execute(select(_table(Cloth)).order_by(Cloth.code)).mappings()
    }


def read_items(tx: Tx) -> dict[str, trade.Item]:
    """Every item, by code, in the order of codes."""
    return {
        row["code"]: trade.Item(
            code=row["code"],
            title=row["title"],
            kind=cast(ItemKind, row["kind"]),
            cloth=row["cloth"] or "",
            colour=row["colour"] or "",
            mass_g=row["mass_g"],
            group=row["group"],
            least=row["least"],
            most=row["most"],
            hazards=row["hazards"],
            storage=row["storage"],
            made_here=row["made_here"],
            posting=row["posting"],
            substitutes=tuple(row["substitutes"]),
            discontinued=row["discontinued"],
            planned_by=cast(Any, row["planned_by"]),
            make_days=row["make_days"],
            batch=row["batch"],
        )
        for row in tx.execute(select(_table(Item)).order_by(Item.code)).mappings()
    }


def read_groups(tx: Tx) -> dict[str, trade.ItemGroup]:
    """Every item group that says how its items are reckoned, by code, in the order of codes."""
    return {
        row.code: trade.ItemGroup(row.code, row.planned_by, row.target_of, row.target_permille)
        for row in tx.execute(select(_table(ItemGroup)).order_by(ItemGroup.code))
    }


def read_places(tx: Tx) -> dict[str, trade.Place]:
    """Every place, by code, in walking order."""
    query = select(Place.code, Place.title, Place.walk).order_by(Place.walk, Place.code)
    return {code: trade.Place(code, title, walk) for code, title, walk in tx.execute(query)}


def read_stages(tx: Tx) -> dict[str, trade.Stage]:
    """Every stage of the sewing room, by code, in their turn."""
    query = select(Stage.code, Stage.title, Stage.turn).order_by(Stage.turn, Stage.code)
    return {code: trade.Stage(code, title, turn) for code, title, turn in tx.execute(query)}


def read_suppliers(tx: Tx) -> dict[str, trade.Supplier]:
    """Every supplier, by code, in the order of codes."""
    return {
        row.code: trade.Supplier(row.code, row.name, row.lead_days, row.currency, row.carriage_paid_minor)
        for row in tx.execute(select(_table(Supplier)).order_by(Supplier.code))
    }


def read_terms(tx: Tx) -> tuple[trade.Terms, ...]:
    """Every supplier's terms, ordered by item, the preferred supplier first."""
    query = select(_table(Terms)).order_by(Terms.item, Terms.preferred.desc(), Terms.supplier)
    return tuple(
        trade.Terms(
            supplier=row.supplier,
            item=row.item,
            lead_days=row.lead_days,
            least_quantity=row.least_quantity,
            multiple=row.multiple,
            breaks=tuple(trade.PriceBreak(quantity, price) for quantity, price in row.breaks),
            preferred=row.preferred,
            roll_mm=row.roll_mm,
        )
        for row in tx.execute(query)
    )


def cloths_and_items(
    tx: Tx,
) -> tuple[Mapping[str, trade.Cloth], Mapping[str, trade.Item], Mapping[str, trade.Colour]]:
    """What an explosion asks of the catalogue, each by code. Three statements: keep the answer."""
    return read_cloths(tx), read_items(tx), read_colours(tx)


def reading_columns(reading: Reading | None) -> dict[str, Any]:
    """A reading as the columns that hold it; all NULL where there is none."""
    if reading is None:
        return {"lightness": None, "a": None, "b": None, "illuminant": None, "observer": None}
    return {
        "lightness": float(reading.lightness),
        "a": float(reading.a),
        "b": float(reading.b),
        "illuminant": reading.illuminant,
        "observer": reading.observer,
    }


def reading_of(row: RowMapping) -> Reading | None:
    """The reading held in a row's columns, or None."""
    if row["lightness"] is None:
        return None
    return Reading(row["lightness"], row["a"], row["b"], row["illuminant"], row["observer"])


def _table(model: type[Any]) -> Table:
    return cast(Table, model.__table__)


def _write(tx: Tx, what: str, table: Table, key: Sequence[str], rows: Sequence[dict[str, Any]]) -> Written:
    """Inserts what is new and updates what differs, each in one statement."""
    columns = list(rows[0]) if rows else []
    known: dict[tuple[Any, ...], RowMapping] = {}
    if rows:
        for found in tx.execute(select(*(table.c[name] for name in columns))).mappings():
            known[tuple(found[name] for name in key)] = found
    added, changed, sentences = [], [], []
    for row in rows:
        name = tuple(row[part] for part in key)
        before = known.get(name)
        if before is None:
            added.append(row)
        elif differing := [column for column in columns if before[column] != row[column]]:
            changed.append({f"to_{column}": value for column, value in row.items()})
            sentences.append(_changed_sentence(what, name, before, row, differing))
    if added:
        tx.execute(insert(table), added)
    if changed:
        settled = [column for column in columns if column not in key]
        statement = (
            update(table)
            .where(*(table.c[part] == bindparam(f"to_{part}") for part in key))
            .values({table.c[column]: bindparam(f"to_{column}", type_=table.c[column].type) for column in settled})
        )
        tx.execute(statement, changed)
    if added or changed:
        new_edition(tx)
    return Written(what, len(added), len(rows) - len(added) - len(changed), tuple(sentences))


def _changed_sentence(
    what: str, name: Sequence[Any], before: RowMapping, row: Mapping[str, Any], differing: Sequence[str]
) -> str:
    shown = [column for column in differing if not column.endswith("_folded")]
    facts = "; ".join(f"{column} was {_shown(before[column])}, is now {_shown(row[column])}" for column in shown)
    return f"{what}: {' / '.join(name)}: {facts}"


def _shown(value: object) -> str:
    if value is None or value == "" or value == []:
        return "empty"
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else repr(value)


def _keep_measures(tx: Tx, rows: Sequence[Mapping[str, Any]]) -> None:
    """An item that is stocked or required stays by length, or by count: its quantities would mean something else."""
    kinds = dict(tx.execute(select(Item.code, Item.kind)).all())
    turned = [
        row["code"]
        for row in rows
        if row["code"] in kinds and (kinds[row["code"]] in BY_LENGTH) != (row["kind"] in BY_LENGTH)
    ]
    if not turned:
        return
    used = set(tx.scalars(select(Holding.item).where(Holding.item.in_(turned))))
    used |= set(tx.scalars(select(Requirement.item).where(Requirement.item.in_(turned))))
    if used:
        raise Refusal(
            f"{', '.join(sorted(used))} cannot change between being stocked by length and by count: the shop holds or "
            "needs some. Give the new kind a new code."
        )
