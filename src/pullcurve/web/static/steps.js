// Steps: strip and build for a task, cautions before the hand acts, checks that stay ticked.

import { ask, Refused, sentence, tell, tellError } from "./api.js";
import { ready, store, view } from "./store.js";
import { download, hardware, keepHardware, kept, line, ownHardware } from "./steps-kept.js";
import { units } from "./units.js";

const byId = (id) => document.getElementById(id);
const TICKS = "pullcurve.ticks.";
const LARGEST = 500_000;
const SIGNS = { breaks: ["✕", "bad"], hurts: ["✕", "bad"], jumps: ["!", "warn"], falls: ["!", "warn"] };
let found = null; // the steps of the task as the server told them
let turn = 0;

const today = () => new Date().toLocaleDateString("sv-SE");
const task = () => view.get("task", "");

// What is asked -------------------------------------------------------------------------------------------------

async function load() {
  turn += 1;
  const mine = turn;
  try {
    const known = await ask("/api/steps/tasks", { job: store.job, hardware: hardware() }, "tasks");
    if (!known || mine !== turn) return;
    showTasks(known);
    if (!known.tasks.some((one) => one.id === task())) {
      byId("answer").hidden = true;
      return;
    }
    const steps = await asked();
    if (steps && mine === turn) show(steps);
  } catch (error) {
    if (mine === turn) byId("answer").hidden = true;
    tellError(error);
  }
}

// Cams that are tried go on; where the rack no longer has them, the steps are told without.
async function asked() {
  const body = { job: store.job, task: task(), hardware: hardware() };
  try {
    return await ask("/api/steps", { ...body, cams: store.tried }, "steps");
  } catch (error) {
    if (!(error instanceof Refused) || error.status !== 422 || !store.tried.length) throw error;
    return ask("/api/steps", { ...body, cams: [] }, "steps");
  }
}

function showTasks(known) {
  byId("tasks").replaceChildren(...known.tasks.map(({ id, name }) => {
    const button = Object.assign(line("button", name), { type: "button" });
    button.setAttribute("aria-pressed", String(id === task()));
    button.addEventListener("click", () => {
      view.set("task", id);
      for (const one of byId("tasks").children) one.setAttribute("aria-pressed", String(one === button));
      load();
    });
    return button;
  }));
  const own = ownHardware();
  byId("whose").textContent = own?.used ? `${own.name}: ${known.hardware}` : `that of the demo units (${known.hardware})`;
  byId("note").textContent = known.note;
  const swap = byId("swap-hardware");
  swap.hidden = !own;
  swap.textContent = own?.used ? `leave ${own.name} out` : `use ${own?.name} again`;
}

// What is shown -------------------------------------------------------------------------------------------------

function show(steps) {
  found = { ...steps, keys: keysOf(steps.lines) };
  byId("answer").hidden = false;
  byId("name").textContent = steps.name;
  byId("cautions").replaceChildren(...steps.cautions.map((words) => warning("!", "Caution", words)));
  if (!hardware()) byId("cautions").append(warning("!", "Invented hardware", steps.note));
  showCams(steps);
  byId("pick-ups").textContent = `tools, picked up ${steps.tool_pick_ups} ${steps.tool_pick_ups === 1 ? "time" : "times"}`;
  byId("tools").replaceChildren(...(steps.tools.length ? steps.tools : ["none: everything by hand"]).map((name) => line("li", name)));
  byId("consumables").replaceChildren(...(steps.consumables.length ? steps.consumables : ["none"]).map((name) => line("li", name)));
  byId("torque-note").textContent = steps.torque_note;
  byId("torque-note").hidden = !steps.lines.some((one) => one.torque);
  showLines();
  showTicks();
}

function warning(sign, word, words, name = "warn") {
  const item = line("li", "", name);
  const mark = line("span", sign, "sign");
  mark.ariaHidden = "true";
  item.append(mark, " ", line("strong", `${word}:`), ` ${words}`);
  return item;
}

