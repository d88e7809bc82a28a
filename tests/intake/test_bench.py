"""Bench pulls of any logger: what was written by the standard library is read back, in whatever way it was written."""

from pathlib import Path

import numpy as np
import pytest

from pullcurve.errors import BadInput
from pullcurve.intake.bench import read_bench
from pullcurve.studies.benchpull import PULL, RELEASE
from tests.intake.pulls import Floats, planned, table

PLAN = planned()
USUAL = (
    ("time [s]", PLAN.time),
    ("travel [mm]", PLAN.travel),
    ("force [N]", PLAN.force),
    ("pressure [bar]", PLAN.pressure),
)
TEN = """\
0 0
3 4
6 8.5
9 14
12 19
15 25.5
18 30
21 38
24 49
26 60
"""
"""Ten points as somebody notes them: travel in mm, force in N."""

TEN_TRAVEL = np.array([0, 3, 6, 9, 12, 15, 18, 21, 24, 26]) * 1e-3
TEN_FORCE = np.array([0, 4, 8.5, 14, 19, 25.5, 30, 38, 49, 60])


def close(found: Floats | None, expected: Floats, digits: float = 0.5e-6) -> None:
    """What was read is what was written, within the digits that were written."""
    assert found is not None
    np.testing.assert_allclose(found, expected, rtol=1e-12, atol=digits * 1.01)


# Decimals, separators, encodings ------------------------------------------------------------------------------


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "latin-1"])
@pytest.mark.parametrize(
    ("separator", "comma", "quoted"),
    [(",", False, False), (";", True, False), (";", False, False), ("\t", True, False), ("\t", False, False),
     (",", True, False), (",", True, True), (",", False, True), (";", True, True)],
)  # fmt: skip
def test_all_ways_to_write_a_table(
    tmp_path: Path, separator: str, comma: bool, quoted: bool, encoding: str
) -> None:
    file = table(
        tmp_path / "pull.csv", USUAL, separator=separator, comma=comma, quoted=quoted, encoding=encoding
    )
    pull = read_bench(file)
    close(pull.time, PLAN.time)
    close(pull.place, PLAN.travel * 1e-3, 0.5e-9)
    close(pull.force, PLAN.force)
    close(pull.pressure, PLAN.pressure * 1e5, 0.05)
    assert not pull.angular
    assert pull.remarks == ()
    assert pull.cycles == 4


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_ends_of_lines(tmp_path: Path, end: str) -> None:
    file = table(tmp_path / "pull.csv", USUAL)
    file.write_bytes(file.read_bytes().replace(b"\n", end.encode()))
    close(read_bench(file).force, PLAN.force)


def test_columns_among_blanks(tmp_path: Path) -> None:
    rows = [f"  {place:8.3f}   {force:8.3f} " for place, force in zip(PLAN.travel, PLAN.force, strict=True)]
    file = tmp_path / "pull.txt"
    file.write_text("travel [mm] force [N]\n" + "\n".join(rows), encoding="utf-8")
    pull = read_bench(file)
    close(pull.force, PLAN.force, 0.5e-3)
    close(pull.place, PLAN.travel * 1e-3, 0.5e-6)


def test_whole_numbers_first_and_a_comma_much_later(tmp_path: Path) -> None:
    rows = [
        f"{place};{force:g}".replace(".", ",")
        for place, force in zip(range(26), range(0, 78, 3), strict=True)
    ]
    rows[20] = "20;60,25"
    file = tmp_path / "pull.csv"
    file.write_text("Weg [mm];Kraft [N]\n" + "\n".join(rows), encoding="utf-8")
    assert read_bench(file).force[20] == 60.25


# Names and units ----------------------------------------------------------------------------------------------

