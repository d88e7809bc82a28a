// What is written into the book: a machine, a visit, a ride note, a proposal, a bench pull, a photo.

import { ask, send, work, Refused, tellError } from "./api.js";
import { store } from "./store.js";
import { Draft, who } from "./bookdrafts.js";
import { exchanged } from "./bookhistory.js";
import { byId, el, hush, known, say, today } from "./bookleaf.js";
import { showRates } from "./bookrates.js";

const LARGEST = 29_000_000;
const drafts = new Map([...document.querySelectorAll("form[data-form]")].map((form) => [form.dataset.form, new Draft(form)]));
const racks = new Map(); // by visit: what the workshop had for the job of that visit
let leaf = null; // { machine, history, visits }
let written = () => {};

const form = (name) => drafts.get(name).form;
const dayOf = (name) => form(name).elements.day.value || today();
const visitOn = (day) => leaf?.visits.findLast((visit) => visit.day <= day) ?? null;
const refusal = (where, key, said) => new Refused(422, [{ where, key, said }]);

function number(text, key) {
  const given = Number(text.trim().replace(",", "."));
  if (!Number.isFinite(given)) throw refusal("visit", key, `is "${text}"; allowed is a number`);
  return given;
}

// Pairs such as "travel=1, force=2".
function pairs(text, key) {
  const listed = text.split(",").map((pair) => pair.trim()).filter(Boolean);
  return Object.fromEntries(listed.map((pair) => {
    const [name, ...rest] = pair.split("=").map((part) => part.trim().replace(/^"|"$/g, ""));
    if (!name || !rest.join("")) throw refusal("pull", key, `is "${pair}"; allowed is NAME=VALUE, such as travel=1`);
    return [name, rest.join("=")];
  }));
}

// Questions: what each form asks the server to write ----------------------------------------------------------------

const QUESTIONS = {
  machine: ({ name, owner, words }) => ({ name, owner, words }),
  visit(typed) {
    const hours = known.grounds.filter((ground) => typed[`hours-${ground}`]?.trim());
    return {
      job: store.job,
      unit: typed.unit,
      reason: byId("visit-why").hidden ? "" : typed.reason,
      hours: Object.fromEntries(hours.map((ground) => [ground, number(typed[`hours-${ground}`], `hours on ${ground}`)])),
      done: typed.done ?? [],
      fluid: typed.fluid,
      boils_celsius: typed.boils.trim() ? number(typed.boils, "boiling point") : null,
    };
  },
  ride(typed) {
    const rated = [...form("ride").querySelectorAll("input[type=radio]:checked")].filter((one) => one.value);
    return { points: Object.fromEntries(rated.map((one) => [one.name, Number(one.value)])) };
  },
  proposal: () => ({ cams: [...byId("cams").querySelectorAll("select")].map((one) => one.value).filter(Boolean) }),
  pull(typed) {
    const { file } = drafts.get("pull");
    if (!file) throw refusal("pull", "file", "is missing; choose the file that the logger wrote");
    const said = { columns: pairs(typed.columns, "columns"), units: pairs(typed.units, "units") };
    return { file: { ...file, ...said, drop_first: typed.first.length > 0 }, lever: typed.lever || null, fit: typed.fit.length > 0 };
  },
  photo() {
    const { file } = drafts.get("photo");
    if (!file) throw refusal("photo", "file", "is missing; choose a picture");
    return file;
  },
};

const SAID = {
  machine: ({ machine }) => `${machine.name} is machine #${machine.number} of the book.`,
  visit: ({ visit, due, due_for: what }) => `Visit ${visit} is in the book${due ? `; next due ${due}: ${what}` : ""}.`,
  ride: ({ number: row }) => `Ride note ${row} is in the book.`,
  proposal: ({ number: row }) => `Proposal ${row} is in the book.`,
  pull: ({ number: row, words }) => `Bench pull ${row} is in the book. ${words}`.trim(),
  photo: ({ number: row }) => `Photo ${row} is in the book.`,
};

async function write(name) {
  const draft = drafts.get(name);
  const [said, done] = [".said", ".done"].map((one) => draft.form.querySelector(one));
  if (draft.busy) return; // one line for one press, however often it is pressed
  draft.busy = true;
  hush(said, done);
  byId("who").removeAttribute("aria-invalid");
  try {
    const typed = draft.values;
    const told = { who: who.get(), day: name === "machine" ? today() : dayOf(name), words: typed.words };
    const on = name === "machine" ? {} : { machine: String(leaf.machine.number) };
    const answer = await put(name, { ...told, ...on, ...QUESTIONS[name](typed) });
    if (!answer) return;
    draft.written();
    done.hidden = false;
    done.textContent = `✓ ${SAID[name](answer)}`;
    await written(name, answer);
  } catch (error) {
    say(said, error);
    if (error instanceof Refused) missing(error);
  } finally {
    draft.busy = false;
  }
}

async function put(name, body) {
  const path = `/api/book/${name}`;
  if (name === "pull") return work(form("pull").querySelector(".busy-here"), "reading the pull", path, body);
  return (await send(path, body)).json();
}

// The field that a refusal speaks of.
function missing({ faults }) {
  if (faults.some(({ key }) => key === "who")) {
    byId("who").setAttribute("aria-invalid", "true");
    byId("who").focus();
  } else if (faults.some(({ key, said }) => key === "visit" && said.includes("or a reason"))) {
    byId("visit-why").hidden = false;
    byId("visit-reason").focus();
  }
}

// Files -------------------------------------------------------------------------------------------------------------

