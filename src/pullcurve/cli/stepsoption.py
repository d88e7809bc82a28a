"""The option that names a unit's own hardware, for every command that needs to know it."""

from pathlib import Path

import click

HARDWARE = click.option(
    "--hardware",
    type=click.Path(path_type=Path),
    metavar="FILE.toml",
    help="How this unit is screwed together; `steps --template` writes a file to go on from.",
)
