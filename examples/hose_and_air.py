"""How much of a soft brake lever is hose, how much is air: the same cam with another hose and with an unbled line."""

from pullcurve import Job, demo_job, pull_levers


def with_line(job: Job, **changes: float | str) -> Job:
    """The same job with other values for its brake line, checked again."""
    typed = job.model_dump(exclude_unset=True)
    typed["brake_circuit"] |= changes
    return Job.model_validate(typed)


job = demo_job()
cases = {
    "as it is": job,
    "rubber hose": with_line(job, hose_kind="rubber"),
    "1 % of free air": with_line(job, free_air_percent=1.0),
}
for label, known in cases.items():
    brake = pull_levers(known).pull.brake
    assert brake is not None
    bite, lock, left = (float(way) * 1e3 for way in (brake.travel_bite, brake.travel_lock, brake.travel_left))
    print(f"{label:16} bite after {bite:4.1f} mm, lock-up after {lock:4.1f} mm, {left:4.1f} mm left to the grip")
