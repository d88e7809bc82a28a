// The frame of every sheet: title block, navigation that keeps the job, undo, units, theme.

import { ask, tell, tellError, Refused } from "./api.js";
import { store, ready } from "./store.js";
import { units } from "./units.js";

const root = document.documentElement;

function block(name, text) {
  for (const place of document.querySelectorAll(`[data-block="${name}"]`)) place.textContent = text || "–";
}

function plainBlock(job) {
  block("job", job.title);
  block("machine", job.motorcycle?.name);
  block("rider", job.rider?.need);
  for (const link of document.querySelectorAll("nav a, a[data-keep]")) {
    const address = new URL(link.href);
    address.searchParams.set("job", store.id);
    link.href = address.pathname + address.search + address.hash;
  }
}

let wrong = false;

async function check(job) {
  try {
    const answer = await ask("/api/jobs/check", { job }, "check");
    if (!answer) return;
    block("set", answer.block.set);
    block("numbers", answer.block.numbers);
    store.setChecked({ faults: [], ...answer });
    if (wrong) tell(""); // only what was told here: another sheet may have said something since
    wrong = false;
  } catch (error) {
    wrong = true;
    if (error instanceof Refused && error.faults.length) store.setChecked({ faults: error.faults });
    tellError(error);
  }
}

function buttons() {
  document.getElementById("undo").disabled = !store.canUndo;
  document.getElementById("redo").disabled = !store.canRedo;
}

function listen() {
  document.getElementById("undo").addEventListener("click", () => store.undo());
  document.getElementById("redo").addEventListener("click", () => store.redo());
  addEventListener("keydown", (event) => {
    const typing = event.target.matches("input, textarea, select");
    if (!(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z" || typing) return;
    event.preventDefault();
    if (event.shiftKey) store.redo();
    else store.undo();
  });
  document.addEventListener("back", () => store.job && check(store.job));
}

function themeButton() {
  const button = document.getElementById("theme");
  const show = () => button.setAttribute("aria-pressed", String(root.dataset.theme === "dark"));
  button.addEventListener("click", () => {
    root.dataset.theme = root.dataset.theme === "dark" ? "light" : "dark";
    try {
      localStorage.setItem("pullcurve.theme", root.dataset.theme);
    } catch { /* a browser that keeps nothing */ }
    show();
    document.dispatchEvent(new CustomEvent("theme", { detail: root.dataset.theme }));
  });
  show();
}

function unitButton() {
  const button = document.getElementById("units");
  const show = () => button.setAttribute("aria-pressed", String(units.inch));
  button.addEventListener("click", () => units.set(!units.inch));
  units.subscribe(show);
}

block("date", new Date().toLocaleDateString("sv-SE"));
themeButton();
unitButton();
listen();
let seen = null;
ready.then(() => {
  store.subscribe((job) => {
    plainBlock(job);
    buttons();
    if (job !== seen) check(job); // trying a cam on the bench leaves the job as it is
    seen = job;
  });
}, tellError);
