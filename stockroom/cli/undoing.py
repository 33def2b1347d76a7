"""Verbs for putting things right: done, undo, retag."""

from __future__ import annotations

from typing import Annotated

import typer

from stockroom.cli.asked import ByOption, JsonOption, ShopOption, WrongCall, opened, say, say_json

_MOST_DIGITS = 16


def done(
    latest: Annotated[int, typer.Option(min=1, max=1000, help="How many are listed.")] = 20,
    shop: ShopOption = None,
    as_json: JsonOption = False,
) -> None:
    """What was done last, by whom and when, and whether it can be undone.

    \b
    Examples:
      stockroom done
      stockroom done --latest 50 --json
    """
    from stockroom.jobs.undo import done as latest_jobs

    with opened(shop) as here:
        found = latest_jobs(here.shop, latest)
    if as_json:
        say_json(found)
        return
    if not found:
        say("Nothing was done in this shop yet.")
    for one in found:
        mark = f"  undone by {one.undone_by}" if one.undone_by else ""
        say(f"{one.number:>6}  {one.at:%Y-%m-%d %H:%M}  {one.by:<4} {one.what}{mark}")
        if one.why_not and not one.undone_by and one.undoes is None:
            say(f"        cannot be undone: {one.why_not}")


def undo(
    job: Annotated[
        str,
        typer.Argument(metavar="JOB", help="Its number, as 'stockroom done' lists it; or 'last', the last of yours."),
    ],
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Take back something that was done, and name the paper that is void now.

    \b
    Examples:
      stockroom undo 20 --by AB
      stockroom undo last --by AB
    """
    from stockroom.jobs.undo import last_of
    from stockroom.jobs.undo import undo as take_back

    wanted = job.strip().removeprefix("#").casefold()
    if wanted != "last" and not (wanted.isascii() and wanted.isdecimal() and len(wanted) < _MOST_DIGITS):
        raise WrongCall(f"'{job}' is no number of a job. 'stockroom done' lists them; 'last' is the last of yours.")
    with opened(shop) as here:
        stamp = here.stamp(by)
        result = take_back(here.shop, last_of(here.shop, stamp.by) if wanted == "last" else int(wanted), stamp)
    if as_json:
        say_json(result)
        return
    say(f"Undone: job {result.number}, {result.what} ({result.by}, {result.at:%Y-%m-%d %H:%M}).")
    for sentence in result.sentences:
        say(f"  {sentence}")
    for paper in result.throw_away:
        say(f"  Throw away: {paper}.")


def retag(
    tag: Annotated[str, typer.Argument(metavar="TAG", help="The tag that is lost, torn or cannot be read.")],
    because: Annotated[str, typer.Option(help="What became of it: lost, torn, unreadable.")],
    shop: ShopOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Give a thing a new tag; the old one says so when it is scanned.

    
    Example:
      stockroom retag R8O --because torn --by AB
    """
    from stockroom.jobs.retag import retag as give_new_tag

    with opened(shop) as here:
        result = give_new_tag(here.shop, tag, because, here.stamp(by))
    if as_json:
        say_json(result)
        return
    say(result.sentence)


def add_to(app: typer.Typer) -> None:
    """Adds these verbs."""
    for verb in (done, undo, retag):
        app.command()(verb)
