"""Forecasts against independent libraries: simple smoothing, Croston, Syntetos and Boylan, Teunter, Syntetos and Babai.

Sources: J. D. Croston, Operational Research Quarterly 23 (1972); A. A. Syntetos, J. E. Boylan, International Journal of
Forecasting 21 (2005): the correction is 1 − α/2; R. H. Teunter, A. A. Syntetos, M. Z. Babai, European Journal of
Operational Research 214 (2011).

Two libraries are asked. `coreforecast` smooths any values exponentially: every method is made of its smoothing alone,
as the papers say. `statsforecast` has the methods by name; what version 2.1.1 of it answers stands here, since it is
too large to install for a test.

Both begin with the first value, while ours averages the first values plainly, so ours is asked either with their
gains, or about thirty years, after which no beginning is left.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from coreforecast.exponentially_weighted import exponentially_weighted_mean
from numpy.typing import NDArray

from stockroom.domain.forecasting import Forecast, forecast
from stockroom.domain.smoothing import croston_rate, intervals, smooth
from stockroom.domain.use_history import UseHistory
from stockroom.domain.weeks import Week

Floats = NDArray[np.float64]

SELDOM = (2, 0, 0, 4, 0, 1, 0, 0, 0, 3, 6, 0, 0, 0, 0, 2, 0, 5, 0, 0, 1, 0, 0, 0, 0, 0, 0, 3, 0, 0, 2) + (0,) * 9
OFTEN = (12, 15, 9, 11, 14, 18, 10, 13, 16, 12, 11, 9, 15, 17, 13, 12)

# Answers of statsforecast 2.1.1 for the week after: CrostonClassic, CrostonSBA (both with α 0.1), TSB with α of the
# size and α of the chance, SimpleExponentialSmoothing.
CROSTON, CORRECTED = 1.0097239753503455, 0.9592377765828282
TSB = {(0.1, 0.1): 0.32893006937904895, (0.2, 0.05): 0.7557530832860198}
SMOOTHED = {0.1: 12.850803015344916, 0.3: 13.135037514636709}

THIRTY_YEARS = 30 * 52


def from_the_first(updates: NDArray[np.bool_], alpha: float) -> Floats:
    """Gains as the libraries have them: the first value is the first level."""
    return np.where(updates & (np.cumsum(updates, axis=0) == 1), 1.0, np.where(updates, alpha, 0.0))


def smoothed(values: Floats, updates: NDArray[np.bool_], alpha: float) -> float:
    return float(smooth(values, from_the_first(updates, alpha)).level[0])


def column(weekly: tuple[int, ...]) -> Floats:
    return np.array(weekly, dtype=float)[:, None]


def test_simple_smoothing_as_the_library_has_it() -> None:
    use = column(OFTEN)
    for alpha, answer in SMOOTHED.items():
        assert smoothed(use, use > 0, alpha) == pytest.approx(answer, rel=1e-12)


def test_croston_as_the_library_has_it_with_and_without_the_correction() -> None:
    use = column(SELDOM)
    used = use > 0
    size = smoothed(use, used, 0.1)
    apart = smoothed(intervals(used, np.ones_like(used)), used, 0.1)
    assert size / apart == pytest.approx(CROSTON, rel=1e-12)
    assert croston_rate(np.array([size]), np.array([apart]), 0.1) == pytest.approx(CORRECTED, rel=1e-12)


@pytest.mark.parametrize(("of_size", "of_chance"), list(TSB))
def test_teunter_syntetos_babai_as_the_library_has_it(of_size: float, of_chance: float) -> None:
    use = column(SELDOM)
    chance = smoothed((use > 0).astype(float), np.ones(use.shape, dtype=bool), of_chance)
    assert chance * smoothed(use, use > 0, of_size) == pytest.approx(TSB[of_size, of_chance], rel=1e-12)


def by_the_library(values: Floats, alpha: float) -> float:
    """The library's smoothing of the values, without those that are `nan`."""
    return float(exponentially_weighted_mean(values, alpha, skipna=True)[-1])


def simple(use: Floats, found: Forecast) -> float:
    return by_the_library(use, found.alpha)


def corrected_croston(use: Floats, found: Forecast) -> float:
    at = np.flatnonzero(use)
    return (
        (1 - found.alpha / 2)
        * by_the_library(use[at], found.alpha)
        / by_the_library(np.diff(at).astype(float), found.alpha)
    )


def teunter_syntetos_babai(use: Floats, found: Forecast) -> float:
    return by_the_library((use > 0).astype(float), found.alpha) * by_the_library(
        np.where(use > 0, use, np.nan), found.alpha
    )


@pytest.mark.parametrize(
    ("share", "silent", "method", "library"),
    [
        (1.0, 0, "smoothing", simple),
        (0.25, 0, "croston", corrected_croston),
        (0.25, 60, "dying out", teunter_syntetos_babai),
    ],
)
def test_every_method_of_the_rule_comes_to_what_the_library_makes_of_thirty_years(
    share: float, silent: int, method: str, library: Callable[[Floats, Forecast], float]
) -> None:
    chance = np.random.default_rng(20261125)
    use = (chance.random((40, THIRTY_YEARS)) < share) * chance.negative_binomial(2, 0.2, (40, THIRTY_YEARS))
    use[:, THIRTY_YEARS - silent :] = 0
    histories = [UseHistory(str(at), False, tuple(row.tolist())) for at, row in enumerate(use)]
    found = [one for one in forecast(histories, Week(2026, 47)) if not one.season]
    assert sum(one.method == method for one in found) >= 35  # chance has one or two of them look otherwise
    for one in found:
        if one.method == method:
            assert one.weekly == pytest.approx(library(use[int(one.item)].astype(float), one), rel=1e-9)
