"""Printing: papers are made, kept as PDF in a folder, and sent to a printer where one is named.

A paper that was made stays, whatever becomes of the printer.
"""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import chain, count
from pathlib import Path
from typing import TYPE_CHECKING

from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import literal
from stockroom.jobs.begun_sheets import BegunSheets
from stockroom.jobs.papers import ON_LABELS, Paper

if TYPE_CHECKING:
    from stockroom.domain.stamp import Stamp
    from stockroom.store.database import Shop

MOST_BYTES_OF_A_NAME = 200
"""File systems allow some 255 bytes a name, whatever the script."""
PRINTER_SECONDS = 10
"""How long the computer may take to accept a paper for a printer, in seconds. Printing itself is not waited for."""


@dataclass(frozen=True, slots=True)
class Outlet:
    """Where papers go."""

    folder: Path
    """Where the PDF files are kept; it is made when it is needed."""
    printer: str = ""
    """Name of a printer, as the computer knows it; '' where papers are only kept."""
    labels: str = ""
    """What tags are printed on: a sheet or roll by its measures, or the path of a .toml; '' for what suits the tags."""


@dataclass(frozen=True, slots=True)
class Printed:
    """What was printed."""

    sentence: str
    files: tuple[Path, ...]
    """The PDF files that were written."""
    trouble: str = ""
    """What went wrong with some of it, in sentences; '' where nothing did."""


def file_name(*words: str) -> Path:
    """A file name out of words that may hold anything: what is not plain becomes a hyphen, so it leads nowhere else."""
    safe = "-".join("".join(one if one.isalnum() or one in "-_" else "-" for one in word) for word in words)
    return Path(f"{safe.encode()[:MOST_BYTES_OF_A_NAME].decode(errors='ignore')}.pdf")


def print_papers(
    shop: Shop,
    papers: Sequence[Paper],
    stamp: Stamp,
    today: date,
    outlet: Outlet,
    start_at: int = 0,
    begun: BegunSheets | None = None,
) -> Printed:
    """Makes these papers, keeps them, and sends them to the printer. What cannot be made of them is told.

    `start_at`: the first free label of a used sheet, from 1, for the first tags that are printed; 0 where nobody said:
    they go on where the `begun` sheet ended, or begin a new one. Other tags of the call begin a sheet of their own.
    Raises Refusal where none can be made, and where the folder cannot be written to.
    """
    from stockroom.jobs.paper_making import MadePaper, first_label, make
    from stockroom.jobs.tag_paper import positions_of

    begun = begun or BegunSheets()
    begins = (lambda _sheet: start_at) if start_at else begun.first_of
    made: list[MadePaper] = []
    refused = []
    for paper in papers:
        for one in (Paper(paper.kind, (name,)) for name in paper.named) if paper.kind != "tag" else (paper,):
            try:
                made += make(shop, one, stamp, today, outlet.labels, begins)
            except Refusal as refusal:
                refused.append(refusal)
            else:
                begins = first_label if one.kind in ON_LABELS else begins
    if not made:
        first, *others = refused
        raise Refusal(first.sentence, (*first.faults, *(one.sentence for one in others)))
    files = tuple(keep(outlet.folder, one.name, one.pdf) for one in made)
    troubles = [one.sentence for one in refused]
    where = f"in {outlet.folder}"
    if outlet.printer:
        stuck = next(filter(None, (send(outlet.printer, file) for file in files)), "")
        if stuck:
            troubles.append(f"{stuck} The PDF is kept.")
        else:
            where = f"on {outlet.printer}, and kept {where}"
    tags = [page for page in made if page.labels]
    for turn, page in enumerate(tags):
        positions = positions_of(page.sheet)
        begun.printed(page.sheet, page.start_at, page.labels, positions, was_said=not turn and start_at > 0)
    if any(page.start_at > 1 for page in tags):
        where += f", from label {tags[0].start_at} of {tags[0].sheet}"
    names = ", ".join(file.name for file in files)
    return Printed(f"Printed {where}: {names}.", files, " ".join(troubles))


def keep(folder: Path, name: Path, pdf: bytes) -> Path:
    """Writes a paper into a folder; gives its file. Another file of that name stays: this one gets a number then."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        turns = (f"{name.stem}-{turn}{name.suffix}" for turn in count(2))
        return next(path for one in chain([name.name], turns) if _written(path := folder / one, pdf))
    except OSError as error:
        raise Refusal(f"No paper can be kept in {folder}: {error.strerror or error}.") from error


def _written(path: Path, pdf: bytes) -> bool:
    """Writes a new file, whole or not at all; whether it did: where one is there, nothing is written."""
    try:
        file = path.open("xb")
    except FileExistsError:
        return False
    try:
        with file:
            file.write(pdf)
    except OSError:
        path.unlink(missing_ok=True)
        raise
    return True


def send(printer: str, file: Path) -> str:
    """Sends a PDF file to a printer; what went wrong, in a sentence, or ''."""
    lp = shutil.which("lp")
    if lp is None:
        return f"Nothing was sent to {printer}: this computer has no 'lp' to print with."
    if printer.startswith("-") or any(mark.isspace() for mark in printer):
        return f"Nothing was sent: '{literal(printer)}' is no name of a printer."
    try:
        done = subprocess.run(
            [lp, "-d", printer, str(file.absolute())],
            stdin=subprocess.DEVNULL,
            capture_output=True,
            timeout=PRINTER_SECONDS,
            check=False,
        )
    except (OSError, subprocess.TimeoutExpired) as error:
        why = f"it took more than {PRINTER_SECONDS} s" if isinstance(error, subprocess.TimeoutExpired) else str(error)
        return f"{printer} did not take {file.name}: {literal(why)}."
    if done.returncode:
        said = " ".join(done.stderr.decode(errors="replace").split()) or f"'lp' ended with {done.returncode}"
        return f"{printer} did not take {file.name}: {literal(said).rstrip('.')}."
    return ""
