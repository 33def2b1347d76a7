"""Running a command: errors become sentences and exit statuses here, and nowhere else."""

from __future__ import annotations

import os
import sys

from stockroom.domain.refusal import Refusal

MOST_FAULTS = 200
"""Faults listed of one refusal; more would scroll away what matters."""


def run() -> None:
    """Runs the command line. A refusal is a sentence on stderr and exit status 1; Ctrl-C harms nothing."""
    from stockroom.cli.app import app

    try:
        app(prog_name="stockroom")
    except Refusal as refusal:
        refuse(refusal)
        sys.exit(1)
    except KeyboardInterrupt:
        print("\nStopped. The shop is as it was before.", file=sys.stderr)
        sys.exit(130)
    except BrokenPipeError:
        # Whoever read our output has gone (`stockroom rail | head`): nothing is left to say, and nobody to hear it.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(0)


def refuse(refusal: Refusal) -> None:
    """Says a refusal on stderr, with every further fault on a line of its own."""
    print(refusal.sentence, file=sys.stderr)
    for fault in refusal.faults[:MOST_FAULTS]:
        print(f"  {fault}", file=sys.stderr)
    if len(refusal.faults) > MOST_FAULTS:
        print(f"  … and {len(refusal.faults) - MOST_FAULTS} more.", file=sys.stderr)
