"""Open, start and show jobs: files that come in, and the ones that the package brings along."""

from importlib.resources import as_file, files
from pathlib import Path

from pullcurve.errors import BadInput, Fault
from pullcurve.intake.jobfile import parse_job, read_job, write_job
from pullcurve.parts.facts import data_text
from pullcurve.parts.job import Job
from pullcurve.pull.checks import check_job

TEMPLATE = "job.toml"
MAIN_DEMO = "enduro-300.toml"


def open_job(path: Path | str) -> Job:
    """Read a job file and check it whole, by comparison and by formula; raises BadInput with every fault."""
    known = Path(path)
    job = read_job(known)
    check_job(job, known.name)
    return job


def start(folder: Path | str) -> Path:
    """Write a commented job to start from into a folder; refuses to write over one."""
    target = make_folder(folder) / TEMPLATE
    try:
        with target.open("x", encoding="utf-8") as file:
            file.write(data_text("template_job.toml"))
    except FileExistsError:
        raise BadInput(
            Fault(str(target), "", "is there already and stays as it is; give another folder")
        ) from None
    except OSError as error:
        raise BadInput(Fault(str(target), "", f"cannot be written: {error.strerror}")) from None
    return target


def make_folder(folder: Path | str) -> Path:
    """A folder, new or there already; raises BadInput where there can be none."""
    place = Path(folder)
    if place.is_file():
        raise BadInput(Fault(str(place), "", "is a file; give a folder, new or there already"))
    try:
        place.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise BadInput(Fault(str(place), "", f"cannot be written: {error.strerror}")) from None
    return place


def demo_names() -> tuple[str, ...]:
    """File names of the demo jobs."""
    return tuple(
        sorted(
            entry.name
            for entry in files("pullcurve").joinpath("data/demo").iterdir()
            if entry.name.endswith(".toml")
        )
    )


def demo_job(name: str = MAIN_DEMO) -> Job:
    """One of the demo jobs, by file name."""
    if name not in demo_names():
        raise BadInput(Fault("demo", f'"{name}"', f"is not known here; known are {', '.join(demo_names())}"))
    with as_file(files("pullcurve").joinpath(f"data/demo/{name}")) as path:
        return open_job(path)


__all__ = ["demo_job", "demo_names", "make_folder", "open_job", "parse_job", "start", "write_job"]
