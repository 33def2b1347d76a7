"""The weekly reorder report on paper."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from stockroom.domain.quantities import show_money
from stockroom.domain.weeks import Week
from stockroom.jobs.reorder_report import ReorderLine, ReorderReport, by_day


def reorder_paper(report: ReorderReport, decided: Mapping[str, str] = MappingProxyType({})) -> bytes:
    """The report as PDF. `decided`: item → what was decided on its line."""
    from labels import reordering
    from labels.reorder_report import reorder_report_pdf

    week = Week.parse(report.week)
    groups = [
        reordering.SupplierProposals(
            heading, tuple(_paper_line(line, week, decided.get(line.item, "")) for line in lines), said
        )
        for heading, said, lines in report.groups()
    ]
    totals: dict[str, int] = {}
    for supplier in report.suppliers:
        totals[supplier.currency] = totals.get(supplier.currency, 0) + supplier.total_minor
    return reorder_report_pdf(
        reordering.ReorderReport(
            shop=report.shop,
            week=report.week,
            suppliers=tuple(groups),
            total=", ".join(show_money(total, currency) for currency, total in sorted(totals.items())),
            remarks=report.remarks(),
            later=report.later_lines(),
            idle=report.idle_lines(),
            nothing="Nothing is to be bought or made this week.",
        )
    )


def _paper_line(line: ReorderLine, week: Week, decided: str) -> Any:
    from labels import reordering

    projected, as_it_is = line.stock_to_come(week)
    return reordering.ReorderLine(
        item=line.item,
        title=line.title,
        held=line.shown(line.held),
        reserved=line.shown(line.reserved),
        on_order=line.shown(line.on_order),
        need=line.shown(line.needed),
        quantity=line.shown(line.quantity),
        cost=line.cost if line.action == "buy" else "",
        reason="; ".join(part for part in (decided, line.why, line.by_what, by_day(line)) if part),
        mark="" if line.urgency == "normal" else line.urgency,
        weekly_use=line.weekly_use,
        projected=projected,
        as_it_is=as_it_is,
    )
