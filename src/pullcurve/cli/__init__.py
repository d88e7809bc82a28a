"""The command line: parse what was typed, show what was found."""

from pullcurve.cli.bench import bench
from pullcurve.cli.bookread import book
from pullcurve.cli.cam import cam
from pullcurve.cli.commands import group, main
from pullcurve.cli.serve import serve
from pullcurve.cli.sheet import sheet
from pullcurve.cli.steps import steps

group.add_command(bench)
group.add_command(book)
group.add_command(cam)
group.add_command(serve)
group.add_command(sheet)
group.add_command(steps)

__all__ = ["main"]
