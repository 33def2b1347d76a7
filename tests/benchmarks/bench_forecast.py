"""How fast forecasts and reorder points are: `python -m pytest tests/benchmarks/bench_forecast.py -m benchmark -s`.

2,000 items with 156 weeks of use each. The forecasts are held against `statsforecast` (the extra `benchmarks`; skipped
where it is not installed) on the same series in the same run, in turn: it smooths and finds the best constant, or uses
the corrected Croston, each series by the method that ours chose for it. What ours does besides (reading the histories,
classes, dying out, the season, every spread) it does not. Told besides: the bare smoothing of the same series by
`coreforecast`, which is compiled, and the service that 1,000 items of each kind get.
"""

from __future__ import annotations

import tracemalloc
from collections.abc import Callable
from statistics import median
from time import perf_counter

import numpy as np
import pytest
from coreforecast.exponentially_weighted import exponentially_weighted_mean

from stockroom.domain.forecasting import Forecast, forecast
from stockroom.domain.keeping import Asked, Target, how_much_to_keep
from stockroom.domain.lead_time import LeadTime
from stockroom.domain.use_history import UseHistory
from stockroom.domain.weeks import Week
from tests.shelf import HISTORY_WEEKS, KINDS, Whole, best_point, play, promised

ITEMS, RUNS = 2_000, 9
LAST = Week(2026, 47)
MOST_MIB = 100
MOST_TIMES_ITEMS = 1.25
"""Four times the items may take so much more than four times as long."""

pytestmark = pytest.mark.benchmark


def use_of(items: int) -> Whole:
    """Weekly use, items × weeks: of every kind as many."""
    random = np.random.default_rng(20261125)
    kinds = list(KINDS.values())
    each = [draw(random, (-(-items // len(kinds)), HISTORY_WEEKS)) for draw, _ in kinds]
    return np.vstack(each)[:items]


def histories_of(use: Whole) -> list[UseHistory]:
    return [UseHistory(str(at), False, tuple(row)) for at, row in enumerate(use.tolist())]


def seconds(work: Callable[[], object]) -> float:
    start = perf_counter()
    work()
    return perf_counter() - start


def told(text: str) -> None:
    print(f"\n{text}")  # noqa: T201


def keep(forecasts: tuple[Forecast, ...]) -> None:
    lead, targets = LeadTime.told(21, [14, 21, 28]), (Target("cycle", 950), Target("shelf", 980))
    asked = [Asked(one, lead, targets[at % 2]) for at, one in enumerate(forecasts) if one.known]
    how_much_to_keep(asked, LAST.following())


def test_forecasts_take_at_most_as_long_as_a_compiled_library_takes_for_the_methods_alone() -> None:
    models = pytest.importorskip("statsforecast.models")
    library = pytest.importorskip("statsforecast").StatsForecast
    frames = pytest.importorskip("pandas")
    use = use_of(ITEMS)
    histories = histories_of(use)
    methods = np.array([one.method for one in forecast(histories, LAST)])
    by_method = (
        (methods == "smoothing", models.SimpleExponentialSmoothingOptimized()),
        (methods == "croston", models.CrostonSBA()),
        (methods == "dying out", models.TSB(0.1, 0.1)),
    )

    def theirs() -> None:
        for chosen, model in by_method:
            rows = use[chosen].astype(float)
            if len(rows):
                series, weeks = (
                    np.repeat(np.arange(len(rows)), use.shape[1]),
                    np.tile(np.arange(use.shape[1]), len(rows)),
                )
                frame = frames.DataFrame({"unique_id": series, "ds": weeks, "y": rows.ravel()})
                library(models=[model], freq=1).forecast(df=frame, h=1)

    def bare() -> None:
        for row in use.astype(float):
            exponentially_weighted_mean(row, 0.1)

    theirs()
    took = [[seconds(work) for work in (lambda: forecast(histories, LAST), theirs, bare)] for _ in range(RUNS)]
    ours_s, theirs_s, bare_s = (median(column) for column in zip(*took, strict=True))
    ratio = median(ours / other for ours, other, _ in took)
    told(
        f"{ITEMS} items: ours {1000 * ours_s:.0f} ms, statsforecast {1000 * theirs_s:.0f} ms, ratio {ratio:.2f}; "
        f"one bare smoothing by coreforecast {1000 * bare_s:.0f} ms"
    )
    assert ratio <= 1.0


def test_time_grows_no_faster_than_items_and_memory_is_small() -> None:
    few, many = histories_of(use_of(ITEMS // 4)), histories_of(use_of(ITEMS))

    def whole(histories: list[UseHistory]) -> Callable[[], object]:
        return lambda: keep(forecast(histories, LAST))

    whole(many)()
    took = [(seconds(whole(few)), seconds(whole(many))) for _ in range(RUNS)]
    few_s, many_s = (min(column) for column in zip(*took, strict=True))
    tracemalloc.start()
    whole(many)()
    peak_mib = tracemalloc.get_traced_memory()[1] / 2**20
    tracemalloc.stop()
    told(
        f"forecasts and reorder points: {len(few)} items {1000 * few_s:.0f} ms, {len(many)} items "
        f"{1000 * many_s:.0f} ms, {many_s / few_s:.2f} times; {peak_mib:.0f} MiB at most"
    )
    assert many_s <= len(many) / len(few) * MOST_TIMES_ITEMS * few_s
    assert peak_mib <= MOST_MIB


@pytest.mark.parametrize("kind", KINDS)
def test_a_promise_is_kept_to_a_hundredth_by_a_thousand_items(kind: str) -> None:
    draw, by_length = KINDS[kind]
    random = np.random.default_rng(7)
    history, demand = draw(random, (1_000, HISTORY_WEEKS)), draw(random, (1_000, 300))
    for target in (Target("cycle", 900), Target("cycle", 950), Target("cycle", 980), Target("shelf", 950)):
        found = play(demand, promised(history, by_length, target, [LeadTime.told(21)] * 1_000), 3)
        best = play(demand, np.full(1_000, float(best_point(demand, target, 3))), 3)
        share, times = found.share(target.measure), found.held.mean() / best.held.mean()
        error = share.std() / np.sqrt(len(share))
        told(f"{kind}, {target.words()}: {share.mean():.4f} ± {error:.4f}, {times:.2f} times the best stock")
        assert share.mean() >= target.per_mille / 1000 - 0.01
        assert times <= 1.5