# NIST SP 811, appendix B.8: the size of each unit in SI, written out once more here.
FORCES = {
    "N": 1.0,
    "daN": 10.0,
    "kgf": 9.80665,
    "lbf": 4.4482216152605,
    "kg": 9.80665,
    "lbs": 4.4482216152605,
}
TRAVELS = {"mm": 1e-3, "cm": 1e-2, "in": 0.0254, "m": 1.0, "inch": 0.0254, "Zoll": 0.0254}
ANGLES = {"°": np.pi / 180, "deg": np.pi / 180, "rad": 1.0, "Grad": np.pi / 180}
PRESSURES = {"bar": 1e5, "psi": 6894.757293168361, "kPa": 1e3, "MPa": 1e6}
TIMES = {"s": 1.0, "ms": 1e-3, "sek": 1.0}


@pytest.mark.parametrize("unit", FORCES)
def test_units_of_force(tmp_path: Path, unit: str) -> None:
    file = table(
        tmp_path / "p.csv", [("travel [mm]", PLAN.travel), (f"force [{unit}]", PLAN.force / FORCES[unit])]
    )
    close(read_bench(file).force, PLAN.force, 0.5e-6 * FORCES[unit])


@pytest.mark.parametrize("unit", TRAVELS)
def test_units_of_travel(tmp_path: Path, unit: str) -> None:
    travel = PLAN.travel * 1e-3 / TRAVELS[unit]
    file = table(tmp_path / "p.csv", [(f"Weg ({unit})", travel), ("Kraft (N)", PLAN.force)])
    close(read_bench(file).place, PLAN.travel * 1e-3, 0.5e-6 * TRAVELS[unit])


@pytest.mark.parametrize("unit", ANGLES)
def test_units_of_angle(tmp_path: Path, unit: str) -> None:
    angle = PLAN.travel * np.pi / 180 / ANGLES[unit]
    pull = read_bench(table(tmp_path / "p.csv", [(f"Winkel [{unit}]", angle), ("Kraft [N]", PLAN.force)]))
    assert pull.angular
    close(pull.place, PLAN.travel * np.pi / 180, 0.5e-6 * ANGLES[unit])


@pytest.mark.parametrize("unit", PRESSURES)
def test_units_of_pressure(tmp_path: Path, unit: str) -> None:
    columns = [
        ("travel mm", PLAN.travel),
        ("force N", PLAN.force),
        (f"line pressure {unit}", PLAN.pressure * 1e5 / PRESSURES[unit]),
    ]
    close(
        read_bench(table(tmp_path / "p.csv", columns)).pressure, PLAN.pressure * 1e5, 0.5e-6 * PRESSURES[unit]
    )


@pytest.mark.parametrize("unit", TIMES)
def test_units_of_time(tmp_path: Path, unit: str) -> None:
    columns = [
        ("travel mm", PLAN.travel),
        ("force N", PLAN.force),
        (f"Zeit in {unit}", PLAN.time / TIMES[unit]),
    ]
    close(read_bench(table(tmp_path / "p.csv", columns)).time, PLAN.time, 0.5e-6 * TIMES[unit])


@pytest.mark.parametrize(
    ("travel", "force"),
    [
        ("travel_mm", "force_N"),
        ("Travel mm", "Force N"),
        ("Hebelweg [mm]", "Handkraft [N]"),
        ("Fingerweg in mm", "Fingerkraft in N"),
        ("pos [mm]", "load [N]"),
        ("x [mm]", "F [N]"),
        ("mm", "N"),
        ("TRAVEL(mm)", "FORCE(N)"),
        ("travelMm", "forceN"),
        ("lever travel {mm}", "pull {newton}"),
        ("displacement_mm", "Last_N"),
    ],
)
def test_names_in_english_and_german(tmp_path: Path, travel: str, force: str) -> None:
    file = table(tmp_path / "p.csv", [("state", PLAN.time * 0), (force, PLAN.force), (travel, PLAN.travel)])
    pull = read_bench(file)
    close(pull.force, PLAN.force)
    close(pull.place, PLAN.travel * 1e-3, 0.5e-9)


