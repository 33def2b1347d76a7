"""What is known of a car, and what is not: the facts that the rules of a kit book ask about."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date


@dataclass(frozen=True, slots=True)
class CarFacts:
    """The facts of one car. `None` means not known, which is not the same as no."""

    series: str | None = None
    """Code of the series, as the kit book names it."""
    works: str | None = None
    """Code of the works that built the car."""
    chassis: int | None = None
    """The running number in the chassis number (its last run of digits), which ranges compare."""
    built: date | None = None
    """The day the car was built; the first of the month where only the month is known."""
    hand: str | None = None
    """Hand of drive: 'left' or 'right'."""
    body_colour: str | None = None
    """Colour code of the coachwork."""
    trim_colour: str | None = None
    """Colour code of the trim."""
    hood_colour: str | None = None
    """Colour code of the hood."""

    def colour_of(self, part: str) -> str | None:
        """The car's colour for `part`: 'body', 'trim' or 'hood'."""
        return {"body": self.body_colour, "trim": self.trim_colour, "hood": self.hood_colour}[part]


@dataclass(frozen=True, slots=True)
class Case:
    """Everything a rule may ask: the car's facts, the choices made for one order line, and what was overruled."""

    car: CarFacts
    choices: Mapping[str, str] = field(default_factory=dict)
    """Option code → chosen choice code. An option that is missing has not been answered."""
    overruled: Mapping[str, Overruling] = field(default_factory=dict)
    """Rule list code → what somebody said instead for this car."""


@dataclass(frozen=True, slots=True)
class Overruling:
    """Somebody's word against a rule of the period, for one car."""

    then: str
    """What is used instead (written as the rule's own `then` would be)."""
    by: str
    """Initials."""
    because: str
    """The reason given."""
