"""The demo shop: made through the same door as a real one, its orders taken, its stock held, its paper printed."""

from __future__ import annotations

import shutil
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from secrets import token_hex

from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.wording import literal
from stockroom.jobs.explode import explode
from stockroom.jobs.fitting_paper import fitting_sheets
from stockroom.jobs.load import LoadReport, load
from stockroom.jobs.pick_list import pick_list
from stockroom.jobs.printed import delivery
from stockroom.jobs.rail import rail
from stockroom.jobs.reorder import reorder
from stockroom.jobs.reorder_paper import reorder_paper
from stockroom.jobs.reorder_report import ReorderReport
from stockroom.jobs.reserve import Reserved, reserve_what_there_is
from stockroom.jobs.tag_paper import PIECE_SHEET, STOCK_SHEET, piece_tags, place_tags, print_tags, stock_tags
from stockroom.jobs.ticket import Ticket
from stockroom.store.database import Shop
from stockroom.store.shipped import shipped


@dataclass(frozen=True, slots=True)
class OrderAccount:
    """What became of one order of the demo."""

    ticket: Ticket
    needs: str
    """What it needs, in a line."""
    reserved: Reserved
    papers: tuple[str, ...]
    """Names of its papers."""


@dataclass(frozen=True, slots=True)
class DemoAccount:
    """What making the demo shop did."""

    folder: Path
    loaded: LoadReport
    orders: tuple[OrderAccount, ...]
    reorder: ReorderReport
    papers: int

    def lines(self) -> list[str]:
        """A short readable account."""
        lines = [*self.loaded.lines(), ""]
        for account in self.orders:
            lines += _order_lines(account)
        lines += [
            "Reorder report",
            *(
                f"  {literal(heading)}: {', '.join(line.item for line in lines)}"
                for heading, _, lines in self.reorder.groups()
            ),
            *(f"  {literal(remark)}" for remark in self.reorder.remarks()),
            "",
            f"Papers: {self.papers} PDF files in {self.folder / 'paper'}",
            f"Shop:   {self.folder / 'shop.db'}",
            "",
            "Open the screens on it with:",
            f"  stockroom --shop {self.folder / 'shop.db'}",
        ]
        return lines


def make_demo(folder: Path, stamp: Stamp, today: date) -> DemoAccount:
    """Makes the demo shop in `folder`, which must not exist: nothing of it is left if making it fails or is stopped."""
    if folder.exists() or folder.is_symlink():
        raise Refusal(f"{folder} exists already. Name a folder that does not exist yet: stockroom demo FOLDER.")
    # Named before it is made: whoever stops the program between the two leaves nothing behind.
    workshop = folder.parent / f".{folder.name}-{token_hex(8)}"
    try:
        try:
            folder.parent.mkdir(parents=True, exist_ok=True)
            workshop.mkdir(mode=0o700)
        except OSError as error:
            raise Refusal(f"The demo shop cannot be made at {folder}: {error.strerror or error}.") from error
        account = _made(workshop, folder, stamp, today)
        workshop.chmod(0o755)
        workshop.rename(folder)
    except BaseException:
        shutil.rmtree(workshop, ignore_errors=True)
        raise
    return account


def _made(workshop: Path, folder: Path, stamp: Stamp, today: date) -> DemoAccount:
    paper = workshop / "paper"
    paper.mkdir()
    with Shop.make(workshop / "shop.db") as shop:
        loaded = load(shop, shipped("seed"), stamp, opening=today)
        accounts = [
            _order(shop, entry.number, paper, stamp, today)
            for entry in sorted(rail(shop, today), key=lambda entry: entry.number)
        ]
        (paper / "stock-tags.pdf").write_bytes(print_tags(stock_tags(shop, ()), STOCK_SHEET, 1, 1))
        (paper / "place-tags.pdf").write_bytes(print_tags(place_tags(shop), STOCK_SHEET, 1, 1))
        report = reorder(shop, None, today, stamp)
        (paper / f"reorder-{report.week}.pdf").write_bytes(reorder_paper(report))
    return DemoAccount(folder, loaded, tuple(accounts), report, len(list(paper.iterdir())))


def _order(shop: Shop, number: str, paper: Path, stamp: Stamp, today: date) -> OrderAccount:
    """Holds stock for one order and prints its papers. A demo order's number is a plain word, so it names files."""
    reserved = reserve_what_there_is(shop, number, stamp)
    bill = explode(shop, number, today)
    papers = {f"pick-list-{number}.pdf": pick_list(shop, number, stamp, today)}
    if bill.totals:
        papers[f"tags-{number}.pdf"] = print_tags(piece_tags(shop, number), PIECE_SHEET, 1, 1)
        sheets = fitting_sheets(shop, number, stamp)
        for turn, sheet in enumerate(sheets.values(), start=1):
            name = f"fitting-{number}.pdf" if len(sheets) == 1 else f"fitting-{number}-car-{turn}.pdf"
            papers[name] = sheet
    for name, data in papers.items():
        (paper / name).write_bytes(data)
    panels = sum(total.needed for total in bill.totals if "panel" in total.amount)
    counted = (
        ("panels of cloth", panels),
        ("kinds of narrow goods", sum(1 for total in bill.totals if total.kind == "narrow")),
        ("hardware", sum(total.needed for total in bill.totals if total.kind == "hardware")),
        ("made-up items from stock", sum(total.needed for total in bill.totals if total.kind == "blank")),
    )
    needs = ", ".join(f"{what}: {count}" for what, count in counted if count) or "nothing yet"
    return OrderAccount(bill.ticket, needs, reserved, tuple(papers))


def _order_lines(account: OrderAccount) -> Sequence[str]:
    shown, reserved = account.ticket, account.reserved
    wanted = f"wanted {shown.wanted.isoformat()}" if shown.wanted else "wanted: open"
    late = f", OVERDUE {shown.overdue_days} days" if shown.overdue_days else ""
    kits = ", ".join(f"{line.quantity} × {literal(line.title)} for {literal(line.car)}" for line in shown.lines)
    lines = [
        f"Order {shown.number}, {literal(shown.customer)}, {wanted}{late}, {delivery(shown.fitted_here)}",
        f"  {kits}",
        f"  needs  {account.needs}",
        f"  held   {reserved.held_before + reserved.held_now} of {reserved.needed}",
    ]
    lines += [f"  {literal(change)}" for line in shown.lines for change in line.changes]
    lines += [f"  SHORT  {literal(sentence)}" for sentence in reserved.short]
    lines += [f"  WAITS  line {wait.line}, '{literal(wait.name)}': {literal(wait.question)}" for wait in shown.waits]
    return [*lines, f"  paper  {', '.join(account.papers)}", ""]
