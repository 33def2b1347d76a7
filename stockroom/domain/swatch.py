"""A reading as a screen or a printer can show it: an approximation in sRGB, never a proof of the colour."""

from __future__ import annotations

from functools import lru_cache

from stockroom.domain.catalogue import Reading


@lru_cache(maxsize=1024)
def srgb(reading: Reading) -> tuple[int, int, int]:
    """The reading as sRGB, each 0 to 255, moved into the gamut where it lies outside.

    The CIE L*a*b* of a D65 reading is taken as it is; the 10° observer and other illuminants are shown as an
    approximation. Converted by coloraide's `lab-d65`.
    """
    from coloraide import Color

    colour = Color("lab-d65", [reading.lightness, reading.a, reading.b]).convert("srgb").fit()
    red, green, blue = (min(255, max(0, round(part * 255))) for part in colour.coords())
    return red, green, blue
