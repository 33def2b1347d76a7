"""CIEDE2000: how different two colours look, as one number.

Source: ISO/CIE 11664-6:2014, Colorimetry, part 6. The reckoning is coloraide's; it agrees with the pairs that
G. Sharma, W. Wu and E. N. Dalal published in Color Research & Application 30 (2005) 21-30, Table 1. The parametric
factors kL:kC:kH are 1:1:1, or 2:1:1 as textiles are compared, since the eye forgives them more in lightness.

>>> round(delta_e00(Reading(50, 2.6772, -79.7751), Reading(50, 0, -82.7485)), 4)
2.0425
>>> [round(delta_e00(Reading(50, 0, 0), Reading(52, 0, 0), factors), 2) for factors in FACTORS]
[1.99, 1.0]
"""

from __future__ import annotations

from collections.abc import Mapping

from stockroom.domain.catalogue import Reading
from stockroom.domain.refusal import Refusal

FACTORS: Mapping[str, float] = {"1:1:1": 1.0, "2:1:1": 2.0}
"""kL:kC:kH as they are written → kL; the others are 1."""
USUAL_FACTORS = "1:1:1"


def delta_e00(one: Reading, other: Reading, factors: str = USUAL_FACTORS) -> float:
    """The CIEDE2000 difference of two readings, 0 or more; the same in either direction.

    Raises `Refusal` where they were taken under different conditions: the number would mean nothing.
    """
    why = why_not_compared(one, other)
    if why:
        raise Refusal(why)
    from coloraide import Color

    # coloraide's 'lab' is that of printing (D50); its 'lab-d65' takes the figures as they are.
    first, second = (Color("lab-d65", [each.lightness, each.a, each.b]) for each in (one, other))
    return first.delta_e(second, method="2000", kl=FACTORS[factors], kc=1.0, kh=1.0)


def why_not_compared(one: Reading, other: Reading) -> str:
    """Why two readings are not compared: a sentence; '' where they are.

    >>> why_not_compared(Reading(50, 0, 0, "D65", "10"), Reading(50, 0, 0, "A", "10"))
    'One reading is under D65/10°, the other under A/10°: readings are compared only under the same light and observer.'
    """
    if conditions(one) == conditions(other):
        return ""
    return (
        f"One reading is under {conditions(one)}, the other under {conditions(other)}: readings are compared only "
        "under the same light and observer."
    )


def conditions(reading: Reading) -> str:
    """What a reading was taken under.

    >>> conditions(Reading(50, 0, 0, "D65", "10"))
    'D65/10°'
    """
    return f"{reading.illuminant}/{reading.observer}°"
