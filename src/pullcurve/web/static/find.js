// Find: wishes as sliders, every set as a point, the undominated ones as a list with reasons.

import { work, tellError, Refused } from "./api.js";
import { store, view, ready } from "./store.js";
import { units } from "./units.js";
import { put, take } from "./paths.js";
import { Scatter } from "./scatter.js";

const MOST = 12;
const FEW = 4;
const levers = new Map(); // by name: { section, scatter, wishes, answers, cloud }
const place = document.getElementById("levers");
let next = false;
let busy = false;

function clone(id) {
  return document.getElementById(id).content.firstElementChild.cloneNode(true);
}

// One search at a time; while it runs, only the newest job waits.
async function search() {
  next = true;
  if (busy) return;
  busy = true;
  while (next) {
    next = false;
    try {
      const answer = await work(document.getElementById("busy"), "searching the rack", "/api/find", { job: store.job, most: MOST, cloud: true });
      if (answer) show(answer);
    } catch (error) {
      failed(error);
    }
  }
  busy = false;
}

function failed(error) {
  const nothing = document.getElementById("nothing");
  if (error instanceof Refused && error.status === 409) {
    nothing.textContent = `✕ ${error.message}`;
    nothing.hidden = false;
    for (const { list, count } of levers.values()) {
      list.replaceChildren();
      count.textContent = "";
    }
  } else tellError(error);
}

function show(found) {
  document.getElementById("nothing").hidden = true;
  for (const [place, lever] of found.levers.entries()) {
    const known = levers.get(lever.lever) ?? section(lever, found.clouds[place]);
    Object.assign(known, { lever, cloud: found.clouds[place] });
    showWishes(known);
    known.scatter.show(known.cloud, known.x.value, known.y.value);
    showAnswers(known);
    showReasons(known);
  }
  showRoute(found.route);
}

function section(lever, cloud) {
  const root = clone("lever");
  const known = {
    root,
    x: root.querySelector(".x"),
    y: root.querySelector(".y"),
    list: root.querySelector(".answers"),
    count: root.querySelector(".count"),
    more: root.querySelector(".more"),
    all: false,
    wishes: new Map(),
    cloud,
  };
  root.querySelector("h2").textContent = lever.lever;
  root.querySelector(".wishes").setAttribute("aria-label", `Wishes for the ${lever.lever}`);
  known.scatter = new Scatter(root.querySelector(".cloud"), () => narrowed(known));
  root.querySelector(".whole").addEventListener("click", () => known.scatter.narrow(null));
  known.more.addEventListener("click", () => {
    known.all = true;
    showAnswers(known);
  });
  choose(known, lever, cloud);
  bounds(known);
  place.append(root);
  levers.set(lever.lever, known);
  return known;
}

// Axes: what is wished comes first.
function choose(known, lever, cloud) {
  const wished = cloud.axes
    .filter((axis) => axis.wish !== null && axis.source !== "kept" && varies(axis))
    .map((axis) => axis.key);
  const others = cloud.axes.filter((axis) => !wished.includes(axis.key));
  others.sort((one, other) => Number(varies(other)) - Number(varies(one)));
  const order = [...wished, ...others.map((axis) => axis.key)];
  for (const [select, name, first] of [[known.x, "across", order[1]], [known.y, "up", order[0]]]) {
    const slot = `${lever.lever} ${name}`.replaceAll(" ", "-");
    const chosen = view.get(slot, first);
    select.replaceChildren(...cloud.axes.map((axis) => new Option(axis.label, axis.key, false, axis.key === chosen)));
    select.addEventListener("change", () => {
      view.set(slot, select.value);
      known.scatter.show(known.cloud, known.x.value, known.y.value);
      narrowed(known);
    });
  }
}

// Whether the sets differ in a read-out by as much as it is shown with.
function varies(axis) {
  const values = axis.values.filter((value) => value !== null);
  return Math.max(...values) - Math.min(...values) > 2 * 10 ** -axis.decimals;
}

// Wishes -------------------------------------------------------------------------------------------------------

