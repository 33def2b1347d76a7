"""L*a*b* as sRGB, against what IEC 61966-2-1 and CIE 15 say together.

The matrix of IEC 61966-2-1:1999 gives the tristimulus values of the primaries of sRGB under its white, D65/2°; the
formula of CIE 15:2004, 8.2.1 makes L*a*b* of them. Both are written out here, so that nothing of the program's own
library is held against itself.
"""

from __future__ import annotations

import pytest

from stockroom.domain.catalogue import Reading
from stockroom.domain.on_screen import on_screen

# IEC 61966-2-1:1999, 5.2: columns of the matrix from linear R, G, B to X, Y, Z.
PRIMARIES = {
    (255, 0, 0): (0.4124, 0.2126, 0.0193),
    (0, 255, 0): (0.3576, 0.7152, 0.1192),
    (0, 0, 255): (0.1805, 0.0722, 0.9505),
}
WHITE = (0.9505, 1.0000, 1.0890)
"""Their sum: D65 as the standard rounds it."""


def lab(xyz: tuple[float, float, float]) -> tuple[float, float, float]:
    """CIE 15:2004, formulae 8.3 to 8.11."""
    x, y, z = (
        part ** (1 / 3) if part > (24 / 116) ** 3 else 841 / 108 * part + 16 / 116
        for part in (one / white for one, white in zip(xyz, WHITE, strict=True))
    )
    return 116 * y - 16, 500 * (x - y), 200 * (y - z)


def encoded(linear: float) -> int:
    """IEC 61966-2-1:1999, 5.2: from linear to 8 bits."""
    part = 12.92 * linear if linear <= 0.0031308 else 1.055 * linear ** (1 / 2.4) - 0.055
    return round(255 * part)


@pytest.mark.parametrize(("shown", "xyz"), PRIMARIES.items())
def test_the_primaries_come_back_from_their_own_readings(
    shown: tuple[int, int, int], xyz: tuple[float, float, float]
) -> None:
    found = on_screen(Reading(*lab(xyz), "D65", "2"))
    assert found.rgb == pytest.approx(shown, abs=1), "the standard rounds its matrix to four decimals"
    assert not found.approximate


@pytest.mark.parametrize("lightness", [0.0, 5.0, 18.4, 50.0, 75.0, 100.0])
@pytest.mark.parametrize(("illuminant", "observer"), [("D65", "2"), ("D65", "10"), ("D50", "2"), ("A", "10")])
def test_a_grey_of_any_light_is_as_light_as_the_standards_say_and_has_no_hue(
    lightness: float, illuminant: str, observer: str
) -> None:
    height = ((lightness + 16) / 116) ** 3 if lightness > 8 else lightness * 27 / 24389
    found = on_screen(Reading(lightness, 0, 0, illuminant, observer))
    assert found.rgb == (encoded(height),) * 3
    assert found.in_gamut
    assert found.approximate == ((illuminant, observer) != ("D65", "2"))


def test_a_d50_reading_is_adapted_and_not_taken_for_a_d65_one() -> None:
    # sRGB's red in the D50 L*a*b* of ICC profiles, from memory: 54.29, 80.81, 69.89.
    assert on_screen(Reading(54.29, 80.81, 69.89, "D50", "2")).rgb == pytest.approx((255, 0, 0), abs=1)
    assert on_screen(Reading(54.29, 80.81, 69.89, "D65", "2")).rgb != pytest.approx((255, 0, 0), abs=1)


def test_what_a_screen_cannot_show_says_so() -> None:
    teal = on_screen(Reading(50, -60, -30))
    assert not teal.in_gamut
    assert "outside" in teal.words
    assert on_screen(Reading(38.6, 52.4, 30.7)).in_gamut, "the shop's red"
    assert on_screen(Reading(38.6, 52.4, 30.7)).words == "approximate"
    assert on_screen(Reading(50, 0, 0, "F12", "10")).rgb == (119, 119, 119), "an unknown light is taken for D65"
