"""The four classes of demand at their limits.

Source: A. A. Syntetos, J. E. Boylan, J. D. Croston, Journal of the Operational Research Society 56 (2005) 495–503: the
average demand interval is cut at 1.32 and the squared coefficient of variation at 0.49.
"""

from __future__ import annotations

import pytest

from stockroom.domain.demand_classes import demand_class
from stockroom.domain.forecasting import forecast
from stockroom.domain.use_history import UseHistory
from stockroom.domain.weeks import Week


@pytest.mark.parametrize(
    ("adi", "cv2", "expected"),
    [
        (1.31, 0.48, "smooth"),
        (1.31, 0.50, "erratic"),
        (1.33, 0.48, "intermittent"),
        (1.33, 0.50, "lumpy"),
    ],
)
def test_the_limits_part_the_classes(adi: float, cv2: float, expected: str) -> None:
    assert demand_class(adi, cv2) == expected


@pytest.mark.parametrize(
    ("weekly", "adi", "cv2", "expected"),
    [
        # Reckoned by hand: weeks / weeks with use, and sample variance / mean² of the amounts.
        ((4, 6) * 20, 1.0, (40 / 39) / 25, "smooth"),
        ((1, 19) * 20, 1.0, 81 * (40 / 39) / 100, "erratic"),
        ((5, 0, 7, 0) * 10, 39 / 20, (20 / 19) / 36, "intermittent"),
        ((1, 0, 19, 0) * 10, 39 / 20, 81 * (20 / 19) / 100, "lumpy"),
    ],
)
def test_a_history_is_classed_by_its_interval_and_its_amounts(
    weekly: tuple[int, ...], adi: float, cv2: float, expected: str
) -> None:
    ends_with_use = weekly if weekly[-1] else weekly[:-1]
    (found,) = forecast([UseHistory("x", False, ends_with_use)], Week(2026, 47))
    assert found.pattern == expected
    assert (found.adi, found.cv2) == pytest.approx((adi, cv2))
