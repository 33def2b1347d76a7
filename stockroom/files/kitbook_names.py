"""Whether the names in a kit book name something: rule lists, roles, outlines, edges, pieces, kits, options."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping

from stockroom.domain.wording import quoted
from stockroom.files.loose_table import LooseTable
from stockroom.files.toml_faults import TomlFaults

CAR_ROLES = ("trim", "body", "hood")
"""Roles that exist without being written: the car's own colours."""
_KEYS = ("works", "series", "options", "roles", "rules", "outlines", "pieces", "kits")
"""The tables of a book whose keys are names."""


def check_names(faults: TomlFaults, book: LooseTable) -> None:
    """Note every name in the book that names nothing. Tables with other faults are looked into all the same."""
    check = _NameCheck(faults, book)
    checks: Mapping[str, Callable[[LooseTable], None]] = {
        "series": check.series,
        "options": check.option,
        "roles": lambda role: check.ask(role, "colour"),
        "pieces": check.piece,
        "kits": check.kit,
    }
    for key, check_one in checks.items():
        for _, table in book.table(key).entries():
            check_one(table)
    rules = book.table("rules")
    for code in rules.codes():
        for rule in rules.tables(code):
            check.when(rule.table("when"))
    titles = book.table("rule-titles")
    lists = dict.fromkeys(rules.codes())
    for code in titles.codes():
        faults.name((*titles.path, code), "rule list", code, lists)
    _check_rings(faults, book.table("kits"))


