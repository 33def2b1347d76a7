"""Which places are due to be counted: the valuable and the busy more often, each with why."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from stockroom.domain.counting import BUSY_DAYS, RULE_WORDS, PlaceActivity, Turn, tolerance_words, turns
from stockroom.domain.quantities import show_money
from stockroom.domain.refusal import Refusal
from stockroom.jobs.about import about_of
from stockroom.store import counts, racks
from stockroom.store.database import Shop
from stockroom.store.racks import PlaceSum


@dataclass(frozen=True, slots=True)
class PlaceDue:
    """One place, when its turn to be counted comes, and why."""

    place: str
    tag: str
    title: str
    last_counted: date | None
    """`None`: never."""
    days: int
    """Since then or, where it was never counted, since the books were opened."""
    every_days: int
    due: date
    value_minor: int
    movements: int
    because: str
    """A sentence."""


@dataclass(frozen=True, slots=True)
class CountsDue:
    """The places whose turn it is, and those whose turn comes."""

    rule: str
    """The rule, in words."""
    tolerance: str
    """When a figure stands, in words."""
    due: tuple[PlaceDue, ...]
    """The one that is longest over its time first."""
    to_come: tuple[PlaceDue, ...]
    """The others, by the day."""


def due(shop: Shop, now: datetime) -> CountsDue:
    """Which places are due on the day of `now`. A place where nothing lies is never due."""
    about = about_of(shop)
    if about is None or about.opening is None:
        raise Refusal("This shop has no books yet: load its stock first, with 'stockroom load FOLDER'.")
    zone = ZoneInfo(about.time_zone)
    today = now.astimezone(zone).date()
    with shop.read() as tx:
        sums = {one.code: one for one in racks.places_summed(tx) if one.things}
        last = {place: at.astimezone(zone).date() for place, at in counts.last_counts(tx).items()}
        moved = counts.movements_since(tx, now - timedelta(days=BUSY_DAYS))
    activity = {
        code: PlaceActivity(code, one.value_minor, moved.get(code, 0), last.get(code), last.get(code, about.opening))
        for code, one in sums.items()
    }
    found = [
        _due(turn, sums[turn.code], activity[turn.code], about.currency) for turn in turns([*activity.values()], today)
    ]
    stands = tolerance_words(about.recount_length, about.recount_count)
    to_come = sorted((one for one in found if one.due > today), key=lambda one: (one.due, one.place))
    return CountsDue(RULE_WORDS, stands, tuple(one for one in found if one.due <= today), tuple(to_come))


def _due(turn: Turn, place: PlaceSum, activity: PlaceActivity, currency: str) -> PlaceDue:
    since = "never counted, the books were opened" if activity.last_counted is None else "last counted"
    why = [
        f"worth {show_money(activity.value_minor, currency)}, "
        f"{'more' if turn.is_valuable else 'not more'} than the average place",
        f"{activity.movements} came or went in {BUSY_DAYS} days, "
        f"{'more' if turn.is_busy else 'not more'} than in the average place",
    ]
    said = (
        f"{since} {activity.since.isoformat()}, {turn.days} days ago; {'; '.join(why)}: every {turn.every_days} days, "
        f"due {turn.due.isoformat()}."
    )
    return PlaceDue(
        place.code, place.tag, place.title, activity.last_counted, turn.days, turn.every_days, turn.due,
        place.value_minor, activity.movements, said[0].upper() + said[1:],
    )  # fmt: skip
