"""Limits and fits: rows against the formulas behind the standard, against each other, and against hand values."""

import math

import pytest

from pullcurve.errors import BadInput
from pullcurve.parts.facts import table
from pullcurve.parts.fit import play_mm, zone_of, zones

BANDS = {(0, 3): 2, (3, 6): 5, (6, 10): 8, (10, 18): 13, (18, 30): 20}
"""Ends of the bands and a diameter in each, mm."""

GRADE = {"6": 10.0, "7": 16.0, "8": 25.0}
"""Tolerance grades as multiples of the tolerance unit (ISO 286-1, basis of tolerances; from memory)."""


def middle(band: tuple[int, int]) -> float:
    """Geometric mean of a band's ends, mm; the first band counts from 1."""
    return math.sqrt(max(band[0], 1) * band[1])


def fundamental(letter: str, band: tuple[int, int]) -> float:
    """Deviation nearest to the nominal, micrometres, by the formulas behind the standard (from memory)."""
    d = middle(band)
    by_letter: dict[str, float] = {
        "f": -5.5 * d**0.41,
        "g": -2.5 * d**0.34,
        "h": 0.0,
        "k": 0.6 * d ** (1 / 3),
        "n": 5.0 * d**0.34,
    }
    return by_letter[letter]


# Below 3 mm the standard is coarser than its own formula.
@pytest.mark.parametrize("band", [band for band in BANDS if band[0]])
def test_width_of_every_zone_is_its_grade(band: tuple[int, int]) -> None:
    d = middle(band)
    unit = 0.45 * d ** (1 / 3) + 0.001 * d
    for name in zones(BANDS[band]):
        zone = zone_of(name, BANDS[band])
        width = 1e3 * (zone.upper_mm - zone.lower_mm)
        assert width == pytest.approx(GRADE[name[-1]] * unit, abs=1.2)  # the standard rounds to whole ones


@pytest.mark.parametrize("band", [band for band in BANDS if band[0]])
@pytest.mark.parametrize("name", ["f7", "g6", "h6", "k6", "n6"])
def test_shaft_lies_where_its_formula_says(band: tuple[int, int], name: str) -> None:
    zone = zone_of(name, BANDS[band])
    near = zone.lower_mm if name[0] in "kn" else zone.upper_mm
    assert 1e3 * near == pytest.approx(fundamental(name[0], band), abs=1.0)


@pytest.mark.parametrize("band", BANDS)
def test_zones_of_one_grade_are_equally_wide_and_holes_begin_at_the_nominal(band: tuple[int, int]) -> None:
    known = [zone_of(name, BANDS[band]) for name in zones(BANDS[band])]
    for grade in "678":
        widths = {round(zone.upper_mm - zone.lower_mm, 6) for zone in known if zone.name.endswith(grade)}
        assert len(widths) <= 1
    assert all(zone.lower_mm == 0.0 for zone in known if zone.name[0] == "H")


@pytest.mark.parametrize("diameter", [12.0, 13.0])
def test_bores_of_the_trade(diameter: float) -> None:
    hole, shaft = zone_of("H7", diameter), zone_of("g6", diameter)
    assert (hole.smallest_mm, hole.largest_mm) == pytest.approx((diameter, diameter + 0.018))
    assert (shaft.smallest_mm, shaft.largest_mm) == pytest.approx((diameter - 0.017, diameter - 0.006))
    assert play_mm(hole, shaft) == pytest.approx((0.006, 0.035))
    assert play_mm(hole, zone_of("h6", diameter)) == pytest.approx((0.0, 0.029))
    assert play_mm(zone_of("H8", diameter), zone_of("f7", diameter)) == pytest.approx((0.016, 0.061))
    assert play_mm(hole, zone_of("p6", diameter)) == pytest.approx((-0.029, 0.0))


@pytest.mark.parametrize(
    ("diameter", "upper"), [(3, 10), (6, 12), (10, 15), (16, 18), (18, 18), (18.001, 21)]
)
def test_band_holds_its_upper_end(diameter: float, upper: float) -> None:
    assert 1e3 * zone_of("H7", diameter).upper_mm == pytest.approx(upper)


def test_unknown_zone_or_diameter_gives_one_line() -> None:
    with pytest.raises(
        BadInput, match="plate: bore_fit is Z9; allowed at 13 mm is H7, H8, f7, g6, h6, k6, n6, p6"
    ):
        zone_of("Z9", 13.0)
    with pytest.raises(BadInput, match="plate: bore_fit is for 31 mm; the limits here end at 30 mm"):
        zone_of("H7", 31.0)
    assert zones(31.0) == ()


def test_table_names_its_source() -> None:
    assert table("iso286")["source"] and table("iso286")["mark"] == "read"
