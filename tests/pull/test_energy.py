"""Energy that loads take, against the books kept by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullcurve.pull.arrays import BrakeLine, ClutchCable, ClutchLine
from pullcurve.pull.energy import brake_energy, clutch_energy
from pullcurve.pull.mechanism import mechanism
from pullcurve.pull.solve import load_state, psi_at_stroke
from tests.laws.books import brake_stored, cable_stored, clutch_stored
from tests.pull.example import JOBS, rocker_with

MM = 1e-3


@given(st.floats(1.1, 8.0))
def test_brake_energy_is_that_of_the_books(travel_mm: float) -> None:
    rocker = rocker_with(mechanism(JOBS["two levers"]()), "brake")
    load, travel = rocker.load, travel_mm * MM
    assert isinstance(load, BrakeLine)
    pressure = load_state(rocker, psi_at_stroke(rocker, np.array([travel]))).pressure
    assert brake_energy(load, pressure)[0] == pytest.approx(brake_stored(load, travel, 0.0), rel=1e-8)


@pytest.mark.parametrize("name", ["two levers", "diaphragm"])
@given(travel_mm=st.floats(1.1, 9.0))
def test_clutch_energy_is_that_of_the_books(name: str, travel_mm: float) -> None:
    rocker = rocker_with(mechanism(JOBS[name]()), "clutch")
    load, travel = rocker.load, travel_mm * MM
    assert isinstance(load, ClutchLine)
    lift = load_state(rocker, psi_at_stroke(rocker, np.array([travel]))).lift
    assert clutch_energy(load, lift)[0] == pytest.approx(clutch_stored(load, travel), rel=1e-8)


@given(st.floats(1.1, 11.0))
def test_cable_energy_is_that_of_the_books(travel_mm: float) -> None:
    rocker = rocker_with(mechanism(JOBS["cable"]()), "clutch")
    load, travel = rocker.load, travel_mm * MM
    assert isinstance(load, ClutchCable)
    lift = load_state(rocker, psi_at_stroke(rocker, np.array([travel]))).lift
    assert clutch_energy(load, lift)[0] == pytest.approx(cable_stored(load, travel), rel=1e-8)


def test_no_pressure_holds_the_spring_alone() -> None:
    """By hand: at the shut port the return spring has gone 0.8 mm: 10 N x 0.8 mm + 1.2 N/mm (0.8 mm)^2/2 = 8.384 mJ."""
    load = rocker_with(mechanism(JOBS["two levers"]()), "brake").load
    assert isinstance(load, BrakeLine)
    assert float(brake_energy(load, np.asarray(0.0))) == pytest.approx(8.384e-3, rel=1e-12)
