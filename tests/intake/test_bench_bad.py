"""Tables of readings that cannot be used, and the one line that each is told, written before it was seen."""

import random
import re
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pytest

from pullcurve.errors import BadInput
from pullcurve.intake import benchnumbers, benchtext
from pullcurve.intake.bench import read_bench

LOOP = [(0, 0), (5, 9), (10, 20), (15, 31), (20, 44), (25, 60), (20, 38), (15, 24), (10, 16), (5, 7), (0, 0)]
"""One pull: travel in mm, force in N."""

ONE = "at least two columns of numbers are needed, travel and force"
FEW = "allowed is up to 5% of them"
SEE_FORCE = "see its unit (--unit force=…) and its column (--column force=…)"
SEE_TRAVEL = "see its unit (--unit travel=…) and its column (--column travel=…)"
SEE_ANGLE = "see its unit (--unit angle=…) and its column (--column angle=…)"
SEE_PRESSURE = "see its unit (--unit pressure=…) and its column (--column pressure=…)"


def rows(*more: str, head: str = "travel mm,force N", separator: str = ",") -> str:
    """The loop as text, with other lines behind it."""
    return "\n".join([head, *(f"{place}{separator}{force}" for place, force in LOOP), *more])


def scaled(head: str, place: float = 1.0, force: float = 1.0, off: float = 0.0) -> str:
    """The loop in other units."""
    return "\n".join([head, *(f"{place * at!r},{force * (value + off)!r}" for at, value in LOOP)])


@dataclass(frozen=True, slots=True)
class Bad:
    """What a file holds, and what is said of it behind its name."""

    name: str
    content: str | bytes
    line: str
    columns: dict[str, str] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)
    drop_first: bool = False


NO_TABLE = [
    Bad("empty", b"", "is empty; a table of readings is needed"),
    Bad("blank lines", "\n\n  \n", f"holds no readings; {ONE}"),
    Bad("names only", "travel mm,force N\n", f"holds no readings; {ONE}"),
    Bad("prose", "Dear reader,\nthis is no table.\n", f"holds no readings; {ONE}"),
    Bad("a page", "<html>\n<body>1,2</body>\n</html>", f"holds no readings; {ONE}"),
    Bad("all bytes", bytes(range(256)) * 9, "is no text; readings are a table as text, such as a CSV file"),
    Bad("noise", random.Random(1).randbytes(4000),
        "is no text; readings are a table as text, such as a CSV file"),
    Bad("a picture", b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR" + bytes(200),
        "is no text; readings are a table as text, such as a CSV file"),
    Bad("half of UTF-16", "travel mm,force N\n1,2\n".encode("utf-16-le") + b"\xd8\xd8\xd8",
        "is no UTF-16 text from byte 44 on; readings are text"),
    Bad("one column", "force N\n1\n2\n3\n", "has one column of numbers; at least two are needed, travel and force"),
    Bad("three readings", "travel mm,force N\n0,0\n9,9\n20,30", "has 3 readings; a pull needs 4 at least"),
]  # fmt: skip

CELLS = [
    Bad("a word", rows("5,abc", "10,16"), "has 'abc' in line 13, force N; a number is needed"),
    Bad("an underscore", rows("5,1_0", "10,16"), "has '1_0' in line 13, force N; a number is needed"),
    Bad("a cell too many", rows("5,9,1", "10,16"), "has 3 columns in line 13; the lines above have 2"),
    Bad("a cell too few", rows("5", "10,16"), "has 1 columns in line 13; the lines above have 2"),
    Bad("a point among commas", rows("5,5;9.5", "10;16", head="Weg mm;Kraft N", separator=";"),
        "has '9.5' in line 13, Kraft N; decimals above have a comma, allowed is one of them throughout"),
    Bad("a comma among points", rows("5.5;9.5", "10;9,5", "9;9", head="Weg mm;Kraft N", separator=";"),
        "has '9,5' in line 14, Kraft N; decimals above have a point, allowed is one of them throughout"),
    Bad("thousands", rows("5,5;1.234,5", "10;16", head="Weg mm;Kraft N", separator=";"),
        "has '1.234,5' in line 13, Kraft N; a number is needed"),
    Bad("commas for both", "Weg mm,Kraft N\n" + "\n".join(f"{a},0,{b},5" for a, b in LOOP),
        "has commas between its columns and in its numbers; "
        "allowed are semicolons between columns, or numbers with a comma in quotes"),
    Bad("half of them empty", rows(*[f"{place}," for place, _ in LOOP]),
        f"has an empty cell or no number in 11 of 22 readings, first the force of reading 12; {FEW}"),
    Bad("NaN all over", "\n".join(["travel mm,force N", *(f"{a},{'NaN' if a % 2 else b}" for a, b in LOOP)]),
        f"has an empty cell or no number in 5 of 11 readings, first the force of reading 2; {FEW}"),
    Bad("a line between", "travel mm,force N\nstart of test\n" + rows().partition("\n")[2],
        "has 'start of test' in line 2, between names and readings; 2 numbers are needed, as in line 3"),
    Bad("a word in the second line", "a\n" + rows().replace("5,9\n", "x1,9\n", 1).replace("0,0\n", "0,0\n1,1\n", 1),
        "has 'x1' in line 5; a number is needed"),
]  # fmt: skip

