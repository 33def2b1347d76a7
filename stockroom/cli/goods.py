"""The verbs of the weekly run: reorder, plan-by, last-order."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stockroom.cli.asked import ByOption, JsonOption, ShopOption, WrongCall, opened, say, say_json
from stockroom.cli.paper import write_paper

if TYPE_CHECKING:
    from stockroom.cli.asked import Opened
    from stockroom.jobs.reorder_report import ReorderReport


def reorder(
    week: Annotated[
        str | None, typer.Option(metavar="WEEK", help="An ISO week such as 2026-W48; without it, this week.")
    ] = None,
    pdf: Annotated[Path | None, typer.Option(help="Write the report here as PDF too.")] = None,
    csv: Annotated[Path | None, typer.Option(help="Write the lines here as CSV too.")] = None,
    why: Annotated[str, typer.Option(metavar="ITEM", help="The whole working of one item instead.")] = "",
    runs: Annotated[bool, typer.Option("--runs", help="List the runs that were made.")] = False,
    run: Annotated[int | None, typer.Option(metavar="NUMBER", help="Show a run again, just as it was.")] = None,
    inputs: Annotated[Path | None, typer.Option(help="With --run: write all that went in here, as JSON.")] = None,
    quiet: Annotated[bool, typer.Option("--quiet", help="One line only: how many lines, how many late.")] = False,
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """The weekly reorder report: what to buy, and why.

    \b
    Examples:
      stockroom reorder
      stockroom reorder --week 2026-W48 --pdf reorder.pdf
      stockroom reorder --why leathercloth/black
      stockroom reorder --runs
      stockroom reorder --run 1
    """
    if (inputs is not None and run is None) or (runs and (run is not None or why)) or (run is not None and week):
        raise WrongCall("--runs goes alone, --inputs only with --run, and --run names its week itself.")
    with opened(shop) as here:
        if runs:
            _list_runs(here, as_json)
            return
        report = _report(here, week, run, by, inputs)
        if why:
            _tell_working(here, report, why, run, as_json)
            return
        decided = _decided(here, report)
    if pdf is not None:
        from stockroom.jobs.reorder_paper import reorder_paper

        write_paper(pdf, reorder_paper(report, decided))
    if csv is not None:
        write_paper(csv, report.csv().encode())
    if as_json:
        say_json(report.to_dict())
    else:
        for line in [report.summary()] if quiet else report.lines(decided):
            say(line)


def _report(here: Opened, week: str | None, run: int | None, by: str | None, inputs: Path | None) -> ReorderReport:
    from stockroom.jobs.reorder import reorder as run_reorder
    from stockroom.jobs.reorder_runs import inputs_of, shown_again

    if run is None:
        return run_reorder(here.shop, week, here.today, here.stamp(by))
    if inputs is not None:
        write_paper(inputs, inputs_of(here.shop, run).encode())
    return shown_again(here.shop, run)


def _decided(here: Opened, report: ReorderReport) -> dict[str, str]:
    from stockroom.jobs.buying import decided_words

    return decided_words(here.shop, report, here.today)


def _tell_working(here: Opened, report: ReorderReport, item: str, run: int | None, as_json: bool) -> None:
    from stockroom.jobs.reorder_runs import working_of, working_then

    told = working_of(here.shop, report.week, item, here.today) if run is None else working_then(report, item)
    if as_json:
        say_json(told)
        return
    for line in told.lines():
        say(line)


def _list_runs(here: Opened, as_json: bool) -> None:
    from stockroom.jobs.reorder_runs import made_runs

    found = made_runs(here.shop)
    if as_json:
        say_json(found)
        return
    if not found:
        say("No reorder run was made yet.")
    for one in found:
        say(f"{one.number}  {one.summary} Made by {one.by} on {one.at:%Y-%m-%d}.")


def plan_by(
    how: Annotated[
        str, typer.Argument(metavar="[limits|forecast]", help="How it is reckoned from now on.", show_default=False)
    ] = "",
    group: Annotated[str, typer.Option(metavar="GROUP", help="Of every item of this group.")] = "",
    item: Annotated[str, typer.Option(metavar="ITEM", help="Of one item, whatever its group says.")] = "",
    target: Annotated[
        float | None, typer.Option(metavar="PERCENT", help="With --group: what is promised, 50 to 99.9 per cent.")
    ] = None,
    target_of: Annotated[
        str,
        typer.Option(
            metavar="[cycle|shelf]",
            help="With --group: of cycles without a stock-out, or of demand met from the shelf.",
        ),
    ] = "",
    as_group: Annotated[bool, typer.Option("--as-group", help="With --item: as its group again.")] = False,
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say whether the weekly run goes by least and most, or by a forecast as well; without a word, show it.

    \b
    Examples:
      stockroom plan-by
      stockroom plan-by forecast --group "snap fasteners" --target 97.5 --target-of shelf --by AB
      stockroom plan-by limits --item tack-10 --by AB
    """
    from stockroom.jobs import planning

    asked = bool(how) or as_group
    if asked and (bool(group) == bool(item) or (as_group and (how or group))):
        raise WrongCall("Say 'limits' or 'forecast', and --group or --item; or --item with --as-group.")
    if not asked and (group or item):
        raise WrongCall("Say 'limits' or 'forecast' too.")
    if item and (target is not None or target_of):
        raise WrongCall("A target is promised of a group: leave --item away, or the target.")
    with opened(shop) as here:
        if not asked:
            found = planning.plans(here.shop)
        elif group:
            permille = None if target is None else round(target * 10)
            found = (planning.plan_group(here.shop, group, how, here.stamp(by), target_of, permille),)
        else:
            found = (planning.plan_item(here.shop, item, how, here.stamp(by)),)
    if as_json:
        say_json(found)
        return
    if not found:
        say("Every item goes by least and most: there is no group, and nothing is said of an item.")
    for one in found:
        say(f"{one.what}: planned by {one.planned_by}{f', {one.target}' if one.target else ''}")


