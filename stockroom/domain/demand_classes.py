"""The four classes of demand: how often something is used, and how much the amounts differ.

    ADI  average demand interval: weeks looked at / weeks with use
    CV²  squared coefficient of variation of the amounts used in the weeks with use

Source: A. A. Syntetos, J. E. Boylan, J. D. Croston, On the categorization of demand patterns, Journal of the
Operational Research Society 56 (2005) 495–503: the limits are 1.32 and 0.49.

>>> [demand_class(adi, cv2) for adi, cv2 in ((1.0, 0.1), (1.0, 0.8), (5.0, 0.1), (5.0, 0.8))]
['smooth', 'erratic', 'intermittent', 'lumpy']
"""

from __future__ import annotations

from typing import Literal

ADI_LIMIT = 1.32
CV2_LIMIT = 0.49

DemandClass = Literal["smooth", "erratic", "intermittent", "lumpy"]
"""Used nearly every week in like amounts; nearly every week in unlike amounts; seldom in like; seldom in unlike."""


def demand_class(adi: float, cv2: float) -> DemandClass:
    """The class; a figure on its limit belongs to the class beyond it."""
    if adi < ADI_LIMIT:
        return "smooth" if cv2 < CV2_LIMIT else "erratic"
    return "intermittent" if cv2 < CV2_LIMIT else "lumpy"
