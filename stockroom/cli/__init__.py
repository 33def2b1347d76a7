"""The shell: the same jobs as the screens, by the trade's verbs. Results go to stdout, everything else to stderr.

Only what every call needs is imported here; a command imports its job when it runs, so that `--help` answers at once.
"""

from __future__ import annotations


def main() -> None:
    """The `stockroom` command. Exit status: 0 done, 1 refused or found fault, 2 the call was wrong."""
    try:
        from stockroom.cli.calls import run
    except KeyboardInterrupt:  # before anything was begun
        raise SystemExit(130) from None
    run()
