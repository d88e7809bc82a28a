// Places in a job by their path, such as unit.levers.0.name: numbers are rows.

function steps(path) {
  return path.split(".").map((step) => (/^\d+$/.test(step) ? Number(step) : step));
}

export function at(job, path) {
  return steps(path).reduce((known, step) => known?.[step], job);
}

// Set a value, making the parts on the way; an undefined one is taken away.
export function put(job, path, value) {
  if (value === undefined) {
    take(job, path);
    return;
  }
  const way = steps(path);
  const last = way.pop();
  let known = job;
  way.forEach((step, place) => {
    known[step] ??= typeof (way[place + 1] ?? last) === "number" ? [] : {};
    known = known[step];
  });
  known[last] = value;
}

export function take(job, path) {
  const way = steps(path);
  const last = way.pop();
  const known = way.reduce((inside, step) => inside?.[step], job);
  if (Array.isArray(known)) known.splice(last, 1);
  else if (known) delete known[last];
}
