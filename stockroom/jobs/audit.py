"""The audit: proves the books, and names each fault in a sentence."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from stockroom.domain.wording import literal
from stockroom.jobs.left_over import all_lying_about
from stockroom.store.database import Shop
from stockroom.store.proof import CHECKS, rows_looked_at


@dataclass(frozen=True, slots=True)
class Proof:
    """One thing that was looked at."""

    what: str
    """What holds where there is no fault."""
    faults: tuple[str, ...]
    """One sentence each."""


@dataclass(frozen=True, slots=True)
class AuditReport:
    """What the audit found."""

    looked_at: Mapping[str, int]
    """Kind of row → how many the proof is about."""
    proofs: tuple[Proof, ...]
    lying_about: tuple[str, ...] = ()
    """What of cancelled orders is still to be put away. No fault of the books: sentences."""

    @property
    def faults(self) -> tuple[str, ...]:
        """Every fault, in the order of the proofs."""
        return tuple(fault for proof in self.proofs for fault in proof.faults)

    @property
    def is_good(self) -> bool:
        """Whether no fault was found."""
        return not self.faults

    def lines(self) -> list[str]:
        """The report as a person reads it."""
        looked_at = ", ".join(f"{number} {kind}s" for kind, number in self.looked_at.items() if number)
        lines = [f"Looked at {looked_at or 'an empty shop'}."]
        for proof in self.proofs:
            number = f"{len(proof.faults)} fault{'' if len(proof.faults) == 1 else 's'}" if proof.faults else "good"
            lines.append(f"  {proof.what}: {number}")
            lines += [f"    {literal(fault)}" for fault in proof.faults]
        lines += [f"Still to be put away: {literal(sentence)}" for sentence in self.lying_about]
        lines.append("The books are good." if self.is_good else f"The books have {len(self.faults)} faults.")
        return lines

    def as_dict(self) -> dict[str, Any]:
        """The report as JSON tells it."""
        return {
            "good": self.is_good,
            "looked_at": dict(self.looked_at),
            "lying_about": list(self.lying_about),
            "proofs": [{"what": proof.what, "faults": list(proof.faults)} for proof in self.proofs],
        }


def audit(shop: Shop) -> AuditReport:
    """Proves the books as they are at one moment; writes nothing."""
    with shop.read() as tx:
        proofs = tuple(Proof(check.what, tuple(check.find(tx))) for check in CHECKS)
        if any(proof.faults for proof in proofs):
            return AuditReport(rows_looked_at(tx), proofs)  # what is damaged is not reckoned with
        lies = tuple(
            f"order {one.order}: {sentence}" for one in all_lying_about(shop, tx) for sentence in one.sentences
        )
        return AuditReport(rows_looked_at(tx), proofs, lies)