def test_units_in_a_line_of_their_own(tmp_path: Path) -> None:
    file = table(tmp_path / "p.csv", [("mm", PLAN.travel), ("N", PLAN.force)], above=["Weg,Kraft"])
    close(read_bench(file).force, PLAN.force)
    file = table(tmp_path / "p.csv", [("[mm]", PLAN.travel), ("[kgf]", PLAN.force)], above=["Weg,Kraft"])
    close(read_bench(file).force, PLAN.force * 9.80665, 0.5e-5)


def test_what_was_asked_for_wins(tmp_path: Path) -> None:
    both = [("a", PLAN.travel / 10), ("b", PLAN.force), ("force [N]", PLAN.force * 2), ("c", PLAN.pressure)]
    file = table(tmp_path / "p.csv", both)
    pull = read_bench(
        file,
        columns={"travel": "A", "force": "2", "pressure": "c"},
        units={"travel": "in", "force": "lbf", "pressure": "psi"},
    )
    close(pull.place, PLAN.travel * 0.00254, 0.5e-7)
    close(pull.force, PLAN.force * 4.4482216152605, 0.5e-5)
    close(pull.pressure, PLAN.pressure * 6894.757293168361, 0.005)


def test_a_unit_that_was_asked_for_wins_over_the_one_that_is_named(tmp_path: Path) -> None:
    file = table(tmp_path / "p.csv", [("travel [mm]", PLAN.travel), ("force [N]", PLAN.force)])
    close(read_bench(file, units={"force": "kgf"}).force, PLAN.force * 9.80665, 0.5e-5)


def test_travel_is_taken_where_there_is_an_angle_too(tmp_path: Path) -> None:
    columns = [("angle [°]", PLAN.travel * 2), ("travel [mm]", PLAN.travel), ("force [N]", PLAN.force)]
    file = table(tmp_path / "p.csv", columns)
    pull = read_bench(file)
    assert not pull.angular
    assert pull.remarks == ("angle (angle [°]) is not used",)
    asked = read_bench(file, columns={"angle": "angle [°]"})
    assert asked.angular
    close(asked.place, PLAN.travel * np.pi / 90, 1e-8)


def test_a_clock_and_a_time_without_a_unit_are_told_and_left_out(tmp_path: Path) -> None:
    rows = [
        f"12:30:{row % 60:02d},{place},{force}"
        for row, (place, force) in enumerate(zip(TEN_TRAVEL * 1e3, TEN_FORCE, strict=True))
    ]
    file = tmp_path / "p.csv"
    file.write_text("time [s],travel mm,force N\n" + "\n".join(rows), encoding="utf-8")
    pull = read_bench(file)
    assert pull.time is None
    assert pull.remarks == ("time [s] holds times of day and is not used",)
    file = table(file, [("time", PLAN.time), ("travel mm", PLAN.travel), ("force N", PLAN.force)])
    assert read_bench(file).remarks == (
        "time has no unit and is not used; --unit time=s|ms says which it is",
    )
    close(read_bench(file, units={"time": "s"}).time, PLAN.time)


# What stands above, between and below the readings ------------------------------------------------------------


def test_names_are_found_below_a_preamble(tmp_path: Path) -> None:
    above = [
        "Logger 4 channels,,,", "Sample rate,100,,", "Serial,12345,,", "Channels,3,,", "", "Range,0,800,N",
        "Date,2026-05-14,12:30,", "# job: enduro-300.toml", "# lever: Clutch",
        "# fitted: clutch-in0-li10.50, assist-in0-on10-fa0.40", "comment,a word,and another,",
    ]  # fmt: skip
    pull = read_bench(table(tmp_path / "p.csv", USUAL, above=above))
    close(pull.force, PLAN.force)
    assert pull.job == "enduro-300.toml"
    assert pull.lever == "clutch"
    assert pull.fitted == ("clutch-in0-li10.50", "assist-in0-on10-fa0.40")
    assert pull.name == "p.csv"


@pytest.mark.parametrize("sign", ["#", "%", "//"])
def test_names_in_a_remark(tmp_path: Path, sign: str) -> None:
    columns = [(f"{sign} travel [mm]", PLAN.travel), ("force [N]", PLAN.force)]
    pull = read_bench(table(tmp_path / "p.csv", columns, above=[f"{sign} job: a job.toml"]))
    close(pull.force, PLAN.force)
    assert pull.job == "a job.toml"
    assert pull.lever is None


