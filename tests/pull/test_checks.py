"""What a shut compensating port would do, by the balance of volumes on another road."""

import pytest
from scipy.optimize import brentq

from pullcurve.pull.checks import HEATING, shut_port
from pullcurve.verbs.jobs import demo_job


def test_hot_fluid_behind_a_shut_port_fills_the_line() -> None:
    job = demo_job()
    line = job.brake_circuit
    assert line is not None
    pistons = line.pistons * 3.141592653589793 * line.piston_mm**2 / 4

    def swallowed(bar: float) -> float:
        """Volume in mm3 at a pressure, term by term from the file's own numbers."""
        gap = pistons * 2 * line.pad_gap_mm * (1 - 2.718281828459045 ** (-bar / line.gap_pressure_bar))
        seat = line.seat_volume_mm3 * (1 - 2.718281828459045 ** (-bar / line.seat_pressure_bar))
        hose = line.hose_length_m * line.hose_expansion_mm3_per_m_bar * bar
        fluid = line.fluid_volume_cm3 * 1e3 * bar / (line.fluid_bulk_modulus_gpa * 1e4)
        air = line.fluid_volume_cm3 * 10 * line.free_air_percent * bar / (bar + 1.01325)
        return float(gap + seat + hose + line.caliper_expansion_mm3_per_bar * bar + fluid + air)

    for heating, pressure in shut_port(job):
        grown = line.hot_fluid_cm3 * 1e3 * line.fluid_expansion_per_kelvin * heating
        assert pressure / 1e5 == pytest.approx(
            brentq(lambda bar, v=grown: swallowed(bar) - v, 0.0, 200.0), rel=1e-6
        )
    assert [heating for heating, _ in shut_port(job)] == list(HEATING)


def test_a_unit_without_a_brake_has_no_port_to_tell_of() -> None:
    assert shut_port(demo_job().model_copy(update={"brake_circuit": None})) == ()
