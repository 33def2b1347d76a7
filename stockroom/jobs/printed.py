"""Words that stand on several papers: when it is wanted, how it leaves, who printed it, what is heavy."""

from __future__ import annotations

from datetime import date

from stockroom.domain.stamp import Stamp

LIFT_LIMIT_G = 23_000
"""From this on a lifting caution is printed: the load constant of the NIOSH revised lifting equation (Waters et al.
1993), a caution only."""
RULES = "The supplier's safety data sheet and your own rules come first."
"""What stands beside every word on hazards, storage and posting."""
LIFTING = "Heavy: two people or a roll stand. Your own rules and a competent assessment decide."


def cautions(hazards: str, storage: str, posting: str) -> tuple[tuple[str, str], ...]:
    """Label and words of what is to be minded of an item, and whose rules come first; nothing where none is known."""
    told = tuple(one for one in (("Hazards", hazards), ("Storage", storage), ("Posting", posting)) if one[1])
    return (*told, ("Rules", RULES)) if told else ()


def wanted_words(wanted: date | None, overdue_days: int) -> str:
    """'open', the date, or 'overdue since' the date."""
    if wanted is None:
        return "open"
    return f"overdue since {wanted.isoformat()}" if overdue_days else wanted.isoformat()


def delivery(fitted_here: bool) -> str:
    """How the goods leave the shop."""
    return "fitted here" if fitted_here else "for sending"


def printed_by(stamp: Stamp) -> str:
    """Who printed it and when."""
    return f"{stamp.by}, {stamp.at:%Y-%m-%d %H:%M} {stamp.at.tzname() or ''}".strip()
