"""One change at a time: which cams were exchanged between two sets, and how many changes that makes."""

from dataclasses import dataclass

from pullcurve.parts.cams import Fitted
from pullcurve.parts.unit import ControlUnit
from pullcurve.pull.mechanism import Cam

KINDS = ("brake", "clutch", "assist")


@dataclass(frozen=True, slots=True)
class Exchanged:
    """One cam for another; None where there is none."""

    kind: str
    off: Cam | None
    on: Cam | None

    @property
    def reach(self) -> bool:
        """Whether the lever's reach changes with it."""
        return self.off is not None and self.on is not None and self.off.reach_deg != self.on.reach_deg

    @property
    def words(self) -> str:
        """What came off and what went on."""
        off, on = (cam.id if cam else "none" for cam in (self.off, self.on))
        return f"{off} → {on}"


def exchanged(before: Fitted, after: Fitted, unit: ControlUnit) -> tuple[tuple[Exchanged, ...], ...]:
    """What was exchanged, one change each; both cams of one lever that change their reach together are one."""
    found: list[tuple[Exchanged, ...]] = []
    for lever in unit.levers:
        kinds = [rocker.drives for rocker in lever.rockers]
        pairs = [Exchanged(kind, getattr(before, kind), getattr(after, kind)) for kind in kinds]
        changed = [pair for pair in pairs if pair.off != pair.on]
        together = tuple(pair for pair in changed if pair.reach)
        if together:
            found.append(together)
        found += [(pair,) for pair in changed if not pair.reach]
    return tuple(found)