def test_a_separator_too_many(tmp_path: Path) -> None:
    file = table(tmp_path / "p.csv", USUAL)
    text = file.read_text(encoding="utf-8")
    head, _, rows = text.partition("\n")
    for spoilt in (head + "\n" + rows.replace("\n", ",\n"), head + ",\n" + rows, text.replace("\n", ",\n")):
        file.write_text(spoilt, encoding="utf-8")
        pull = read_bench(file)
        close(pull.force, PLAN.force)
        close(pull.pressure, PLAN.pressure * 1e5, 0.05)


def test_remarks_blank_lines_and_names_once_more_between_the_readings(tmp_path: Path) -> None:
    file = table(tmp_path / "p.csv", USUAL)
    head, *rows = file.read_text(encoding="utf-8").splitlines()
    rows[50:50] = ["# a remark: here", "", head]
    file.write_text("\n".join([head, *rows, "", "  ", ""]), encoding="utf-8")
    pull = read_bench(file)
    close(pull.force, PLAN.force)
    assert pull.remarks == ()


def test_a_last_line_that_breaks_off_is_left_out(tmp_path: Path) -> None:
    file = table(tmp_path / "p.csv", USUAL)
    lines = file.read_text(encoding="utf-8").splitlines()
    file.write_text("\n".join(lines) + "\n12.5,3.", encoding="utf-8")
    pull = read_bench(file)
    close(pull.force, PLAN.force)
    assert pull.remarks == (f"line {len(lines) + 1} breaks off and was left out",)


def test_cells_in_which_nothing_was_read(tmp_path: Path) -> None:
    file = table(tmp_path / "p.csv", USUAL)
    lines = file.read_text(encoding="utf-8").splitlines()
    for row, typed in (
        (40, ""),
        (100, "nan"),
        (150, "NaN"),
        (200, "---"),
        (250, "inf"),
        (300, "OL"),
        (350, "1e99"),
    ):
        cells = lines[row + 1].split(",")
        lines[row + 1] = ",".join([*cells[:2], typed, cells[3]])
    file.write_text("\n".join(lines), encoding="utf-8")
    pull = read_bench(file)
    kept = np.setdiff1d(np.arange(PLAN.force.size), (40, 100, 150, 200, 250, 300, 350))
    close(pull.force, PLAN.force[kept])
    assert pull.remarks == ("7 readings with an empty cell left out",)


def test_a_pressure_that_was_hardly_taken_is_not_used(tmp_path: Path) -> None:
    pressure = np.where(np.arange(PLAN.force.size) % 10, np.nan, PLAN.pressure)
    columns = [("travel mm", PLAN.travel), ("force N", PLAN.force), ("pressure bar", pressure)]
    pull = read_bench(table(tmp_path / "p.csv", columns))
    close(pull.force, PLAN.force)
    assert pull.pressure is None
    missing = int(np.count_nonzero(np.isnan(pressure)))
    assert pull.remarks == (f"pressure is missing in {missing} of {pressure.size} readings and is not used",)


# By hand ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "travel_mm force_N\n" + TEN,
        "travel force\nmm N\n" + TEN,
        "# travel in mm, force in N\nmm\tN\n" + TEN.replace(" ", "\t"),
        "Weg mm;Kraft N\n" + TEN.replace(" ", ";").replace(".", ","),
        "Weg in mm   Kraft in N\n" + TEN.replace(" ", "   ").replace(".", ","),
        "travel [mm] , force [N]\n" + TEN.replace(" ", " , "),
        "\n\ntravel mm,force N\n\n" + TEN.replace(" ", ",").replace("\n", "\n\n"),
    ],
)
def test_ten_points_typed_by_hand(tmp_path: Path, text: str) -> None:
    file = tmp_path / "ten.txt"
    file.write_text(text.rstrip("\n"), encoding="utf-8")
    pull = read_bench(file)
    close(pull.place, TEN_TRAVEL, 0.0)
    close(pull.force, TEN_FORCE, 0.0)
    assert set(pull.branch.tolist()) == {PULL}
    assert pull.cycles == 1
    assert pull.remarks == ()


