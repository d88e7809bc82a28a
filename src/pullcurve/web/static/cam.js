// Cam: the sheet of one cam, its files, its tolerance, and a new one drawn for a feel.

import { ask, work, tell, tellError } from "./api.js";
import { asked, byId, chosen, desk, exported, kind, laid, line, outline, recoloured, stale, typedNumber } from "./camdesk.js";
import { look } from "./keeping.js";
import { onShelf, placing } from "./rack.js";
import { store, view } from "./store.js";
import { units } from "./units.js";
import { Pad } from "./sketch.js";

const pad = new Pad(byId("pad"), (points) => remember({ points }));
let racks = {};
let now = null;

// The cam ------------------------------------------------------------------------------------------------------

async function show() {
  try {
    if (!(await showChoice())) return;
    const place = byId("sheet");
    const [found, sheet] = await Promise.all([
      ask("/api/cam/check", asked(), "cam"),
      ask("/form/cam", { ...asked(), ...look(place) }, "sheet"),
    ]);
    if (found) showVerdict(found);
    if (sheet) place.innerHTML = sheet.svg;
    await showPad();
  } catch (error) {
    tellError(error);
  }
}

async function showChoice() {
  const found = await ask("/api/jobs/rack", { job: store.job }, "rack");
  if (!found) return false;
  racks = found.kinds;
  const known = Object.keys(racks);
  if (!known.includes(kind())) {
    view.set("kind", known[0]);
    document.dispatchEvent(new CustomEvent("kind"));
  }
  showKinds(known);
  const which = byId("which");
  const { fitted, cams } = racks[kind()];
  onShelf(Object.values(racks).flatMap((known) => known.cams));
  which.replaceChildren(new Option(`fitted: ${fitted.id}`, ""), ...cams.filter((cam) => cam.fits).map((cam) => new Option(cam.id, cam.id)));
  which.value = chosen();
  if (which.value !== chosen()) {
    which.value = "";
    view.set(`cam-${kind()}`, "");
  }
  return true;
}

function showKinds(known) {
  const there = [...document.querySelectorAll("input[name=kind]")];
  if (there.map((one) => one.value).join() === known.join()) {
    for (const one of there) one.checked = one.value === kind();
    return;
  }
  byId("kinds").replaceChildren(...known.map((one) => {
    const label = document.createElement("label");
    const button = Object.assign(document.createElement("input"), { type: "radio", name: "kind", value: one, checked: one === kind() });
    button.addEventListener("change", () => {
      view.set("kind", one);
      again();
    });
    label.append(button, one);
    return label;
  }));
}

function again() {
  byId("allowed").hidden = true;
  document.dispatchEvent(new CustomEvent("kind"));
  showAnswer();
  pad.set(remembered().points ?? []);
  showPoints();
  show();
}

function showVerdict(found) {
  const verdict = byId("verdict");
  verdict.className = found.passes ? "good" : "bad";
  verdict.textContent = `${found.passes ? "✓" : "✕"} ${found.words}`;
  const ordered = [...found.findings].sort((one, other) => Number(one.passes) - Number(other.passes));
  byId("findings").querySelector("ul").replaceChildren(...ordered.map((one) => line("li", `${one.passes ? "✓" : "✕"} ${one.sentence}`)));
}

async function tolerance() {
  try {
    const found = await work(byId("busy-tolerance"), "pulling with errors", "/api/cam/tolerance", asked());
    if (found) showTolerance(found, await ask("/api/readouts"));
  } catch (error) {
    tellError(error);
  }
}