COLUMNS = [
    Bad("no names", rows().partition("\n")[2],
        "has no line of names over its 2 columns; "
        "--column travel=1 --column force=2 --unit travel=mm --unit force=N say what they are"),
    Bad("no force", rows(head="travel mm,temperature"),
        "has no column that is known as the force; there are travel mm, temperature; "
        '--column force="temperature" says which it is'),
    Bad("no travel", rows(head="temperature,force N"),
        "has no column that is known as the travel; there are temperature, force N; "
        '--column travel="force N" says which it is'),
    Bad("two forces", "\n".join(f"{line},{line.split(',')[1]}" for line in rows().splitlines()),
        'has force N and force N, each of which may be the force; --column force="force N" says which'),
    Bad("a slip of the pen", rows(), "has no column 'travel' for the travel; did you mean travel mm?",
        columns={"travel": "travel"}),
    Bad("a column that is not there", rows(), "has no column '3' for the force; there are travel mm, force N",
        columns={"force": "3"}),
    Bad("a quantity that is not there", rows(),
        "has no quantity 'weight'; known are force, travel, angle, time, pressure", columns={"weight": "1"}),
    Bad("one column for two", rows(), "has one column for two quantities; allowed is one column for each",
        columns={"travel": "1", "force": "1"}),
]  # fmt: skip

UNITS = [
    Bad("no units", rows(head="travel,force"),
        "names too few units: force has no unit, travel has no unit; "
        "say --unit force=N|daN|kgf|lbf --unit travel=mm|cm|m|in"),
    Bad("a unit of nothing known", rows(head="travel [mm],force [bananas]"),
        "names too few units: force [bananas] is in 'bananas', no unit of force; say --unit force=N|daN|kgf|lbf"),
    Bad("kN is not N", rows(head="travel mm,force kN"),
        "names too few units: force kN has no unit; say --unit force=N|daN|kgf|lbf"),
    Bad("a force in mm", rows(), "names too few units: force N is in 'mm', no unit of force; "
        "say --unit force=N|daN|kgf|lbf", units={"force": "mm"}),
    Bad("5000 N", scaled("travel mm,force N", force=5000 / 60),
        f"has a largest force of 5000 N; plausible is 2 to 800 N: {SEE_FORCE}"),
    Bad("kgf taken for N and a weak pull", scaled("travel mm,force N", force=0.02),
        f"has a largest force of 1.2 N; plausible is 2 to 800 N: {SEE_FORCE}"),
    Bad("4 m", scaled("travel m,force N", place=4 / 25),
        f"has 4000 mm of travel in all; plausible is 2 to 150 mm: {SEE_TRAVEL}"),
    Bad("m taken for mm", scaled("travel mm,force N", place=1e-3),
        f"has 0.025 mm of travel in all; plausible is 2 to 150 mm: {SEE_TRAVEL}"),
    Bad("radians called degrees", scaled("angle °,force N", place=0.02),
        f"has 0.5 deg of angle in all; plausible is 1 to 90 deg: {SEE_ANGLE}"),
    Bad("degrees called radians", scaled("angle rad,force N"),  # 25 rad = 1432.4 deg
        f"has 1430 deg of angle in all; plausible is 1 to 90 deg: {SEE_ANGLE}"),
    Bad("bar called MPa", "\n".join(["travel mm,force N,p MPa", *(f"{a},{b},{b}" for a, b in LOOP)]),
        f"has a largest pressure of 600 bar; plausible is up to 300 bar: {SEE_PRESSURE}"),
]  # fmt: skip

