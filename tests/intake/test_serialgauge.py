"""Boards on serial ports, as they come over a pseudo-terminal and over the library's own loop."""

import os
import sys
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from pullcurve.errors import BadInput
from pullcurve.intake.bench import read_bench
from pullcurve.intake.gauge import Sample, capture
from pullcurve.intake.serialgauge import MOST_SPOILT, SerialGauge
from tests.intake.pulls import planned

PLAN = planned(pulls=2, way_in=60, hold=10, rest=20)

serial = pytest.importorskip("serial", reason="reads serial ports with the extra [gauge]")
pty = pytest.mark.skipif(sys.platform == "win32", reason="has no pseudo-terminals")

LINES = [
    f"{1000 * time:.0f};{force:.3f};{travel:.4f}"
    for time, force, travel in zip(PLAN.time.tolist(), PLAN.force.tolist(), PLAN.travel.tolist(), strict=True)
]


@contextmanager
def board(monkeypatch: pytest.MonkeyPatch, text: bytes) -> Iterator[str]:
    """A pseudo-terminal on which a board writes a text as soon as somebody has opened it; yields the port's name."""
    ours, theirs = os.openpty()
    os.set_blocking(ours, False)
    opened, over = threading.Event(), threading.Event()
    real = serial.serial_for_url

    def opening(*args: Any, **more: Any) -> Any:
        line = real(*args, **more)
        opened.set()
        return line

    def writing() -> None:
        left = text if opened.wait(10) else b""
        while left and not over.is_set():
            try:
                left = left[os.write(ours, left[:512]) :]
            except BlockingIOError:  # nobody has read the last of it yet
                over.wait(0.002)

    monkeypatch.setattr(serial, "serial_for_url", opening)
    writer = threading.Thread(target=writing, daemon=True)
    writer.start()
    port = os.ttyname(theirs)
    os.close(theirs)
    try:
        yield port
    finally:
        over.set()
        opened.set()
        writer.join(10)
        os.close(ours)


def sent(lines: Sequence[str], head: str = "time_ms;force_newton;travel_mm", end: str = "\n") -> bytes:
    return end.join([head, *lines, ""]).encode("ascii")


def taken(text: bytes, monkeypatch: pytest.MonkeyPatch, count: int) -> list[Sample]:
    """Readings that a board's text gives, so many of them."""
    with board(monkeypatch, text) as port:
        gauge = SerialGauge(port, patience=5.0)
        found = []
        for sample in gauge.samples():
            found.append(sample)
            if len(found) == count:
                break
        gauge.close()
        gauge.close()
    return found


@pty
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_a_board_is_read_as_it_wrote(monkeypatch: pytest.MonkeyPatch, end: str) -> None:
    with board(monkeypatch, sent(LINES, end=end)) as port:
        # counted in readings, since the board falls silent after its last one
        pull = capture(
            SerialGauge(port, patience=5.0), until=lambda sample: sample.time >= PLAN.time[-1] - 1e-9
        )
        assert pull.name == Path(port).name
    np.testing.assert_allclose(pull.force, PLAN.force, atol=0.5e-3)
    np.testing.assert_allclose(pull.place, PLAN.travel * 1e-3, atol=0.5e-7)
    assert pull.time is not None
    np.testing.assert_allclose(pull.time, PLAN.time, atol=1e-9)
    assert pull.cycles == 2 and pull.remarks == () and not pull.angular


@pty
def test_a_board_that_falls_silent_has_ended(monkeypatch: pytest.MonkeyPatch) -> None:
    with board(monkeypatch, sent(LINES)) as port:
        pull = capture(SerialGauge(port, patience=0.5))
    np.testing.assert_allclose(pull.force, PLAN.force, atol=0.5e-3)
    assert len(pull.remarks) == 1
    assert pull.remarks[0].startswith(
        "the gauge sends nothing for 0.5 s; wanted is a line such as 10;0.6;0.11"
    )


@pty
@pytest.mark.parametrize(
    ("head", "row", "expected"),
    [
        # 1 lbf = 4.448 221 615 260 5 N, 1 kgf = 9.806 65 N, 1 in = 25.4 mm (NIST SP 811, appendix B.8)
        ("travel_in;force_lbf;time_s", "0.5;2.0;1.25", Sample(1.25, 8.896443230521, 0.0127)),
        ("force_kgf;time_ms;travel_mm;pressure_bar", "2;1250;5;3", Sample(1.25, 19.6133, 0.005, 3e5)),
        ("time_s;angle_deg;force_newton", "1.25;18;9", Sample(1.25, 9.0, np.pi / 10)),
        ("# no names at all", "1250;9;5", Sample(1.25, 9.0, 0.005)),
        ("# no names at all", "1250;9;5;3", Sample(1.25, 9.0, 0.005, 3e5)),
    ],
)
def test_columns_and_units_of_a_board(
    monkeypatch: pytest.MonkeyPatch, head: str, row: str, expected: Sample
) -> None:
    (found,) = taken(sent([row], head), monkeypatch, 1)
    assert found.time == pytest.approx(expected.time)
    assert found.force == pytest.approx(expected.force, rel=1e-12)
    assert found.place == pytest.approx(expected.place, rel=1e-12)
    assert (found.pressure is None) == (expected.pressure is None)
    if expected.pressure is not None:
        assert found.pressure == pytest.approx(expected.pressure)


