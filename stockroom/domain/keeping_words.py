"""How a reorder point comes about, in sentences for whoever asks why."""

from __future__ import annotations

from collections.abc import Callable

from stockroom.domain.forecast_words import amount
from stockroom.domain.keeping import Kept


def kept_steps(kept: Kept, shown: Callable[[int], str]) -> tuple[str, ...]:
    """The working beyond the forecast's own, a sentence each. `shown` shows a whole quantity of the item."""
    forecast = kept.asked.forecast
    expected, spread = amount(forecast, kept.expected, shown), amount(forecast, kept.variance**0.5, shown)
    safety = kept.safety_stock
    beyond = f"{shown(abs(safety))} {'more' if safety >= 0 else 'less'} than is expected"
    steps = [
        kept.asked.lead_time.words(),
        f"Over lead time and the week between runs, {kept.weeks:.1f} weeks, {expected} is expected, with a standard "
        f"deviation of {spread} (from the use, the forecast and the lead time), taken as {kept.distribution}.",
        f"Target: {kept.asked.target.words()}.",
    ]
    if kept.gives_up:
        return (*steps, "Its use dies out, and any at all is less likely than the target allows for: nothing is kept.")
    served = f"that serves {_percent(kept.reached)} of {'cycles' if kept.asked.target.measure == 'cycle' else 'demand'}"
    return (*steps, f"Reorder point {shown(kept.reorder_point)}, safety stock {beyond}: {served}.")


def _percent(share: float) -> str:
    """Rounded down, so that a promise never looks better kept than it is."""
    return f"{int(share * 1000 + 1e-6) / 10:.1f} %"
