"""Find the best set for a job and compare it with what is fitted."""

from pullcurve import Fitted, demo_job, find_sets, pull_levers

job = demo_job()  # or open_job("job.toml")
best = find_sets(job).best
now, then = pull_levers(job), pull_levers(job, Fitted(**best))

print("best set:", ", ".join(cam.id for cam in best.values()))
for label, known in (("fitted", now), ("best", then)):
    brake, clutch = known.pull.brake, known.pull.clutch
    print(f"{label}: lock-up at {brake.force_lock[0]:.0f} N, clutch peak {clutch.force_peak:.0f} N")
