// The bench: one lever in the hand, its pull beside it, cams of the rack to try, what a finger would feel of them.

import { ask, Refused, tell, tellError } from "../api.js";
import { ready, store, view } from "../store.js";
import { units } from "../units.js";
import { Cams } from "./cams.js";
import { Mechanism } from "./mechanism.js";
import { Plot, secondsOf } from "./plot.js";
import { endOf, shownRockers, travelAt } from "./poses.js";
import { showTable } from "./table.js";
import { tour } from "./tour.js";

const $ = (id) => document.getElementById(id);
const TRAVEL = "pullcurve.travel.";
const LEAST = 200; // px below which nothing is drawn
const WIDE = matchMedia("(min-width: 1200px)");
const KEYS = { ArrowDown: 0.5, ArrowRight: 0.5, ArrowUp: -0.5, ArrowLeft: -0.5, PageDown: 5, PageUp: -5 };

const bench = {
  job: "", // the job that the views belong to, as text
  levers: [], // as the server tells them, by row
  fitted: [], // pose records of what is fitted, by row
  tabs: [], // { row, kind, name }
  tab: 0,
  travel: 0,
  second: {},
  surfaces: [],
  set: "–",
};

const mechanism = new Mechanism($("mechanism-view"), put);
const plot = new Plot($("plot-view"), put);
const cams = new Cams($("cams"), (label, ids) => store.try(label, ids));

// What is shown ------------------------------------------------------------------------------------------------

const tab = () => bench.tabs[bench.tab];
const lever = () => bench.levers[tab().row];
const fitted = () => bench.fitted[tab().row];
const shown = () => lever().proposed ?? fitted();

let retreating = false;

/** Ask for the bench: everything for a new job, else only the lever in the hand and without what is known. */
async function load() {
  const text = JSON.stringify(store.job);
  const known = text === bench.job && bench.fitted.length > 0;
  const body = { job: store.job, cams: store.tried };
  if (known) Object.assign(body, { lever: tab().row, fitted: false });
  try {
    const answer = await ask("/api/bench", body, "bench");
    if (!answer) return;
    if (!retreating) tell("");
    retreating = false;
    take(answer, text, known);
  } catch (error) {
    tellError(error);
    // Cams that the rack no longer has, or an address that names none: the bench goes on with what is fitted.
    if (!(error instanceof Refused && error.status === 422 && store.tried.length)) return;
    retreating = true; // the answer to that does not take away what was said
    store.try("as fitted", []);
  }
}

function take(answer, text, known) {
  if (!known) {
    bench.job = text;
    bench.levers = [];
    bench.fitted = [];
  }
  for (const told of answer.levers) {
    bench.levers[told.row] = told;
    if (told.fitted) bench.fitted[told.row] = told.fitted;
  }
  bench.surfaces = answer.surfaces;
  bench.set = Object.values(answer.cams).map((cam) => cam.proposed.id).join(", ");
  nameSet();
  if (!known) listTabs();
  const tried = Object.values(answer.cams).filter((cam) => cam.changed).map((cam) => cam.proposed.id);
  // While a hand steps on, older answers draw what they can, and the steps stay where the hand has put them.
  show(String(tried.sort()) === String([...store.tried].sort()));
}

/** The title block names the set that is shown, proposed cams and all. */
function nameSet() {
  for (const place of document.querySelectorAll('[data-block="set"]')) place.textContent = bench.set;
}

function listTabs() {
  bench.tabs = bench.levers.flatMap((told) => told.kinds.map((kind) => ({ row: told.row, kind, name: told.kinds.length > 1 ? `${told.name}: ${kind}` : told.name })));
  // Whoever comes with cams to try, from another sheet, sees the lever that they change.
  const asked = new URLSearchParams(location.search).has("lever");
  const changed = asked ? undefined : bench.levers.find((told) => told.changed)?.kinds[0];
  const wanted = changed ?? view.get("lever", bench.tabs[0].kind);
  bench.tab = Math.max(0, bench.tabs.findIndex((one) => one.kind === wanted));
  bench.travel = Number(keptTravel()) || 0;
  const buttons = bench.tabs.map((one, index) => {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = one.name;
    button.addEventListener("click", () => choose(index));
    return button;
  });
  $("levers").replaceChildren(...buttons);
}

function choose(index) {
  if (index === bench.tab) return;
  bench.tab = index;
  view.set("lever", tab().kind);
  show();
  cams.wait();
  load();
}

