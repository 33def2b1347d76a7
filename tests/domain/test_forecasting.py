"""What is forecast from a history of weekly use, by which method, and what is said of it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stockroom.domain.forecast_words import forecast_steps, forecast_words
from stockroom.domain.forecasting import FEWEST_WEEKS, Forecast, forecast
from stockroom.domain.quantities import show_length
from stockroom.domain.season import PERIODS, period_of
from stockroom.domain.use_history import UseHistory
from stockroom.domain.weeks import Week

LAST = Week(2026, 47)
HISTORIES = st.lists(st.one_of(st.none(), st.just(0), st.integers(-3, 40)), max_size=170)


def forecast_of(weekly: Sequence[int | None], *, by_length: bool = False) -> Forecast:
    """The forecast of one item."""
    return forecast([UseHistory("x", by_length, tuple(weekly))], LAST)[0]


def told(found: Forecast) -> str:
    """The whole working of it."""
    return " ".join(forecast_steps(found, show_length if found.by_length else str))


def every(weeks: int, quantity: int, so_often: int = 26) -> list[int]:
    """So much used once in so many weeks, the last week among them."""
    return ([0] * (weeks - 1) + [quantity]) * so_often


@pytest.mark.parametrize(
    ("weekly", "reason", "words"),
    [
        ([], "no use", "no forecast (no use on record)"),
        ([0] * 156, "no use", "no forecast (no use on record)"),
        ([None] * 156, "no use", "no forecast (no use on record)"),
        ([3, -3] * 40, "no use", "no forecast (no use on record)"),
        ([0] * 140 + [3] * 16, "new", "no forecast (fewer than 26 weeks since its first use)"),
        ([0] * 60 + [900] + [0] * 80, "few uses", "no forecast (used in fewer than 4 weeks)"),
        ([5] * 40 + [0] * 104, "stopped", "no forecast (not used for 104 weeks or more)"),
    ],
)
def test_what_is_not_known_has_no_number(weekly: list[int | None], reason: str, words: str) -> None:
    found = forecast_of(weekly)
    assert (found.known, found.reason, found.weekly) == (False, reason, 0)
    assert forecast_words(found) == words
    assert told(found).endswith(f"No forecast: {words.removeprefix('no forecast (').removesuffix(')')}.")


def test_a_new_item_has_a_forecast_from_its_twenty_sixth_week_on() -> None:
    assert not forecast_of([0] * 50 + [3] * (FEWEST_WEEKS - 1)).known
    assert forecast_of([0] * 50 + [3] * FEWEST_WEEKS).weekly == pytest.approx(3)


def test_seldom_use_is_a_size_and_an_interval_and_a_little_less_than_their_ratio() -> None:
    found = forecast_of(every(4, 12))
    assert (found.method, found.pattern) == ("croston", "intermittent")
    assert found.weekly == pytest.approx(0.95 * 12 / 4)
    assert "Croston's method with the Syntetos–Boylan correction, α 0.1, 12.0 at a time: 2.85 a week." in told(found)


def test_a_length_is_told_in_metres() -> None:
    found = forecast_of(every(4, 2_400), by_length=True)
    assert "2.40 m at a time: 0.57 m a week." in told(found)


def test_use_that_has_stopped_of_late_dies_out_until_there_is_no_forecast_at_all() -> None:
    rates = [forecast_of([*every(4, 12), *[0] * silent]) for silent in (10, 40, 60, 103, 104)]
    assert [one.method for one in rates] == ["croston", "dying out", "dying out", "dying out", "none"]
    assert [one.weekly for one in rates] == sorted((one.weekly for one in rates), reverse=True)
    assert rates[1].weekly < 0.1 < 2.8 < rates[0].weekly
    assert "it dies out. Method of Teunter, Syntetos and Babai" in told(rates[1])


def test_use_that_becomes_rarer_dies_out_even_if_it_was_used_just_now() -> None:
    assert forecast_of([*every(2, 5, 52), *every(26, 5, 2)]).method == "dying out"


def test_a_season_is_found_in_three_years_and_not_in_chance() -> None:
    chance = np.random.default_rng(1)
    weeks = [LAST.following(week - 155) for week in range(156)]
    wave = np.array([1 + 0.6 * np.sin(2 * np.pi * period_of(week) / PERIODS) for week in weeks])
    rows = chance.poisson(np.vstack([20 * wave, *[np.full(156, 20.0)] * 400]))
    with_season, *even = forecast([UseHistory("x", False, tuple(map(int, row))) for row in rows], LAST)
    assert np.array(with_season.season) == pytest.approx(
        [1 + 0.6 * np.sin(2 * np.pi * p / 13) for p in range(13)], abs=0.2
    )
    assert with_season.expected(Week(2027, 13)) > 2 * with_season.expected(Week(2027, 40))
    assert "Three years show a season" in told(with_season)
    # 400 times one in a thousand: more than three would be chance once in a thousand times.
    assert sum(bool(one.season) for one in even) <= 3
    assert forecast_of(tuple(map(int, rows[0][1:]))).season == (), "three years are not known"


def test_an_item_of_the_summer_does_not_die_out_every_winter() -> None:
    weeks = [LAST.following(week - 155) for week in range(156)]
    found = forecast_of([6 if 18 <= week.week <= 30 else 0 for week in weeks])
    assert found.method == "smoothing"
    assert found.expected(Week(2027, 24)) > 4 > 0.5 > found.expected(Week(2026, 50))


def test_weeks_that_are_not_on_the_books_are_left_out_and_told() -> None:
    found = forecast_of([6] * 60 + [None] * 20 + [6] * 40)
    assert (found.gaps, found.weeks, found.adi) == (20, 100, 1)
    assert found.weekly == pytest.approx(6)
    assert "20 weeks in between are not on the books and left out." in told(found)


def test_what_came_back_is_taken_off_the_weeks_before_and_told() -> None:
    returned, kept = forecast_of([*every(4, 12), 0, -5]), forecast_of([*every(4, 12)[:-1], 7, 0, 0])
    assert (returned.weekly, returned.returned) == (kept.weekly, 5)
    assert "5 came back beyond what went out in its week and is taken off the weeks before." in told(returned)
    assert "20 of it is more than ever went out" in told(forecast_of([*[-20], *every(4, 12)]))


@given(st.lists(HISTORIES, min_size=1, max_size=5), st.integers(2, 1000))
@settings(deadline=None, max_examples=60)
def test_every_history_is_forecast_alone_as_it_is_among_others_and_in_any_unit(
    rows: list[list[int | None]], unit: int
) -> None:
    histories = [UseHistory(str(at), True, tuple(row)) for at, row in enumerate(rows)]
    together = forecast(histories, LAST)
    assert together == tuple(forecast([one], LAST)[0] for one in histories)
    larger = forecast([UseHistory("", True, tuple(None if q is None else q * unit for q in row)) for row in rows], LAST)
    for one, scaled in zip(together, larger, strict=True):
        assert (one.method, one.pattern, bool(one.season)) == (scaled.method, scaled.pattern, bool(scaled.season))
        assert scaled.weekly == pytest.approx(one.weekly * unit, rel=1e-6)
        assert scaled.variance == pytest.approx(one.variance * unit**2, rel=1e-6, abs=1e-6)
        assert min(one.weekly, one.variance, one.level_variance, one.chance_variance) >= 0
        assert told(one)