class _NameCheck:
    """Walks the tables of one book."""

    def __init__(self, faults: TomlFaults, book: LooseTable) -> None:
        self._faults = faults
        self._book = book
        self._known = {key: dict.fromkeys(book.table(key).codes()) for key in _KEYS}
        self._roles = dict.fromkeys((*CAR_ROLES, *self._known["roles"]))

    def series(self, series: LooseTable) -> None:
        self._names(series, "works", "works", self._codes("works"))
        self._once(series, "works", "works")

    def option(self, option: LooseTable) -> None:
        default = option.text("default")
        if default is not None:
            self._faults.name((*option.path, "default"), "choice", default, option.table("choices").codes())
        if option.has("default") and not option.has("because"):
            self._faults.add((*option.path, "because"), "missing; a default must say why it is safe.")
        if option.has("because") and not option.has("default"):
            self._faults.add(
                (*option.path, "because"), "a reason without a default. Give the default, or leave this out."
            )

    def when(self, when: LooseTable) -> None:
        self._names(when, "series", "series", self._codes("series"))
        self._names(when, "works", "works", self._codes("works"))
        self._names(when, "hand", "hand of drive", ("left", "right"))
        asked = when.table("option")
        for option in asked.codes():
            known = self._codes("options")
            self._faults.name((*asked.path, option), "option", option, known)
            if option in known:
                choices = self._book.table("options").table(option).table("choices").codes()
                self._names(asked, option, f"choice of the option {quoted(option)}", choices)

    def piece(self, piece: LooseTable) -> None:
        for key in ("count", "made", "present"):
            self.ask(piece, key)
        self._role(piece, "made_role")
        if piece.has("made_role") and not piece.has("made"):
            self._faults.add(
                (*piece.path, "made_role"), "a colour role without 'made'. Say what is made, or leave this out."
            )
        if not any(piece.has(key) for key in ("panels", "strips", "hardware", "made")):
            self._faults.add(piece.path, "this piece is made of nothing; expected panels, strips, hardware or 'made'.")
        self._once_each(piece, "panels", "panel", "code")
        self._pattern(piece)
        for panel in piece.tables("panels"):
            self._panel(panel)
        for strip in piece.tables("strips"):
            self.ask(strip, "goods")
            self._role(strip, "role")
        self._hardware(piece)

    def kit(self, kit: LooseTable) -> None:
        for key, what in (("pieces", "piece"), ("kits", "kit"), ("options", "option")):
            self._names(kit, key, what, self._codes(key))
            self._once(kit, key, what)
        if not any(kit.has(key) for key in ("pieces", "kits", "hardware")):
            self._faults.add(kit.path, "this kit holds nothing; expected pieces, kits or hardware.")
        self._once(kit, "measurements", "measurement")
        self._hardware(kit)
        for step in kit.tables("steps"):
            self._names(step, "pieces", "piece", self._codes("pieces"))
        self.when(kit.table("when"))

    def ask(self, table: LooseTable, key: str) -> None:
        """Check the rule list that a value may be left to."""
        rule = table.table(key).text("rule")
        if rule is not None:
            self._faults.name((*table.path, key), "rule list", rule, self._codes("rules"))

    def _pattern(self, piece: LooseTable) -> None:
        pattern = piece.text("pattern") or ""
        key = {"outline": "outline", "card": "card", "length": "set_length"}.get(pattern)
        panels = list(piece.tables("panels"))
        if key is not None and panels and not any(panel.has(key) for panel in panels):
            self._faults.add(
                (*piece.path, "pattern"), f"found {quoted(pattern)}, but no panel of the piece has {quoted(key)}."
            )

    def _panel(self, panel: LooseTable) -> None:
        self.ask(panel, "cloth")
        self.ask(panel, "present")
        self._role(panel, "role")
        self._names(panel, "outline", "outline", self._codes("outlines"))
        edges = self._edges(panel)
        trimmed = edges if panel.has("outline") else ("width", "length") if panel.has("card") else ("length",)
        overlong = panel.table("overlong")
        for edge in overlong.codes() if trimmed is not None else ():
            self._faults.name((*overlong.path, edge), "edge", edge, trimmed or ())
        for edging in panel.tables("edging"):
            self.ask(edging, "goods")
            self._role(edging, "role")
            self._once(edging, "edges", "edge")
            if edges is not None:
                self._names(edging, "edges", "edge", edges)
        self._once_each(panel, "holes", "hole", "name")
        for hole in panel.tables("holes"):
            self.ask(hole, "made")

    def _edges(self, panel: LooseTable) -> tuple[str, ...] | None:
        """The names of a panel's edges; `None` where the panel's outline does not exist."""
        for key in ("card", "set_length"):
            if panel.has(key):
                return panel.table(key).table("edges").codes()
        outline = panel.text("outline") or ""
        outlines = self._book.table("outlines")
        return outlines.table(outline).table("edges").codes() if outlines.has(outline) else None

    def _hardware(self, holder: LooseTable) -> None:
        for line in holder.tables("hardware"):
            self.ask(line, "item")
            self.ask(line, "count")

    def _role(self, table: LooseTable, key: str) -> None:
        self._names(table, key, "colour role", self._roles)

    def _names(self, table: LooseTable, key: str, what: str, known: Collection[str]) -> None:
        for path, name in table.texts(key):
            self._faults.name(path, what, name, known)

    def _once(self, table: LooseTable, key: str, what: str) -> None:
        self._faults.twice((*table.path, key), what, (name for _, name in table.texts(key)))

    def _once_each(self, table: LooseTable, key: str, what: str, name: str) -> None:
        self._faults.twice((*table.path, key), what, (row.text(name) or "" for row in table.tables(key)))

    def _codes(self, key: str) -> Collection[str]:
        return self._known[key]


def _check_rings(faults: TomlFaults, kits: LooseTable) -> None:
    """Note every kit that, by way of the kits within it, holds itself."""
    inner = {code: [name for _, name in kit.texts("kits")] for code, kit in kits.entries()}
    done: set[str] = set()
    for start in inner:
        trail: list[str] = []
        ahead = [(start, 0)]
        while ahead:
            code, depth = ahead.pop()
            done.update(trail[depth:])
            del trail[depth:]
            if code in trail:
                ring = [*trail[trail.index(code) :], code]
                faults.add(
                    (*kits.path, trail[-1], "kits"),
                    f"a kit would hold itself: {' in '.join(quoted(code) for code in reversed(ring))}. Break the ring.",
                )
            elif code in inner and code not in done:
                trail.append(code)
                ahead.extend((name, len(trail)) for name in inner[code])
        done.update(trail)
