"""The tables of a kit book as they are written in TOML, each able to become its shape of the domain.

Heavy (pydantic): imported inside functions only.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from stockroom.domain import kitbook as shapes
from stockroom.files.border import (
    Allowance,
    BoolOrRule,
    Code,
    CodeOrRule,
    ColourOrRule,
    Count,
    CountOrRule,
    Day,
    EdgeEnds,
    Expected,
    Hand,
    HoleOrRule,
    ItemCode,
    Length,
    Note,
    OneOrMore,
    PieceCode,
    Point,
    RuleThen,
    Strict,
    Text,
    Whole,
    rows,
    wrong,
)

MOST_POINTS = 5_000
"""Points of one outline: a curve drawn at every mm over five metres."""


class Top(Strict):
    """The top of the file: the tables and lists within are checked one by one, so that every fault is found."""

    format: Annotated[Literal[1], Expected("1, the only format of kit books there is so far")]
    book: dict[str, object]
    works: dict[str, object]
    series: dict[str, object]
    options: dict[str, object] = Field(default_factory=dict)
    roles: dict[str, object] = Field(default_factory=dict)
    rules: dict[str, object] = Field(default_factory=dict)
    rule_titles: dict[str, object] = Field(default_factory=dict, alias="rule-titles")
    outlines: dict[str, object] = Field(default_factory=dict)
    pieces: dict[str, object]
    kits: dict[str, object]
    pairings: list[object] = rows()


class Book(Strict):
    """[book]"""

    code: Code
    title: Text
    version: Text


class Works(Strict):
    """[works]"""

    works: dict[Code, Text] = Field(min_length=1)


class RuleTitles(Strict):
    """[rule-titles]"""

    titles: dict[Code, Text] = Field(alias="rule-titles")


class NumberSpan(Strict):
    """A range of chassis numbers."""

    first: Whole | None = None
    last: Whole | None = None

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        _refuse_disorder(self.first, self.last)
        return self

    def span(self) -> shapes.Span:
        return shapes.Span(self.first, self.last)


class DaySpan(Strict):
    """A range of days."""

    first: Day | None = None
    last: Day | None = None

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        _refuse_disorder(
            None if self.first is None else self.first.toordinal(), None if self.last is None else self.last.toordinal()
        )
        return self

    def span(self) -> shapes.Span:
        return shapes.Span(self.first, self.last)


def _refuse_disorder(first: int | None, last: int | None) -> None:
    if first is None and last is None:
        raise wrong("this range has no ends; expected { first = .., last = .. }, of which one may be left out.")
    if first is not None and last is not None and first > last:
        raise wrong("this range ends before it begins; expected the first no later than the last.")


class Series(Strict):
    """[series.CODE]"""

    title: Text
    chassis: NumberSpan
    built: DaySpan
    works: list[Code] = rows(least=1)

    def series(self, code: str) -> shapes.Series:
        return shapes.Series(code, self.title, self.chassis.span(), self.built.span(), tuple(self.works))


class Option(Strict):
    """[options.CODE]"""

    ask: Text
    choices: dict[Code, Text] = Field(min_length=1)
    default: Code | None = None
    because: Text | None = None

    def option(self, code: str) -> shapes.Option:
        return shapes.Option(code, self.ask, self.choices, self.default, self.because or "")


class Role(Strict):
    """[roles.CODE]"""

    colour: ColourOrRule
    because: Text

    def role(self, code: str) -> shapes.Role:
        return shapes.Role(code, self.colour, self.because)


class When(Strict):
    """The condition of a rule or of a kit."""

    series: OneOrMore = ()
    works: OneOrMore = ()
    chassis: NumberSpan | None = None
    built: DaySpan | None = None
    hand: OneOrMore = ()
    body: OneOrMore = ()
    trim: OneOrMore = ()
    hood: OneOrMore = ()
    option: dict[Code, OneOrMore] = Field(default_factory=dict)

    def when(self) -> shapes.When:
        return shapes.When(
            series=self.series,
            works=self.works,
            chassis=self.chassis.span() if self.chassis else None,
            built=self.built.span() if self.built else None,
            hand=self.hand,
            body=self.body,
            trim=self.trim,
            hood=self.hood,
            options=self.option,
        )


class Rule(Strict):
    """[[rules.CODE]]"""

    when: When
    then: RuleThen
    because: Text

    def rule(self) -> shapes.Rule:
        return shapes.Rule(self.when.when(), self.then, self.because)


class Outline(Strict):
    """[outlines.CODE]"""

    points: list[Point] = Field(min_length=3, max_length=MOST_POINTS)
    edges: dict[Code, EdgeEnds] = Field(default_factory=dict)
    notches: list[Point] = rows()

    def outline(self, code: str) -> shapes.Outline:
        return shapes.Outline(
            code,
            tuple((x, y) for x, y in self.points),
            {name: (first, last) for name, (first, last) in self.edges.items()},
            tuple((x, y) for x, y in self.notches),
        )


class Card(Strict):
    """card = { width, length, edges }"""

    width: Length
    length: Length
    edges: dict[Code, Length] = Field(default_factory=dict)

    def card(self) -> shapes.Card:
        return shapes.Card(self.width, self.length, self.edges)


class SetLength(Strict):
    """set_length = { length, edges }"""

    length: Length
    edges: dict[Code, Length] = Field(default_factory=dict)

    def set_length(self) -> shapes.SetLength:
        return shapes.SetLength(self.length, self.edges)


class Hole(Strict):
    """[[pieces.CODE.panels.holes]]"""

    name: Text
    at: Point
    diameter: Length
    made: HoleOrRule

    def hole(self) -> shapes.Hole:
        return shapes.Hole(self.name, self.at[0], self.at[1], self.diameter, self.made)


class Edging(Strict):
    """[[pieces.CODE.panels.edging]]"""

    how: Literal["bound", "piped"]
    edges: list[Code] = rows(least=1)
    goods: CodeOrRule
    role: Code
    corner: Allowance = 0
    end: Allowance = 0
    join: Allowance = 0

    def edging(self) -> shapes.Edging:
        return shapes.Edging(self.how, tuple(self.edges), self.goods, self.role, self.corner, self.end, self.join)


class Panel(Strict):
    """[[pieces.CODE.panels]]"""

    code: Code
    cloth: CodeOrRule
    role: Code
    outline: Code | None = None
    card: Card | None = None
    set_length: SetLength | None = None
    mirrored: bool = False
    way: Literal["along", "across", "any"] = "along"
    count: Count = 1
    holes: list[Hole] = rows()
    edging: list[Edging] = rows()
    overlong: dict[Code, Allowance] = Field(default_factory=dict)
    present: BoolOrRule = True

    @model_validator(mode="after")
    def _one_shape(self) -> Self:
        given = [name for name in ("outline", "card", "set_length") if getattr(self, name) is not None]
        if len(given) != 1:
            found = " and ".join(given) or "none of them"
            raise wrong(f"found {found}; expected exactly one of 'outline', 'card' and 'set_length'.")
        return self

    def panel(self, outlines: Mapping[str, shapes.Outline]) -> shapes.Panel:
        shape: shapes.Shape
        if self.card is not None:
            shape = self.card.card()
        elif self.set_length is not None:
            shape = self.set_length.set_length()
        else:
            shape = outlines[self.outline or ""]
        return shapes.Panel(
            code=self.code,
            cloth=self.cloth,
            role=self.role,
            shape=shape,
            mirrored=self.mirrored,
            way=self.way,
            count=self.count,
            holes=tuple(hole.hole() for hole in self.holes),
            edging=tuple(edging.edging() for edging in self.edging),
            overlong_mm=self.overlong,
            present=self.present,
        )


class Strip(Strict):
    """[[pieces.CODE.strips]]"""

    goods: CodeOrRule
    role: Code
    length: Length
    count: Count = 1
    note: Note = ""

    def strip(self) -> shapes.Strip:
        return shapes.Strip(self.goods, self.role, self.length, self.count, self.note)


class Hardware(Strict):
    """[[pieces.CODE.hardware]] and [[kits.CODE.hardware]]"""

    item: CodeOrRule
    count: CountOrRule
    ends: Literal["sewn in", "bench", "loose", "on the car"]
    half: Text | None = None
    note: Note = ""

    def hardware(self) -> shapes.Hardware:
        return shapes.Hardware(self.item, self.count, self.ends, self.half or "", self.note)


class Piece(Strict):
    """[pieces.CODE]"""

    title: Text
    pattern: Literal["outline", "card", "length"]
    count: CountOrRule = 1
    hand: Hand | None = None
    group: Code | None = None
    note: Note = ""
    made: CodeOrRule | None = None
    made_role: Code | None = None
    present: BoolOrRule = True
    sewn: bool = False
    panels: list[Panel] = rows()
    strips: list[Strip] = rows()
    hardware: list[Hardware] = rows()

    def piece(self, code: str, outlines: Mapping[str, shapes.Outline]) -> shapes.Piece:
        return shapes.Piece(
            code=code,
            title=self.title,
            pattern=self.pattern,
            panels=tuple(panel.panel(outlines) for panel in self.panels),
            strips=tuple(strip.strip() for strip in self.strips),
            hardware=tuple(line.hardware() for line in self.hardware),
            count=self.count,
            hand=self.hand or "",
            group=self.group or "",
            note=self.note,
            made=self.made,
            made_role=self.made_role or "",
            present=self.present,
            sewn=self.sewn,
        )


class Spare(Strict):
    """[[kits.CODE.spares]]"""

    item: ItemCode
    count: Count
    because: Text


class Step(Strict):
    """[[kits.CODE.steps]]"""

    at: Whole
    do: Note
    pieces: list[PieceCode] = rows()
    unbolt: Note = ""
    refit: Note = ""
    caution: Note = ""

    def step(self) -> shapes.Step:
        return shapes.Step(self.at, self.do, tuple(self.pieces), self.unbolt, self.refit, self.caution)


class Kit(Strict):
    """[kits.CODE]"""

    title: Text
    pieces: list[PieceCode] = rows()
    kits: list[Code] = rows()
    hardware: list[Hardware] = rows()
    spares: list[Spare] = rows()
    options: list[Code] = rows()
    steps: list[Step] = rows()
    measurements: list[Text] = rows()
    when: When = When()

    def kit(self, code: str) -> shapes.Kit:
        return shapes.Kit(
            code=code,
            title=self.title,
            pieces=tuple(self.pieces),
            kits=tuple(self.kits),
            hardware=tuple(line.hardware() for line in self.hardware),
            spares=tuple(shapes.Spare(spare.item, spare.count, spare.because) for spare in self.spares),
            options=tuple(self.options),
            steps=tuple(step.step() for step in self.steps),
            measurements=tuple(self.measurements),
            when=self.when.when(),
        )


class Pairing(Strict):
    """[[pairings]]"""

    trim: Code
    goes_with: dict[Literal["hood", "body", "piping"], list[Code]]
    because: Text

    def pairing(self) -> shapes.Pairing:
        return shapes.Pairing(
            self.trim, {part: tuple(colours) for part, colours in self.goes_with.items()}, self.because
        )
