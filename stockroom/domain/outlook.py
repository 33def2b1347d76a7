"""What is known of every item's future besides orders in hand: forecasts where the shop asks for them, last buys, and
which of its goods nobody uses.

An item is reckoned as it says itself, else as its group says, else by its least and most alone. Weekly use that orders
in hand will make is not added on top of a forecast: until the day that a reorder point covers, the greater of the two
counts (shortfall.py). No forecast is made up: an item that has none goes by its least and most, and its line says so.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta

from stockroom.domain.catalogue import BY_LENGTH, ItemGroup, Plan
from stockroom.domain.forecast_words import forecast_steps, forecast_words
from stockroom.domain.forecasting import Forecast, forecast
from stockroom.domain.keeping import Asked, Kept, Target, how_much_to_keep
from stockroom.domain.keeping_words import kept_steps
from stockroom.domain.last_buy import LastOrder, last_buy
from stockroom.domain.lead_time import LeadTime
from stockroom.domain.offer import terms_faults
from stockroom.domain.reorder import NO_OUTLOOK, Outlook
from stockroom.domain.shortfall import HORIZON_WEEKS, Cover
from stockroom.domain.standing import Standing
from stockroom.domain.use_history import UseHistory, silent_weeks
from stockroom.domain.weeks import YEAR_WEEKS, Week, weeks_from
from stockroom.domain.yearly_cost import YearUse

HISTORY_WEEKS = 156
"""Three years of weekly use go into a forecast."""
QUARTER_WEEKS = 13
"""From books of fewer weeks nobody can say what a year takes."""


@dataclass(frozen=True, slots=True)
class Past:
    """What the books say of the weeks gone by, the oldest first, the last one the week before the run."""

    used: Mapping[str, tuple[int, ...]]
    """Item → its use in each week, mm or count; not there: none."""
    moves: tuple[int, ...]
    """Movements of anything in each week."""
    last_came: Mapping[str, int]
    """Item → how many weeks ago something of it last came in."""
    lead_days: Mapping[str, tuple[int, ...]]
    """Item → days from ordering to each receipt, the oldest first."""

    def silent(self) -> frozenset[int]:
        """Numbers of the weeks that nobody wrote down."""
        return silent_weeks(self.moves)

    def weekly(self, item: str, silent: frozenset[int]) -> tuple[int | None, ...]:
        """Use of an item, `None` for weeks that are not on the books."""
        used = self.used.get(item, (0,) * len(self.moves))
        return tuple(None if number in silent else use for number, use in enumerate(used))


def planned_by(standing: Standing, groups: Mapping[str, ItemGroup]) -> Plan:
    """How the run reckons an item."""
    if standing.item.planned_by:
        return standing.item.planned_by
    group = groups.get(standing.item.group)
    return group.planned_by if group else "limits"


def outlooks(
    standings: Sequence[Standing],
    groups: Mapping[str, ItemGroup],
    past: Past,
    last_orders: Mapping[str, LastOrder],
    week: Week,
) -> dict[str, Outlook]:
    """The outlook of every item that has more to it than its least and most."""
    plans = {one.item.code: planned_by(one, groups) for one in standings}
    asked = [
        one
        for one in standings
        if plans[one.item.code] == "forecast" or one.discontinued or one.item.code in last_orders
    ]
    if not asked:
        return {}
    silent = past.silent()
    weekly = {one.item.code: past.weekly(one.item.code, silent) for one in asked}
    histories = [UseHistory(one.item.code, one.item.kind in BY_LENGTH, weekly[one.item.code]) for one in asked]
    forecasts = dict(zip(weekly, forecast(histories, week.following(-1)), strict=True))
    points = _points([one for one in asked if plans[one.item.code] == "forecast"], forecasts, groups, past, week)
    found = {}
    for one in asked:
        code = one.item.code
        plan, forecast_of, kept = plans[code], forecasts[code], points.get(code)
        notice = last_orders.get(code)
        by_forecast = _reorder_point(one, kept, week) if kept else None
        last = last_buy(one, notice, weekly[code], forecast_of, week) if notice or _may_go(one) else None
        found[code] = Outlook(
            method="forecast" if plan == "forecast" and forecast_of.known else "limits",
            words=_words(forecast_of) if plan == "forecast" else "",
            steps=_steps(one, forecast_of, kept) if plan == "forecast" else (),
            covers=tuple(cover for cover in (by_forecast, last) if cover is not None),
            expected=_expected(forecast_of, week) if plan == "forecast" else {},
            last_day=notice.until if notice else None,
            year_use=None if last else _year_forecast(forecast_of, week) if plan == "forecast" else None,
        )
    return found


def with_year_use(known: Mapping[str, Outlook], standings: Iterable[Standing], past: Past) -> dict[str, Outlook]:
    """The outlooks, with what a year takes by the ledger, but of what is forecast or bought for the last time."""
    silent, found = past.silent(), dict(known)
    for one in standings:
        code = one.item.code
        outlook = known.get(code, NO_OUTLOOK)
        if outlook.year_use is None and not any(cover.what == "last buy" for cover in outlook.covers):
            found[code] = replace(outlook, year_use=_year_gone_by(past.weekly(code, silent)))
    return found


def _year_forecast(known: Forecast, week: Week) -> YearUse | None:
    use = round(sum(known.expected(ahead) for ahead in weeks_from(week, YEAR_WEEKS))) if known.known else 0
    return YearUse(use, "as it is forecast") if use > 0 else None


def _year_gone_by(weekly: Sequence[int | None]) -> YearUse | None:
    """The last year's use; of shorter books, what a year of it would be. `None` under a quarter, or with no use."""
    year = [used for used in weekly[-YEAR_WEEKS:] if used is not None]
    use = sum(year) * YEAR_WEEKS // len(year) if len(year) >= QUARTER_WEEKS else 0
    return YearUse(use, f"by the last {len(year)} weeks") if use > 0 else None


