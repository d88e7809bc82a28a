"""What happens when something goes wrong: one clear line, the right exit code, never a traceback."""

import os
import sys
import tempfile
import traceback
from collections.abc import Callable
from typing import Any

import click

from pullcurve.errors import PullcurveError

BROKEN_PIPE, INTERRUPTED, BUG = 141, 130, 70


def save_report(error: BaseException) -> str:
    """Write what a bug left behind to a file and return its path."""
    handle, path = tempfile.mkstemp(prefix="pullcurve-report-", suffix=".txt", text=True)
    with os.fdopen(handle, "w", encoding="utf-8") as report:
        report.write("".join(traceback.format_exception(error)))
    return path


def usage_line(error: click.ClickException) -> str:
    """What was typed wrong, in one line of our own; the help where nothing was typed at all."""
    if error.format_message().startswith("Usage: "):
        return error.format_message()
    context = getattr(error, "ctx", None)
    where = context.command_path if context is not None else "pullcurve"
    said = error.format_message().replace("Invalid value for ", "").replace("Invalid value: ", "")
    return f"{where}: {' '.join(said.split())} (see {where} --help)"


def run(command: Callable[[], Any]) -> int:
    """Run the command line and return its exit code: that of the command where it has one, 0 where it has none."""
    try:
        code = command()
    except PullcurveError as error:
        click.echo(str(error), err=True)
        return error.exit_code
    except click.exceptions.NoArgsIsHelpError as error:
        error.show()
        return error.exit_code
    except click.ClickException as error:
        click.echo(usage_line(error), err=True)
        return error.exit_code
    except (click.Abort, KeyboardInterrupt):
        click.echo("stopped", err=True)
        return INTERRUPTED
    except BrokenPipeError:
        # Whoever read our output has gone; the interpreter must not try to flush into the void.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return BROKEN_PIPE
    except Exception as error:  # noqa: BLE001  the last fence: anything that arrives here is a bug of ours
        click.echo(
            f"pullcurve has a fault of its own; what happened is written in {save_report(error)}", err=True
        )
        return BUG
    return code if isinstance(code, int) else 0