function showTolerance({ justified, making, cam }, readouts) {
  const named = (name) => {
    const [of, readout] = name.split(".");
    return `${of}: ${readouts[of][readout].label}`;
  };
  const box = byId("allowed");
  box.hidden = false;
  const felt = justified.felt_first ? `; ${named(justified.felt_first)} would be felt first` : "";
  box.querySelector(".first").textContent = `A profile tolerance of ±${(justified.profile_tolerance * 1000).toFixed(3)} mm is as wide as a finger lets it be${felt}.`;
  const last = making.amounts.length - 1;
  box.querySelector("caption").textContent = `${cam}: felt steps for an error of ${(making.amounts[last] * 1000).toFixed(2)} mm`;
  box.querySelector("thead tr").replaceChildren(line("th", "read-out"), ...making.sources.map((source) => line("th", source.replaceAll("_", " "))));
  const rows = Object.entries(making.readouts).filter(([, effect]) => effect.felt_steps[last].some((steps) => Math.abs(steps) >= 0.01));
  box.querySelector("tbody").replaceChildren(...rows.map(([name, effect]) => {
    const row = document.createElement("tr");
    row.append(line("th", named(name)));
    row.append(...effect.felt_steps[last].map((steps) => Object.assign(line("td", steps.toFixed(2)), { className: "number" })));
    return row;
  }));
}

// Draw ---------------------------------------------------------------------------------------------------------

const slot = () => `draw-${kind()}`;

function remembered() {
  try {
    return JSON.parse(view.get(slot(), "{}"));
  } catch {
    return {};
  }
}

function remember(part) {
  view.set(slot(), JSON.stringify({ ...remembered(), ...part }));
  showPoints();
}

async function showPad() {
  const pulled = await ask("/api/pull", { job: store.job }, "pad");
  if (!pulled) return;
  const lever = pulled.levers.find((one) => Object.keys(one.rockers).includes(kind()));
  const { travel, pull, release } = lever.arrays;
  pad.show({ travel: travel.map((at) => at * 1000), pull, release });
  now = lever.readouts[kind() === "brake" ? "brake" : "clutch"];
  await showWishes();
}

async function showWishes() {
  const found = await ask(`/api/cam/wishes/${kind()}`, undefined, "wishes");
  if (!found) return;
  document.dispatchEvent(new CustomEvent("wishes", { detail: { wishes: found.wishes, now } }));
  const known = remembered().wishes ?? {};
  byId("wishes").replaceChildren(...found.wishes.map(({ key, label, unit, decimals, readout }) => {
    const row = document.createElement("div");
    row.className = "desire";
    const input = Object.assign(document.createElement("input"), { type: "text", inputMode: "decimal", className: "short", id: `wish-${key}` });
    const value = known[key];
    if (value !== undefined) input.value = String(Number(units.shown(unit, value).value.toPrecision(6)));
    const label_ = Object.assign(line("label", label), { htmlFor: input.id });
    const field = document.createElement("span");
    field.className = "field";
    field.append(input, Object.assign(line("span", units.shown(unit, 0).unit), { className: "unit" }));
    const current = now?.[readout];
    const first = Array.isArray(current) ? current[0] : current;
    row.append(label_, field, Object.assign(line("span", `fitted: ${units.text(unit, first, decimals)}`), { className: "note" }));
    input.addEventListener("change", () => {
      const number = typedNumber(input.value);
      const wishes = { ...remembered().wishes };
      if (number !== undefined) wishes[key] = units.typed(unit, number);
      else delete wishes[key];
      remember({ wishes });
    });
    return row;
  }));
}

function drawing() {
  const { wishes = {}, points = [] } = remembered();
  return { wishes, points, keep_end: byId("keep-end").checked };
}

const drawn = () => `draw-${kind()}`;

async function draw(wanted = drawing()) {
  const mine = drawn();
  desk.forget(mine);
  showAnswer();
  try {
    const seen = look(byId("draw"));
    const found = await work(byId("busy-draw"), "drawing the cam", "/api/cam/draw", { job: store.job, kind: kind(), drawing: wanted, ...seen });
    if (!found) return;
    tell("");
    const { law: _, ...kept } = found.drawn;
    desk.answer(mine, { drawn: kept, check: { passes: found.check.passes, words: found.check.words }, sheet: found.sheet, described: found.described, drawing: wanted }, seen);
    showAnswer();
  } catch (error) {
    tellError(error);
  }
}

