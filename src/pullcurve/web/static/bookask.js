// Questions about one machine: two dates beside each other, what is due on it, what its ride notes teach.

import { ask, send, work } from "./api.js";
import { store, view } from "./store.js";
import { who } from "./bookdrafts.js";
import { byId, change, el, hush, known, label, say, stateLine, table, today, value } from "./bookleaf.js";

const NOTED = { given: "", prior: " (prior)", kept: " (as fitted)" };
const PROPOSED = "Best set for what was learned from the ride notes.";
let leaf = null; // { machine, history, visits }
let written = () => {};
let learned = null;
let turn = 0;

const shown = (id) => byId(id).open && leaf?.visits.length;

// Two dates -----------------------------------------------------------------------------------------------------

function dates() {
  byId("compare-first").value = view.get("from") ?? leaf.visits[0]?.day ?? today();
  byId("compare-second").value = view.get("to") ?? today();
}

export async function compare() {
  if (!shown("compare")) return;
  const place = byId("compare").querySelector(".answer");
  const said = byId("compare").querySelector(".said");
  const [first, second] = [byId("compare-first").value, byId("compare-second").value];
  hush(said);
  try {
    const answer = await ask(`/api/book/compare?machine=${leaf.machine.number}&first=${first}&second=${second}`, undefined, "book-compare");
    if (answer) place.replaceChildren(...between(answer));
  } catch (error) {
    place.replaceChildren();
    say(said, error);
  }
}

function between({ before, after, cams, numbers, readouts }) {
  const head = el("p", {}, `${before.day} (visit ${before.visit}) and ${after.day} (visit ${after.visit})`);
  const changes = cams.map((one) => el("li", {}, one.map(({ of, off, on }) => `${of}: ${off ?? "none"} → ${on ?? "none"}`).join(", ")));
  const list = el("ul", { className: "plain close" }, ...(changes.length ? changes : [el("li", {}, "no cam exchanged")]));
  const all = Object.entries(readouts).map(([key, one]) => [key, one, value(key, one.before), value(key, one.after)]);
  const differ = all.filter(([, , was, is]) => was !== is);
  const rows = differ.map(([key, one, was, is]) => [label(key), was, is, change(key, one.before, one.after), one.verdict, steps(one.felt_steps)]);
  const found = [head, list];
  const typed = Object.entries(numbers).map(([path, one]) => [path, plain(one.before), plain(one.after)]);
  if (rows.length) found.push(table(["read-out", "before", "after", "change", "felt?", "felt steps"], rows, "Read-outs that differ"));
  found.push(el("p", { className: "note" }, rows.length ? `${all.length - rows.length} read-outs are the same.` : "No read-out differs."));
  if (typed.length) found.push(el("h3", {}, "Numbers of the job that differ"), table(["number", "before", "after"], typed, "Numbers of the job that differ"));
  return found;
}

const plain = (one) => (one === null ? "–" : String(one));
const steps = (one) => (one === null ? "–" : `${one < 0 ? "−" : "+"}${Math.abs(one).toFixed(1)}`);

// Due -----------------------------------------------------------------------------------------------------------

export async function due() {
  if (!shown("due")) return;
  const place = byId("due").querySelector(".answer");
  const said = byId("due").querySelector(".said");
  hush(said);
  try {
    const answer = await ask(`/api/book/due?machine=${leaf.machine.number}&day=${byId("due-day").value || today()}`, undefined, "book-due-one");
    if (!answer) return;
    const lines = answer.items.map(dueLine);
    if (answer.fluid) lines.push(stateLine(answer.fluid.state, `brake fluid: ${answer.fluid.words}`));
    if (answer.fluid_unknown) lines.push(stateLine("due", "brake fluid: nothing is noted, so look at it now, and note it with the visit."));
    place.replaceChildren(...lines);
  } catch (error) {
    place.replaceChildren();
    say(said, error);
  }
}

// Where strip and build has a task for it, the way there; the steps are those of the job that is open.
function dueLine({ state, words, task, name }) {
  const line = stateLine(state, words);
  if (!task || state === "good") return line;
  const link = el("a", { className: "button", href: `/steps?job=${store.id}&task=${task}` }, "steps");
  link.setAttribute("aria-label", `steps for ${name}`);
  line.append(link);
  return line;
}

// What the notes teach --------------------------------------------------------------------------------------------

