"""How much of a soft brake lever is hose, and how much is air: the same cam on other lines."""

from math import isnan

from pullcurve import Job, demo_job, pull_levers


def with_line(job: Job, **changes: float | str) -> Job:
    """The same job with other values for its brake line, checked again."""
    typed = job.model_dump(exclude_unset=True)
    typed["brake_circuit"] |= changes
    return Job.model_validate(typed)


job = demo_job()
cases = {
    "as it is": job,
    "pads 0.2 mm off the disc": with_line(job, pad_gap_mm=0.2),
    "0.5 % of free air": with_line(job, free_air_percent=0.5),
    "rubber hose": with_line(job, hose_kind="rubber"),
}
for label, known in cases.items():
    brake = pull_levers(known).pull.brake
    assert brake is not None
    bite, lock = float(brake.travel_bite) * 1e3, float(brake.travel_lock) * 1e3
    locked = "no lock-up within the travel" if isnan(lock) else f"lock-up {lock - bite:4.1f} mm later"
    print(f"{label:25} bite after {bite:4.1f} mm, {locked}")
