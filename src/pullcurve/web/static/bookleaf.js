// Small things of the book's page: elements, days, and read-outs in the words and units of the workshop.

import { sentence, Refused, tellError } from "./api.js";
import { units } from "./units.js";

export const byId = (id) => document.getElementById(id);
export const today = () => new Date().toLocaleDateString("sv-SE");

// What the server knows of read-outs, grounds and fluids; set once when the page begins.
export const known = { readouts: {}, grounds: [], fluids: [] };

const POINTS = ["far too little", "too little", "a little too little", "just right", "a little too much", "too much", "far too much"];
const STATES = { due: ["✕", "bad"], soon: ["!", "warn"], good: ["✓", "good"] };

export const most = 3;
export const pointWords = (points) => POINTS[points + most];
export const signed = (points) => (points > 0 ? `+${points}` : points < 0 ? `−${-points}` : "0");

// An element: el("li", { className: "x" }, "text", other)
export function el(tag, how = {}, ...inside) {
  const made = Object.assign(document.createElement(tag), how);
  made.append(...inside.filter((one) => one !== null && one !== ""));
  return made;
}

// A line with a sign and a word before it, such as "✕ due".
export function stateLine(state, words, tag = "li") {
  const [sign, look] = STATES[state];
  const line = el(tag, {}, el("span", {}, el("span", { className: look }, `${sign} `), words));
  line.dataset.state = state;
  return line;
}

export function label(key) {
  const [kind] = key.split(".");
  return `${kind}, ${known.readouts[key]?.label ?? key}`;
}

// A value in SI as it is read: "48.0 mm"; what is not reached is said so.
export function value(key, si) {
  const one = known.readouts[key];
  if (si === null) return "not reached";
  if (!one) return String(si);
  return units.text(one.unit, si * one.per_si, one.decimals).replace(" ", "\u00a0"); // a number stays with its unit
}

export function change(key, before, after) {
  if (before === null || after === null) return "";
  const text = value(key, after - before);
  return text.startsWith("-") ? text.replace("-", "−") : `+${text}`;
}

// What went wrong, at the place where it was asked; a server that is away is told above the sheet.
export function say(place, error) {
  if (!(error instanceof Refused) || !error.status) {
    tellError(error);
    return;
  }
  place.hidden = false;
  place.textContent = error.faults.map((fault) => `✕ ${sentence(fault)}`).join("\n");
}

export function hush(...places) {
  for (const place of places) {
    place.hidden = true;
    place.textContent = "";
  }
}

export function table(heads, rows, name) {
  const head = el("tr", {}, ...heads.map((text) => el("th", { scope: "col" }, text)));
  const body = rows.map(([first, ...rest]) => el("tr", {}, el("th", { scope: "row" }, first), ...rest.map((text) => el("td", { className: "number" }, text))));
  const region = el("div", { className: "wide", tabIndex: 0 }, el("table", {}, el("thead", {}, head), el("tbody", {}, ...body)));
  region.setAttribute("role", "region");
  region.setAttribute("aria-label", name);
  return region;
}
