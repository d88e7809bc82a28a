// Cam: one read from a file; how well, which it is, how it would pull, and into the job with it.

import { work, tell, tellError } from "./api.js";
import { byId, desk, kind, laid, line, recoloured, stale, typedNumber } from "./camdesk.js";
import { look, packed } from "./keeping.js";
import { placing } from "./rack.js";
import { store } from "./store.js";
import { units } from "./units.js";

const box = byId("found");
const form = byId("read-ask");
const FIELDS = ["dpi", "scale", "layer"];

const slot = () => `read-${kind()}`;
const file = () => desk.file("cam");
const degrees = (angle) => `${((angle * 180) / Math.PI).toFixed(1)}°`;
const millimetres = (length, decimals) => units.text("mm", length * 1000, decimals);

// What is asked ------------------------------------------------------------------------------------------------

async function take(blob) {
  try {
    const found = await packed(blob, blob.name);
    if (!found) return;
    desk.forget("read-brake", "read-clutch", "read-assist");
    desk.layFile("cam", found);
    showName();
    await read();
  } catch (error) {
    tellError(error);
  }
}

function showName() {
  byId("read-name").textContent = file()?.name ?? "no file yet";
}

function question() {
  const scale = typedNumber(byId("read-scale").value);
  return {
    dpi: typedNumber(byId("read-dpi").value) ?? null,
    scale_mm: scale === undefined ? null : units.typed("mm", scale),
    layer: byId("read-layer").value.trim() || null,
  };
}

async function read() {
  if (!file()) {
    tell("read: there is no file yet; drop one or choose one");
    return;
  }
  const mine = slot();
  desk.forget(mine);
  show();
  try {
    const seen = look(byId("read"));
    const found = await work(byId("busy-read"), "reading the cam", "/api/cam/read", { job: store.job, kind: kind(), ...file(), ...question(), ...seen });
    if (!found) return;
    tell("");
    const { read: how, check, described, beside_nearest: beside, sheet, cam } = found;
    desk.answer(mine, { how, name: cam.name, check: { passes: check.passes, words: check.words }, described, beside, sheet }, seen);
    show();
  } catch (error) {
    tellError(error);
  }
}

// The answer ---------------------------------------------------------------------------------------------------

function show() {
  const found = desk.answered(slot())?.found;
  box.hidden = !found;
  if (!found) return;
  box.querySelector("h3").textContent = `Read from ${found.how.source}`;
  const verdict = box.querySelector(".verdict");
  verdict.className = `verdict ${found.check.passes ? "good" : "bad"}`;
  verdict.textContent = `${found.check.passes ? "✓" : "✕"} ${found.check.words}`;
  box.querySelector(".how").replaceChildren(...ways(found.how).map((words) => line("li", words)));
  box.querySelector(".picture").innerHTML = found.sheet;
  showNearest(found);
  placing(box.querySelector(".placing"), kind(), found.described);
  stale(box, slot());
}

function ways({ shown, roller_deviation: roller, force_deviation: force }) {
  return [
    `The file shows the flank from ${degrees(shown[0])} to ${degrees(shown[1])} of lever.`,
    `One standard deviation over the travel: ${millimetres(roller, 4)} at the roller, ${units.text("newton", force, 2)} of finger force.`,
  ];
}

function showNearest({ how, beside }) {
  const part = box.querySelector(".nearest");
  part.querySelector("strong").textContent = how.nearest ? `Nearest cam of the rack: ${how.nearest.id}.` : "The rack has no cam of this kind.";
  part.querySelector("span").textContent = how.nearest ? `Its law is off by ${millimetres(how.nearest_apart, 3)} at most at the roller.` : "";
  const felt = beside.filter((change) => change.felt && Math.abs(change.felt_steps) >= 0.5);
  const words = felt.map((change) => `${change.words} (${Math.abs(change.felt_steps).toFixed(1)} felt steps)`);
  if (how.nearest && !felt.length) words.push("No finger would tell the read one from it.");
  part.querySelector("ul").replaceChildren(...words.map((text) => line("li", text)));
}

// What is touched ----------------------------------------------------------------------------------------------

byId("read-file").addEventListener("change", ({ target }) => target.files[0] && take(target.files[0]));
form.addEventListener("submit", (event) => {
  event.preventDefault();
  read();
});
form.addEventListener("dragover", (event) => {
  event.preventDefault();
  form.classList.add("over");
});
form.addEventListener("dragleave", () => form.classList.remove("over"));
form.addEventListener("drop", (event) => {
  event.preventDefault();
  form.classList.remove("over");
  const [dropped] = event.dataTransfer.files;
  if (dropped) take(dropped);
});
for (const name of FIELDS) {
  byId(`read-${name}`).addEventListener("change", () => desk.lay({ choices: { ...desk.held.choices, read: Object.fromEntries(FIELDS.map((one) => [one, byId(`read-${one}`).value])) } }));
}
document.addEventListener("kind", show);
document.addEventListener("theme", () => recoloured(slot(), read));

laid.then(() => {
  for (const [name, value] of Object.entries(desk.held.choices?.read ?? {})) byId(`read-${name}`).value = value;
  showName();
  show();
  recoloured(slot(), read);
  store.subscribe(() => stale(box, slot()));
  units.subscribe(() => {
    form.querySelector("[data-unit=mm]").textContent = units.shown("mm", 0).unit;
    show();
  });
}).catch(tellError);
