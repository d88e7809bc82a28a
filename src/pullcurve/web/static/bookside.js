// The side of the book: machines by name, search, and what is due in the whole of it.

import { ask, tellError } from "./api.js";
import { byId, el, today } from "./bookleaf.js";

const KINDS = { ride: "ride note", pull: "bench pull" };
const list = byId("machines").querySelector("ul");
const more = byId("machines").querySelector(".more");
let choose = () => {};
let last = "";

export function dueWords(machine) {
  if (!machine.due) return null;
  const over = machine.due <= today();
  const words = over ? `✕ due since ${machine.due}: ${machine.due_for}` : `✓ next due ${machine.due}: ${machine.due_for}`;
  return el("span", { className: over ? "bad small" : "good small" }, words);
}

function entry(machine, what) {
  const button = el("button", { type: "button", className: "entry-line" }, el("strong", {}, machine.name), el("span", { className: "note" }, machine.owner), what);
  button.addEventListener("click", () => choose(machine.number));
  button.dataset.machine = machine.number;
  return el("li", {}, button);
}

function listed(machine) {
  const told = machine.visits ? `${machine.visits} ${machine.visits === 1 ? "visit" : "visits"}, last ${machine.last_visit}` : "no visit yet";
  return entry(machine, el("span", { className: "small" }, el("span", { className: "note" }, told), dueWords(machine)));
}

// The list anew, or the next machines behind those that are listed.
export async function showMachines(after = "") {
  const found = await ask(`/api/book/machines?after=${encodeURIComponent(after)}`, undefined, "book-list");
  if (!found) return;
  const items = found.machines.map(listed);
  if (after) list.append(...items);
  else list.replaceChildren(...items);
  last = found.machines.at(-1)?.name ?? after;
  more.hidden = !found.more;
  const none = !after && !items.length;
  byId("empty").hidden = !none;
  byId("empty").textContent = none ? "Nothing is in the book yet; the first machine starts it." : "";
  byId("place").textContent = found.book || "nowhere; this server was started without a place for one";
  if (none) byId("add").open = true;
}

export function mark(number) {
  for (const button of list.querySelectorAll("button")) {
    if (button.dataset.machine === String(number)) button.setAttribute("aria-current", "true");
    else button.removeAttribute("aria-current");
  }
}

// Search --------------------------------------------------------------------------------------------------------

export async function search(words, machine) {
  const place = byId("found");
  if (!words) {
    place.hidden = true;
    return;
  }
  try {
    const only = machine === null ? "" : `&machine=${machine}`;
    const answer = await ask(`/api/book/search?words=${encodeURIComponent(words)}${only}`, undefined, "book-search");
    if (!answer) return;
    place.hidden = false;
    place.querySelector("h2").textContent = answer.found.length ? `${answer.found.length} found` : "Nothing in the book holds these words.";
    place.querySelector("ul").replaceChildren(...answer.found.map(hit));
  } catch (error) {
    tellError(error);
  }
}

function hit(one) {
  const where = `${one.day} · ${KINDS[one.kind] ?? one.kind} ${one.number}`;
  const button = el("button", { type: "button", className: "entry-line" }, el("strong", {}, one.machine), el("span", { className: "note" }, where), el("span", { className: "small" }, one.words));
  button.addEventListener("click", () => choose(one.machine, one.kind === "machine" ? null : `${one.kind}-${one.number}`));
  return el("li", {}, button);
}

// Due -----------------------------------------------------------------------------------------------------------

export async function showDue() {
  try {
    const answer = await ask(`/api/book/due?day=${byId("due-by").value || today()}`, undefined, "book-due");
    if (!answer) return;
    const items = answer.machines.map((machine) => entry(machine, dueWords(machine)));
    byId("due-all").querySelector("ul").replaceChildren(...(items.length ? items : [el("li", { className: "good" }, "✓ Nothing is due.")]));
  } catch (error) {
    tellError(error);
  }
}

// choose(machine, line) opens a machine, by number or name, and shows one of its lines.
export function begin(chosen) {
  choose = chosen;
  byId("due-by").value = today();
  byId("due-by").addEventListener("change", showDue);
  more.addEventListener("click", () => showMachines(last).catch(tellError));
}
