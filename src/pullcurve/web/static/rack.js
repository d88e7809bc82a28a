// A drawn or read cam in the open job: on its rack, on the machine, seen on the bench.

import { store } from "./store.js";

let ids = new Set(); // of the cams that the rows of the rack stand for

// What the rack holds now, as the server reads its rows.
export function onShelf(cams) {
  ids = new Set(cams.map((cam) => cam.id));
  showAll();
}

const same = (one, other) => JSON.stringify(one) === JSON.stringify(other);

// A cam as a job holds it.
function numbers({ id: _, name: __, ...kept }) {
  return kept;
}

function laid(job, kind, cam) {
  const rows = job.rack?.[kind] ?? [];
  if (ids.has(cam.id)) return;
  if (!rows.some((row) => same(row, numbers(cam)))) job.rack = { ...job.rack, [kind]: [...rows, numbers(cam)] };
}

export function onRack(kind, cams) {
  store.change(`rack ${cams.map((cam) => cam.id).join(" + ")}`, (job) => {
    for (const cam of cams) laid(job, kind, cam);
  });
}

export function fitCam(kind, cam) {
  store.change(`fit ${cam.id}`, (job) => {
    laid(job, kind, cam);
    job.fitted = { ...job.fitted, [kind]: numbers(cam) };
  });
}

const isFitted = (kind, cam) => same(store.job.fitted?.[kind], numbers(cam));
const isThere = (kind, cam) => ids.has(cam.id) || Boolean(store.job.rack?.[kind]?.some((row) => same(row, numbers(cam))));

// What can be done with one cam, under its answer; the buttons say how it stands.
export function placing(box, kind, described) {
  if (!described) {
    box.textContent = "Its law is too far from any cam in numbers to be put into a job.";
    return;
  }
  const { cam, apart, check } = described;
  box.replaceChildren(document.getElementById("placing").content.cloneNode(true));
  const part = (name) => box.querySelector(name);
  part(".name").textContent = `As a cam of the rack: ${cam.id}, the same law within ${Math.max(apart * 1e6, 0.1).toFixed(1)} µm at the roller.`;
  part(".check").textContent = check.passes ? "" : `! ${check.words}`;
  part(".rack").addEventListener("click", () => onRack(kind, [cam]));
  part(".fit").addEventListener("click", () => fitCam(kind, cam));
  part(".bench").addEventListener("click", () => {
    if (!isFitted(kind, cam)) onRack(kind, [cam]);
  });
  box.show = () => {
    const [there, fitted] = [isThere(kind, cam), isFitted(kind, cam)];
    part(".rack").disabled = there;
    part(".fit").disabled = fitted;
    part(".bench").href = `/?job=${store.id}${fitted ? "" : `&with=${encodeURIComponent(cam.id)}`}`;
    const words = fitted ? "✓ It is fitted in this job" : there ? "✓ It is on the rack of this job" : "";
    part(".said").textContent = words && `${words}; undo takes it off again.`;
  };
  box.show();
}

function showAll() {
  for (const box of document.querySelectorAll(".placing")) box.show?.();
}

// After a change the rows speak for themselves until the server has read them.
store.subscribe(() => {
  ids = new Set();
  showAll();
});
