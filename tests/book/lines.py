"""Lines for books of the tests: a machine with two visits and one of everything else."""

from dataclasses import replace
from datetime import date

from pullcurve.book import store
from pullcurve.book.opening import Book, Page, writing
from pullcurve.studies.history import NewVisit, Service, Signed

MARCH, APRIL = date(2026, 3, 1), date(2026, 4, 2)
ANN, BEN = Signed("Ann", "2026-03-01T10:00:00Z"), Signed("Ben", "2026-04-02T16:30:00Z")
PNG = b"\x89PNG\r\n\x1a\n" + bytes(range(256))
RAW = b"travel_mm;force_newton\n0;1\n"

FIRST = NewVisit(
    day=MARCH,
    title="enduro, rear brake moved to the left hand",
    unit="unit 7",
    unit_name="two-lever unit",
    job="title = 'Änderung'\n".encode(),
    cams={
        "brake": ("brake-in0-tu0.0-st8.5", "brake cam · reach 0° in"),
        "assist": ("assist-in0-on10-fa0.40", "assist cam"),
        "clutch": ("clutch-in0-li10.50", "clutch cam"),
    },
    wishes={"brake.force_lock_newton": (58.0, 1.0)},
    readouts={"brake": {"force_lock": 75.4, "gap_bite": None}},
    words="Clutch tires the hand",
    services=(Service("grease"), Service("fluid", "DOT 4"), Service("boiling point", celsius=228.5)),
)
SECOND = replace(
    FIRST,
    day=APRIL,
    job=b"title = 'lighter'\n",
    cams={**FIRST.cams, "brake": ("brake-in0-tu0.0-st7.5", "brake cam · reach 0° in")},
    words="Bremse war zu schwer",
    reason="race tomorrow",
    hours={"mud": 6.0, "dry": 1.5},
    services=(),
)


def add_machine(page: Page, name: str = "north-12") -> int:
    """A machine that is not in the book yet."""
    number = store.add_machine(page, name, "below-knee prosthesis", "winter storage in the shed", ANN)
    assert number is not None
    return number


def add_all(page: Page, name: str = "north-12") -> int:
    """A machine with its history; returns its number."""
    machine = add_machine(page, name)
    store.add_visit(page, machine, FIRST, ANN)
    visit = store.add_visit(page, machine, SECOND, BEN)
    store.add_ride(page, visit, APRIL, {"brake.force_lock": -1, "clutch.force_peak": 2}, "müde Hand", BEN)
    pull = store.add_pull(
        page, visit, APRIL, RAW, BEN, lever="brake", file="pull 1.csv", told={"pulls": 3}, words="three pulls"
    )
    store.add_fit(page, pull, {"pad_gap_mm": {"value": 0.11}}, 1.25, "The pads stand wide.", BEN)
    store.add_proposal(
        page, visit, APRIL, {"brake": "brake-in0-tu0.3-st7.5"}, "find", "try before the race", BEN
    )
    store.add_photo(page, visit, APRIL, PNG, "flank.png", "image/png", "pit on the flank", BEN)
    store.set_due(page, machine, date(2026, 6, 1), "grease")
    return machine


def fill(book: Book, name: str = "north-12") -> int:
    """Write the same in one go."""
    with writing(book) as page:
        return add_all(page, name)