function showCams({ exchanged, left }) {
  const place = byId("going-on");
  place.hidden = !exchanged.length && !left.length;
  place.replaceChildren();
  for (const { off, on } of exchanged) {
    if (off) place.append(line("span", off.id, "fitted off"), " off → ");
    place.append(line("strong", on.id, "proposed"), " on, as tried on the bench. ");
  }
  if (left.length) place.append(`${left.map((cam) => cam.id).join(" and ")}: tried on the bench too, but out of reach of this task.`);
}

const groupOf = { prepare: 0, off: 1, exchange: 2, on: 3, check: 3, closing: 4 };

function showLines() {
  const off = found.lines.filter((one) => one.act === "off").length;
  const heads = [
    "Before you start",
    `Strip: ${off} ${off === 1 ? "thing comes" : "things come"} off, no more than the task needs`,
    "On the bench",
    "Build: the same way back, with what is ticked on it",
    "Before riding",
  ];
  const sections = heads.map((head, place) => {
    const box = document.createElement("section");
    const list = line("ol", "", "steps");
    list.append(...found.lines.flatMap((one, row) => (groupOf[one.act] === place ? [one.ticked ? ticking(one, found.keys[row]) : doing(one)] : [])));
    box.append(line("h2", head), list);
    return box;
  });
  const [way, back] = [document.createElement("div"), document.createElement("div")];
  way.append(...sections.slice(0, 3));
  back.append(...sections.slice(3));
  byId("groups").replaceChildren(way, back);
}

function clone(id, one) {
  const item = byId(id).content.firstElementChild.cloneNode(true);
  item.id = `line-${one.number}`;
  item.querySelector(".at").textContent = one.number;
  return item;
}

// Traps stand before the act: whoever reads on has already begun.
function doing(one) {
  const item = clone("doing", one);
  const traps = one.cautions.map(({ trap, called, words }) => warning(SIGNS[trap][0], called, words, SIGNS[trap][1]));
  const place = item.querySelector(".traps");
  if (traps.length) place.append(...traps);
  else place.remove();
  const act = item.querySelector(".act");
  if (one.tool) act.append(line("strong", one.tool, "tool"), " ");
  act.append(one.words);
  const screws = item.querySelector(".screws");
  if (one.screws) screws.append(line("span", one.screws, "note"), ...tight(one));
  else screws.remove();
  item.querySelector(".what").append(...one.consumables.map((words) => line("p", `+ ${words}`, "use")));
  return item;
}

function tight({ torque, torque_most: most }) {
  if (torque === null) return [];
  const shown = (value) => (units.inch ? units.text("newton_mm", 1000 * value, -1) : units.text("newton_m", value, 1));
  const source = Object.assign(line("a", "guidance"), { href: "#torque-note" });
  return [" ", line("strong", `about ${shown(torque)}, never above ${shown(most)}`), " (", source, ")"];
}

function ticking(one, key) {
  const item = clone("ticking", one);
  item.querySelector(".act").textContent = one.words;
  const box = item.querySelector("input");
  box.dataset.key = key;
  box.addEventListener("change", () => tick(key, box.checked));
  return item;
}

// Ticks ---------------------------------------------------------------------------------------------------------

// What a tick belongs to, whatever its number is next time.
function keysOf(lines) {
  const seen = new Map();
  return lines.map(({ act, piece, words }) => {
    const key = `${act}|${piece ?? ""}|${words}`;
    seen.set(key, (seen.get(key) ?? 0) + 1);
    return `${key}|${seen.get(key)}`;
  });
}

const place = () => `${TICKS}${store.id}.${task()}`;
const ticks = () => ({ ticked: {}, fitted: "", past: null, ...kept.read(place()) });
const fitted = () => JSON.stringify(store.job.fitted ?? null);

function tick(key, on) {
  const known = ticks();
  if (on) known.ticked[key] = today();
  else delete known.ticked[key];
  put({ ...known, fitted: fitted() });
}

function put(known) {
  if (!kept.write(place(), known)) tell("This browser keeps nothing: ticks are gone on reload.", "caution");
  showTicks();
}

