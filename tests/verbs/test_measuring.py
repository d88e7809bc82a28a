"""Measured pulls as verbs: whose job, which lever, what is remembered, what goes into the job."""

from datetime import date
from pathlib import Path

import numpy as np
import pytest

from pullcurve.errors import BadInput
from pullcurve.intake.jobfile import job_text, parse_job
from pullcurve.parts.job import Job
from pullcurve.parts.origin import origins
from pullcurve.studies.benchpull import BenchPull
from pullcurve.verbs import jobs, measuring


@pytest.fixture(scope="module")
def job() -> Job:
    return jobs.demo_job()


@pytest.fixture(scope="module")
def pull(job: Job) -> BenchPull:
    """Pulls of the simulated gauge: the brake of the demo job as its file says."""
    return measuring.capture_pull(measuring.gauge_of("simulated", job=job, lever="brake"))


def table(path: Path, head: str, *lines: str) -> Path:
    path.write_text("\n".join([head, *lines]) + "\n", encoding="utf-8")
    return path


def loop(factor: float = 1.0) -> list[str]:
    """A loop of a hand that pulls 60 N over 30 mm and lets go along half of it."""
    inward = [f"{travel};{factor * 2.0 * travel:.4f}" for travel in range(31)]
    outward = [f"{travel};{factor * 1.0 * travel:.4f}" for travel in range(30, -1, -1)]
    return [*inward, *outward]


# Whose pull ---------------------------------------------------------------------------------------------------


def test_simulated_gauge_plays_the_pull_of_the_job(job: Job, pull: BenchPull) -> None:
    from pullcurve.verbs.asking import pull_levers

    known = pull_levers(job).pull.levers[0].curves
    travel, force = np.ravel(known.travel), np.ravel(known.pull)
    # At both ends the force steps at one place, and a reading there may belong to either branch.
    inward = (pull.branch == 1) & (pull.place > 0.002) & (pull.place < travel[-1] - 0.001)
    expected = np.interp(pull.place[inward], travel, force)
    steepest = float(np.max(np.gradient(force, travel)[travel > 0.002]))
    noise = np.hypot(measuring.NOISE_NEWTON, measuring.NOISE_MM * 1e-3 * steepest)
    assert pull.cycles == 3
    assert float(np.std(pull.force[inward] - expected)) < 1.2 * noise


def test_job_beside_the_file_is_taken(tmp_path: Path, job: Job) -> None:
    (tmp_path / "mine.toml").write_text(job_text(job), encoding="utf-8")
    file = table(tmp_path / "p.csv", "# job: mine.toml\n# lever: brake\ntravel_mm;force_newton", *loop())
    known = measuring.on_job(measuring.read_pull(file), folder=tmp_path)
    assert (known.job, known.lever) == (job, "brake")


def test_demo_job_is_found_by_its_name(tmp_path: Path) -> None:
    file = table(
        tmp_path / "p.csv", "# job: enduro-250.toml\n# lever: clutch\ntravel_mm;force_newton", *loop()
    )
    known = measuring.on_job(measuring.read_pull(file), folder=tmp_path)
    assert known.job == jobs.demo_job("enduro-250.toml")


def test_cams_that_the_file_names_are_on(tmp_path: Path, job: Job) -> None:
    assert job.rack is not None
    other = next(
        cam for cam in job.rack.brake_cams if job.fitted.brake is None or cam.id != job.fitted.brake.id
    )
    head = f"# lever: brake\n# fitted: {other.id}\ntravel_mm;force_newton"
    known = measuring.on_job(measuring.read_pull(table(tmp_path / "p.csv", head, *loop())), job)
    assert known.job.fitted.brake == other


@pytest.mark.parametrize(
    ("head", "said"),
    [
        ("travel_mm;force_newton", "names no job; give --job"),
        ("# job: nowhere.toml\ntravel_mm;force_newton", "nowhere.toml: is not there"),
        ("# job: enduro-300.toml\ntravel_mm;force_newton", "does not say which lever it is about"),
    ],
)
def test_pull_of_nobody_knows_what_is_one_line(tmp_path: Path, head: str, said: str) -> None:
    file = table(tmp_path / "p.csv", head, *loop())
    with pytest.raises(BadInput, match=said):
        measuring.on_job(measuring.read_pull(file), folder=tmp_path)


# Columns ------------------------------------------------------------------------------------------------------


def test_what_was_said_of_columns_is_remembered(tmp_path: Path) -> None:
    file = table(tmp_path / "p.csv", "a;b", *loop())
    memory = tmp_path / "own"
    said = {"columns": {"travel": "a", "force": "b"}, "units": {"travel": "mm", "force": "kgf"}}
    first = measuring.read_pull(file, **said, memory=memory)  # type: ignore[arg-type]
    again = measuring.read_pull(file, memory=memory)
    assert np.array_equal(first.force, again.force)
    assert float(np.max(again.force)) == pytest.approx(60.0 * 9.80665, rel=1e-3)
    with pytest.raises(BadInput):
        measuring.read_pull(file)


# Compare and adopt --------------------------------------------------------------------------------------------


def test_a_quarter_more_force_is_felt(tmp_path: Path) -> None:
    before = measuring.read_pull(table(tmp_path / "a.csv", "travel_mm;force_newton", *loop()))
    after = measuring.read_pull(table(tmp_path / "b.csv", "travel_mm;force_newton", *loop(1.25)))
    known = measuring.compare_pulls(before, after)
    assert known.labels == ("a.csv", "b.csv")
    half = next(one for one in known.compared.readings if one.before.label == "pull force at half travel")
    assert half.after.value / half.before.value == pytest.approx(1.25, rel=1e-6)
    assert "a day later too" in known.compared.sentence


def test_what_the_job_predicts_stands_before_what_was_read(job: Job, pull: BenchPull) -> None:
    known = measuring.against_predicted(measuring.on_job(pull, job, "brake"))
    assert known.labels[0] == "predicted"
    assert "No finger can tell" in known.compared.sentence


def test_what_the_pull_told_is_measured_in_the_job(job: Job, pull: BenchPull) -> None:
    fitted = measuring.fit_pull(measuring.on_job(pull, job, "brake"))
    known = measuring.adopt(fitted, date(2026, 3, 1))
    again = parse_job(job_text(known), "again")
    assert again == known
    marked = [path for path, origin in origins(again).items() if origin.source == "measured"]
    assert marked
    assert all(again.measured[path].date == date(2026, 3, 1) for path in marked)
    assert all(again.measured[path].low <= again.measured[path].high for path in marked)
