// A machine's history, the last day first: what was fitted, what was said, measured, seen and proposed.

import { send, tellError } from "./api.js";
import { store } from "./store.js";
import { el, label, pointWords, signed, table, value } from "./bookleaf.js";

const SIGNS = { visit: "■", ride: "◇", pull: "△", fit: "▽", proposal: "○", photo: "□" };
const NAMES = { visit: "visit", ride: "ride note", pull: "bench pull", fit: "fit", proposal: "proposal", photo: "photo" };

// What differs between two sets, by id; of the first one everything.
export function exchanged(before, now) {
  if (!before) return [`on it: ${Object.values(now).join(", ")}`];
  const kinds = [...new Set([...Object.keys(before), ...Object.keys(now)])].filter((kind) => before[kind] !== now[kind]);
  return kinds.map((kind) => `${kind}: ${before[kind] ?? "none"} → ${now[kind] ?? "none"}`);
}

export function showHistory(place, machine, history) {
  const days = new Map();
  const set = new Map(); // what was on before each visit
  const last = new Map(); // the last visit of each day
  let before = null;
  for (const one of history) {
    if (one.kind === "visit") {
      set.set(one, before);
      before = one.cams;
      last.set(one.day, one);
    }
    days.set(one.day, [...(days.get(one.day) ?? []), one]);
  }
  const items = [...days].reverse().map(([day, lines]) => {
    const told = lines.map((one) => line(machine, one, set.get(one), last.get(day) === one));
    return el("li", {}, el("h3", {}, day), el("div", {}, ...told));
  });
  place.replaceChildren(...items);
}

function line(machine, one, before, opens) {
  const head = el("p", { className: "head-line" }, el("span", { className: "sign", ariaHidden: "true" }, SIGNS[one.kind]), el("strong", {}, `${NAMES[one.kind]} ${one.number}`), el("span", { className: "note" }, `written by ${one.who}`));
  const made = el("article", { id: `${one.kind}-${one.number}`, className: "told", tabIndex: -1 }, head);
  made.setAttribute("aria-label", `${NAMES[one.kind]} ${one.number}, ${one.day}`);
  made.append(...(BODIES[one.kind] ?? words)(one, before));
  if (one.kind === "visit") made.append(readouts(one));
  if (opens) made.append(takeButton(machine, one));
  return made;
}

const text = (words) => (words ? [el("p", { className: "free" }, words)] : []);
const words = (one) => text(one.words);

const BODIES = {
  visit(one, before) {
    const changes = exchanged(before, one.cams);
    const told = [el("ul", { className: "plain close" }, ...(changes.length ? changes : ["no cam exchanged"]).map((change) => el("li", {}, change)))];
    if (one.reason) told.push(el("p", {}, el("strong", {}, "reason: "), one.reason));
    told.push(...text(one.words));
    const hours = Object.entries(one.hours).filter(([, ridden]) => ridden).map(([ground, ridden]) => `${ridden} h ${ground}`);
    const done = one.looked_after.map(({ item, kind, boiling_celsius: celsius }) => [item, kind, celsius === null ? "" : `${celsius} °C`].filter(Boolean).join(" "));
    const more = [`unit: ${one.unit}`];
    if (hours.length) more.push(`ridden before: ${hours.join(", ")}`);
    if (done.length) more.push(`looked after: ${done.join(", ")}`);
    return [...told, el("p", { className: "note" }, more.join(" · "))];
  },
  ride(one) {
    const points = Object.entries(one.points).map(([key, given]) => el("li", {}, `${label(key)}: `, el("strong", {}, signed(given)), ` ${pointWords(given)}`));
    return [el("ul", { className: "plain close" }, ...points), ...text(one.words)];
  },
  pull(one) {
    const link = el("a", { href: `/api/book/file?kind=pull&number=${one.number}`, download: one.file }, one.file);
    const remarks = (one.told.remarks ?? []).map((remark) => el("li", {}, remark));
    const count = one.told.pulls ? `, ${one.told.pulls} ${one.told.pulls === 1 ? "pull" : "pulls"}` : "";
    return [el("p", {}, `${one.lever}${count}: `, link), ...text(one.words), el("ul", { className: "note" }, ...remarks)];
  },
  proposal(one) {
    const cams = Object.entries(one.cams).map(([kind, cam]) => el("li", {}, `${kind}: ${cam}`));
    const from = one.source === "learned" ? "learned from the ride notes" : `from the ${one.source}`;
    const look = el("a", { className: "button", href: `/?job=${store.id}&with=${Object.values(one.cams).join(",")}` }, "see it on the bench");
    look.setAttribute("aria-label", `see proposal ${one.number} on the bench, beside what the open job has`);
    return [el("ul", { className: "plain close" }, ...cams), el("p", { className: "note" }, from), ...text(one.words), el("p", { className: "does" }, look)];
  },
  photo(one) {
    const address = `/api/book/file?kind=photo&number=${one.number}`;
    const picture = el("img", { src: address, alt: one.words || one.file, loading: "lazy" });
    return [el("figure", {}, el("a", { href: address, target: "_blank" }, picture), el("figcaption", { className: "note" }, one.file)), ...text(one.words)];
  },
};

// Made when it is opened: a long history has many of them.
function readouts(one) {
  const closed = el("details", {}, el("summary", {}, "read-outs"));
  closed.addEventListener("toggle", () => {
    const rows = Object.entries(one.readouts).flatMap(([kind, values]) => Object.entries(values).map(([name, si]) => [label(`${kind}.${name}`), value(`${kind}.${name}`, si)]));
    closed.append(table(["read-out", "value"], rows, `Read-outs of visit ${one.number}`));
  }, { once: true });
  return closed;
}

// The job of a visit as the open one; undo brings the other back.
function takeButton(machine, one) {
  const button = el("button", { type: "button" }, "open this job");
  const done = el("span", { className: "done good" });
  button.setAttribute("aria-label", `open the job of visit ${one.number}`);
  done.setAttribute("role", "status");
  button.addEventListener("click", async () => {
    try {
      const job = await (await send(`/api/book/job?machine=${machine.number}&day=${one.day}`)).json();
      store.replace(`job of visit ${one.number}`, job);
      done.textContent = "✓ It is the open job now; undo brings the other one back.";
    } catch (error) {
      tellError(error);
    }
  });
  return el("p", { className: "does" }, button, done);
}
