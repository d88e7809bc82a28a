// The job's form: the server makes it from the descriptions, this page writes what is typed into the job.

import { send, ask, tell, tellError, sentence } from "./api.js";
import { store, view, ready, adopt, jobs, openJob } from "./store.js";
import { units } from "./units.js";
import { at, put, take } from "./paths.js";
import { calm, patch } from "./patch.js";

const form = document.getElementById("form");
const list = document.getElementById("faults");
let typing = false;

// Form ---------------------------------------------------------------------------------------------------------

// The form is patched, not replaced, and not while something is pressed: focus, open chapters, caret and half-typed
// values stay as they are.
async function render() {
  const asked = store.job;
  const response = await ask("/form/job", { job: asked }, "form");
  if (!response) return;
  await calm();
  if (asked !== store.job) {
    await render(); // typed meanwhile
    return;
  }
  const known = new Set(form.querySelectorAll(".chapter"));
  patch(form, response.html);
  const open = new Set((view.get("open") ?? "unit").split(" "));
  for (const chapter of form.querySelectorAll(".chapter")) {
    if (known.has(chapter)) continue;
    chapter.open = open.has(chapter.dataset.chapter);
    chapter.addEventListener("toggle", keepOpen);
  }
  showUnits();
  if (store.checked) showChecked(store.checked);
}

function keepOpen() {
  const open = [...form.querySelectorAll(".chapter[open]")].map((one) => one.dataset.chapter);
  view.set("open", open.join(" "));
}

function showUnits() {
  for (const place of form.querySelectorAll("[data-sign]")) {
    const { unit } = units.shown(place.dataset.unit, 0);
    place.textContent = units.inch ? unit || place.dataset.sign : place.dataset.sign;
  }
  for (const place of form.querySelectorAll("[data-low]")) {
    const [low, high] = [place.dataset.low, place.dataset.high].map((text) => number(place.dataset.unit, Number(text)));
    place.textContent = `${low} to ${high}`;
  }
  for (const input of form.querySelectorAll("input[data-unit]")) {
    if (input !== document.activeElement) input.value = written(input, at(store.job, input.dataset.path));
  }
}

function number(unit, value) {
  return String(Number(units.shown(unit, value).value.toPrecision(6)));
}

function written(input, value) {
  if (value === undefined || value === null) return "";
  if (Array.isArray(value)) {
    return value.map((one) => (typeof one === "number" ? number(input.dataset.unit, one) : one)).join(", ");
  }
  return typeof value === "number" && input.dataset.unit ? number(input.dataset.unit, value) : String(value);
}

// What was typed, as the job keeps it; what is no number stays as it is, and the server says so.
function read(field) {
  const { kind, unit } = field.dataset;
  if (kind === "several") {
    const ticked = [...field.querySelectorAll("input:checked")].map((box) => box.value);
    return ticked.length ? ticked : undefined;
  }
  const text = field.value;
  if (!text.trim() && field.dataset.path !== "notes") return undefined;
  if (kind === "yes") return text === "true";
  if (kind === "number" || kind === "whole") return figure(text, unit);
  if (kind === "numbers") return text.split(/[,;]\s*/).filter((one) => one.trim()).map((one) => figure(one, unit));
  if (kind === "texts") return text.split(",").map((one) => one.trim()).filter(Boolean);
  return text;
}

function figure(text, unit) {
  const plain = text.trim().replace(/^([-+]?\d+),(\d+)$/, "$1.$2");
  const value = Number(plain);
  return plain && Number.isFinite(value) ? units.typed(unit, value) : text;
}

function typed(event) {
  const field = event.target.closest("[data-path]");
  if (!field) return;
  typing = true;
  const path = field.dataset.path;
  store.change(path, (job) => {
    put(job, path, read(field));
    if (job.measured) delete job.measured[path];
  });
  typing = false;
  if ("shape" in field.dataset) render().catch(tellError);
}

function pressed(event) {
  const button = event.target.closest("button");
  if (!button) return;
  const { add, first, remove, append, origin } = button.dataset;
  if (add) store.change(`add ${add}`, (job) => put(job, add, first ? { kind: first } : {}));
  if (remove) store.change(`take away ${remove}`, (job) => take(job, remove));
  if (append) store.change(`add to ${append}`, (job) => put(job, append, [...(at(job, append) ?? []), {}]));
  if (origin) why(button);
}

// Where values come from, and what is wrong ---------------------------------------------------------------------

async function heard(answer) {
  await calm();
  if (answer === store.checked) showChecked(answer);
}

function showChecked({ faults = [], origins, plain }) {
  showFaults(faults);
  if (!origins) return;
  for (const button of form.querySelectorAll("[data-origin]")) {
    const path = button.dataset.origin;
    const known = origins[path];
    const meant = known?.note === plain;
    button.dataset.source = known ? known.source : "none";
    button.textContent = { given: "● given", measured: "✓ measured", prior: meant ? "○ plain" : "○ prior" }[known?.source] ?? "–";
    const note = button.closest(".row").querySelector(".why > p");
    if (note) note.textContent = source(known);
    const field = document.getElementById(path);
    if (known?.source === "prior" && field?.matches("input")) field.placeholder = written(field, known.value);
    if (known?.source === "prior" && field?.matches("select")) field.options[0].textContent = `left out: ${known.value}`;
  }
}

function showFaults(faults) {
  for (const said of form.querySelectorAll(".said:not([hidden])")) said.hidden = true;
  for (const field of form.querySelectorAll("[aria-invalid]")) field.removeAttribute("aria-invalid");
  list.hidden = !faults.length;
  list.replaceChildren(...faults.map(faultLine));
}

