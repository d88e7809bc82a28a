"""A program of its own that writes so many visits in a book, and says the number of each once it is safe."""

import sys
from dataclasses import replace

from pullcurve.book import pages, store
from pullcurve.book.opening import opened, writing
from tests.book.lines import ANN, APRIL, FIRST

PADDING = b"# what a photo or a long job weighs\n" * 4000
"""So much in each entry that a blow often falls within the writing."""


def main(place: str, name: str, count: int) -> None:
    """Write visits, each with a ride note, until there are so many."""
    with opened(place) as book:
        for number in range(count):
            with writing(book) as page:
                machine = pages.machine_named(page, name)
                assert machine is not None
                store.hold_machine(page, machine.id)
                job = PADDING + f"{name} {number} {ANN.at}".encode()
                visit = store.add_visit(page, machine.id, replace(FIRST, job=job), ANN)
                store.add_ride(
                    page, visit, APRIL, {"brake.force_lock": 1, "brake.gap_rest": -1}, "a ride", ANN
                )
            print(visit, flush=True)


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], int(sys.argv[3]))