export async function learn(find = false) {
  if (!shown("learn")) return;
  turn += 1;
  const mine = turn;
  const [place, said, done] = [".answer", ".said", ".done"].map((one) => byId("learn").querySelector(one));
  hush(said, done);
  try {
    const body = { machine: String(leaf.machine.number), find };
    const answer = await work(byId("learn").querySelector(".busy-here"), find ? "searching the rack" : "weighing the notes", "/api/book/learn", body);
    if (!answer || mine !== turn) return;
    learned = answer;
    byId("learn").querySelector(".ask").hidden = false;
    place.replaceChildren(...taught(answer), ...(answer.best ? best(answer.best) : []));
  } catch (error) {
    if (mine === turn) {
      place.replaceChildren();
      say(said, error);
    }
  }
}

function taught({ rides, doubt_felt_steps: doubt, preferences, next_ride: next }) {
  const keys = Object.fromEntries(Object.entries(preferences).map(([wish, one]) => [wish, one.readout]));
  const rows = Object.values(preferences).map((one) => {
    const show = (si) => value(one.readout, si);
    return [label(one.readout), show(one.wished) + NOTED[one.source], one.notes ? show(one.value) : "as wished", `${show(one.low)} to ${show(one.high)}`, String(one.notes), show(one.fitted)];
  });
  const lines = next.map((one) => {
    const how = one.on === null ? "as it is" : `${one.off} → ${one.on}`;
    const most = keys[one.tells_most_of] ? `; most of ${label(keys[one.tells_most_of])}` : "";
    return el("li", {}, el("strong", {}, how), `: doubt ${one.doubt_felt_steps.toFixed(2)} felt steps after it${most}`);
  });
  return [
    el("p", {}, `${rides} rated ${rides === 1 ? "ride" : "rides"}; doubt now ${doubt.toFixed(2)} felt steps.`),
    table(["read-out", "wished", "liked best", "95 %", "notes", "fitted"], rows, "What this rider would like"),
    el("h3", {}, "What one ride would teach most next, if every read-out is rated"),
    el("ul", { className: "reasons" }, ...lines),
  ];
}

function best({ cams, exchanges, levers }) {
  const found = [el("h3", {}, "Best set of the rack for it"), el("p", {}, Object.values(cams).join(", "))];
  for (const { lever, words } of levers) found.push(el("p", { className: "close" }, `${lever}:`), el("ul", { className: "reasons" }, ...words.map((one) => el("li", {}, one))));
  if (!exchanges.length) return [...found, el("p", {}, "What is fitted is the best set, so there is nothing to propose.")];
  const button = el("button", { type: "button" }, "write it as a proposal");
  button.addEventListener("click", () => propose(exchanges));
  return [...found, el("p", { className: "does" }, button)];
}

async function propose(cams) {
  const [said, done] = [".said", ".done"].map((one) => byId("learn").querySelector(one));
  hush(said, done);
  try {
    const body = { machine: String(leaf.machine.number), who: who.get(), day: today(), cams, source: "learned", words: PROPOSED };
    const answer = await (await send("/api/book/proposal", body)).json();
    done.hidden = false;
    done.textContent = `✓ Proposal ${answer.number} is in the book.`;
    written();
  } catch (error) {
    say(said, error);
    if (error.faults?.some(({ key }) => key === "who")) byId("who").focus();
  }
}

function wish() {
  if (!learned) return;
  store.replace("wishes that were learned", learned.job);
  const done = byId("learn").querySelector(".done");
  done.hidden = false;
  done.textContent = "✓ The open job is that of this machine, with the learned wishes: find searches with them. Undo brings the other job back.";
}

// Another machine, or the same one after something was written ----------------------------------------------------

export function show(opened, other) {
  leaf = opened;
  if (other) {
    turn += 1;
    learned = null;
    for (const id of ["compare", "due", "learn"]) {
      byId(id).querySelector(".answer").replaceChildren();
      hush(...byId(id).querySelectorAll(".said, .done"));
    }
    byId("learn").querySelector(".ask").hidden = true;
  }
  for (const id of ["compare", "due", "learn"]) byId(id).hidden = !leaf.visits.length;
  dates();
}

export function begin(told) {
  written = told;
  byId("due-day").value = view.get("on") ?? today();
  byId("due-day").addEventListener("change", ({ target }) => {
    view.set("on", target.value === today() ? null : target.value);
    due();
  });
  byId("compare-ask").addEventListener("submit", (event) => {
    event.preventDefault();
    view.set("from", byId("compare-first").value);
    view.set("to", byId("compare-second").value);
    compare();
  });
  byId("learn").querySelector(".find").addEventListener("click", () => learn(true));
  byId("learn").querySelector(".wish").addEventListener("click", wish);
}

// Read-outs in inches, or in millimetres again.
export function again() {
  if (Object.keys(known.readouts).length && leaf) {
    compare();
    if (learned) learn(Boolean(learned.best));
  }
}
