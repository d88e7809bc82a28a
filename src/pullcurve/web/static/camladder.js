// Cam: a ladder of cams in equal felt steps between two ends of one wish.

import { work, tell, tellError } from "./api.js";
import { byId, desk, exported, kind, laid, line, stale, typedNumber } from "./camdesk.js";
import { fitCam, onRack } from "./rack.js";
import { store, view } from "./store.js";
import { units } from "./units.js";

const FEW = 2;
const MOST = 12;
const USUAL = 5;
const ENDS = [0.8, 1.25]; // what stands in for the ends, against what is fitted
const box = byId("rungs");
let wishes = []; // what may be wished of this kind of cam, with what the fitted one has
let now = null;

const slot = () => `ladder-${kind()}`;
const chosen = () => desk.held.choices?.[slot()] ?? {};
const wish = () => wishes.find((one) => one.key === byId("ladder-key").value);

function choose(part) {
  desk.lay({ choices: { ...desk.held.choices, [slot()]: { ...chosen(), ...part } } });
}

function fitted(one) {
  const value = now?.[one.readout];
  return Array.isArray(value) ? value[0] : value;
}

// What is asked ------------------------------------------------------------------------------------------------

function showQuestion() {
  const select = byId("ladder-key");
  const force = wishes.find((one) => one.unit === "newton");
  const key = wishes.some((one) => one.key === chosen().key) ? chosen().key : (force ?? wishes[0]).key;
  select.replaceChildren(...wishes.map((one) => new Option(one.label, one.key, false, one.key === key)));
  byId("ladder-count").value = String(chosen().count ?? USUAL);
  byId("ladder-others").checked = Boolean(chosen().others);
  showEnds();
}

function showEnds() {
  const known = wish();
  const value = fitted(known);
  byId("ladder-now").textContent = `fitted: ${units.text(known.unit, value, known.decimals)}`;
  const ends = chosen().key === known.key ? chosen().ends : null;
  for (const [place, name] of ["first", "last"].entries()) {
    const input = byId(`ladder-${name}`);
    const end = ends?.[place] ?? (Number.isFinite(value) ? Math.round(value * ENDS[place]) : null);
    input.parentElement.querySelector(".unit").textContent = units.shown(known.unit, 0).unit;
    if (input !== document.activeElement) input.value = end === null ? "" : String(Number(units.shown(known.unit, end).value.toPrecision(6)));
  }
}

function typedEnds() {
  const { unit } = wish();
  return ["first", "last"].map((name) => {
    const number = typedNumber(byId(`ladder-${name}`).value);
    return number === undefined ? null : units.typed(unit, number);
  });
}

function others(key) {
  if (!byId("ladder-others").checked) return {};
  const { [key]: _, ...kept } = JSON.parse(view.get(`draw-${kind()}`, "{}")).wishes ?? {};
  return kept;
}

async function draw() {
  const [first, last] = typedEnds();
  const { key, label } = wish();
  if (first === null || last === null) {
    tell(`ladder: ${label} needs a number at both ends`);
    return;
  }
  const mine = slot();
  choose({ key, ends: [first, last] });
  desk.forget(mine);
  show();
  try {
    const question = { job: store.job, kind: kind(), key, first, last, count: Number(byId("ladder-count").value), wishes: others(key) };
    const found = await work(byId("busy-ladder"), "drawing the cams", "/api/cam/ladder", question);
    if (!found) return;
    tell("");
    desk.answer(mine, { wish: wish(), rungs: found.rungs.map((one) => shortened(one, key)) }, null);
    show();
  } catch (error) {
    tellError(error);
  }
}

function shortened({ drawn, check, ...rung }, key) {
  const { law: _, ...kept } = drawn;
  return { value: rung[key], described: rung.described, name: rung.name, drawn: kept, check: { passes: check.passes, words: check.words } };
}

// The answer ---------------------------------------------------------------------------------------------------

function show() {
  const found = desk.answered(slot())?.found;
  box.hidden = !found;
  if (!found) return;
  const met = found.rungs.filter((rung) => rung.drawn.met && rung.check.passes).length;
  const outcome = box.querySelector(".outcome");
  outcome.className = `outcome ${met === found.rungs.length ? "good" : "warn"}`;
  outcome.textContent = met === found.rungs.length
    ? "✓ Every step is met as far as a finger can tell, and passes its check."
    : `! ${met} of ${found.rungs.length} steps are met and pass their check.`;
  box.querySelector("tbody").replaceChildren(...found.rungs.map((rung) => row(found.wish, rung)));
  box.querySelector(".all").disabled = !found.rungs.some((rung) => rung.described);
  box.querySelector(".said").textContent = "";
  stale(box, slot());
}

function row(known, { value, described, name, drawn, check }) {
  const one = document.createElement("tr");
  const id = described?.cam.id ?? name;
  const misses = `${drawn.worst_felt_steps.toFixed(2)} felt steps`;
  const [files, job] = [document.createElement("td"), document.createElement("td")];
  if (described) {
    const { id: _, name: __, ...numbers } = described.cam;
    const body = () => ({ job: store.job, kind: kind(), numbers });
    files.append(
      button("DXF", `DXF of ${id}`, () => exported(byId("busy-rungs"), { ...body(), ending: ".dxf" })),
      button("zip", `all files of ${id}`, () => exported(byId("busy-rungs"), { ...body(), ending: "" })),
    );
    job.append(button("fit", `fit ${id}`, () => placed(() => fitCam(kind(), described.cam), `${id} is fitted`)));
  }
  one.append(
    Object.assign(line("td", units.text(known.unit, value, Math.max(1, known.decimals))), { className: "number" }),
    line("td", id),
    Object.assign(line("td", `${drawn.met ? "" : "! "}${misses}`), { className: "number" }),
    line("td", check.passes ? "✓ passes" : `✕ ${check.words}`),
    line("td", drawn.binding.join(", ") || "none"),
    files,
    job,
  );
  return one;
}

function button(text, label, act) {
  const made = Object.assign(line("button", text), { type: "button" });
  made.setAttribute("aria-label", label);
  made.addEventListener("click", act);
  return made;
}

function placed(act, words) {
  act();
  box.querySelector(".said").textContent = `✓ ${words} in this job; undo takes it off again.`;
}

// What is touched ----------------------------------------------------------------------------------------------

byId("ladder-count").append(...Array.from({ length: MOST - FEW + 1 }, (_, place) => new Option(String(place + FEW))));
byId("ladder-key").addEventListener("change", ({ target }) => {
  choose({ key: target.value, ends: null });
  showEnds();
});
for (const name of ["first", "last"]) {
  byId(`ladder-${name}`).addEventListener("change", () => choose({ key: wish().key, ends: typedEnds() }));
}
byId("ladder-count").addEventListener("change", ({ target }) => choose({ count: Number(target.value) }));
byId("ladder-others").addEventListener("change", ({ target }) => choose({ others: target.checked }));
byId("ladder-go").addEventListener("click", draw);
box.querySelector(".all").addEventListener("click", () => {
  const cams = desk.answered(slot()).found.rungs.filter((rung) => rung.described).map((rung) => rung.described.cam);
  placed(() => onRack(kind(), cams), `${cams.length} cams are on the rack`);
});
document.addEventListener("kind", show);
document.addEventListener("wishes", ({ detail }) => {
  ({ wishes, now } = detail);
  showQuestion();
});

laid.then(() => {
  show();
  store.subscribe(() => stale(box, slot()));
  units.subscribe(() => {
    if (wishes.length) showEnds();
    show();
  });
}).catch(tellError);
