"""What there is to say, above the scan line. A refusal stays long enough to be read, even when scans rush on."""

from __future__ import annotations

from time import monotonic

from textual.widgets import Static

from stockroom.screens.paragraphs import SIGN, Paragraphs, sentence

REFUSAL_STAYS_SECONDS = 2.0
"""How long a refusal stays at least, so that it can be read even when scans rush on behind it."""


class MessageLine(Static):
    """One sentence or several."""

    def __init__(self) -> None:
        super().__init__(id="message", markup=False)
        self._refused_at = float("-inf")
        self._refusal = ("", "")
        self._working = False

    def tell(self, *parts: str | tuple[str, str]) -> None:
        """Show a sentence."""
        text, width = Paragraphs([sentence(*parts, hang=2)]), self.size.width
        # Only a text of another height has the screen laid out anew: every scan takes one away and shows another.
        self.update(text, layout=not width or max(1, text.get_height({}, width)) != self.size.height)

    def mention(self, *parts: str | tuple[str, str]) -> None:
        """Show a sentence; behind a refusal that nobody can have read yet, if there is one."""
        self.tell(*(() if self._has_been_read else (self._refusal, "  ")), *parts)

    def refuse(self, words: str) -> None:
        """Show why something was not done, and ring."""
        self._working = False
        self._refused_at = monotonic()
        self._refusal = (f"{SIGN} {words}", "bold $text-error")
        self.tell(self._refusal)
        self.app.bell()

    def hush(self) -> None:
        """Take away what was said before, unless it is a refusal that nobody can have read yet."""
        if self._has_been_read:
            self.tell("")

    def still_at_work(self, title: str, seconds: int) -> None:
        """Say what takes long, and how long it has taken."""
        self._working = True
        self.tell(f"{title} …" + (f" {seconds} s so far" if seconds else ""))

    def work_is_done(self) -> None:
        """Say no longer that something takes long."""
        if self._working:
            self._working = False
            self.tell("")

    @property
    def _has_been_read(self) -> bool:
        return monotonic() - self._refused_at >= REFUSAL_STAYS_SECONDS
