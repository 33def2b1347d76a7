"""Fitting: the steps of all the kits of one car in one list, and which of them a piece comes up in."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from stockroom.domain.kitbook import Kit, Step
from stockroom.domain.requirement import FittingStep


@dataclass(frozen=True, slots=True)
class KitOnCar:
    """A kit ordered for a car, whole or by single pieces."""

    kit: Kit
    whole: bool


def fitting_steps(kits: Iterable[KitOnCar], present: Collection[str]) -> tuple[FittingStep, ...]:
    """The steps of a car's kits, merged by `at` and numbered from 1.

    `present` are the pieces that go on this car. A step all of whose pieces are absent is dropped; a step that names
    no piece (something is unbolted, say) stays with a whole kit, and with single pieces where another step of its kit
    stays. A kit that was ordered twice for the car has its steps once. Steps with the same `at` follow the kits' codes.
    """
    whole: dict[str, bool] = {}
    by_code: dict[str, Kit] = {}
    for entry in kits:
        by_code[entry.kit.code] = entry.kit
        whole[entry.kit.code] = whole.get(entry.kit.code, False) or entry.whole
    kept: list[tuple[int, str, int, Step, tuple[str, ...]]] = []
    for code, kit in by_code.items():
        named = [tuple(piece for piece in step.pieces if piece in present) for step in kit.steps]
        stays = whole[code] or any(named)
        kept += [
            (step.at, code, index, step, pieces)
            for index, (step, pieces) in enumerate(zip(kit.steps, named, strict=True))
            if pieces or (stays and not step.pieces)
        ]
    kept.sort(key=lambda entry: entry[:3])
    return tuple(
        FittingStep(number, step.do, pieces, code, step.unbolt, step.refit, step.caution)
        for number, (_, code, _, step, pieces) in enumerate(kept, start=1)
    )


def steps_of(steps: Sequence[FittingStep], piece: str) -> tuple[int, ...]:
    """Numbers of the steps that a piece comes up in."""
    return tuple(step.number for step in steps if piece in step.pieces)