/** Everything anew: after a step, another lever, another unit, another width. */
function show(newest = true) {
  if (!bench.tabs.length) return;
  const { kind } = tab();
  [...$("levers").children].forEach((button, index) => button.setAttribute("aria-pressed", String(index === bench.tab)));
  const role = lever().proposed ? "proposed" : "fitted";
  bench.travel = Math.min(Math.max(bench.travel, 0), endOf(shown()));
  $("bench").dataset.role = role;
  $("as-fitted").disabled = !store.tried.length;
  $("key-proposed").hidden = role === "fitted";
  draw();
  if (plot.second) listSeconds();
  const unseen = shown().drives.filter((drives) => !shownRockers(shown(), kind).some(({ rocker }) => rocker.drives === drives));
  $("unseen").textContent = unseen.length ? ` Also in the forces, not in the drawing: ${unseen.join(" and ")} on the same lever.` : "";
  if (newest) cams.show(lever(), kind);
  showTable({ sentence: $("sentence"), warnings: $("warnings"), main: $("readouts"), rest: $("others") }, lever(), kind, bench.surfaces, WIDE.matches);
  $("bench").setAttribute("aria-busy", "false");
}

function draw() {
  const { kind } = tab();
  const role = lever().proposed ? "proposed" : "fitted";
  if ($("mechanism").clientWidth < LEAST || $("plot").clientWidth < LEAST) return; // not laid out yet
  const room = innerWidth < 600 ? innerHeight : Math.max(400, innerHeight - (WIDE.matches ? 400 : 320));
  mechanism.travel = bench.travel;
  mechanism.draw(shown(), kind, role, $("mechanism").clientWidth, room);
  const across = $("plot").clientWidth;
  const beside = innerWidth >= 900;
  const high = beside ? Math.max(mechanism.size[1] - $("plot-head").offsetHeight, 400) : Math.min(1.05 * across, 460);
  plot.draw({ fitted: fitted(), proposed: lever().proposed }, kind, bench.second[kind], across, high);
  plot.move(bench.travel);
}

function listSeconds() {
  const { kind } = tab();
  const now = plot.second[0];
  const buttons = secondsOf(shown(), kind).map(([key, name]) => {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = name;
    button.setAttribute("aria-pressed", String(key === now));
    button.addEventListener("click", () => {
      bench.second[kind] = key;
      view.set("below", key);
      draw();
      listSeconds();
      [...$("seconds").children].find((one) => one.textContent === name)?.focus();
    });
    return button;
  });
  $("seconds").replaceChildren(...buttons);
}

// The lever in the hand ----------------------------------------------------------------------------------------

let waiting = 0;

/** Where a hand puts the lever: by angle or by travel; drawn once a frame, kept when it settles. */
function put({ theta, travel }, settled) {
  if (!bench.tabs.length) return;
  if (theta !== undefined) bench.travel = travelAt(shown(), theta);
  if (travel !== undefined) bench.travel = Math.min(Math.max(travel, 0), endOf(shown()));
  waiting ||= requestAnimationFrame(() => {
    waiting = 0;
    mechanism.move(bench.travel);
    plot.move(bench.travel);
  });
  if (settled) keepTravel();
}

/** Where the lever stands, beside the job and not in the address: a new address would ask the server for its icon. */
function keepTravel() {
  if (new URLSearchParams(location.search).has("travel")) view.set("travel", null);
  try {
    localStorage.setItem(TRAVEL + store.id, bench.travel.toFixed(2));
  } catch { /* a browser that keeps nothing */ }
}

function keptTravel() {
  try {
    return view.get("travel") ?? localStorage.getItem(TRAVEL + store.id);
  } catch {
    return null;
  }
}

$("mechanism-view").addEventListener("keydown", (event) => {
  if (!event.target.closest(".grab")) return;
  const travel = event.key === "Home" ? 0 : event.key === "End" ? Infinity : bench.travel + (KEYS[event.key] ?? NaN);
  if (Number.isNaN(travel)) return;
  event.preventDefault();
  put({ travel }, true);
});

// Begin --------------------------------------------------------------------------------------------------------

$("as-fitted").addEventListener("click", () => store.try("as fitted", []));
units.subscribe(() => show());
WIDE.addEventListener("change", () => show());

let widths = "";
const sizes = new ResizeObserver(() => {
  const now = `${$("mechanism").clientWidth} ${$("plot").clientWidth}`;
  if (!bench.tabs.length || now === widths) return;
  widths = now;
  draw();
});
for (const id of ["mechanism", "plot"]) sizes.observe($(id));

document.addEventListener("back", () => load());

ready.then(() => {
  for (const kind of ["brake", "clutch"]) bench.second[kind] = view.get("below");
  const asked = view.get("with");
  if (asked) store.try("cams to try", asked.split(","));
  store.subscribe(() => {
    view.set("with", store.tried.join(",") || null);
    load();
  });
  store.onChecked(nameSet);
  tour();
}, tellError);
