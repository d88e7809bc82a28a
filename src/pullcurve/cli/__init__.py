"""The command line: parse what was typed, show what was found."""

from pullcurve.cli.commands import main

__all__ = ["main"]