def _may_go(standing: Standing) -> bool:
    """Whether its cloth is discontinued while somebody still sells it."""
    return standing.discontinued and bool(standing.offers)


def _points(
    asked: Sequence[Standing],
    forecasts: Mapping[str, Forecast],
    groups: Mapping[str, ItemGroup],
    past: Past,
    week: Week,
) -> dict[str, Kept]:
    """How much to keep of those that have a forecast."""
    known = [one for one in asked if forecasts[one.item.code].known]
    questions = [
        Asked(forecasts[one.item.code], _lead_time(one, past), _target(groups.get(one.item.group))) for one in known
    ]
    return dict(zip((one.item.code for one in known), how_much_to_keep(questions, week) if known else (), strict=True))


def _lead_time(standing: Standing, past: Past) -> LeadTime:
    """From past receipts, else the supplier's word; what is made here takes as long as its item says."""
    if standing.item.made_here:
        return LeadTime.told(standing.item.make_days)
    word = next((offer.lead_days for offer in standing.offers if not terms_faults(offer)), 0)
    return LeadTime.told(word, past.lead_days.get(standing.item.code, ()))


def _target(group: ItemGroup | None) -> Target:
    usual = ItemGroup("") if group is None else group
    return Target(usual.target_of, usual.target_permille)


def _reorder_point(standing: Standing, kept: Kept, week: Week) -> Cover:
    until = week.monday() + timedelta(days=round(kept.weeks * 7))
    return Cover("reorder point", kept.reorder_point, until, kept_steps(kept, standing.shown))


def _expected(known: Forecast, week: Week) -> dict[Week, int]:
    """Use forecast for the weeks that a line shows, rounded so that it adds up."""
    found: dict[Week, int] = {}
    so_far, told = 0.0, 0
    for ahead in weeks_from(week, HORIZON_WEEKS + 1) if known.known else ():
        so_far += known.expected(ahead)
        found[ahead] = round(so_far) - told
        told = round(so_far)
    return found


def _words(known: Forecast) -> str:
    return forecast_words(known) if known.known else f"{forecast_words(known)}: least and most alone"


def _steps(standing: Standing, known: Forecast, kept: Kept | None) -> tuple[str, ...]:
    steps = forecast_steps(known, standing.shown)
    return steps if kept else (*steps, "So it goes by orders in hand, its least and its most.")
