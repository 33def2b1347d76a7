"""The changes of an order line: which keys go with which kind of change, and the shape a change may bring along."""

from __future__ import annotations

from stockroom.domain import order
from stockroom.domain.kitbook import Shape
from stockroom.domain.wording import listed, quoted
from stockroom.files import order_tables as tables
from stockroom.files.kitbook_tables import Card, Outline, SetLength
from stockroom.files.loose_table import LooseTable
from stockroom.files.outline_faults import check_outline
from stockroom.files.toml_faults import TomlFaults

_ALWAYS = {"what", "because", "by", "proved"}
_NEEDS: dict[order.ChangeWhat, tuple[str, ...]] = {
    "hole": ("piece", "part", "made"),
    "overlong": ("piece", "part", "mm"),
    "outline": ("piece",),
    "cloth": ("piece", "to"),
    "colour": ("piece", "to"),
    "hardware": ("piece", "part", "to"),
    "count": ("piece", "count"),
    "leave-out": ("piece",),
    "add": ("piece",),
    "not-on-car": ("piece", "part"),
}
_SHAPES = ("outline", "points", "card", "set_length")
_MAY: dict[order.ChangeWhat, tuple[str, ...]] = {
    "hole": ("panel", "at", "diameter"),
    "overlong": ("panel",),
    "outline": ("panel", "edges", "notches", *_SHAPES),
    "cloth": ("panel",),
    "colour": ("panel",),
    "count": ("part",),
}


def check_change(faults: TomlFaults, change: LooseTable) -> None:
    """Note keys that are missing from a change of its kind, and keys that do not go with it."""
    kinds = {str(kind): kind for kind in _NEEDS}
    what = kinds.get(change.text("what") or "")
    if what is None:
        return
    needs, may = _NEEDS[what], _MAY.get(what, ())
    for key in needs:
        if not change.has(key):
            faults.add((*change.path, key), f"missing; a change of {quoted(what)} must say it.")
    for key in change.codes():
        if key in tables.Change.model_fields and key not in {*_ALWAYS, *needs, *may}:
            goes = listed(quoted(name) for name in (*needs, *may))
            faults.add((*change.path, key), f"does not go with a change of {quoted(what)}; expected {goes}.")
    if what == "hole" and change.has("at") != change.has("diameter"):
        faults.add(change.path, "a new hole needs both 'at' and 'diameter'.")
    if what == "outline":
        _check_shape(faults, change)


def _check_shape(faults: TomlFaults, change: LooseTable) -> None:
    given = [key for key in _SHAPES if change.has(key)]
    if len(given) != 1:
        found = listed(given) or "none of them"
        faults.add(change.path, f"found {found}; expected exactly one of {listed(quoted(key) for key in _SHAPES)}.")
    for key in ("edges", "notches"):
        if change.has(key) and not change.has("points"):
            faults.add((*change.path, key), "goes with 'points' only.")
    _shape(faults, change)


def read_change(faults: TomlFaults, change: tables.Change, written: LooseTable) -> order.Change:
    """The change in the domain's shape; faults of the shape it brings are noted."""
    x_mm, y_mm = change.at or (0, 0)
    return order.Change(
        what=change.what,
        piece=change.piece,
        because=change.because,
        by=change.by,
        panel=change.panel,
        part=change.part,
        to=change.outline or change.to,
        mm=change.count if change.what == "count" else change.mm,
        made=change.made,
        x_mm=x_mm,
        y_mm=y_mm,
        diameter_mm=change.diameter or 0,
        shape=_shape(faults, written) if change.what == "outline" else None,
        proved=change.proved,
    )


def _shape(faults: TomlFaults, change: LooseTable) -> Shape | None:
    """The shape a change brings along; `None` where it brings none, or (its faults noted) none that will do."""
    if change.has("points"):
        outline = faults.checked(Outline, change.only("points", "edges", "notches"), change.path)
        if outline is None:
            return None
        check_outline(faults, outline, change.path)
        return outline.outline(f"{change.text('piece') or ''}-{change.text('panel') or ''}".strip("-").lower())
    if change.has("card"):
        card = faults.checked(Card, change.only("card").get("card"), (*change.path, "card"))
        return card.card() if card else None
    if change.has("set_length"):
        proven = faults.checked(SetLength, change.only("set_length").get("set_length"), (*change.path, "set_length"))
        return proven.set_length() if proven else None
    return None
