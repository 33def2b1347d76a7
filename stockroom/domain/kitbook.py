"""The shapes of a kit book: what a kit is made of, and what decides it for one car.

A kit book is written in TOML by the person who knows the cars; `stockroom.files.kitbook` reads it into these
shapes. Nothing here knows about files or stock. Codes are lower-case words joined by hyphens.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

Then = str | int | bool
"""What a rule may answer: a code, a count, or whether a thing is there at all."""


@dataclass(frozen=True, slots=True)
class Ask:
    """A value that is not fixed but decided by the rule list of this code."""

    rule: str


HoleAs = Literal["cut", "marked", "solid"]
"""What is done about a hole: cut, marked on the back for the fitter, or the cloth left solid."""
Pattern = Literal["outline", "card", "length"]
"""How a piece's pattern is held: drawn as points, still card on the wall (a rectangle), or a proven set length."""
Way = Literal["along", "across", "any"]
"""How a panel lies on the roll: its y axis along the roll's length, across it, or either."""
Ends = Literal["sewn in", "bench", "loose", "on the car"]
"""Where a hardware line ends up: sewn in, set at the bench, loose in the packet, already on the car."""
Hand = Literal["", "left", "right"]


@dataclass(frozen=True, slots=True)
class Span:
    """A closed range of chassis numbers or of days; either end may be open (`None`)."""

    first: int | date | None = None
    last: int | date | None = None


@dataclass(frozen=True, slots=True)
class When:
    """What a rule asks of a car: every part that is given must hold. An empty `When` always holds."""

    series: tuple[str, ...] = ()
    works: tuple[str, ...] = ()
    chassis: Span | None = None
    built: Span | None = None
    hand: tuple[str, ...] = ()
    body: tuple[str, ...] = ()
    trim: tuple[str, ...] = ()
    hood: tuple[str, ...] = ()
    options: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Rule:
    """One line of a rule list: if `when` holds, `then` is the answer, `because` of this."""

    when: When
    then: Then
    because: str


@dataclass(frozen=True, slots=True)
class RuleList:
    """Rules tried in order; the first that holds wins."""

    code: str
    title: str
    rules: tuple[Rule, ...]


@dataclass(frozen=True, slots=True)
class Series:
    """One series of the car the book covers."""

    code: str
    title: str
    chassis: Span
    built: Span
    works: tuple[str, ...]
    """Codes of the works which built it."""


@dataclass(frozen=True, slots=True)
class Option:
    """A question the order must answer. No default unless the book states one."""

    code: str
    ask: str
    """The question, as it is put to the customer."""
    choices: Mapping[str, str]
    """Choice code → title."""
    default: str | None = None
    because: str = ""
    """Why the default is safe; must be given with a default."""


@dataclass(frozen=True, slots=True)
class Role:
    """A colour role: which colour a panel or an edge takes.

    `colour` is `@trim`, `@body` or `@hood` (the car's own colour), a colour code (fixed), or an `Ask`.
    """

    code: str
    colour: str | Ask
    because: str


@dataclass(frozen=True, slots=True)
class Outline:
    """A drawn shape, in whole mm, y along the nap. Closed: the last point joins the first. Curves are given as points.

    `edges` names runs of the outline by the index of the first and the last point (wrapping past the end).
    """

    code: str
    points: tuple[tuple[int, int], ...]
    edges: Mapping[str, tuple[int, int]]
    notches: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True, slots=True)
class Card:
    """A piece whose pattern is still card on a wall: the rectangle it fits in, and edge lengths taken with a tape."""

    width_mm: int
    length_mm: int
    edges_mm: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class SetLength:
    """A proven length taken off the full width of the roll, and edge lengths taken with a tape."""

    length_mm: int
    edges_mm: Mapping[str, int] = field(default_factory=dict)


Shape = Outline | Card | SetLength


@dataclass(frozen=True, slots=True)
class Hole:
    """A hole in a panel: its name, its centre from the outline's origin, its width, and what is done about it."""

    name: str
    x_mm: int
    y_mm: int
    diameter_mm: int
    made: HoleAs | Ask


@dataclass(frozen=True, slots=True)
class Edging:
    """Edges of a panel that are bound or piped with narrow goods; the length comes from the outline."""

    how: Literal["bound", "piped"]
    edges: tuple[str, ...]
    goods: str | Ask
    """Code of the narrow goods (a cloth code whose items are by colour)."""
    role: str
    corner_mm: int = 0
    """Extra for each corner the goods are taken round."""
    end_mm: int = 0
    """Turned in at each free end of a run."""
    join_mm: int = 0
    """Overlap where a closed run meets itself, or where a run is joined."""


