// The job and its history, kept in this browser; the address says which job and what a page shows of it.

const JOB = "pullcurve.job.";
const LAST = "pullcurve.last";
const VIEW = "pullcurve.view.";
const PAGE = "pullcurve.page.";
const MOST_PAST = 50;
const MOST_BESIDE = 1_500_000; // characters that a page keeps beside a job
const ONE_MOVE = 1500; // ms within which changes of one thing are one step back

const listeners = new Set();
const checkers = new Set();
let id = null;
let state = null; // { job, tried, past: [{label, job, tried}], future: [...] }
let stamp = { label: "", at: 0 };
let checked = null;

const kept = {
  read(key) {
    try {
      return JSON.parse(localStorage.getItem(key));
    } catch {
      return null;
    }
  },
  write(key, value) {
    try {
      localStorage.setItem(key, JSON.stringify(value));
      return true;
    } catch {
      return false; // full, or not allowed: the page goes on without
    }
  },
};

export const store = {
  // The job as plain data: only what was given. Change it through change() or replace().
  get job() {
    return state?.job ?? null;
  },
  get id() {
    return id;
  },
  // Last answer of the server about this job: { faults, origins, block, ... }, or null.
  get checked() {
    return checked;
  },
  get canUndo() {
    return Boolean(state?.past.length);
  },
  get canRedo() {
    return Boolean(state?.future.length);
  },
  // fn(job) is called now if there is a job, and after every change.
  subscribe(fn) {
    listeners.add(fn);
    if (state) fn(state.job);
    return () => listeners.delete(fn);
  },
  // fn(answer) is called after the server looked at the job.
  onChecked(fn) {
    checkers.add(fn);
    if (checked) fn(checked);
    return () => checkers.delete(fn);
  },
  setChecked(answer) {
    checked = answer;
    for (const fn of checkers) fn(answer);
  },
  // Change a copy of the job; the label names the step for undo, equal labels in quick succession are one step.
  change(label, mutate) {
    const next = structuredClone(state.job);
    mutate(next);
    put(label, next);
  },
  replace(label, job) {
    put(label, structuredClone(job));
  },
  // Ids of cams that are tried on the bench in place of fitted ones.
  get tried() {
    return state?.tried ?? [];
  },
  try(label, ids) {
    put(label, state.job, ids);
  },
  undo() {
    step(state.past, state.future);
  },
  redo() {
    step(state.future, state.past);
  },
};

const same = (one, other) => JSON.stringify(one) === JSON.stringify(other);

function put(label, next, tried = store.tried) {
  const now = Date.now();
  if (same(next, state.job) && same(tried, store.tried)) return;
  if (label !== stamp.label || now - stamp.at > ONE_MOVE) {
    state.past.push({ label, job: state.job, tried: store.tried });
    state.past.splice(0, state.past.length - MOST_PAST);
  }
  stamp = { label, at: now };
  state = { job: next, tried, past: state.past, future: [] };
  keep();
  heard();
}

function step(from, to) {
  const there = from.pop();
  if (!there) return;
  to.push({ label: there.label, job: state.job, tried: store.tried });
  state.job = there.job;
  state.tried = there.tried ?? [];
  stamp = { label: "", at: 0 };
  keep();
  heard();
}

function keep() {
  while (!kept.write(JOB + id, state) && state.past.length) state.past.shift();
  kept.write(LAST, id);
}

function heard() {
  for (const fn of listeners) fn(state.job);
}

// What a page shows, in the address and kept beside the job: view.get("kind", "brake"), view.set("kind", "clutch").
export const view = {
  get(name, fallback = null) {
    const there = new URLSearchParams(location.search).get(name);
    return there ?? kept.read(VIEW + id)?.[name] ?? fallback;
  },
  set(name, value) {
    const address = new URL(location.href);
    if (value === null || value === "") address.searchParams.delete(name);
    else address.searchParams.set(name, value);
    history.replaceState(null, "", address);
    kept.write(VIEW + id, { ...kept.read(VIEW + id), [name]: value });
  },
};

// Files and answers of a page, kept beside the job. They share the room that the browser gives with the jobs
// themselves, so each page has its bound, and those of other jobs go first where it is full.
export const beside = {
  get: (page) => kept.read(`${PAGE}${page}.${id}`),
  // Whether it could be kept: not where it is larger than a page may have, or where the browser is full.
  set(page, value) {
    const key = `${PAGE}${page}.${id}`;
    localStorage.removeItem(key);
    if (value === null) return true;
    if (JSON.stringify(value).length > MOST_BESIDE) return false;
    if (kept.write(key, value)) return true;
    for (const other of Object.keys(localStorage)) {
      if (other.startsWith(PAGE) && !other.endsWith(`.${id}`)) localStorage.removeItem(other);
    }
    return kept.write(key, value);
  },
};

function open(wanted) {
  const found = wanted && kept.read(JOB + wanted);
  if (!found?.job) return false;
  id = wanted;
  state = { past: [], future: [], ...found };
  return true;
}

// Put a job into this browser under a name of its own and open it.
export function adopt(job) {
  id = Array.from(crypto.getRandomValues(new Uint8Array(4)), (byte) => byte.toString(16).padStart(2, "0")).join("");
  state = { job: structuredClone(job), past: [], future: [] };
  stamp = { label: "", at: 0 };
  checked = null;
  keep();
  name();
  heard();
}

// Jobs of this browser: [{ id, title }].
export function jobs() {
  return Object.keys(localStorage)
    .filter((key) => key.startsWith(JOB))
    .map((key) => ({ id: key.slice(JOB.length), title: kept.read(key)?.job?.title ?? "" }));
}

// Open another job of this browser.
export function openJob(wanted) {
  if (!open(wanted)) return;
  checked = null;
  kept.write(LAST, id);
  name();
  heard();
}

function name() {
  const address = new URL(location.href);
  address.searchParams.set("job", id);
  history.replaceState(null, "", address);
}

// Open the job of the address, else the last one, else the demo; resolves when there is a job.
export const ready = (async () => {
  const wanted = new URLSearchParams(location.search).get("job");
  if (!open(wanted) && !open(kept.read(LAST))) {
    const response = await fetch("/api/jobs/demo/enduro-300");
    adopt(await response.json());
    return;
  }
  kept.write(LAST, id);
  name();
  heard();
})();

// The same job in another window of this browser: the newest writing stands.
addEventListener("storage", (event) => {
  if (event.key === JOB + id && event.newValue) {
    state = { past: [], future: [], ...JSON.parse(event.newValue) };
    heard();
  }
});