function faultLine(fault) {
  const path = [/\[(.*)\]/.exec(fault.where)?.[1], fault.key].filter(Boolean).join(".");
  const field = document.getElementById(path) ?? form.querySelector(`[data-path="${CSS.escape(path)}"]`);
  const item = document.createElement("li");
  const link = Object.assign(document.createElement("a"), { href: `#${path}`, textContent: `✕ ${sentence(fault)}` });
  link.addEventListener("click", (event) => {
    event.preventDefault();
    reveal(field ?? form.querySelector(`[data-part="${CSS.escape(path)}"], [data-rows="${CSS.escape(path)}"]`));
  });
  item.append(link);
  const said = document.getElementById(`said-${path}`);
  if (said) {
    said.textContent = `✕ ${fault.key} ${fault.said}`;
    said.hidden = false;
    field?.setAttribute("aria-invalid", "true");
  }
  return item;
}

function reveal(place) {
  if (!place) return;
  place.closest(".chapter")?.setAttribute("open", "");
  place.scrollIntoView({ block: "center" });
  if (place.matches("input, select, textarea")) place.focus();
}

function source(known) {
  return known ? `${known.source}${known.note ? `: ${known.note}` : ""}` : "Nothing stands here.";
}

// The line under a value: its source, and for a given number the interval in which it was measured.
function why(button) {
  const row = button.closest(".row");
  const there = row.querySelector(".why");
  if (there) {
    close(there);
    return;
  }
  const box = document.createElement("div");
  box.className = "why note";
  box.dataset.own = "";
  const known = store.checked?.origins?.[button.dataset.origin];
  box.append(Object.assign(document.createElement("p"), { textContent: source(known) }));
  if (button.dataset.number === "true" && known && known.source !== "prior") box.append(measure(button.dataset.origin, known));
  row.append(box);
  button.setAttribute("aria-expanded", "true");
}

function close(box) {
  const row = box.closest(".row");
  row.querySelector(".origin").setAttribute("aria-expanded", "false");
  row.querySelector(".why").remove();
}

function measure(path, known) {
  const box = document.createElement("div");
  box.className = "measure";
  const now = store.job.measured?.[path] ?? {};
  const fields = [["date", "date", "measured on"], ["low", "text", "from at least"], ["high", "text", "to at most"]];
  const inputs = fields.map(([key, type, words]) => {
    const label = Object.assign(document.createElement("label"), { textContent: words });
    const input = Object.assign(document.createElement("input"), { type, value: now[key] ?? "" });
    if (key === "date" && !now.date) input.value = new Date().toLocaleDateString("sv-SE");
    if (type === "text") Object.assign(input, { inputMode: "decimal", className: "short", placeholder: String(known.value) });
    label.append(input);
    box.append(label);
    return input;
  });
  const keep = Object.assign(document.createElement("button"), { type: "button", textContent: "measured" });
  keep.addEventListener("click", () => {
    const [date, low, high] = inputs.map((input) => input.value);
    close(box);
    store.change(`measured ${path}`, (job) => {
      job.measured = { ...job.measured, [path]: { date, low: figure(low, ""), high: figure(high, "") } };
    });
  });
  const drop = Object.assign(document.createElement("button"), { type: "button", textContent: "only given" });
  drop.addEventListener("click", () => {
    close(box);
    store.change(`given ${path}`, (job) => job.measured && delete job.measured[path]);
  });
  box.append(keep, drop);
  return box;
}

// Jobs of this browser, demo jobs, files --------------------------------------------------------------------------

function showJobs() {
  const mine = document.getElementById("mine");
  mine.replaceChildren(...jobs().map(({ id, title }) => new Option(title || "without a title", id, false, id === store.id)));
}

async function showDemos() {
  const demo = document.getElementById("demo");
  const { jobs: known } = await ask("/api/jobs/demo");
  for (const { name, title } of known) demo.append(new Option(`demo: ${title}`, `/api/jobs/demo/${name}`));
  demo.append(new Option("the commented example", "/api/jobs/template"));
  demo.addEventListener("change", async () => {
    if (!demo.value) return;
    adopt(await ask(demo.value));
    demo.value = "";
  });
}

async function opened(event) {
  const [file] = event.target.files;
  event.target.value = "";
  if (!file) return;
  try {
    if (file.size > 1_000_000) throw new Error(`${file.name} has more than 1 MB; a job has a few kB`);
    const response = await send(`/api/jobs/import?name=${encodeURIComponent(file.name)}`, file);
    adopt(await response.json());
    tell(`${file.name} is open.`, "good");
  } catch (error) {
    tellError(error);
  }
}

async function saved() {
  try {
    const response = await send("/api/jobs/export", { job: store.job });
    const link = document.createElement("a");
    link.href = URL.createObjectURL(await response.blob());
    link.download = `${(store.job.title || "job").replace(/[^\w-]+/g, "-").toLowerCase()}.toml`;
    link.click();
    URL.revokeObjectURL(link.href);
  } catch (error) {
    tellError(error);
  }
}

form.addEventListener("input", typed);
form.addEventListener("click", pressed);
form.addEventListener("submit", (event) => event.preventDefault());
document.getElementById("mine").addEventListener("change", (event) => openJob(event.target.value));
document.getElementById("file").addEventListener("change", opened);
document.getElementById("save").addEventListener("click", saved);
document.addEventListener("back", () => render().catch(tellError));

ready.then(() => {
  store.subscribe(() => {
    showJobs();
    if (!typing) render().catch(tellError);
  });
  store.onChecked(heard);
  units.subscribe(showUnits);
  return showDemos();
}).catch(tellError);