def last_order(
    item: Annotated[
        str, typer.Argument(metavar="ITEM", help="What cannot be ordered for ever.", show_default=False)
    ] = "",
    until: Annotated[str, typer.Option(metavar="DAY", help="The last day to order: 2027-03-31.")] = "",
    weeks: Annotated[int, typer.Option(metavar="WEEKS", help="Buy for so many weeks after that.")] = 52,
    note: Annotated[str, typer.Option(help="What the supplier says.")] = "",
    ended: Annotated[str, typer.Option("--ended", metavar="BECAUSE", help="The notice holds no longer, and why.")] = "",
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Write down a supplier's notice that an item can be ordered until a day; without an item, list them.

    \b
    Examples:
      stockroom last-order leathercloth/tan --until 2027-03-31 --weeks 78 --note "the mill closes" --by AB
      stockroom last-order
      stockroom last-order leathercloth/tan --ended "bought enough" --by AB
    """
    from stockroom.jobs import last_order as job

    if bool(until) == bool(ended) if item else bool(until or ended):
        raise WrongCall("Name the item, and its last day with --until, or that it holds no longer with --ended.")
    with opened(shop) as here:
        if not item:
            found = job.notices(here.shop)
            if as_json:
                say_json(found)
                return
            for one in found:
                told = f" ({one.note})" if one.note else ""
                say(f"{one.item}  {one.title}, until {one.until}{told}, for {one.weeks} weeks after ({one.by})")
            if not found:
                say("No supplier's notice holds.")
            return
        if until:
            done = job.give_notice(here.shop, item, _day(until), here.stamp(by), weeks, note)
        else:
            done = job.notice_ends(here.shop, item, ended, here.stamp(by))
    say_json(done) if as_json else say(done.sentence)


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise WrongCall(f"'{text}' is no day. Write it as 2027-03-31.") from None


def add_to(app: typer.Typer) -> None:
    """Adds these verbs."""
    app.command()(reorder)
    app.command("plan-by")(plan_by)
    app.command("last-order")(last_order)
