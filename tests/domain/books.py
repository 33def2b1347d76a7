"""Small kit books and catalogues for tests, in few words. All of it plays in the invented demo world."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from stockroom.domain.catalogue import Cloth, Item, ItemKind
from stockroom.domain.explosion import CatalogueView, LineCase
from stockroom.domain.facts import CarFacts, Overruling
from stockroom.domain.kitbook import (
    Ask,
    Edging,
    Hardware,
    Kit,
    KitBook,
    Option,
    Outline,
    Pairing,
    Panel,
    Piece,
    Role,
    Rule,
    RuleList,
    Series,
    SetLength,
    Shape,
    Span,
    Then,
    When,
)
from stockroom.domain.order import Change, LineRequest

COLOURS = {code: code.capitalize() for code in ("black", "red", "green", "fawn", "blue")}
SERIES = {
    "s1": Series("s1", "Series 1", Span(1001, 3999), Span(), ("ashgate",)),
    "s2": Series("s2", "Series 2", Span(4001, 7999), Span(), ("ashgate", "fenmoor")),
}
EARLY = CarFacts("s1", "ashgate", 1500, None, "right", "green", "red", "fawn")
"""A car of before the change-over: green body, red trim, fawn hood."""
LATE = CarFacts("s1", "ashgate", 3000, None, "right", "green", "red", "fawn")
"""The same after it."""


def rectangle(width: int, length: int, code: str = "rectangle") -> Outline:
    """A rectangle whose edges are front, right, rear and left."""
    edges = {"front": (0, 1), "right": (1, 2), "rear": (2, 3), "left": (3, 0)}
    return Outline(code, ((0, 0), (width, 0), (width, length), (0, length)), edges)


def panel(
    code: str, cloth: str | Ask = "carpet", role: str = "trim", shape: Shape | None = None, **more: object
) -> Panel:
    """A panel; 800 × 500 mm unless it has a shape."""
    return Panel(code, cloth, role, shape or rectangle(800, 500), **more)  # type: ignore[arg-type]


def piece(code: str, *panels: Panel, **more: object) -> Piece:
    """A piece of these panels."""
    return Piece(code, str(more.pop("title", f"Piece {code}")), "outline", panels, **more)  # type: ignore[arg-type]


def bound(*edges: str, **more: object) -> Edging:
    """Edges bound in the trim colour."""
    return Edging("bound", edges, "binding", "trim", **more)  # type: ignore[arg-type]


def ask_option(code: str, **thens: Then) -> RuleList:
    """A rule list that does nothing but follow an option."""
    rules = (Rule(When(options={code: (choice,)}), then, f"{choice} was chosen") for choice, then in thens.items())
    return RuleList(f"by-{code}", f"By {code}", tuple(rules))


def early_or_late(code: str, early: Then, late: Then, change_over: int = 2150) -> RuleList:
    """A rule list with a change-over by chassis number."""
    first, second = When(chassis=Span(None, change_over - 1)), When(chassis=Span(change_over, None))
    rules = (Rule(first, early, "early cars had it so"), Rule(second, late, f"changed from chassis {change_over} on"))
    return RuleList(code, code.replace("-", " ").capitalize(), rules)


def book(
    *pieces: Piece,
    kits: Iterable[Kit] = (),
    rules: Iterable[RuleList] = (),
    roles: Iterable[Role] = (),
    options: Iterable[Option] = (),
    outlines: Iterable[Outline] = (),
    pairings: tuple[Pairing, ...] = (),
) -> KitBook:
    """A book of these pieces; without kits, one kit 'set' of them all."""
    made = tuple(kits) or (Kit("set", "Set", tuple(piece.code for piece in pieces)),)
    return KitBook(
        "plover",
        "Ravensworth Plover",
        "1",
        1,
        {"ashgate": "Ashgate", "fenmoor": "Fenmoor"},
        SERIES,
        {option.code: option for option in options},
        {role.code: role for role in roles},
        {rule.code: rule for rule in rules},
        {outline.code: outline for outline in outlines},
        {piece.code: piece for piece in pieces},
        {kit.code: kit for kit in made},
        pairings,
    )


def cloth(code: str, kind: ItemKind = "cloth", **more: object) -> Cloth:
    """A cloth 1400 mm wide with a nap, or narrow goods 20 mm wide."""
    values: dict[str, object] = {
        "fibre": "wool",
        "grain": "plain",
        "width_mm": 1400 if kind == "cloth" else 20,
        "mass_g_m2": 500,
        "nap": kind == "cloth",
        "shortest_useful_mm": 300,
        "colour_tolerance": 1.0,
        **more,
    }
    return Cloth(code, str(values.pop("title", code.capitalize())), kind, **values)  # type: ignore[arg-type]


def catalogue(counted: Iterable[str] = ("stud", "cap", "tool-bag-blank"), without: Iterable[str] = ()) -> CatalogueView:
    """Carpet, leathercloth and binding in every colour, and counted items."""
    cloths = {c.code: c for c in (cloth("carpet"), cloth("leathercloth", nap=False), cloth("binding", "narrow"))}
    items = {
        f"{c.code}/{colour}": Item(f"{c.code}/{colour}", f"{c.title}, {colour}", c.kind, c.code, colour)
        for c in cloths.values()
        for colour in COLOURS
    }
    items |= {code: Item(code, code.capitalize().replace("-", " "), "hardware") for code in counted}
    return CatalogueView(cloths, {k: v for k, v in items.items() if k not in set(without)}, COLOURS)


def line(
    kit: str = "set",
    quantity: int = 1,
    *,
    car: CarFacts = LATE,
    key: str = "RP 3000",
    number: int = 1,
    pieces: tuple[str, ...] = (),
    choices: Mapping[str, str] | None = None,
    changes: tuple[Change, ...] = (),
    kept: tuple[Change, ...] = (),
    overruled: Mapping[str, Overruling] | None = None,
    **more: object,
) -> LineCase:
    """One line of an order."""
    request = LineRequest(kit, quantity, key, pieces, choices or {}, changes, overruled or {}, **more)  # type: ignore[arg-type]
    return LineCase(number, request, key, car, kept)


def change(what: str, piece_code: str, **more: object) -> Change:
    """A change asked for by AB."""
    return Change(what, piece_code, str(more.pop("because", "the owner asked for it")), "AB", **more)  # type: ignore[arg-type]


__all__ = [
    "EARLY",
    "LATE",
    "Ask",
    "Hardware",
    "Kit",
    "Option",
    "Role",
    "SetLength",
    "ask_option",
    "book",
    "bound",
    "catalogue",
    "change",
    "cloth",
    "early_or_late",
    "line",
    "panel",
    "piece",
    "rectangle",
]
