// Cams in hand: every number that the rack varies, one step one cam; what the rack lacks is hollow.

import { units } from "../units.js";

function node(tag, attributes = {}, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value !== null) made.setAttribute(name, value);
  }
  made.append(...children);
  return made;
}

const UNITS = { deg: "°" };

/** A value of a cam with its unit: as it is engraved, or in inches. */
function worded(stepper, step) {
  if (!stepper.unit) return [step.text, ""];
  if (units.inch && stepper.unit === "mm") {
    const { value, unit, decimals } = units.shown("mm", step.value, 2);
    return [value.toFixed(decimals), unit];
  }
  return [step.text, UNITS[stepper.unit] ?? stepper.unit];
}

/** The nearest step of a cam that the rack has, up or down; null where there is none. */
function nearest(steps, way) {
  const here = steps.findIndex((step) => step.now);
  for (let place = here + way; place >= 0 && place < steps.length; place += way) {
    if (steps[place].cams) return steps[place];
  }
  return null;
}

const idOf = (stepper) => `${stepper.of}-${stepper.key}`;

export class Cams {
  /**
   * @param {HTMLElement} place
   * @param {(label: string, cams: string[]) => void} chosen told which cams are to be tried
   */
  constructor(place, chosen) {
    this.place = place;
    this.chosen = chosen;
  }

  /** Show the steppers of one lever as the server knows them. */
  show(lever, kind) {
    Object.assign(this, { lever, kind, pressed: "" });
    this.#write();
    const queued = this.queued;
    this.queued = null;
    if (queued) this.#press(lever.steppers.find((stepper) => idOf(stepper) === queued.id), queued.way);
  }

  /** Steps wait for the next answer: what is shown may be older than what is tried on another lever. */
  wait() {
    this.pressed = "answer";
  }

  /** Write everything anew; the button that has the focus keeps it. */
  #write() {
    const { lever, kind } = this;
    const kinds = kind === "clutch" ? ["lever", "clutch", "assist"] : ["lever", kind];
    const held = document.activeElement?.dataset?.step;
    const listed = lever.steppers.filter((stepper) => kinds.includes(stepper.of));
    const groups = kinds.map((of) => this.#group(of, listed.filter((stepper) => stepper.of === of))).filter(Boolean);
    if (!groups.length) groups.push(node("p", { class: "note" }, "This job has no rack: add one on the job sheet to try other cams."));
    this.place.replaceChildren(...groups);
    if (!held) return;
    const again = this.place.querySelector(`[data-step="${held}"]`);
    if (again?.disabled) [...again.parentElement.querySelectorAll("button")].find((button) => !button.disabled)?.focus();
    else again?.focus();
  }

  /**
   * One step of one number, at once. Further steps of the same number need no answer in between: nothing else changes.
   * A step of another number waits for the answer, which says what the rack has beside the new cam.
   */
  #press(stepper, way) {
    if (!stepper) return;
    const id = idOf(stepper);
    if (this.pressed && this.pressed !== id) {
      this.queued = { id, way };
      return;
    }
    const next = nearest(stepper.steps, way);
    if (!next) return;
    for (const step of stepper.steps) step.now = step === next;
    this.pressed = id;
    this.#write();
    this.chosen(`${stepper.of} ${stepper.label}`, next.cams);
  }

  #group(of, steppers) {
    if (!steppers.length) return null;
    const name = of === "lever" ? "where the lever rests" : `${of} cam`;
    return node("fieldset", { class: "cams" }, node("legend", {}, name), ...steppers.map((stepper) => this.#row(stepper)));
  }

  #row(stepper) {
    const now = stepper.steps.find((step) => step.now);
    const fitted = stepper.steps.find((step) => step.fitted);
    const [number, unit] = worded(stepper, now);
    const value = node("output", { class: now.fitted ? "value" : "value proposed" }, number, node("span", { class: "unit" }, unit));
    const row = node("div", { class: "stepper", role: "group", "aria-label": `${stepper.of} ${stepper.label}` },
      node("span", { class: "name" }, stepper.label), value, this.#button(stepper, -1), this.#button(stepper, 1), this.#ticks(stepper));
    if (fitted && !now.fitted) row.append(node("span", { class: "was note" }, `fitted ${worded(stepper, fitted).join(" ").trim()}`));
    return row;
  }

  #button(stepper, way) {
    const next = nearest(stepper.steps, way);
    const text = way < 0 ? "−" : "+";
    const id = `${idOf(stepper)}-${way}`;
    const words = next ? `${way < 0 ? "less" : "more"} ${stepper.label}: ${worded(stepper, next).join(" ").trim()}` : `no further ${stepper.label} in the rack`;
    const button = node("button", { type: "button", class: "step", "data-step": id, "aria-label": words, title: next ? next.name : words }, text);
    button.disabled = !next;
    button.addEventListener("click", () => this.#press(stepper, way));
    return button;
  }

  #ticks(stepper) {
    const lacking = stepper.steps.filter((step) => !step.cams).length;
    const said = `${stepper.steps.length - lacking} of ${stepper.steps.length} steps are in the rack`;
    const marks = stepper.steps.map((step) => {
      const names = ["tick", step.cams ? "" : "lacking", step.now ? "now" : "", step.fitted ? "fitted" : ""];
      return node("i", { class: names.filter(Boolean).join(" "), title: `${worded(stepper, step).join(" ").trim()}${step.cams ? "" : ": not in the rack"}` });
    });
    return node("span", { class: "ticks", role: "img", "aria-label": said }, ...marks);
  }
}

export { node };
