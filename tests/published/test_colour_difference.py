"""CIEDE2000 against the pairs that were published to try programs by, each in both directions.

Source: G. Sharma, W. Wu, E. N. Dalal, The CIEDE2000 Color-Difference Formula: Implementation Notes, Supplementary Test
Data, and Mathematical Observations, Color Research & Application 30 (2005) 21-30, Table 1. All figures are of it.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockroom.domain.catalogue import Reading
from stockroom.domain.colour_difference import FACTORS, delta_e00
from stockroom.domain.many_differences import differences
from stockroom.domain.refusal import Refusal

# L*, a*, b* of one, and of the other, and their difference.
PAIRS = (
    ((50.0000, 2.6772, -79.7751), (50.0000, 0.0000, -82.7485), 2.0425),
    ((50.0000, 3.1571, -77.2803), (50.0000, 0.0000, -82.7485), 2.8615),
    ((50.0000, 2.8361, -74.0200), (50.0000, 0.0000, -82.7485), 3.4412),
    ((50.0000, -1.3802, -84.2814), (50.0000, 0.0000, -82.7485), 1.0000),
    ((50.0000, -1.1848, -84.8006), (50.0000, 0.0000, -82.7485), 1.0000),
    ((50.0000, -0.9009, -85.5211), (50.0000, 0.0000, -82.7485), 1.0000),
    ((50.0000, 0.0000, 0.0000), (50.0000, -1.0000, 2.0000), 2.3669),
    ((50.0000, -1.0000, 2.0000), (50.0000, 0.0000, 0.0000), 2.3669),
    ((50.0000, 2.4900, -0.0010), (50.0000, -2.4900, 0.0009), 7.1792),
    ((50.0000, 2.4900, -0.0010), (50.0000, -2.4900, 0.0010), 7.1792),
    ((50.0000, 2.4900, -0.0010), (50.0000, -2.4900, 0.0011), 7.2195),
    ((50.0000, 2.4900, -0.0010), (50.0000, -2.4900, 0.0012), 7.2195),
    ((50.0000, -0.0010, 2.4900), (50.0000, 0.0009, -2.4900), 4.8045),
    ((50.0000, -0.0010, 2.4900), (50.0000, 0.0010, -2.4900), 4.8045),
    ((50.0000, -0.0010, 2.4900), (50.0000, 0.0011, -2.4900), 4.7461),
    ((50.0000, 2.5000, 0.0000), (50.0000, 0.0000, -2.5000), 4.3065),
    ((50.0000, 2.5000, 0.0000), (73.0000, 25.0000, -18.0000), 27.1492),
    ((50.0000, 2.5000, 0.0000), (61.0000, -5.0000, 29.0000), 22.8977),
    ((50.0000, 2.5000, 0.0000), (56.0000, -27.0000, -3.0000), 31.9030),
    ((50.0000, 2.5000, 0.0000), (58.0000, 24.0000, 15.0000), 19.4535),
    ((50.0000, 2.5000, 0.0000), (50.0000, 3.1736, 0.5854), 1.0000),
    ((50.0000, 2.5000, 0.0000), (50.0000, 3.2972, 0.0000), 1.0000),
    ((50.0000, 2.5000, 0.0000), (50.0000, 1.8634, 0.5757), 1.0000),
    ((50.0000, 2.5000, 0.0000), (50.0000, 3.2592, 0.3350), 1.0000),
    ((60.2574, -34.0099, 36.2677), (60.4626, -34.1751, 39.4387), 1.2644),
    ((63.0109, -31.0961, -5.8663), (62.8187, -29.7946, -4.0864), 1.2630),
    ((61.2901, 3.7196, -5.3901), (61.4292, 2.2480, -4.9620), 1.8731),
    ((35.0831, -44.1164, 3.7933), (35.0232, -40.0716, 1.5901), 1.8645),
    ((22.7233, 20.0904, -46.6940), (23.0331, 14.9730, -42.5619), 2.0373),
    ((36.4612, 47.8580, 18.3852), (36.2715, 50.5065, 21.2231), 1.4146),
    ((90.8027, -2.0831, 1.4410), (91.1528, -1.6435, 0.0447), 1.4441),
    ((90.9257, -0.5406, -0.9208), (88.6381, -0.8985, -0.7239), 1.5381),
    ((6.7747, -0.2908, -2.4247), (5.8714, -0.0985, -2.2286), 0.6377),
    ((2.0776, 0.0795, -1.1350), (0.9033, -0.0636, -0.5514), 0.9082),
)  # fmt: skip
READINGS = st.builds(Reading, st.floats(0, 100), st.floats(-128, 128), st.floats(-128, 128))
SCALES = st.sampled_from(list(FACTORS))


@pytest.mark.parametrize(("one", "other", "published"), PAIRS)
def test_the_published_pairs_agree_to_four_decimals_in_both_directions(
    one: tuple[float, float, float], other: tuple[float, float, float], published: float
) -> None:
    assert len(PAIRS) == 34
    assert f"{delta_e00(Reading(*one), Reading(*other)):.4f}" == f"{published:.4f}"
    assert f"{delta_e00(Reading(*other), Reading(*one)):.4f}" == f"{published:.4f}"


@given(READINGS, READINGS, SCALES)
def test_a_difference_is_the_same_in_either_direction_and_none_of_a_colour_to_itself(
    one: Reading, other: Reading, factors: str
) -> None:
    assert delta_e00(one, other, factors) == pytest.approx(delta_e00(other, one, factors), abs=1e-9)
    assert delta_e00(one, other, factors) >= 0
    assert delta_e00(one, one, factors) == 0


def test_textile_factors_halve_what_lightness_alone_makes() -> None:
    one, other = Reading(30, 0, 0), Reading(34, 0, 0)
    assert delta_e00(one, other, "2:1:1") == pytest.approx(delta_e00(one, other, "1:1:1") / 2)


@pytest.mark.parametrize("other", [Reading(50, 0, 0, "A", "10"), Reading(50, 0, 0, "D65", "2")])
def test_readings_under_different_conditions_are_not_compared(other: Reading) -> None:
    with pytest.raises(Refusal, match="compared only under the same light and observer"):
        delta_e00(Reading(50, 0, 0, "D65", "10"), other)


def test_many_pairs_at_once_agree_with_what_was_published_in_both_directions() -> None:
    ones, others, published = (np.array(column) for column in zip(*PAIRS, strict=True))
    for found in (differences(ones, others), differences(others, ones)):
        assert [f"{number:.4f}" for number in found] == [f"{number:.4f}" for number in published]


@given(st.lists(READINGS, min_size=2, max_size=5), SCALES)
def test_many_pairs_at_once_are_what_one_at_a_time_is(readings: list[Reading], factors: str) -> None:
    figures = np.array([(one.lightness, one.a, one.b) for one in readings])
    found = differences(figures[:, None], figures[None, :], factors)
    assert found.shape == (len(readings), len(readings))
    for at, one in enumerate(readings):
        assert [delta_e00(one, other, factors) for other in readings] == pytest.approx(list(found[at]), abs=1e-6)