async function chosen(name, blob) {
  const draft = drafts.get(name);
  const said = draft.form.querySelector(".said");
  hush(said, draft.form.querySelector(".done"));
  if (blob.size > LARGEST) {
    draft.showFile(null);
    say(said, refusal(blob.name, "", `has ${Math.round(blob.size / 1e6)} MB; allowed is ${LARGEST / 1e6}`));
    return;
  }
  const address = await new Promise((resolve, reject) => {
    const reader = new FileReader();
    reader.addEventListener("load", () => resolve(reader.result));
    reader.addEventListener("error", () => reject(reader.error));
    reader.readAsDataURL(blob);
  });
  draft.take({ name: blob.name.slice(-200), data: address.slice(address.indexOf(",") + 1) });
}

// The visit ---------------------------------------------------------------------------------------------------------

function showJob() {
  if (!leaf || !store.job) return;
  byId("visit-job").textContent = store.job.title;
  const fitted = Object.entries(store.checked?.fitted ?? {}).map(([kind, cam]) => [kind, cam.id]);
  byId("visit-cams").replaceChildren(...fitted.map(([kind, id]) => el("li", {}, `${kind}: ${id}`)));
  const before = visitOn(dayOf("visit"));
  const changes = before && fitted.length ? exchanged(before.cams, Object.fromEntries(fitted)) : [];
  byId("visit-changes").textContent = before ? `Since visit ${before.number}: ${changes.join("; ") || "no cam exchanged"}.` : "";
  form("visit").elements.unit.placeholder = before?.unit ?? leaf.machine.name;
}

// What the server knows is there: fields that are made of it.
export function prepare() {
  const fields = known.grounds.map((ground) => el("label", {}, ground, " ", el("input", { name: `hours-${ground}`, className: "short", inputMode: "decimal", autocomplete: "off" }), el("span", { className: "unit" }, "h")));
  byId("visit-hours").replaceChildren(...fields);
  byId("visit-kind").append(...known.fluids.map((one) => new Option(one, one)));
  store.subscribe(() => {
    showJob();
    showWearing();
  });
  store.onChecked(showJob);
}

async function showWearing() {
  if (!byId("visit").open || !leaf) return;
  try {
    const answer = await ask("/api/book/wearing", { job: store.job }, "book-wearing");
    if (!answer) return;
    const listed = [{ item: "all", name: "everything that wears" }, ...answer.items];
    const boxes = listed.map(({ item, name }) => el("label", {}, el("input", { type: "checkbox", name: "done", value: item }), name));
    byId("visit-done").replaceChildren(...boxes);
    byId("visit-fluid").hidden = !answer.fluid;
    drafts.get("visit").open();
  } catch (error) {
    if (!(error instanceof Refused) || !error.status) tellError(error); // what is wrong with the job is told already
  }
}

// The ride note and the proposal ------------------------------------------------------------------------------------

function showRide() {
  const visit = visitOn(dayOf("ride"));
  byId("ride-on").textContent = visit ? `Of what visit ${visit.number} left on it: ${Object.values(visit.cams).join(", ")}.` : "Nothing was on it yet on that day.";
  showRates(byId("rates"), visit);
  for (const stop of form("ride").querySelectorAll("[data-kind]")) stop.hidden = !visit?.readouts[stop.dataset.kind];
  drafts.get("ride").open();
}

async function showCams() {
  if (!byId("proposal").open) return;
  const visit = visitOn(dayOf("proposal"));
  try {
    if (visit && !racks.has(visit.number)) {
      const job = await (await send(`/api/book/job?machine=${leaf.machine.number}&day=${visit.day}`)).json();
      racks.set(visit.number, (await (await send("/api/jobs/rack", { job })).json()).kinds);
    }
    if (visit !== visitOn(dayOf("proposal"))) return;
    byId("cams").replaceChildren(...Object.entries(racks.get(visit?.number) ?? {}).map(choice));
    drafts.get("proposal").open();
  } catch (error) {
    tellError(error);
  }
}

function choice([kind, { fitted, cams }]) {
  const options = cams.filter((cam) => cam.id !== fitted.id).map((cam) => new Option(cam.fits ? cam.id : `${cam.id} (only with the other cam of this reach)`, cam.id));
  const select = el("select", { id: `cam-${kind}`, name: `cam-${kind}` }, new Option(`stays ${fitted.id}`, ""), ...options);
  return el("p", { className: "entry" }, el("label", { htmlFor: select.id }, `${kind} cam`), select);
}

// Begin -------------------------------------------------------------------------------------------------------------

// What a chapter needs when it is opened, or when something changed.
export const LOADS = { visit: showWearing, proposal: showCams };

// Another machine, or the same one after something was written.
export function show(opened) {
  const other = leaf?.machine.number !== opened.machine.number;
  leaf = opened;
  for (const [name, draft] of drafts) {
    if (name === "machine") continue;
    draft.open(opened.machine.name);
    if (other) hush(draft.form.querySelector(".said"), draft.form.querySelector(".done"));
  }
  for (const name of ["ride", "proposal", "pull", "photo"]) byId(name).hidden = !leaf.visits.length;
  byId("visit-why").hidden = !drafts.get("visit").values.reason;
  showJob();
  showRide();
}

export function begin(told) {
  written = told;
  byId("who").value = who.get();
  byId("who").addEventListener("input", ({ target }) => who.set(target.value));
  for (const [name, draft] of drafts) {
    draft.form.addEventListener("submit", (event) => {
      event.preventDefault();
      write(name);
    });
    draft.form.querySelector("input[type=file]")?.addEventListener("change", ({ target }) => target.files[0] && chosen(name, target.files[0]).catch(tellError));
  }
  const days = { visit: showJob, ride: showRide, proposal: showCams };
  for (const [name, then] of Object.entries(days)) form(name).elements.day.addEventListener("change", then);
  form("visit").addEventListener("brought", () => (byId("visit-why").hidden = !form("visit").elements.reason.value));
  drafts.get("machine").open("new");
}