@pty
def test_whether_places_are_angles_is_known_after_the_first_reading(monkeypatch: pytest.MonkeyPatch) -> None:
    with board(monkeypatch, sent(["0;1;2", "10;3;4"], "time_ms;angle_deg;force_newton")) as port:
        gauge = SerialGauge(port, patience=5.0)
        samples = gauge.samples()
        next(samples)
        assert gauge.angular
        samples.close()  # type: ignore[attr-defined]
        gauge.close()


@pty
def test_names_again_remarks_and_spoilt_lines_are_passed_over(monkeypatch: pytest.MonkeyPatch) -> None:
    spoilt = [
        "0.4;17;",
        "12;0;",
        "1\xff2;3;4",
        ";;",
        "10;0,5;3",
        "10;x;3",
        "1;2",
        "",
        "# a remark; here; too",
    ]
    text = b";5;3.1\n" + sent(LINES[:5]) + "\n".join(spoilt).encode("latin-1") + b"\n" + sent(LINES[5:10])
    found = taken(text, monkeypatch, 10)
    np.testing.assert_allclose([sample.force for sample in found], PLAN.force[:10], atol=0.5e-3)


@pty
def test_a_board_that_speaks_another_language_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    with (
        board(monkeypatch, b"F=12.5N s=3.1mm\r\n" * (MOST_SPOILT + 5)) as port,
        pytest.raises(BadInput) as refused,
    ):
        capture(SerialGauge(port, patience=5.0))
    assert str(refused.value) == (
        f"{Path(port).name}: sends 'F=12.5N s=3.1mm'; "
        "allowed is a line such as 10;0.6;0.11 (time_ms;force_newton;travel_mm)"
    )


@pty
def test_a_board_that_sends_no_end_of_line_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    with (
        board(monkeypatch, b"\x00\xff" * 400 * (MOST_SPOILT + 3)) as port,
        pytest.raises(BadInput, match="sends '"),
    ):
        capture(SerialGauge(port, patience=5.0))


@pty
def test_a_silent_board_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    with board(monkeypatch, b"") as port, pytest.raises(BadInput) as refused:
        capture(SerialGauge(port, 9600, patience=0.2))
    assert str(refused.value) == (
        f"{Path(port).name}: sends nothing for 0.2 s; "
        "wanted is a line such as 10;0.6;0.11 (time_ms;force_newton;travel_mm), at 9600 baud"
    )


@pty
def test_a_board_that_is_unplugged_loses_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    with board(monkeypatch, sent(LINES)) as port:
        gauge = SerialGauge(port, patience=5.0)

        def unplug(sample: Sample) -> None:
            if sample.time >= PLAN.time[-1] - 1e-9:
                monkeypatch.setattr(gauge._line, "read_until", _gone)

        pull = capture(gauge, told=unplug)
    np.testing.assert_allclose(pull.force, PLAN.force, atol=0.5e-3)
    said = "the gauge was unplugged or taken by another program while it was read: the capture ended there"
    assert pull.remarks == (said,)


def _gone(*args: object) -> bytes:
    raise serial.SerialException("device disconnected")


def test_a_loop_of_the_library_is_a_port_too(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is written to pyserial's own loop:// comes back on it, on every system."""
    line = serial.serial_for_url("loop://", timeout=5.0)
    line.write(sent(LINES[:40]))
    monkeypatch.setattr(serial, "serial_for_url", lambda *args, **more: line)
    gauge = SerialGauge("loop://")
    samples = gauge.samples()
    found = [next(samples) for _ in range(40)]
    gauge.close()
    np.testing.assert_allclose([sample.place for sample in found], PLAN.travel[:40] * 1e-3, atol=0.5e-7)
    with pytest.raises(StopIteration):
        next(samples)


def test_a_port_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(BadInput) as refused:
        capture(SerialGauge(str(tmp_path / "ttyNONE")))
    assert str(refused.value) == "ttyNONE: cannot be opened: there is no such port; is the gauge plugged in?"
    with pytest.raises(BadInput, match=r"cannot be opened: there is no gauge on it that can be read$"):
        capture(SerialGauge("nothing://known"))
    file = tmp_path / "file"
    file.write_text("no port", encoding="utf-8")
    with pytest.raises(BadInput, match=r"^file: cannot be opened: "):
        capture(SerialGauge(str(file)))


def test_what_a_board_sent_to_a_file_is_read_like_any_other(tmp_path: Path) -> None:
    """Names once more in between, as a board may send them."""
    file = tmp_path / "board.txt"
    head = "time_ms;force_newton;travel_mm"
    file.write_bytes(sent(LINES[:100]) + sent(LINES[100:], head))
    np.testing.assert_allclose(read_bench(file).force, PLAN.force, atol=0.5e-3)