def test_ten_points_without_names_are_asked_for(tmp_path: Path) -> None:
    file = tmp_path / "ten.txt"
    file.write_text(TEN, encoding="utf-8")
    with pytest.raises(BadInput):
        read_bench(file)
    pull = read_bench(file, columns={"travel": "1", "force": "2"}, units={"travel": "mm", "force": "N"})
    close(pull.force, TEN_FORCE, 0.0)


def test_ten_points_in_and_out(tmp_path: Path) -> None:
    file = tmp_path / "ten.txt"
    file.write_text("mm N\n0 0\n6 9\n12 20\n18 31\n24 50\n24 44\n18 25\n12 16\n6 7\n0 0\n", encoding="utf-8")
    pull = read_bench(file)
    assert pull.force[pull.branch == PULL].tolist() == [0, 9, 20, 31, 50]
    assert pull.force[pull.branch == RELEASE].tolist()[-4:] == [25, 16, 7, 0]
    assert pull.cycles == 1


# Which way ----------------------------------------------------------------------------------------------------


FALLS = "travel falls on the pull; turned round"


@pytest.mark.parametrize(
    ("travel", "force", "remarks"),
    [
        (-PLAN.travel, PLAN.force, (FALLS,)),
        (40 - PLAN.travel, PLAN.force, (FALLS, "travel is 40 mm at rest; counted from there")),
        (PLAN.travel, -PLAN.force, ("forces are negative throughout; turned round",)),
        (PLAN.travel + 12, PLAN.force, ("travel is 12 mm at rest; counted from there",)),
        (PLAN.travel - 7, PLAN.force, ("travel is -7 mm at rest; counted from there",)),
        (-PLAN.travel, -PLAN.force, ("forces are negative throughout; turned round", FALLS)),
    ],
)  # fmt: skip
def test_readings_the_other_way_round_are_turned_and_told(
    tmp_path: Path, travel: Floats, force: Floats, remarks: tuple[str, ...]
) -> None:
    pull = read_bench(table(tmp_path / "p.csv", [("travel [mm]", travel), ("force [N]", force)]))
    assert pull.remarks == remarks
    close(pull.place, PLAN.travel * 1e-3, 1e-9)
    close(pull.force, PLAN.force)


def test_one_way_only_backwards(tmp_path: Path) -> None:
    file = tmp_path / "ten.txt"
    rows = [f"{26 - place:g} {force:g}" for place, force in zip(TEN_TRAVEL * 1e3, TEN_FORCE, strict=True)]
    file.write_text("travel_mm force_N\n" + "\n".join(rows), encoding="utf-8")
    pull = read_bench(file)
    close(pull.place, TEN_TRAVEL, 1e-12)
    assert pull.remarks == (
        "travel falls on the pull; turned round",
        "travel is 26 mm at rest; counted from there",
    )
    assert set(pull.branch.tolist()) == {PULL}


# The first pull -----------------------------------------------------------------------------------------------


def test_the_first_pull_is_left_out_on_request(tmp_path: Path) -> None:
    file = table(tmp_path / "p.csv", USUAL)
    whole, rest = read_bench(file), read_bench(file, drop_first=True)
    assert (whole.cycles, rest.cycles) == (4, 3)
    assert rest.remarks == ("the first of 4 pulls left out",)
    for way in (PULL, RELEASE):
        moving = (PLAN.way == way) & (PLAN.cycle > 0) & (PLAN.travel > 2.0) & (PLAN.travel < 22.0)
        inner = (rest.branch == way) & (rest.place > 2e-3) & (rest.place < 22e-3)
        close(rest.force[inner], PLAN.force[moving])
    assert rest.time is not None and rest.pressure is not None
    assert rest.time.size == rest.pressure.size == rest.force.size
    assert int(rest.cycle.min()) == 0