function showTicks() {
  const { ticked, fitted: then, past } = ticks();
  const boxes = [...byId("groups").querySelectorAll("input")];
  for (const box of boxes) box.checked = box.dataset.key in ticked;
  const open = boxes.filter((box) => !box.checked);
  const done = boxes.length - open.length;
  byId("count").textContent = `${open.length ? "!" : "✓"} ${done} of ${boxes.length} checks ticked`;
  byId("open-head").textContent = open.length
    ? `! Not done: ${open.length} of ${boxes.length} checks are still open`
    : `✓ All ${boxes.length} checks are ticked. The list certifies nothing.`;
  byId("open").className = open.length ? "warn" : "good";
  byId("open").querySelector("ul").replaceChildren(...open.map((box) => openLine(box.closest(".step"))));
  showStale(boxes.filter((box) => box.checked).map((box) => ticked[box.dataset.key]), then);
  byId("again").disabled = !done;
  byId("back").hidden = !past;
}

function openLine(step) {
  const item = document.createElement("li");
  const link = line("a", `${step.querySelector(".at").textContent}. ${step.querySelector(".act").textContent}`);
  link.href = `#${step.id}`;
  item.append(link);
  return item;
}

// Ticks of an earlier visit say nothing about this one.
function showStale(days, then) {
  const earlier = days.filter((day) => day !== today()).sort();
  const said = [];
  if (earlier.length) said.push(`${earlier.length} of these checks ${earlier.length === 1 ? "was" : "were"} ticked on another day, the first on ${earlier[0]}.`);
  if (days.length && then && then !== fitted()) said.push("The job's cams were changed after the last tick.");
  byId("stale").hidden = !said.length;
  byId("stale").textContent = `! ${said.join(" ")} On a new visit start again.`;
}

// What is touched -----------------------------------------------------------------------------------------------

byId("again").addEventListener("click", () => {
  const { ticked } = ticks();
  put({ ticked: {}, fitted: "", past: ticked });
  tell("The ticks are cleared; they can be brought back below.", "good");
  byId("back").focus();
});
byId("back").addEventListener("click", () => {
  const known = ticks();
  put({ ticked: { ...known.past, ...known.ticked }, fitted: known.fitted || fitted(), past: null });
  tell("");
  byId("again").focus();
});

async function sheet(form) {
  try {
    const cams = found.exchanged.map(({ on }) => on.id);
    await download("/api/steps/sheet", { job: store.job, task: task(), hardware: hardware(), cams, form });
    tell("");
  } catch (error) {
    tellError(error);
  }
}

byId("pdf").addEventListener("click", () => sheet("pdf"));
byId("html").addEventListener("click", () => sheet("html"));
byId("template").addEventListener("click", () => download("/api/steps/hardware", { job: store.job, hardware: hardware() }).catch(tellError));

async function takeHardware(file) {
  const faults = byId("hardware-faults");
  faults.hidden = true;
  try {
    if (file.size > LARGEST) throw new Refused(0, [{ where: file.name, key: "", said: `has ${Math.ceil(file.size / 1000)} kB; allowed is up to ${LARGEST / 1000}` }]);
    const own = { name: file.name, text: await file.text() };
    await ask("/api/steps/tasks", { job: store.job, hardware: own }, "hardware");
    if (!keepHardware({ ...own, used: true })) tell("This browser keeps nothing: the hardware is gone on reload.", "caution");
    else tell(`${file.name} is in use.`, "good");
    load();
  } catch (error) {
    if (!(error instanceof Refused)) return tellError(error);
    faults.replaceChildren(...error.faults.map((fault) => line("li", `✕ ${sentence(fault)}`)));
    faults.hidden = false;
  }
}

byId("file").addEventListener("change", async ({ target }) => {
  if (target.files[0]) await takeHardware(target.files[0]);
  target.value = "";
});
byId("swap-hardware").addEventListener("click", () => {
  const own = ownHardware();
  keepHardware({ ...own, used: !own.used });
  load();
});

units.subscribe(() => {
  if (!found) return;
  showLines();
  showTicks();
});
addEventListener("storage", (event) => found && event.key === place() && showTicks());

ready.then(() => {
  store.subscribe(load);
  document.addEventListener("back", load);
}, tellError);
