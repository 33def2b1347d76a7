"""How the trade's shapes are kept in JSON columns, and given back as the same shapes.

>>> from stockroom.domain.requirement import PanelShape
>>> given_back(PanelShape, kept(PanelShape(((0, 0), (10, 0), (10, 20)), 10, 20, "along"))).width_mm
10
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any, TypeVar

Shape = TypeVar("Shape")


_adapters: dict[Any, Any] = {}
"""Made once a shape: building one takes longer than using it a thousand times."""


def _adapter(shape: Any) -> Any:
    if shape not in _adapters:
        from pydantic import TypeAdapter

        _adapters[shape] = TypeAdapter(shape)
    return _adapters[shape]


def kept(value: object) -> Any:
    """`value`, a frozen dataclass of the domain, as plain JSON values."""
    return _adapter(value.__class__).dump_python(value, mode="json")


def given_back(shape: type[Shape], data: object) -> Shape:
    """The dataclass `shape` that was kept as `data`. Raises pydantic's ValidationError if the row was tampered with."""
    back: Shape = _adapter(shape).validate_python(data)
    return back


@lru_cache(maxsize=1024)
def given_back_text(shape: type[Shape], text: str) -> Shape:
    """`given_back` of JSON as it stands in the row. The same panels are cut for many orders, so it is remembered.

    >>> from stockroom.domain.requirement import PanelShape
    >>> given_back_text(PanelShape, '{"points":[],"width_mm":0,"length_mm":20,"way":"any"}').length_mm
    20
    """
    back: Shape = _adapter(shape).validate_json(text)
    return back
