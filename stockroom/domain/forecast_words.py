"""How a forecast comes about, in sentences for whoever asks why."""

from __future__ import annotations

from collections.abc import Callable

from stockroom.domain.demand_classes import ADI_LIMIT, CV2_LIMIT
from stockroom.domain.forecasting import FEWEST_USES, FEWEST_WEEKS, STOPPED_WEEKS, Forecast, Method, Reason
from stockroom.domain.rates import ALPHAS
from stockroom.domain.season import CHANCE, PERIOD_WEEKS, PERIODS, YEAR_WEEKS
from stockroom.domain.wording import listed

_REASONS: dict[Reason, str] = {
    "no use": "no use on record",
    "new": f"fewer than {FEWEST_WEEKS} weeks since its first use",
    "few uses": f"used in fewer than {FEWEST_USES} weeks",
    "stopped": f"not used for {STOPPED_WEEKS} weeks or more",
}
_METHODS: dict[Method, str] = {"smoothing": "smoothed", "croston": "Croston, corrected", "dying out": "dying out"}


def forecast_words(forecast: Forecast) -> str:
    """A few words: by what it is forecast, or why it is not.

    They say 'forecast: intermittent use, Croston, corrected' or 'no forecast (no use on record)'.
    """
    if not forecast.known:
        return f"no forecast ({_REASONS[forecast.reason]})"
    season = ", with a season" if forecast.season else ""
    return f"forecast: {forecast.pattern} use, {_METHODS[forecast.method]}{season}"


def forecast_steps(forecast: Forecast, shown: Callable[[int], str]) -> tuple[str, ...]:
    """The working, a sentence each. `shown` shows a whole quantity of the item."""
    return (*_history(forecast, shown), *_rate(forecast, shown))


def amount(forecast: Forecast, quantity: float, shown: Callable[[int], str]) -> str:
    """A quantity that need not be whole: a length to the millimetre, a count to two decimals where it is small."""
    if forecast.by_length or quantity >= 100:
        return shown(round(quantity))
    return f"{quantity:.2f}" if quantity < 10 else f"{quantity:.1f}"


def _history(forecast: Forecast, shown: Callable[[int], str]) -> list[str]:
    steps = []
    if forecast.returned:
        over = f"; {shown(forecast.dropped)} of it is more than ever went out" if forecast.dropped else ""
        steps.append(
            f"{shown(forecast.returned)} came back beyond what went out in its week and is taken off the weeks before"
            f"{over}."
        )
    if forecast.gaps:
        gaps = "1 week in between is" if forecast.gaps == 1 else f"{forecast.gaps} weeks in between are"
        steps.append(f"{gaps} not on the books and left out.")
    if not forecast.pattern:
        return steps
    none_of_late = f" and in none of the last {forecast.silent}" if forecast.silent else ""
    steps.append(
        f"Used in {forecast.uses} of the {forecast.weeks} weeks since its first use{none_of_late}: one week in "
        f"{forecast.adi:.2f} (limit {ADI_LIMIT}), amounts spread by CV² {forecast.cv2:.2f} (limit {CV2_LIMIT}): "
        f"{forecast.pattern} use (Syntetos–Boylan)."
    )
    return steps


def _rate(forecast: Forecast, shown: Callable[[int], str]) -> list[str]:
    if not forecast.known:
        return [f"No forecast: {_REASONS[forecast.reason]}."]
    weekly = amount(forecast, forecast.weekly, shown)
    spread = amount(forecast, forecast.variance**0.5, shown)
    return [
        f"{_how(forecast, shown)}: {weekly} a week.",
        *_season(forecast),
        f"One week's use strays from that by {spread} (standard deviation); the average itself is uncertain by "
        f"{amount(forecast, forecast.level_variance**0.5, shown)}.",
    ]


def _how(forecast: Forecast, shown: Callable[[int], str]) -> str:
    size = amount(forecast, forecast.size, shown)
    if forecast.method == "croston":
        return f"Croston's method with the Syntetos–Boylan correction, α {forecast.alpha:g}, {size} at a time"
    if forecast.method == "dying out":
        return (
            "Of late used in so few weeks as chance alone would show less than once in a thousand: it dies out. "
            f"Method of Teunter, Syntetos and Babai, α {forecast.alpha:g}, {size} at a time"
        )
    best = f"the best of {listed(map(str, ALPHAS))} for this history"
    why = best if forecast.weeks >= YEAR_WEEKS else "less than a year is known"
    return f"Exponential smoothing, α {forecast.alpha:g} ({why})"


def _season(forecast: Forecast) -> list[str]:
    if not forecast.season:
        return []
    high = max(range(PERIODS), key=lambda period: forecast.season[period])
    low = min(range(PERIODS), key=lambda period: forecast.season[period])
    return [
        f"Three years show a season (chance alone would show it less than once in {round(1 / CHANCE)}): most in "
        f"{_weeks(high)}, {forecast.season[high]:.2f} times the usual, least in {_weeks(low)}, "
        f"{forecast.season[low]:.2f} times."
    ]


def _weeks(period: int) -> str:
    return f"ISO weeks {period * PERIOD_WEEKS + 1} to {(period + 1) * PERIOD_WEEKS}"
