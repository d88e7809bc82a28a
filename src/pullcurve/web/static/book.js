// The job book: machines at the side, one machine's history, and what is written into it.

import { ask, send, tell, tellError } from "./api.js";
import { store, view, ready } from "./store.js";
import { units } from "./units.js";
import { chapters } from "./bookdrafts.js";
import { byId, el, known } from "./bookleaf.js";
import { showHistory } from "./bookhistory.js";
import * as side from "./bookside.js";
import * as forms from "./bookforms.js";
import * as asked from "./bookask.js";

const WIDE = matchMedia("(min-width: 1024px)");
const LOADS = { ...forms.LOADS, "due-all": side.showDue, compare: asked.compare, due: asked.due, learn: () => asked.learn() };
let leaf = null; // { machine, history, visits }
let said = ""; // the answer that is shown, as it came

// One machine ---------------------------------------------------------------------------------------------------

async function open(machine, line = null) {
  try {
    const answer = await ask(`/api/book/timeline?machine=${encodeURIComponent(machine)}`, undefined, "book-machine");
    if (!answer) return;
    tell("");
    show(answer);
    if (!WIDE.matches) byId("machines").open = false;
    (line ? byId(line) : null)?.scrollIntoView({ block: "center" });
    (line ? byId(line) : byId("name"))?.focus({ preventScroll: Boolean(line) });
  } catch (error) {
    tellError(error);
  }
}

function show(answer) {
  const other = leaf?.machine.number !== answer.machine.number;
  if (other && leaf) for (const name of ["from", "to"]) view.set(name, null);
  leaf = { ...answer, visits: answer.history.filter(({ kind }) => kind === "visit") };
  said = JSON.stringify(answer);
  view.set("machine", answer.machine.number);
  const { name, number, owner, words } = answer.machine;
  byId("choose").hidden = true;
  byId("machine").hidden = false;
  byId("name").replaceChildren(name, " ", el("span", { className: "note" }, `#${number}`));
  byId("owner").textContent = [owner, words].filter(Boolean).join(" · ");
  byId("next").replaceChildren(side.dueWords(answer.machine) ?? "");
  byId("nothing").hidden = leaf.visits.length > 0;
  byId("only").hidden = false;
  side.mark(number);
  history();
  forms.show(leaf);
  asked.show(leaf, other);
  for (const [id, load] of Object.entries(LOADS)) if (byId(id).open) load();
}

function history() {
  if (leaf) showHistory(document.querySelector(".days"), leaf.machine, leaf.history);
}

// The same machine again: somebody may have written since.
async function refresh() {
  try {
    await side.showMachines();
    if (!leaf) return;
    side.mark(leaf.machine.number);
    const answer = await ask(`/api/book/timeline?machine=${leaf.machine.number}`, undefined, "book-machine");
    if (answer && answer.machine.number === leaf.machine.number && JSON.stringify(answer) !== said) show(answer);
  } catch (error) {
    tellError(error);
  }
}

async function written(name, answer) {
  await refresh();
  if (name === "machine") await open(answer.machine.number);
}

// Chapters and search ---------------------------------------------------------------------------------------------

function begin() {
  for (const chapter of document.querySelectorAll("details.chapter")) {
    const kept = chapters.get(chapter.id);
    if (kept !== null) chapter.open = kept;
    chapter.querySelector("summary").addEventListener("click", () => chapters.set(chapter.id, !chapter.open));
    chapter.addEventListener("toggle", () => {
      if (chapter.open && (leaf || !chapter.closest("#machine"))) LOADS[chapter.id]?.();
    });
  }
  byId("search").addEventListener("submit", (event) => {
    event.preventDefault();
    find();
  });
  byId("words").addEventListener("input", ({ target }) => view.set("words", target.value.trim()));
  byId("here").addEventListener("change", find);
  document.addEventListener("back", refresh);
  document.addEventListener("visibilitychange", () => document.hidden || refresh());
}

function find() {
  side.search(byId("words").value.trim(), byId("here").checked && leaf ? leaf.machine.number : null);
}

begin();
side.begin(open);
forms.begin(written);
ready.then(async () => {
  Object.assign(known, await (await send("/api/book/readouts")).json());
  forms.prepare();
  asked.begin(refresh);
  byId("words").value ||= view.get("words", "");
  await side.showMachines();
  const wanted = view.get("machine");
  if (wanted) await open(wanted);
  if (byId("words").value) find();
  let first = true;
  units.subscribe(() => {
    if (!first) {
      history();
      if (leaf) forms.show(leaf);
      asked.again();
    }
    first = false;
  });
}).catch(tellError);
