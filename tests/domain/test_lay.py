"""The lay: inside the cloth, never overlapping, the nap respected."""

from __future__ import annotations

import doctest
from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from stockroom.domain import lay
from stockroom.domain.lay import GAP_MM, Lay, PanelToLay, TooWide, arrange, fits_across
from stockroom.domain.requirement import PanelShape

WIDTH = 1400


def shape(width: int, length: int, way: str = "along") -> PanelShape:
    """A rectangle; of width 0 it is a set length."""
    return PanelShape(((0, 0), (width, 0), (width, length), (0, length)), width, length, way)


shapes = st.builds(shape, st.integers(0, 1600), st.integers(1, 1600), st.sampled_from(["along", "across", "any"]))
sets = st.lists(shapes, max_size=12)


def extent(one: PanelShape, turned: int) -> tuple[int, int]:
    across, along = one.width_mm or WIDTH, one.length_mm
    return (along, across) if turned == 90 else (across, along)


def test_the_examples_in_the_docstrings_are_true() -> None:
    assert doctest.testmod(lay).failed == 0


@given(sets, st.booleans())
def test_panels_lie_inside_the_cloth_apart_from_each_other_and_the_right_way(
    panels: list[PanelShape], nap: bool
) -> None:
    found = arrange([PanelToLay(i, s) for i, s in enumerate(panels)], WIDTH, nap)
    if isinstance(found, TooWide):
        assert found.refs == tuple(i for i, s in enumerate(panels) if fits_across(s, WIDTH, nap) is None)
        return
    assert [p.ref for p in found.placements] == list(range(len(panels)))
    boxes = []
    for place in found.placements:
        one = panels[place.ref]
        width, length = extent(one, place.turned)
        assert place.x_mm >= 0
        assert place.y_mm >= 0
        assert place.x_mm + width <= WIDTH
        assert place.y_mm + length <= found.length_mm
        if one.width_mm:
            allowed = {"along": {0}, "across": {90}, "any": {0} if nap else {0, 90}}[one.way]
            assert place.turned in allowed
        boxes.append((place.x_mm, place.y_mm, place.x_mm + width, place.y_mm + length))
    for a, b in combinations(boxes, 2):
        apart_across = a[2] + GAP_MM <= b[0] or b[2] + GAP_MM <= a[0]
        apart_along = a[3] + GAP_MM <= b[1] or b[3] + GAP_MM <= a[1]
        assert apart_across or apart_along, f"{a} and {b} overlap"


@given(sets, st.booleans(), st.randoms(use_true_random=False))
def test_the_length_does_not_hang_on_the_order_of_the_panels(
    panels: list[PanelShape], nap: bool, random: object
) -> None:
    to_lay = [PanelToLay(i, s) for i, s in enumerate(panels)]
    shuffled = to_lay[:]
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    one, other = arrange(to_lay, WIDTH, nap), arrange(shuffled, WIDTH, nap)
    if isinstance(one, Lay) and isinstance(other, Lay):
        assert one.length_mm == other.length_mm
    else:
        assert type(one) is type(other)


@given(shapes, st.booleans())
def test_one_panel_takes_its_own_length(one: PanelShape, nap: bool) -> None:
    found = arrange([PanelToLay(7, one)], WIDTH, nap)
    least = fits_across(one, WIDTH, nap)
    assert (found.length_mm if isinstance(found, Lay) else None) == least


def test_a_set_length_takes_the_whole_width() -> None:
    found = arrange([PanelToLay(1, shape(0, 1000)), PanelToLay(2, shape(100, 100))], WIDTH, nap=True)
    assert isinstance(found, Lay)
    assert found.length_mm == 1000 + GAP_MM + 100


def test_a_panel_that_may_lie_any_way_is_turned_only_where_there_is_no_nap() -> None:
    long = PanelToLay(1, shape(300, 1300, "any"))
    napped, plain = arrange([long], WIDTH, nap=True), arrange([long], WIDTH, nap=False)
    assert isinstance(napped, Lay)
    assert isinstance(plain, Lay)
    assert (napped.length_mm, plain.length_mm) == (1300, 300)


def test_what_is_wider_than_the_cloth_is_named() -> None:
    found = arrange([PanelToLay(1, shape(100, 100)), PanelToLay(2, shape(1500, 100))], WIDTH, nap=True)
    assert isinstance(found, TooWide)
    assert found.refs == (2,)
    assert "1.50 m wide" in found.sentence
