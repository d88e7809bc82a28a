// Read-outs as a drawing's table: fitted, proposed, change, felt or not. The words come from the server.

import { units } from "../units.js";
import { node } from "./cams.js";

const HEADS = ["fitted", "proposed", "change", "felt?"];
const LEAST_STEPS = 0.05;
const SIGNS = ["", "▲", "▲▲"];

const system = () => (units.inch ? "inch" : "metric");

/** Number and unit apart, so that the unit steps back; "12 N / 8 N" keeps both numbers. */
function split(text) {
  return text.split(" / ").flatMap((part, index) => {
    const cut = part.search(/ (?=[^\d\s]*$|[a-zA-Z%°])/);
    const [number, unit] = cut > 0 && /\d/.test(part) ? [part.slice(0, cut), part.slice(cut)] : [part, ""];
    return [index ? " / " : "", number.replace(/^-/, "−"), node("span", { class: "unit" }, unit.trim())];
  });
}

function cells(row, changed) {
  const words = row[system()];
  const felt = changed ? `${SIGNS[row.grade]} ${row.felt}`.trim() : "";
  const steps = Math.abs(row.felt_steps);
  const counted = changed && row.felt && steps >= LEAST_STEPS ? `· ${steps.toFixed(1)} steps` : "";
  const made = [
    node("td", { class: "number" }, ...split(words.fitted)),
    node("td", { class: "number" }, ...(changed ? split(words.proposed) : ["–"])),
    node("td", { class: "number" }, ...(changed ? split(words.change) : [""])),
    node("td", { class: row.grade ? "felt" : "felt note" }, felt, node("span", { class: "unit" }, counted)),
  ];
  made.forEach((cell, index) => {
    cell.setAttribute("data-head", HEADS[index]);
    cell.setAttribute("role", "cell"); // kept where the sheet is narrow and a row is laid out as a block
  });
  return changed ? made : made.slice(0, 1);
}

function table(rows, caption, changed) {
  const head = node("tr", { role: "row" }, node("th", { scope: "col", role: "columnheader" }, "read-out"),
    ...HEADS.slice(0, changed ? 4 : 1).map((name, index) => node("th", { scope: "col", role: "columnheader", class: index < 3 ? `number ${["fitted", "proposed", ""][index]}` : "" }, name)));
  const body = rows.map((row) => node("tr", { role: "row" }, node("th", { scope: "row", role: "rowheader" }, row.label), ...cells(row, changed)));
  return node("table", { role: "table" }, node("caption", {}, caption), node("thead", {}, head), node("tbody", {}, ...body));
}

/** The same lying down: read-outs side by side, for a wide sheet. */
function lying(rows, caption, changed) {
  const columns = rows.map((row) => cells(row, changed));
  const head = node("tr", {}, node("td", {}), ...rows.map((row) => node("th", { scope: "col", class: "number" }, row.label)));
  const body = HEADS.slice(0, changed ? 4 : 1).map((name, line) => node("tr", {}, node("th", { scope: "row", class: ["fitted", "proposed", "", ""][line] }, name),
    ...columns.map((made) => made[line])));
  return node("table", { class: "lying" }, node("caption", {}, caption), node("thead", {}, head), node("tbody", {}, ...body));
}

/**
 * Fill the places of sentence, warnings and table.
 * @param {{sentence: HTMLElement, warnings: HTMLElement, main: HTMLElement, rest: HTMLElement}} places
 * @param {object} lever as the server tells it
 * @param {string} kind brake or clutch
 * @param {string[]} surfaces
 * @param {boolean} wide
 */
export function showTable(places, lever, kind, surfaces, wide) {
  const changed = lever.changed;
  places.sentence.textContent = lever.sentence[system()];
  places.sentence.classList.toggle("proposed", changed);
  places.warnings.replaceChildren(...warnings(lever));
  const rows = lever.rows.filter((row) => row.kind === kind);
  const [main, rest] = [rows.filter((row) => row.main), rows.filter((row) => !row.main)];
  const words = rows.some((row) => row.per_surface) ? `${kind}, per surface: ${surfaces.join(" / ")}` : kind;
  places.main.replaceChildren((wide ? lying : table)(main, words, changed));
  places.rest.replaceChildren(table(rest, `${kind}, all other read-outs`, changed));
}

function warnings(lever) {
  const broken = lever.broken.map((one) => node("p", { class: one.as_fitted ? "warn" : "bad" },
    one.as_fitted ? "! As fitted already: " : "✕ Breaks a limit: ", `${one.sentence}.`));
  const [first] = lever.check_first;
  if (!first) return broken;
  const complaint = node("p", { class: "warn" }, "! Check first (", first.complaint, "): ", `${first.cause}. ${first.check}`);
  return [...broken, complaint];
}
