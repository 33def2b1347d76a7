"""The real jobs, bound to one open shop."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime
from functools import partial
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from stockroom.domain.about import About
from stockroom.domain.stamp import Stamp
from stockroom.jobs import (
    adjust,
    answer,
    bundle,
    buying,
    change,
    count,
    count_due,
    cut,
    decide,
    expiring,
    inspect,
    keep,
    left_over,
    low,
    match,
    match_order,
    move,
    pack,
    parts,
    pick,
    purchasing,
    quarantine,
    racks,
    receivable,
    receive,
    reserve,
    retag,
    scrap,
    sew,
    spoil,
    substitute,
    swatch_sent,
    undo,
    use,
    verdict,
)
from stockroom.jobs.begun_sheets import BegunSheets
from stockroom.jobs.changes import latest
from stockroom.jobs.lookup import look_up_ahead
from stockroom.jobs.papers import Paper
from stockroom.jobs.printing import Outlet, Printed, print_papers
from stockroom.jobs.rail import rail
from stockroom.jobs.shorter import Shorter
from stockroom.jobs.show import show
from stockroom.jobs.ticket import Ticket, ticket
from stockroom.screens.bundling import BenchJobs, PackJobs
from stockroom.screens.buying import BuyingJobs
from stockroom.screens.calls import Jobs
from stockroom.screens.counting import CountJobs
from stockroom.screens.fetching import PickJobs
from stockroom.screens.leaving_over import LeftOverJobs
from stockroom.screens.matching import MatchJobs
from stockroom.screens.ordering import OrderJobs
from stockroom.screens.receiving import GoodsJobs
from stockroom.screens.running_low import LowJobs
from stockroom.screens.shelving import RackJobs
from stockroom.screens.undoing import UndoJobs

if TYPE_CHECKING:
    from stockroom.store.database import Shop

_NEVER_LOADED = About("A shop without a name", "UTC", "")


def jobs_of(shop: Shop, about: About | None, outlet: Outlet) -> Jobs:
    """The jobs on `shop`, its days and times in its own time zone. What is printed goes to `outlet`."""
    told = about or _NEVER_LOADED
    zone = ZoneInfo(told.time_zone)

    def local_ticket(number: str, today: date) -> Ticket:
        found = ticket(shop, number, today)
        return replace(found, taken_at=found.taken_at.astimezone(zone))

    begun = BegunSheets()

    def printing(papers: Sequence[Paper], stamp: Stamp, start_at: int) -> Printed:
        local = Stamp(stamp.by, stamp.at.astimezone(zone))
        return print_papers(shop, papers, local, local.at.date(), outlet, start_at, begun)

    return Jobs(
        shop_name=told.name,
        today=lambda: datetime.now(zone).date(),
        rail=lambda today: rail(shop, today),
        ticket=local_ticket,
        show=lambda text: show(shop, text),
        now=lambda: datetime.now(UTC),
        latest=lambda: latest(shop),
        picking=_picking(shop),
        bench=_bench(shop, zone),
        packing=_packing(shop),
        ordering=_ordering(shop),
        left_over=_left_over(shop),
        goods=_goods(shop),
        racks=_racks(shop),
        counting=_counting(shop, zone),
        undoing=_undoing(shop),
        running_low=_running_low(shop),
        matching=_matching(shop),
        buying=_buying(shop, zone),
        retag=partial(retag.retag, shop),
        printing=printing,
        begun_sheets=lambda: begun.words,
        look_up=partial(look_up_ahead, shop),
    )


def _ordering(shop: Shop) -> OrderJobs:
    return OrderJobs(
        answer=partial(answer.answer, shop),
        reserve_all=partial(reserve.reserve_all, shop),
        reserve_what_there_is=partial(reserve.reserve_what_there_is, shop),
        approve_mix=partial(reserve.approve_mix, shop),
        receive_part=partial(parts.receive, shop),
        move_part=partial(parts.move, shop),
        give_back=partial(parts.give_back, shop),
        send_swatch=lambda tag, number, until, stamp, line, name: swatch_sent.send(
            shop, tag, number, swatch_sent.day_meant(until, stamp.at.date()), stamp, line, name
        ),
        answer_swatch=partial(swatch_sent.answer_swatch, shop),
        substitute=partial(substitute.substitute, shop),
    )


def _left_over(shop: Shop) -> LeftOverJobs:
    return LeftOverJobs(
        would_lie_about=partial(left_over.would_lie_about, shop),
        cancel=partial(change.cancel, shop),
        keep=partial(keep.keep, shop),
        scrap=partial(scrap.scrap, shop),
        put_back=partial(pick.put_back, shop),
        use=partial(use.use, shop),
        unuse=partial(use.unuse, shop),
    )


def _picking(shop: Shop) -> PickJobs:
    def cut_it(number: str, tag: str, stamp: Stamp, cut_mm: int, said: Shorter) -> cut.CutMade:
        return cut.cut(shop, number, tag, stamp, cut_mm, shorter=said)

    return PickJobs(
        walk=partial(pick.walk, shop),
        pick=partial(pick.pick, shop),
        pick_mixed=partial(pick.pick_mixed, shop),
        pick_short=partial(pick.pick_short, shop),
        put_back=partial(pick.put_back, shop),
        cut=cut_it,
        measure=partial(cut.measure, shop),
        mark_flaw=partial(cut.mark_flaw, shop),
        keep_side_piece=partial(cut.keep_side_piece, shop),
    )


def _bench(shop: Shop, zone: ZoneInfo) -> BenchJobs:
    def local_bench(now: datetime) -> tuple[bundle.BenchBundle, ...]:
        return tuple(replace(one, since=one.since.astimezone(zone)) for one in bundle.bench(shop, now))

    return BenchJobs(
        bench=local_bench,
        stages=partial(bundle.stages, shop),
        tie=partial(bundle.tie, shop),
        out=partial(bundle.out, shop),
        back=partial(bundle.back, shop),
        sew=partial(sew.sew, shop),
    )


def _packing(shop: Shop) -> PackJobs:
    return PackJobs(
        packing_list=partial(pack.packing_list, shop),
        pack=partial(pack.pack, shop),
        tick=partial(pack.tick, shop),
        unpack=partial(pack.unpack, shop),
        new_parcel=partial(pack.new_parcel, shop),
        close=partial(pack.close, shop),
        close_incomplete=partial(pack.close_incomplete, shop),
        spoil=partial(spoil.spoil, shop),
    )


def _goods(shop: Shop) -> GoodsJobs:
    return GoodsJobs(
        expected=partial(purchasing.expected, shop),
        receivable=partial(receivable.receivable, shop),
        to_receive=partial(receivable.to_receive, shop),
        check=partial(receive.receive_check, shop),
        receive=partial(receive.receive, shop),
        close=partial(purchasing.close_purchase, shop),
        inspect=partial(inspect.inspect, shop),
        quarantine=partial(quarantine.quarantine, shop),
        move=partial(move.move, shop),
    )


def _racks(shop: Shop) -> RackJobs:
    return RackJobs(
        looked_over=partial(racks.looked_over, shop),
        look_up=partial(racks.look_up, shop),
        in_hand=partial(racks.in_hand, shop),
        move=partial(move.move, shop),
        move_part=partial(move.move_part, shop),
        adjust=partial(adjust.adjust, shop),
        quarantine=partial(quarantine.quarantine, shop),
        quarantine_stretch=partial(quarantine.quarantine_stretch, shop),
        release=partial(quarantine.release, shop),
        scrap=partial(scrap.scrap, shop),
    )


def _counting(shop: Shop, zone: ZoneInfo) -> CountJobs:
    def local(sheet: count.Sheet) -> count.Sheet:
        return replace(sheet, begun_at=sheet.begun_at.astimezone(zone))

    return CountJobs(
        due=partial(count_due.due, shop),
        sheets=lambda: tuple(map(local, count.sheets(shop))),
        sheet=lambda number: local(count.sheet(shop, number)),
        begin=partial(count.begin, shop),
        enter=partial(count.enter, shop),
        closing=partial(count.closing, shop),
        close=partial(count.close, shop),
        leave=partial(count.leave, shop),
    )


def _undoing(shop: Shop) -> UndoJobs:
    return UndoJobs(
        latest_jobs=partial(undo.list_done, shop), look_at=partial(undo.look_at, shop), undo=partial(undo.undo, shop)
    )


def _running_low(shop: Shop) -> LowJobs:
    return LowJobs(
        buying_list=partial(low.buying_list, shop),
        expiring=partial(expiring.expiring, shop),
        low=partial(low.low, shop),
        not_wanted=partial(low.not_wanted, shop),
    )


def _matching(shop: Shop) -> MatchJobs:
    return MatchJobs(
        named=partial(match_order.match_named, shop),
        rolls=partial(match.match_rolls, shop),
        verdict=partial(verdict.give_verdict, shop),
    )


def _buying(shop: Shop, zone: ZoneInfo) -> BuyingJobs:
    def local(stamp: Stamp) -> Stamp:
        """Purchases are ordered, and due, by the shop's own calendar."""
        return Stamp(stamp.by, stamp.at.astimezone(zone))

    return BuyingJobs(
        buying_list=partial(buying.buying_list, shop),
        made_anew=partial(buying.made_anew, shop),
        accept=lambda run, items, stamp, sure: decide.accept(shop, run, items, local(stamp), sure),
        change=lambda run, item, quantity, why, stamp, sure: decide.change(
            shop, run, item, quantity, why, local(stamp), sure
        ),
        asked=lambda run, quantities, stamp: decide.asked(shop, run, quantities, local(stamp)),
        put_off=lambda run, items, why, stamp, until: decide.put_off(shop, run, items, why, local(stamp), until),
    )
