// Three steps for whoever is here for the first time: shown once, put away for good.

import { node } from "./cams.js";

const KEY = "pullcurve.toured";
const STEPS = [
  ["mechanism", "Pull the lever", "Drag it with mouse or finger, or press the arrow keys. Forces, gap and pressure move with it."],
  ["hand", "Try another cam", "Minus and plus take the next cam of the rack. Hollow marks are cams that the rack lacks."],
  ["said", "Read what changes", "The sentence says what a finger would feel; the table below has the numbers. Undo takes any step back."],
];

function toured(on) {
  try {
    if (on) localStorage.setItem(KEY, "true");
    return localStorage.getItem(KEY) === "true";
  } catch {
    return true; // a browser that keeps nothing would ask every time
  }
}

/** Begin the tour if nobody has put it away yet. */
export function tour() {
  if (!toured()) show(0);
}

function show(place) {
  document.querySelector(".tour")?.remove();
  document.querySelectorAll(".pointed").forEach((known) => known.classList.remove("pointed"));
  if (place >= STEPS.length) {
    toured(true);
    return;
  }
  const [id, title, words] = STEPS[place];
  const target = document.getElementById(id);
  target.classList.add("pointed");
  const last = place === STEPS.length - 1;
  const next = node("button", { type: "button", class: "main" }, last ? "done" : "next");
  const stop = node("button", { type: "button" }, "skip");
  const note = node("div", { class: "tour", role: "dialog", "aria-label": title },
    node("p", { class: "note" }, `${place + 1} of ${STEPS.length}`), node("h2", {}, title), node("p", {}, words),
    node("p", { class: "buttons" }, ...(last ? [next] : [stop, next])));
  next.addEventListener("click", () => show(place + 1));
  stop.addEventListener("click", () => show(STEPS.length));
  note.addEventListener("keydown", (event) => event.key === "Escape" && show(STEPS.length));
  if (id === "said") target.prepend(note);
  else target.append(note);
  next.focus({ preventScroll: true });
  if (place > 0) target.scrollIntoView({ block: target.offsetHeight > innerHeight ? "end" : "nearest" });
}