function showWishes(known) {
  for (const axis of known.cloud.axes) {
    const row = known.wishes.get(axis.key) ?? wishRow(known, axis);
    row.axis = axis;
    const values = axis.values.filter((value) => value !== null);
    const shown = (value) => units.text(axis.unit, value, axis.decimals);
    const on = axis.wish !== null && axis.source !== "kept";
    row.root.classList.toggle("off", !on);
    row.box.checked = on;
    const [low, high] = [Math.min(...values), Math.max(...values)];
    Object.assign(row.range, { min: Math.min(low, axis.wish ?? low), max: Math.max(high, axis.wish ?? high) });
    const wish = axis.wish ?? axis.fitted ?? low;
    if (document.activeElement !== row.range) row.range.value = wish;
    if (document.activeElement !== row.text) row.text.value = units.text(axis.unit, wish, axis.decimals).split(" ")[0];
    row.range.setAttribute("aria-valuetext", shown(wish));
    row.unit.textContent = units.shown(axis.unit, 0).unit;
    const stands = axis.source === "prior" ? "; this wish stands in, nobody stated it" : axis.source === "kept" ? "; kept as fitted" : "";
    row.ends.textContent = values.length ? `within reach: ${shown(low)} to ${shown(high)}; fitted ${shown(axis.fitted)}${stands}` : "";
    row.weight.value = String(store.job.wishes?.importance?.[axis.key] ?? 1);
  }
}

function wishRow(known, axis) {
  const root = clone("wish");
  const row = {
    root,
    box: root.querySelector("input[type=checkbox]"),
    range: root.querySelector("input[type=range]"),
    text: root.querySelector("input[type=text]"),
    unit: root.querySelector(".unit"),
    ends: root.querySelector(".ends"),
    weight: root.querySelector(".weight select"),
    axis,
  };
  root.querySelector(".label").textContent = axis.label;
  row.range.setAttribute("aria-label", `${axis.label}, wished`);
  row.text.setAttribute("aria-label", `${axis.label}, wished, as a number`);
  row.weight.setAttribute("aria-label", `how much ${axis.label} matters`);
  const set = (value) => wish(known, axis.key, value);
  row.box.addEventListener("change", () => set(row.box.checked ? round(row.axis, Number(row.range.value)) : undefined));
  row.range.addEventListener("input", () => {
    row.text.value = units.text(row.axis.unit, Number(row.range.value), row.axis.decimals).split(" ")[0];
    set(round(row.axis, Number(row.range.value)));
  });
  row.text.addEventListener("change", () => {
    const value = Number(row.text.value.replace(",", "."));
    if (row.text.value.trim() && Number.isFinite(value)) set(units.typed(row.axis.unit, value));
  });
  row.weight.addEventListener("change", () => store.change(`importance of ${axis.key}`, (job) => weigh(job, axis.key, Number(row.weight.value))));
  known.wishes.set(axis.key, row);
  known.root.querySelector(".list").append(root);
  return row;
}

function round(axis, value) {
  return Number(value.toFixed(axis.decimals + 1));
}

// The first own wish takes along those that stood in, so that they do not vanish.
function wish(known, key, value) {
  const kind = key.split(".")[0];
  store.change(`wish ${key}`, (job) => {
    if (!job.wishes?.[kind]) {
      for (const axis of known.cloud.axes) {
        if (axis.source === "prior" && axis.key.startsWith(`${kind}.`)) put(job, `wishes.${axis.key}`, axis.wish);
      }
    }
    if (value === undefined) take(job, `wishes.${key}`);
    else put(job, `wishes.${key}`, value);
    if (!job.wishes?.[kind]) put(job, `wishes.${kind}`, {});
  });
}

function weigh(job, key, weight) {
  const importance = { ...job.wishes?.importance };
  if (weight === 1) delete importance[key];
  else importance[key] = weight;
  job.wishes = { ...job.wishes, importance };
}

// Answers ------------------------------------------------------------------------------------------------------

function id(cams) {
  return Object.values(cams).map((cam) => cam.id ?? cam).join(" + ");
}

function narrowed(known) {
  known.root.querySelector(".whole").disabled = !known.scatter.window;
  showBounds(known);
  showAnswers(known);
}

function showAnswers(known) {
  const { cloud, lever, scatter } = known;
  const rows = cloud.cams.map((_, row) => row).filter((row) => scatter.inside(row));
  const inside = new Set(rows.map((row) => id(cloud.cams[row])));
  const best = rows.filter((row) => cloud.undominated[row]).length;
  const where = scatter.window ? "in the window" : "keep every limit";
  known.count.textContent = `${rows.length} of ${lever.searched} sets ${where}; ${best} of them no other beats`;
  const listed = lever.answers.map((answer, place) => ({ answer, place })).filter(({ answer }) => inside.has(id(answer.cams)));
  const few = known.all ? listed : listed.slice(0, FEW);
  known.list.replaceChildren(...few.map(({ answer, place }) => answerItem(answer, place)));
  known.more.hidden = few.length === listed.length;
  known.more.textContent = `show ${listed.length - few.length} more`;
  known.root.querySelector(".key").textContent =
    "▷ fitted   ● no other set beats it in every wish   + keeps every limit   chain line: wish. Drag a window to narrow the list.";
}

