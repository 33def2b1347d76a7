"""What was typed at the shell, held to what an order's file is held to: it ends up on the same tickets and paper."""

from __future__ import annotations

from typing import Any, get_args

from stockroom.domain.order import OrderRequest
from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import quoted
from stockroom.files.faults import Faults


def check_typed(request: OrderRequest) -> None:
    """Raises `Refusal`, naming every fault, where a text of the order could not stand in an order's file."""
    from stockroom.files.border import Note, Text
    from stockroom.files.order_tables import ChassisNumber, OrderNumber

    faults = Faults()
    if request.number:
        _check("number", request.number, OrderNumber, faults)
    _check("customer", request.customer, Text, faults)
    _check("note", request.note, Note, faults)
    for line in request.lines:
        if line.match:
            _check("match", line.match, Text, faults)
    for car in request.cars:
        _check("car", car.key, Text, faults)
        _check("chassis number", car.chassis_number, ChassisNumber, faults)
    _refuse(faults)


def check_said(**texts: str) -> None:
    """Raises `Refusal` where a text of one line, such as a reason or an answer, is none. Texts by what they are."""
    from stockroom.files.border import Text

    faults = Faults()
    for what, text in texts.items():
        if text.strip():  # whether it may be empty is for the job to say
            _check(what, text, Text, faults)
    _refuse(faults)


def _check(what: str, text: str, kind: Any, faults: Faults) -> None:
    from pydantic import TypeAdapter, ValidationError

    from stockroom.files.border import Expected

    try:
        TypeAdapter(kind).validate_python(text, strict=True)
    except ValidationError:
        words = next(mark.words for mark in get_args(kind) if isinstance(mark, Expected))
        faults.add(f"{what}: found {quoted(text)}; expected {words}.")


def _refuse(faults: Faults) -> None:
    if faults.count == 1:
        raise Refusal(f"Nothing was done. {faults.sentences[0][:1].upper()}{faults.sentences[0][1:]}")
    if faults.count:
        raise Refusal("Nothing was done: what was typed has faults.", tuple(faults.sentences))