function showAnswer() {
  const box = byId("drawn");
  const found = desk.answered(drawn())?.found;
  box.hidden = !found;
  if (!found) return;
  showDrawn(box, found.drawn, found.check);
  box.querySelector(".picture").innerHTML = found.sheet;
  placing(box.querySelector(".placing"), kind(), found.described);
  stale(box, drawn());
}

function showDrawn(box, drawn, check) {
  const outcome = box.querySelector(".outcome");
  outcome.className = `outcome ${drawn.met ? "good" : "warn"}`;
  const worst = `largest miss ${drawn.worst_felt_steps.toFixed(2)} felt steps`;
  outcome.textContent = drawn.met ? `✓ It meets the wish as far as a finger can tell (${worst}).` : `! It does not meet it all: ${worst}.`;
  const left = Object.entries(drawn.felt_steps_left).filter(([, steps]) => Math.abs(steps) >= 0.1);
  const lines = left.map(([name, steps]) => `${name}: ${steps > 0 ? "+" : "−"}${Math.abs(steps).toFixed(2)} felt steps from the wish`);
  if (drawn.binding.length) lines.push(`${drawn.met ? "these limits are used up" : "what stands in the way"}: ${drawn.binding.join(", ")}`);
  box.querySelector(".left").replaceChildren(...lines.map((text) => line("li", text)));
  box.querySelector(".verdict").textContent = `${check.passes ? "✓" : "✕"} ${check.words}`;
}

function showPoints() {
  const text = byId("points");
  if (text === document.activeElement) return;
  text.value = (remembered().points ?? []).map(([at, force]) => `${at} ${force}`).join("\n");
}

function typedPoints() {
  const pairs = byId("points").value.split("\n").filter((one) => one.trim()).map((one) => one.trim().split(/[\s;]+/).map((number) => Number(number.replace(",", "."))));
  const points = pairs.filter((pair) => pair.length === 2 && pair.every(Number.isFinite));
  remember({ points });
  pad.set(points);
}

byId("which").addEventListener("change", (event) => {
  view.set(`cam-${kind()}`, event.target.value);
  again();
});
byId("tolerance").addEventListener("click", tolerance);
byId("go").addEventListener("click", () => draw());
byId("points").addEventListener("change", typedPoints);
byId("wipe").addEventListener("click", () => {
  pad.set([]);
  remember({ points: [] });
});
for (const button of document.querySelectorAll("[data-export]")) {
  const ending = button.dataset.export;
  button.addEventListener("click", () => (ending === ".dxf" ? outline() : exported(byId("busy-export"), { ...asked(), ending })));
}
for (const button of document.querySelectorAll("[data-drawn]")) {
  button.addEventListener("click", () => {
    const { drawing: known } = desk.answered(drawn()).found;
    exported(byId("busy-drawn"), { ...asked(), ending: button.dataset.drawn, cams: [], drawing: known });
  });
}
document.addEventListener("theme", async () => {
  await show();
  recoloured(drawn(), (found) => draw(found.drawing));
});
document.addEventListener("back", show);

let late = 0;
let last = 0;
new ResizeObserver(([entry]) => {
  if (!last || Math.abs(entry.contentRect.width - last) < 8) {
    last ||= entry.contentRect.width;
    return;
  }
  last = entry.contentRect.width;
  clearTimeout(late);
  late = setTimeout(show, 250);
}).observe(byId("sheet"));

laid.then(() => {
  pad.set(remembered().points ?? []);
  showPoints();
  showAnswer();
  recoloured(drawn(), (found) => draw(found.drawing));
  store.subscribe(show);
  store.subscribe(() => stale(byId("drawn"), drawn()));
  units.subscribe(() => {
    pad.draw();
    if (now) showWishes().catch(tellError);
  });
}).catch(tellError);