function answerItem(answer, place) {
  const item = clone("answer");
  item.value = place + 1;
  item.querySelector("strong").textContent = id(answer.cams);
  item.querySelector(".distance").textContent = `${answer.distance_felt_steps.toFixed(1)} felt steps from the wishes`;
  item.querySelector(".words").append(...answer.words.map((words) => Object.assign(document.createElement("li"), { textContent: words })));
  const look = item.querySelector(".look");
  look.href = `/?job=${store.id}&with=${Object.values(answer.cams).map((cam) => cam.id).join(",")}`;
  look.setAttribute("aria-label", `see ${id(answer.cams)} on the bench`);
  const fit = item.querySelector(".fit");
  fit.setAttribute("aria-label", `fit ${id(answer.cams)}`);
  fit.addEventListener("click", () => fitCams(answer.cams));
  return item;
}

export function fitCams(cams) {
  store.change(`fit ${id(cams)}`, (job) => {
    for (const [kind, { id: _, name: __, ...numbers }] of Object.entries(cams)) put(job, `fitted.${kind}`, numbers);
  });
}

function showReasons(known) {
  const { lever } = known;
  const lines = [
    ...lever.wish_costs
      .filter((cost) => cost.others_nearer_by_felt_steps >= 0.5)
      .map((cost) => `Without the wish for ${label(known, cost.wish)}, the others come ${cost.others_nearer_by_felt_steps.toFixed(1)} felt steps nearer, with ${id(cost.with)}.`),
    ...lever.bounds
      .filter((bound) => !bound.met)
      .map((bound) => `No cam can do it: ${label(known, bound.wish)} ${bound.stretch} needs ${units.text("newton", bound.least_force)} or more; wished are ${units.text("newton", bound.wished_force)}.`),
    ...lever.excluded.map((entry) => `${entry.count} ruled out: ${entry.sentence}.`),
  ];
  known.root.querySelector(".reasons").replaceChildren(...lines.map((text) => Object.assign(document.createElement("li"), { textContent: text })));
}

function label(known, key) {
  return known.cloud.axes.find((axis) => axis.key === key)?.label ?? key;
}

function showRoute(route) {
  const section = document.getElementById("route");
  section.hidden = !route.length;
  section.querySelector("ol").replaceChildren(
    ...route.map((step) => {
      const words = step.map(({ off, on }) => (off ? `${off} off, ${on} on` : `${on} on`)).join("; ");
      const together = step.length > 1 ? " (together, one change of reach)" : "";
      return Object.assign(document.createElement("li"), { textContent: words + together });
    }),
  );
}

// The window over the scatter as numbers, for whoever does not drag.
function bounds(known) {
  const box = known.root.querySelector(".bounds");
  known.bounds = ["x from", "x to", "y from", "y to"].map((name) => {
    const input = Object.assign(document.createElement("input"), { type: "text", inputMode: "decimal", className: "short" });
    const label = Object.assign(document.createElement("label"), { textContent: name.replace("x", "across").replace("y", "up") });
    input.addEventListener("change", () => typedWindow(known));
    label.append(input);
    box.append(label);
    return input;
  });
}

function showBounds(known) {
  const { window, across, up } = known.scatter;
  const values = window ? [...window.x.map((v) => [across, v]), ...window.y.map((v) => [up, v])] : [];
  known.bounds.forEach((input, place) => {
    if (input === document.activeElement) return;
    const [axis, value] = values[place] ?? [];
    input.value = axis && Number.isFinite(value) ? units.shown(axis.unit, value).value.toFixed(1) : "";
  });
}

function typedWindow(known) {
  const { across, up } = known.scatter;
  const [x0, x1, y0, y1] = known.bounds.map((input, place) => {
    const value = Number(input.value.replace(",", "."));
    const open = place % 2 ? Infinity : -Infinity;
    return input.value.trim() && Number.isFinite(value) ? units.typed((place < 2 ? across : up).unit, value) : open;
  });
  const limited = [x0, x1, y0, y1].some(Number.isFinite);
  const clip = (axis, [low, high]) => {
    const known = axis.values.filter((value) => value !== null);
    return [Math.max(low, Math.min(...known)), Math.min(high, Math.max(...known))];
  };
  known.scatter.narrow(limited ? { x: clip(across, [x0, x1]), y: clip(up, [y0, y1]) } : null);
}

ready.then(() => {
  store.subscribe(() => search());
  document.addEventListener("back", search);
  units.subscribe(() => {
    for (const known of levers.values()) {
      showWishes(known);
      known.scatter.draw();
      showBounds(known);
    }
  });
}).catch(tellError);
