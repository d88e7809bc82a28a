"""A gauge on a serial port: a microcontroller that writes one line of text for every reading.

The format of a line is ours and small enough for any board::

    time_ms;force_newton;travel_mm
    0;0.4;0.02
    10;0.6;0.11

One line of names, sent first and again whenever the board likes (every second or so, for whoever listens late), then
one line of numbers per reading, ended by a line feed. Decimals have a point. Columns may stand in any order: time_ms
or time_s, force_newton (or _kgf, _lbf), travel_mm (or _in) or angle_deg, and pressure_bar if there is one. Without a
line of names the columns are those above, a fourth is pressure_bar. Lines that begin with # are remarks. A line that is
spoilt on the way is left out; twenty of them in a row end the capture.
"""

from collections.abc import Iterator, Mapping
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

from pullcurve.errors import BadInput
from pullcurve.intake.benchcolumns import Column, matched
from pullcurve.intake.benchtext import NUMBER, REMARK, Sheet, cells
from pullcurve.intake.files import refused
from pullcurve.intake.gauge import Sample
from pullcurve.intake.places import short

if TYPE_CHECKING:
    from serial import Serial

USUAL = ("time_ms", "force_newton", "travel_mm", "pressure_bar")
"""Columns of a board that sends no names."""

BAUD = 115_200
PATIENCE = 3.0
"""Seconds without a line after which a gauge counts as silent."""

MOST_SPOILT = 20
"""Lines in a row that may be spoilt on the way."""

LONGEST_LINE = 400
FORM = "a line such as 10;0.6;0.11 (time_ms;force_newton;travel_mm)"


class SerialGauge:
    """A gauge on a port such as COM3 or ttyUSB0; holds the port while it reads, and the columns that were named."""

    def __init__(self, port: str, baud: int = BAUD, patience: float = PATIENCE) -> None:
        """Nothing is opened yet."""
        self.port = port
        self.baud = baud
        self.patience = patience
        self._columns: Mapping[str, Column] = {}
        self._line: Serial | None = None

    @property
    def name(self) -> str:
        """The port's name, without its folders."""
        return Path(self.port).name or self.port

    @property
    def angular(self) -> bool:
        """Whether the board sends angles."""
        return "angle" in self._columns

    def samples(self) -> Iterator[Sample]:
        """Readings as the board sends them; BadInput where the port is not there, is silent or sends something else."""
        spoilt = 0
        for number, text in enumerate(self._lines()):
            if text.startswith(REMARK) or self._names(text):
                continue
            sample = self._sample(text)
            if sample is not None:
                spoilt = 0
                yield sample
            elif number:  # the first line may have been half over
                spoilt += 1
            if spoilt == MOST_SPOILT:
                raise self._refused(f"sends {short(text)!r}; allowed is {FORM}")

    def close(self) -> None:
        """Set the port free."""
        if self._line is not None:
            self._line.close()
            self._line = None

    def _refused(self, said: str) -> BadInput:
        return refused(Path(self.name), said)

    def _lines(self) -> Iterator[str]:
        """Lines as text, as they come."""
        with closing(self._opened()) as line:
            while self._line is not None:
                try:
                    raw = line.read_until(b"\n", LONGEST_LINE)
                except (OSError, ValueError, TypeError):
                    raise self._refused(
                        "was unplugged or taken by another program while it was read"
                    ) from None
                if not raw:
                    said = f"sends nothing for {self.patience:g} s; wanted is {FORM}, at {self.baud} baud"
                    raise self._refused(said)
                if text := raw.decode("ascii", "replace").strip():
                    yield text

    def _opened(self) -> "Serial":
        """The port, open."""
        try:
            from serial import serial_for_url
        except ImportError:
            said = "needs a package to read serial ports; pip install 'pullcurve[gauge]' brings it"
            raise self._refused(said) from None
        try:
            self._line = serial_for_url(self.port, self.baud, timeout=self.patience)
        except (OSError, ValueError, OverflowError) as error:
            raise self._refused(f"cannot be opened: {_reason(error)}") from None
        return self._line

    def _names(self, text: str) -> bool:
        """Whether a line holds names of columns; they hold from there on."""
        names = cells(text, ";")
        if len(names) < 3 or any(NUMBER.fullmatch(name) for name in names) or not text.isascii():
            return False
        try:
            known = _columns(self.name, tuple(names))
        except BadInput:
            return False
        if "time" in known:
            self._columns = known
        return "time" in known

    def _sample(self, text: str) -> Sample | None:
        """The reading of a line; None for a spoilt one."""
        row = cells(text, ";")
        if len(row) < 3 or not all(NUMBER.fullmatch(cell) and "," not in cell for cell in row):
            return None
        known = self._columns or _columns(self.name, USUAL[: len(row)])
        if max(column.place for column in known.values()) >= len(row):
            return None
        value = {key: float(row[column.place]) * column.factor for key, column in known.items()}
        place = value["angle"] if "angle" in value else value["travel"]
        return Sample(value["time"], value["force"], place, value.get("pressure"))


def _columns(name: str, names: tuple[str, ...]) -> dict[str, Column]:
    """Columns by their names, as in a file."""
    sheet = Sheet(
        file=Path(name),
        lines=[],
        first=0,
        end=0,
        separator=";",
        comma=False,
        names=names,
        width=len(names),
        above=frozenset(),
        said=(),
    )
    return matched(sheet, {}, {})[0]


def _reason(error: Exception) -> str:
    """Why a port does not open, in few words."""
    number = getattr(error, "errno", None)
    if number == 2:
        return "there is no such port; is the gauge plugged in?"
    if number in (13, 16):
        return "it is in use by another program, or not yours to read"
    return "there is no gauge on it that can be read"
