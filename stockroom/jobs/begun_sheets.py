"""Sheets of labels that were begun: where the next tags go, once somebody has said that a sheet was used before.

It is kept for one run of the program only: whoever comes to the printer tomorrow looks at what lies in it.
"""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(slots=True)
class BegunSheets:
    """Where each kind of sheet goes on."""

    next_label: dict[str, int] = field(default_factory=dict)
    """Name of a sheet → its first free label, from 1. What nobody spoke of is not there: a new sheet is taken."""

    def first_of(self, sheet: str) -> int:
        """Where tags begin on a sheet if nobody says otherwise."""
        return self.next_label.get(sheet, 1)

    def printed(self, sheet: str, start_at: int, labels: int, positions: int, *, was_said: bool) -> None:
        """So many labels were printed from there on, on sheets with so many positions.

        >>> begun = BegunSheets()
        >>> begun.printed("a4", 1, 3, 8, was_said=False)
        >>> begun.first_of("a4")
        1
        >>> begun.printed("a4", 7, 4, 8, was_said=True)
        >>> begun.first_of("a4")
        3
        """
        if was_said or sheet in self.next_label:
            self.next_label[sheet] = (start_at - 1 + labels) % positions + 1

    @property
    def words(self) -> str:
        """Where which sheet goes on, for people; '' where none is begun.

        >>> BegunSheets({"a4-2x4-99x67": 3, "a4-3x7-63x38": 1}).words
        'a4-2x4-99x67 goes on at label 3'
        """
        begun = (f"{sheet} goes on at label {at}" for sheet, at in sorted(self.next_label.items()) if at > 1)
        return ", ".join(begun)
