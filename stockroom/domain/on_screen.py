"""A reading as a screen or a printer can show it: an approximation in sRGB, never a proof of the colour."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from stockroom.domain.catalogue import Reading

NO_PROOF = "A screen is no proof of a colour: hold the cloths side by side in daylight."
_SRGB_WHITE = ("2deg", "D65")
"""What sRGB is made for: IEC 61966-2-1."""


@dataclass(frozen=True, slots=True)
class OnScreen:
    """A colour as sRGB, each part 0 to 255."""

    red: int
    green: int
    blue: int
    in_gamut: bool
    """Whether sRGB has this colour; else it is the nearest that sRGB has."""
    approximate: bool
    """Whether it was read under another light or observer than sRGB is made for, and had to be adapted."""

    @property
    def rgb(self) -> tuple[int, int, int]:
        """The three parts."""
        return self.red, self.green, self.blue

    @property
    def code(self) -> str:
        """As it is written everywhere.

        >>> OnScreen(255, 0, 128, True, False).code
        '#ff0080'
        """
        return f"#{self.red:02x}{self.green:02x}{self.blue:02x}"

    @property
    def words(self) -> str:
        """What is to be known of it besides: '' where there is nothing."""
        outside = "" if self.in_gamut else "outside what a screen can show: the nearest it can is shown"
        return outside or ("approximate" if self.approximate else "")


@lru_cache(maxsize=4096)
def on_screen(reading: Reading) -> OnScreen:
    """The reading as sRGB, moved into the gamut where it lies outside.

    CIE L*a*b* is undone with the white of the reading's own illuminant and observer, and that white is adapted to the
    D65/2° of sRGB by the Bradford transform. Under a light whose white coloraide does not know, the figures are taken
    as if it were D65. A white and a grey stay without a hue under every light:

    >>> on_screen(Reading(100, 0, 0, "A", "10")).code, on_screen(Reading(50, 0, 0, "D50", "2")).code
    ('#ffffff', '#777777')
    """
    from coloraide import Color
    from coloraide.cat import WHITES
    from coloraide.spaces.lab import lab_to_xyz
    from coloraide.util import xy_to_xyz

    srgb_white = WHITES[_SRGB_WHITE[0]][_SRGB_WHITE[1]]
    white = WHITES.get(f"{reading.observer}deg", {}).get(reading.illuminant, srgb_white)
    xyz = lab_to_xyz([reading.lightness, reading.a, reading.b], xy_to_xyz(white))
    adapted = Color.chromatic_adaptation(white, srgb_white, xyz, method="bradford")
    colour = Color("xyz-d65", adapted).convert("srgb")
    inside = colour.in_gamut(tolerance=_SMALLEST_STEP)
    red, green, blue = (min(255, max(0, round(part * 255))) for part in colour.fit().coords())
    read_under = (f"{reading.observer}deg", reading.illuminant)
    return OnScreen(red, green, blue, inside, read_under != _SRGB_WHITE)


_SMALLEST_STEP = 0.5 / 255
"""What does not differ by so much is the same colour in 24 bits."""
