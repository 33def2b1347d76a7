"""CIEDE2000 of many pairs of colours at once.

The reckoning of `stockroom.domain.colour_difference`, which takes one pair at a time, written out over arrays; it is
held against that one and against the published pairs. Source: ISO/CIE 11664-6:2014; the form follows G. Sharma, W. Wu
and E. N. Dalal, Color Research & Application 30 (2005) 21-30, equations 2 to 22.

NumPy takes longer to load than a small command may take, so that it is loaded where it is used.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

from stockroom.domain.colour_difference import FACTORS, USUAL_FACTORS

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Figures: TypeAlias = NDArray[np.float64]

_BLUE = 25.0**7
"""The chroma about which the formula's chroma weights turn, to its seventh power."""


def differences(one: Figures, other: Figures, factors: str = USUAL_FACTORS) -> Figures:
    """The CIEDE2000 difference of every pair.

    `one` and `other`: arrays whose last axis is L*, a*, b*; the axes before it are broadcast against each other, and
    are those of the answer. `factors`: kL:kC:kH, of `FACTORS`. Whoever asks sees to it that they were read under one
    light.

    >>> import numpy as np
    >>> lots = np.array([[50.0, 2.6772, -79.7751], [50.0, 0.0, -82.7485], [50.0, 3.1571, -77.2803]])
    >>> differences(lots[:, None], lots[None, :]).round(4).tolist()[1]
    [2.0425, 0.0, 2.8615]
    """
    import numpy as np

    first, second = np.moveaxis(one, -1, 0), np.moveaxis(other, -1, 0)
    chroma = (np.hypot(first[1], first[2]) + np.hypot(second[1], second[2])) / 2
    stretched = 1.5 - 0.5 * _saturation(chroma)
    (c_one, h_one), (c_two, h_two) = (_chroma_and_hue(each[1] * stretched, each[2]) for each in (first, second))
    grey = c_one * c_two == 0
    apart = h_two - h_one
    turn = np.where(grey, 0.0, apart - 360.0 * np.sign(apart) * (np.abs(apart) > 180.0))
    around = h_one + h_two
    hue = np.where(
        grey, around, np.where(np.abs(apart) <= 180.0, around, around + np.where(around < 360.0, 360.0, -360.0)) / 2
    )
    middle = (c_one + c_two) / 2
    light = ((first[0] + second[0]) / 2 - 50.0) ** 2
    by_light = (second[0] - first[0]) / (FACTORS[factors] * (1.0 + 0.015 * light / np.sqrt(20.0 + light)))
    by_chroma = (c_two - c_one) / (1.0 + 0.045 * middle)
    by_hue = 2.0 * np.sqrt(c_one * c_two) * _sin(turn / 2) / (1.0 + 0.015 * middle * _tint(hue))
    rotated = -_sin(60.0 * np.exp(-(((hue - 275.0) / 25.0) ** 2))) * 2.0 * _saturation(middle)
    squared = by_light**2 + by_chroma**2 + by_hue**2 + rotated * by_chroma * by_hue
    found: Figures = np.sqrt(np.maximum(squared, 0.0))
    return found


def _saturation(chroma: Figures) -> Figures:
    import numpy as np

    seventh = chroma**7
    found: Figures = np.sqrt(seventh / (seventh + _BLUE))
    return found


def _chroma_and_hue(a: Figures, b: Figures) -> tuple[Figures, Figures]:
    import numpy as np

    return np.hypot(a, b), np.degrees(np.arctan2(b, a)) % 360.0


def _tint(hue: Figures) -> Figures:
    """The weight of the hue, which the eye sees better in some colours than in others."""
    return (
        1.0
        - 0.17 * _sin(hue + 60.0)
        + 0.24 * _sin(2.0 * hue + 90.0)
        + 0.32 * _sin(3.0 * hue + 96.0)
        - 0.20 * _sin(4.0 * hue + 27.0)
    )


def _sin(degrees: Figures) -> Figures:
    import numpy as np

    found: Figures = np.sin(np.radians(degrees))
    return found