PULLS = [
    Bad("a lever that stands", "\n".join(["travel mm,force N", *(f"7,{b}" for _, b in LOOP)]),
        "has 7 mm of travel throughout; a pull moves the lever"),
    Bad("pushed and pulled", scaled("travel mm,force N", off=-30),
        "has forces from -30 to 30 N; allowed is one sign throughout"),
    Bad("a force that falls, in either direction", "travel mm,force N\n3,60\n9,50\n15,40\n21,30\n27,20\n",
        "does not tell which way the lever was pulled: the force falls along the travel; "
        "allowed is a travel of 0 at rest that grows on the pull"),
    Bad("no second pull", rows(), "holds one pull, nothing without the first; "
        "allowed are two at least, or the first kept", drop_first=True),
    Bad("time that jumps", "\n".join(["time s,travel mm,force N", *(
        f"{(7 * row) % 11},{a},{b}" for row, (a, b) in enumerate(LOOP))]),
        "has 6 readings that are earlier than the one before; allowed is time that grows"),
]  # fmt: skip

GROUPS = {"table": NO_TABLE, "cell": CELLS, "column": COLUMNS, "unit": UNITS, "pull": PULLS}
FILES = [(f"{group}: {bad.name}", bad) for group, files in GROUPS.items() for bad in files]


@pytest.mark.parametrize("bad", [bad for _, bad in FILES], ids=[name for name, _ in FILES])
def test_bad_file_is_told_exactly(bad: Bad, tmp_path: Path) -> None:
    file = tmp_path / "pull.csv"
    file.write_bytes(bad.content if isinstance(bad.content, bytes) else bad.content.encode("utf-8"))
    with pytest.raises(BadInput) as refused:
        read_bench(file, columns=bad.columns, units=bad.units, drop_first=bad.drop_first)
    assert str(refused.value) == f"pull.csv: {bad.line}"


def test_readings_in_no_order_are_no_movement(tmp_path: Path) -> None:
    dice = np.random.default_rng(3)
    lines = [
        f"{place:.2f},{force:.1f}"
        for place, force in zip(dice.uniform(0, 25, 400), dice.uniform(0, 60, 400), strict=True)
    ]
    file = tmp_path / "pull.csv"
    file.write_text("travel mm,force N\n" + "\n".join(lines), encoding="utf-8")
    with pytest.raises(BadInput) as refused:
        read_bench(file)
    said = str(refused.value)
    assert re.match(
        r"pull\.csv: has a travel that scatters by [\d.]+ mm from reading to reading, of 2\d(\.\d+)? mm", said
    )
    assert said.endswith("allowed are readings of one lever in the order in which they were taken")


def test_what_is_no_file(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match=r"^pull\.csv: is not there$"):
        read_bench(tmp_path / "pull.csv")
    with pytest.raises(BadInput, match=r": is a folder; a table of readings is one file$"):
        read_bench(tmp_path)
    with pytest.raises(BadInput, match="cannot be read"):
        read_bench(tmp_path / "a\0b")


def test_files_beyond_all_measure(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "pull.csv"
    file.write_text(rows(), encoding="utf-8")
    monkeypatch.setattr(benchnumbers, "MOST_ROWS", 10)
    with pytest.raises(BadInput, match=r"^pull\.csv: has 11 lines of readings; allowed is up to 10$"):
        read_bench(file)
    monkeypatch.setattr(benchtext, "LARGEST", 50)
    with pytest.raises(BadInput, match=r"^pull\.csv: has 0 MB; allowed is up to 0 MB$"):
        read_bench(file)


def test_a_quote_that_never_ends(tmp_path: Path) -> None:
    file = tmp_path / "pull.csv"
    file.write_text(rows('5,"9' + "9" * 200_000, "10,16"), encoding="utf-8")
    with pytest.raises(BadInput, match="line 13, force N; a number is needed"):
        read_bench(file)