@dataclass(frozen=True, slots=True)
class Panel:
    """One cut shape of a piece.

    Panels of a right-hand piece may be the mirror image of the left and have holes of their own.
    """

    code: str
    cloth: str | Ask
    role: str
    shape: Shape
    mirrored: bool = False
    way: Way = "along"
    count: int = 1
    holes: tuple[Hole, ...] = ()
    edging: tuple[Edging, ...] = ()
    overlong_mm: Mapping[str, int] = field(default_factory=dict)
    """Edge name → allowance left for trimming on the car. For a card or set length: 'width' or 'length'."""
    present: bool | Ask = True


@dataclass(frozen=True, slots=True)
class Strip:
    """Narrow goods by length which follow no edge: webbing straps, zip, tack strip."""

    goods: str | Ask
    role: str
    length_mm: int
    count: int = 1
    note: str = ""


@dataclass(frozen=True, slots=True)
class Hardware:
    """One kind of hardware in a piece or kit: a half of a fastener is a line of its own."""

    item: str | Ask
    """Item code (hardware has no colour role; a coloured one is an item of its own)."""
    count: int | Ask
    ends: Ends
    half: str = ""
    """Which half of a fastener: 'cap', 'socket', 'stud', 'plate'; empty where it has no halves."""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Spare:
    """A stated spare of one item, whole a kit."""

    item: str
    count: int
    because: str


@dataclass(frozen=True, slots=True)
class Piece:
    """One thing in a kit that gets its own tag.

    `made` names a blank or made-up item which is taken from stock first; what the piece is made of (panels, strips,
    hardware) is then the bill of materials for as many as stock lacks.
    """

    code: str
    title: str
    pattern: Pattern
    panels: tuple[Panel, ...] = ()
    strips: tuple[Strip, ...] = ()
    hardware: tuple[Hardware, ...] = ()
    count: int | Ask = 1
    hand: Hand = ""
    group: str = ""
    """Matching group: pieces of one car and group are seen side by side. Empty: matches nothing else."""
    note: str = ""
    """For whoever fits it."""
    made: str | Ask | None = None
    made_role: str = ""
    """Colour role of the made-up item, where `made` names a cloth-like code with colours; empty for an item code."""
    present: bool | Ask = True
    sewn: bool = False
    """A sewn assembly: its panels become one piece at the machine."""


@dataclass(frozen=True, slots=True)
class Step:
    """One step of fitting. `at` orders the steps of all the kits of one car; a piece may come up in several steps."""

    at: int
    do: str
    pieces: tuple[str, ...] = ()
    unbolt: str = ""
    refit: str = ""
    caution: str = ""


@dataclass(frozen=True, slots=True)
class Kit:
    """What is sold: pieces, hardware, and other kits."""

    code: str
    title: str
    pieces: tuple[str, ...] = ()
    kits: tuple[str, ...] = ()
    hardware: tuple[Hardware, ...] = ()
    spares: tuple[Spare, ...] = ()
    options: tuple[str, ...] = ()
    """Options to be answered for this kit (those of the kits within it are asked too)."""
    steps: tuple[Step, ...] = ()
    measurements: tuple[str, ...] = ()
    """Measurements that must come with an order before anything is cut, each put as a question."""
    when: When = field(default_factory=When)
    """Which cars the kit fits."""


@dataclass(frozen=True, slots=True)
class Pairing:
    """Which colours usually go with a trim colour: advice that can be overruled."""

    trim: str
    goes_with: Mapping[str, tuple[str, ...]]
    """'hood', 'body' or 'piping' → colour codes."""
    because: str


@dataclass(frozen=True, slots=True)
class KitBook:
    """One version of a shop's kit book."""

    code: str
    title: str
    version: str
    format: int
    works: Mapping[str, str]
    """Works code → title."""
    series: Mapping[str, Series]
    options: Mapping[str, Option]
    roles: Mapping[str, Role]
    rules: Mapping[str, RuleList]
    outlines: Mapping[str, Outline]
    pieces: Mapping[str, Piece]
    kits: Mapping[str, Kit]
    pairings: tuple[Pairing, ...] = ()
