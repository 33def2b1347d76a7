"""Running a command: errors become sentences and exit statuses here, and nowhere else."""

from __future__ import annotations

import io
import os
import signal
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from functools import partial
from types import FrameType
from typing import NoReturn

from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import literal

MOST_FAULTS = 200
"""Faults listed of one refusal; more would scroll away what matters."""
WRONG_CALL = 2
"""Exit status of a call that was wrong."""
STOPPED = 130
"""Exit status after Ctrl-C, as shells have it: 128 and the signal's number."""
_ENDINGS = tuple(getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name))
_ENDED = tuple(128 + sign for sign in _ENDINGS)
_MOMENT_S = 0.01
_STOPPED = "Stopped. A job that was not done left nothing behind."


def run() -> None:
    """Runs the command line. A refusal is a sentence on stderr and exit status 1; Ctrl-C harms nothing."""
    _write_in_any_encoding()
    _refuse_what_is_no_text(sys.argv[1:])
    try:
        try:
            with _ending_in_order():
                _call(sys.argv[1:])
        finally:
            if sys.stdout is not None:
                sys.stdout.flush()
    except SystemExit as end:
        # The library that reads the command line has caught these two itself and only kept a status.
        if isinstance(end.__context__, BrokenPipeError):
            _leave_quietly()
        if end.code in (STOPPED, *_ENDED):
            print(_STOPPED, file=sys.stderr)
        raise
    except Refusal as refusal:
        from stockroom.cli.place import WrongCall

        refuse(refusal)
        sys.exit(WRONG_CALL if isinstance(refusal, WrongCall) else 1)
    except KeyboardInterrupt:
        print(_STOPPED, file=sys.stderr)
        sys.exit(STOPPED)
    except BrokenPipeError:
        _leave_quietly()
    except OSError as error:
        where = f": {error.filename}" if error.filename else ""
        print(literal(f"This could not be done: {error.strerror or error}{where}."), file=sys.stderr)
        _leave(1)
    except Exception as error:
        _own_fault(error)


def _call(words: Sequence[str]) -> None:
    from stockroom.cli.front import open_screens, shop_alone

    shop = shop_alone(words, os.environ.get("STOCKROOM_SHOP"))
    # A shell that completes a line calls without words, and asks in its environment.
    if shop is not None and "_STOCKROOM_COMPLETE" not in os.environ:
        # The library that reads the command line would be loaded for a single word, with somebody waiting for a screen.
        open_screens(shop)
        return
    from stockroom.cli.app import app

    app(prog_name="stockroom")


@contextmanager
def _ending_in_order() -> Iterator[None]:
    """A command that is told to end (its terminal was closed, the machine goes down) tidies up as after Ctrl-C."""
    before = {sign: signal.signal(sign, _end) for sign in _ENDINGS}
    mention = sys.unraisablehook
    sys.unraisablehook = partial(_come_again, mention)
    try:
        yield
    finally:
        sys.unraisablehook = mention
        for sign, was in before.items():
            signal.signal(sign, was)


def _come_again(mention: Callable[[sys.UnraisableHookArgs], object], lost: sys.UnraisableHookArgs) -> None:
    """A Ctrl-C that falls into the collecting of garbage goes no further there: it comes again a moment later."""
    error = lost.exc_value
    if isinstance(error, KeyboardInterrupt):
        signs: Sequence[int] = (signal.SIGINT,)
    else:
        signs = [sign for sign in _ENDINGS if isinstance(error, SystemExit) and error.code == 128 + sign]
    if not signs:
        mention(lost)
        return
    from threading import Timer

    Timer(_MOMENT_S, signal.raise_signal, signs).start()


def _end(sign: int, _frame: FrameType | None) -> NoReturn:
    sys.exit(128 + sign)


def refuse(refusal: Refusal) -> None:
    """Says a refusal on stderr, with every further fault on a line of its own. Control characters are shown."""
    print(literal(refusal.sentence), file=sys.stderr)
    for fault in refusal.faults[:MOST_FAULTS]:
        print(f"  {literal(fault)}", file=sys.stderr)
    if len(refusal.faults) > MOST_FAULTS:
        print(f"  … and {len(refusal.faults) - MOST_FAULTS} more.", file=sys.stderr)


def _write_in_any_encoding() -> None:
    """A terminal that cannot show a letter gets its escape, rather than an error in the middle of a list."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def _refuse_what_is_no_text(words: Sequence[str]) -> None:
    for word in words:
        if any("\ud800" <= mark <= "\udfff" for mark in word):
            print(f"'{literal(word)}' holds bytes that are not text in UTF-8. Type it again.", file=sys.stderr)
            sys.exit(WRONG_CALL)


def _leave_quietly() -> NoReturn:
    """Whoever read our output has gone (`stockroom rail | head`): nothing is left to say, and nobody to hear it."""
    _leave(0)


def _leave(status: int) -> NoReturn:
    """Ends the call without trying once more to write what could not be written."""
    if isinstance(sys.stdout, io.TextIOWrapper):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    sys.exit(status)


def _own_fault(error: Exception) -> NoReturn:
    print(
        literal(f"This is a fault of the program, not of what you did ({type(error).__name__}: {error})."),
        "A job that was not done left nothing behind.",
        "Whoever looks after the program can see where it is: run the same again with STOCKROOM_TRACE=1.",
        file=sys.stderr,
    )
    if os.environ.get("STOCKROOM_TRACE"):
        from traceback import print_exception

        print_exception(error)
    sys.exit(1)
