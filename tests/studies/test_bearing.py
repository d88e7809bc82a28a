"""Pressure on the flank and load of the roller, by hand."""

from dataclasses import replace

import numpy as np
import pytest

from pullcurve.mechanics.curve import FloatArray
from pullcurve.parts import facts
from pullcurve.pull.loop import LeverPull, pull
from pullcurve.pull.mechanism import mechanism
from pullcurve.pull.plate import Metal, cam_metal, rocker_of
from pullcurve.studies.bearing import material, pressure_finding, roller_finding, roller_rating, stress_along
from pullcurve.studies.findings import Case, case_of
from tests.studies import shop

ROCKER = "unit__levers__0__rockers__0__"
STEEL = 207e9 / (1 - 0.3**2) / 2
"""Contact modulus of steel on steel, from E = 207 GPa and nu = 0.3 [Pa]."""


def loaded(force: float | FloatArray) -> LeverPull:
    """The demo's brake lever pulled, with the contact force put in its place."""
    pulled = pull(mechanism(shop.known())).levers[0]
    rockers = tuple(
        replace(
            rocker,
            contact_pull=np.broadcast_to(np.asarray(force, dtype=np.float64), pulled.curves.theta.shape),
        )
        for rocker in pulled.curves.rockers
    )
    return replace(pulled, curves=replace(pulled.curves, rockers=rockers))


def case(curvature: float, made: str = "hardened steel") -> Case:
    """A flank of one curvature under a roller of 6 mm, 8 mm of contact: the worked cases of the literature notes."""
    job = shop.changed(shop.known(), **{f"{ROCKER}roller_width_mm": 8.6, f"{ROCKER}roller_radius_mm": 6})
    metal = cam_metal(job, "brake")
    return case_of(
        job,
        replace(
            metal,
            curvature=np.full_like(metal.theta, curvature),
            thickness=0.01,
            material=made,
        ),
    )


@pytest.mark.parametrize(
    ("curvature", "made", "expected_mpa"),
    [
        # F = 1500 N, r = 6 mm, L = 8 mm: p = sqrt(F E*/(pi L R)), 1/R = 1/r + kappa, by hand and by a second library.
        (50.0, "hardened steel", 1212.750),
        (-50.0, "hardened steel", 889.915),
        (0.0, "hardened steel", 1063.652),
        (50.0, "7075", 876.7043),
        (-50.0, "7075", 643.3251),
        (50.0, "brass", 978.217),
    ],
)
def test_pressure_of_the_worked_cases(curvature: float, made: str, expected_mpa: float) -> None:
    found = pressure_finding(case(curvature, made), loaded(1500.0))
    assert found.value == pytest.approx(expected_mpa * 1e6, rel=1e-6)
    assert found.unit == "gpa"


def test_pressure_by_hand_and_its_place() -> None:
    """The force grows to the end of the travel: that is where the pressure is greatest."""
    pulled = loaded(1.0)
    end = float(pulled.end[0])
    known = loaded(900.0 * (pulled.curves.theta / end))
    found = pressure_finding(case(-50.0), known)
    by_hand = np.sqrt(900.0 * STEEL * (1 / 0.006 - 50.0) / (np.pi * 0.008))
    assert found.value == pytest.approx(by_hand, rel=1e-9)
    assert found.where_deg == pytest.approx(np.rad2deg(end))
    assert f"at {np.rad2deg(end):.1f}° of lever under 900 N" in found.sentence


def test_steel_bears_what_aluminium_does_not() -> None:
    hard, soft = (pressure_finding(case(50.0, made), loaded(1500.0)) for made in ("hardened steel", "7075"))
    assert hard.ok
    assert not soft.ok
    assert "too hard" in soft.sentence
    assert "no allowable for rolling on 7075 was found" in soft.sentence
    assert "no allowable" not in hard.sentence


def test_limit_is_the_material_s_own_or_a_share_of_first_yield() -> None:
    """First yield at p = 1.665 R_p (shear after Tresca); six tenths of it is the yield strength within a thousandth."""
    assert material("hardened steel").allowed == pytest.approx(1.5e9)
    assert material("steel").allowed == pytest.approx(2.76e6 * 290 - 70e6, rel=5e-3)
    for name, strength in (("7075", 503e6), ("brass", 310e6), ("titanium", 880e6)):
        assert material(name).allowed == pytest.approx(0.6 * 1.665 * strength, rel=1e-3)


def test_hollow_deeper_than_the_roller_is_no_line_contact() -> None:
    found = pressure_finding(case(-200.0), loaded(1500.0))
    assert np.isnan(found.value)
    assert not found.ok
    assert "not known" in found.sentence


def test_stress_along_the_flank_stands_beside_its_stations() -> None:
    job = shop.known()
    metal, pulled = cam_metal(job, "brake"), pull(mechanism(job)).levers[0]
    along = stress_along(job, metal, pulled)
    assert along.shape == metal.theta.shape
    inside = (metal.theta >= 0) & (metal.theta <= float(pulled.end[0]))
    assert np.all(np.isnan(along) == ~inside)
    found = pressure_finding(case_of(job, metal), pulled)
    assert np.nanmax(along) == pytest.approx(found.value, rel=2e-3)
    curves = pulled.curves.rocker("brake")
    assert curves is not None
    middle = int(np.argmin(np.abs(metal.theta - 0.2)))
    force = np.interp(metal.theta[middle], pulled.curves.theta, curves.contact_pull)
    by_hand = np.sqrt(force * STEEL * (1 / 0.004 + metal.curvature[middle]) / (np.pi * 0.0054))
    assert along[middle] == pytest.approx(by_hand, rel=1e-9)


# The roller -----------------------------------------------------------------------------------------------------------


def test_needles_by_hand() -> None:
    """Roller 8 mm on a 4 mm pin, 6 mm wide: 1 mm needles on a 5 mm circle, 15 of them, 5 mm long."""
    _, rocker = rocker_of(shop.known(), "brake")
    rating = 44.0 * (1 - 1 / 5) * 15 * 5 * 1
    assert roller_rating(rocker) == pytest.approx(rating / (1.5 * 1.2), rel=1e-9)


def test_plain_pin_by_hand() -> None:
    """55 MPa on a pin of 4 mm, 6 mm wide."""
    job = shop.changed(shop.known(), **{f"{ROCKER}roller_friction": 0.12})
    assert roller_rating(rocker_of(job, "brake")[1]) == pytest.approx(55 * 4 * 6)


@pytest.mark.parametrize(("force", "ok"), [(1400.0, True), (1500.0, False)])
def test_roller_against_its_load(force: float, ok: bool) -> None:
    known = shop.known()
    found = roller_finding(case_of(known, cam_metal(known, "brake")), loaded(force))
    assert found.ok is ok
    assert found.value == force
    assert ("too weak" in found.sentence) is not ok


def test_every_number_has_source_and_mark() -> None:
    marks = {"read", "common practice", "from memory", "computed", "choice"}
    table = facts.table("materials")
    groups = [
        *table["materials"].values(),
        *(table[key] for key in ("roller", "cutting", "smoothness", "tolerance")),
    ]
    for group in groups:
        for entry in group.values():
            assert entry["source"]
            assert entry["mark"] in marks
    assert set(table["materials"]) == {"steel", "hardened steel", "7075", "brass", "titanium"}


def test_metal_names_a_known_material() -> None:
    metal: Metal = cam_metal(shop.known(), "brake")
    assert material(metal.material).elastic_modulus == pytest.approx(207e9)
