// Force over travel, and pressure, deceleration, torque or lift below it, with a cursor that moves with the lever.

import { el, hatching, label, n, path, set } from "./svg.js";
import { endOf, locate, shownRockers } from "./poses.js";
import { told } from "./notes.js";
import { units } from "../units.js";

const PAD = { left: 44, right: 14, top: 26, bottom: 44 };
const BETWEEN = 40;
const NICE = [1, 2, 2.5, 5, 10];
const HOLD_LEAST = 0.3;

/** What can stand under the force: key of the pose table, name, unit, decimals. */
export const SECONDS = {
  brake: [["pressure_bar", "pressure", "bar", 0], ["deceleration_m_per_s2", "deceleration", "m_per_s2", 1]],
  clutch: [["torque_newton_m", "torque left", "newton_m", 0], ["pressure_bar", "pressure", "bar", 0], ["lift_mm", "plate lift", "mm", 2]],
};

/** The choices that a lever really has. */
export function secondsOf(record, kind) {
  const rocker = record.rockers.find((one) => one.drives === kind);
  return SECONDS[kind].filter(([key]) => rocker?.poses[key]?.some((value) => value !== null));
}

/** A step of 1, 2, 2.5 or 5 times a power of ten that leaves room between ticks. */
function niceStep(range, room, least) {
  const rough = (range * least) / room;
  const power = 10 ** Math.floor(Math.log10(rough));
  return power * NICE.find((one) => one * power >= rough);
}

function ticks(low, high, step) {
  const first = Math.ceil(low / step - 1e-9);
  const last = Math.floor(high / step + 1e-9);
  return Array.from({ length: Math.max(0, last - first + 1) }, (_, index) => (first + index) * step);
}

const known = (values) => values.filter((value) => value !== null);

/** Event signs as paths about their middle. */
const SIGN = {
  bite: "M0-7L7 0L0 7L-7 0Z",
  "lock-up": "M-6-6H6V6H-6Z",
  "first slip": "M0-7L7 6H-7Z",
  free: "M-6 0a6 6 0 1 0 12 0a6 6 0 1 0-12 0z",
  clean: "M-6 0a6 6 0 1 0 12 0a6 6 0 1 0-12 0z",
};
const HOLLOW = new Set(["bite", "first slip", "free"]);

/** Distance of a point from a box. */
const away = ([left, top, right, bottom], [x, y]) => Math.hypot(Math.max(left - x, 0, x - right), Math.max(top - y, 0, y - bottom));

export class Plot {
  /**
   * @param {SVGSVGElement} svg
   * @param {(travel: {travel?: number}, settled: boolean) => void} moved told where a hand puts the cursor
   */
  constructor(svg, moved) {
    this.svg = svg;
    this.moved = moved;
    this.#listen();
  }

  /**
   * @param {{fitted: object, proposed: object|null}} pair records of one lever
   * @param {string} kind brake or clutch
   * @param {string} second key of what stands below
   */
  draw(pair, kind, second, width, height) {
    const shown = pair.proposed ? [["fitted", pair.fitted], ["proposed", pair.proposed]] : [["fitted", pair.fitted]];
    Object.assign(this, { shown, kind, width, height });
    this.main = shown.at(-1)[1];
    this.second = secondsOf(this.main, kind).find(([key]) => key === second) ?? secondsOf(this.main, kind)[0];
    this.#scales();
    set(this.svg, "viewBox", `0 0 ${n(width)} ${n(height)}`);
    set(this.svg, "width", n(width));
    set(this.svg, "height", n(height));
    this.#build();
  }

  #scales() {
    const force = units.shown("newton", 1).value;
    const length = units.shown("mm", 1).value;
    this.per = { force, length };
    const most = Math.max(...this.shown.flatMap(([, record]) => known(record.poses.pull_newton))) * force;
    const least = Math.min(0, ...this.shown.flatMap(([, record]) => known(record.poses.release_newton))) * force;
    const end = Math.max(...this.shown.map(([, record]) => endOf(record))) * length;
    const split = this.height - PAD.bottom - 0.27 * (this.height - PAD.top - PAD.bottom - BETWEEN);
    this.box = { left: PAD.left, right: this.width - PAD.right, top: PAD.top, bottom: split - BETWEEN };
    this.low = { ...this.box, top: split, bottom: this.height - PAD.bottom };
    const room = this.box.right - this.box.left - 26;
    this.x = { low: 0, high: (end * (this.box.right - this.box.left)) / room };
    const step = niceStep(most - least, this.box.bottom - this.box.top, 44);
    this.y = { low: least < 0 ? -step * Math.ceil(-least / step) : 0, high: step * Math.ceil((1.14 * most) / step), step };
    this.#secondScale();
  }

  #secondScale() {
    const [key, , unit] = this.second;
    const per = units.shown(unit, 1).value;
    const values = this.shown.flatMap(([, record]) => known(this.#rocker(record).poses[key]));
    const most = Math.max(...values, 1e-6) * per;
    const step = niceStep(1.05 * most, this.low.bottom - this.low.top, 30);
    this.z = { low: 0, high: step * Math.ceil((1.05 * most) / step), step, per };
  }

  #rocker(record) {
    return record.rockers.find((one) => one.drives === this.kind) ?? shownRockers(record, this.kind)[0].rocker;
  }

  /** Travel in mm as px. */
  across(travel) {
    const { left, right } = this.box;
    return left + ((travel * this.per.length) / this.x.high) * (right - left);
  }

  /** Force in newtons as px. */
  up(force) {
    return this.#on(this.box, this.y, force * this.per.force);
  }

  below(value) {
    return this.#on(this.low, this.z, value * this.z.per);
  }

  #on({ top, bottom }, { low, high }, value) {
    return bottom - ((value - low) / (high - low)) * (bottom - top);
  }

  #build() {
    this.taken = [];
    const curves = this.shown.map(([role, record]) => this.#curves(role, record));
    this.cursor = this.#cursor();
    this.svg.replaceChildren(
      el("defs", {}, hatching("bench-limit"), hatching("bench-reach", 9, -45)),
      el("title", {}, document.createTextNode(`Force over travel of the ${this.main.name}`)),
      ...this.#axes(), ...this.#limits(), ...curves, ...this.#events(), ...this.cursor.nodes,
    );
  }

  // Axes -------------------------------------------------------------------------------------------------------

  #axes() {
    const found = [];
    this.ticks = []; // of the travel: those under the number at the cursor step back
    const write = (x, y, words, anchor) => {
      const made = el("text", { x: n(x), y: n(y), "text-anchor": anchor, class: "tick" }, document.createTextNode(words));
      found.push(made);
      return made;
    };
    const rule = (x1, y1, x2, y2, name) => found.push(el("path", { d: `M${n(x1)} ${n(y1)}L${n(x2)} ${n(y2)}`, class: name }));
    const step = niceStep(this.x.high, this.box.right - this.box.left, 60);
    const digits = (value) => (value < 0.1 ? 2 : value < 1 || value % 1 ? 1 : 0);
    for (const box of [this.box, this.low]) {
      for (const value of ticks(0, this.x.high, step)) {
        const x = box.left + (value / this.x.high) * (box.right - box.left);
        rule(x, box.top, x, box.bottom, "grid");
        if (box === this.low) this.ticks.push([x, write(x, box.bottom + 17, value.toFixed(digits(step)), "middle")]);
      }
    }
    for (const [box, scale] of [[this.box, this.y], [this.low, this.z]]) {
      for (const value of ticks(scale.low, scale.high, scale.step)) {
        const y = this.#on(box, scale, value);
        rule(box.left, y, box.right, y, value === 0 ? "axis" : "grid");
        write(box.left - 6, y + 5, value.toFixed(digits(scale.step)), "end");
      }
      rule(box.left, box.top, box.left, box.bottom, "axis");
    }
    found.push(this.#title(4, this.box.top - 10, "force at the finger", "newton", "start"));
    found.push(this.#title(4, this.low.top - 12, this.second[1], this.second[2], "start"));
    found.push(this.#title(this.box.right, this.low.bottom + 37, "travel at the finger from rest", "mm", "end"));
    return found;
  }

  #title(x, y, words, unit, anchor) {
    const text = el("text", { x: n(x), y: n(y), "text-anchor": anchor, class: "axis-title" }, document.createTextNode(words));
    text.append(el("tspan", { class: "unit" }, document.createTextNode(` (${told(unit, 0)[1]})`)));
    return text;
  }

  // Limits -----------------------------------------------------------------------------------------------------

  #limits() {
    const found = [];
    const record = this.main;
    const bodies = [this.box, this.low];
    const band = (from, to, name) => bodies.forEach((box) => found.push(el("rect", {
      x: n(from), y: n(box.top), width: n(Math.max(0, to - from)), height: n(box.bottom - box.top), class: name,
    })));
    const wall = (x, name) => bodies.forEach((box) => found.push(el("path", { d: `M${n(x)} ${n(box.top)}V${n(box.bottom)}`, class: name })));
    const end = this.across(endOf(record));
    band(end, this.box.right, "limit");
    wall(end, "wall");
    if (this.shown.length > 1) {
      const other = this.across(endOf(this.shown[0][1]));
      if (Math.abs(other - end) > 1) wall(other, "wall ghost");
    }
    found.push(this.#upright(0.5 * (end + this.box.right), `ends ${told("mm", endOf(record), 1).join(" ")}: ${record.end.by}`));
    const { hold_travel_mm: held, touch_travel_mm: touched } = record.reach;
    if (touched > HOLD_LEAST) {
      band(this.box.left, this.across(touched), "limit");
      if (this.across(touched) - this.box.left > 20) found.push(this.#upright(0.5 * (this.box.left + this.across(touched)), "out of reach"));
    }
    if (held > HOLD_LEAST) {
      const from = this.across(Math.max(touched, 0));
      band(from, this.across(held), "reach");
      wall(this.across(held), "reach-edge");
      if (this.across(held) - from > 20) found.push(this.#upright(0.5 * (from + this.across(held)), "touched, not yet held"));
    }
    return found;
  }

  /** Words that read upward, over or under the curve, wherever there is more room. */
  #upright(x, words) {
    const { poses } = this.main;
    const travel = ((x - this.box.left) / (this.box.right - this.box.left)) * this.x.high / this.per.length;
    const curve = travel > endOf(this.main) ? this.box.bottom : this.up(poses.pull_newton[locate(poses.travel_mm, travel)[0]] ?? 0);
    const over = curve - this.box.top > this.box.bottom - curve;
    const half = 3.4 * words.length;
    const y = over ? Math.max(0.5 * (this.box.top + curve), this.box.top + half) : Math.min(0.5 * (curve + this.box.bottom), this.box.bottom - half);
    const text = el("text", { x: n(x), y: n(y + 5), transform: `rotate(-90 ${n(x)} ${n(y)})`, "text-anchor": "middle", class: "upright" });
    text.append(document.createTextNode(words));
    this.taken.push([x - 9, y - half, x + 9, y + half]);
    return text;
  }

  // Curves -----------------------------------------------------------------------------------------------------

  #curves(role, record) {
    const { poses } = record;
    const ghost = role === "fitted" && this.shown.length > 1;
    const along = (values, on) => poses.travel_mm.map((travel, row) => [this.across(travel), values[row] === null ? NaN : on(values[row])]);
    const up = (force) => this.up(force);
    const [pull, release] = [along(poses.pull_newton, up), along(poses.release_newton, up)];
    const values = this.#rocker(record).poses[this.second[0]];
    const below = along(values, (value) => this.below(value));
    const group = el("g", { class: `trace ${role}${ghost ? " ghost" : ""}` });
    if (!ghost) group.append(el("path", { d: path([...pull, ...release.slice().reverse()], true), class: "wash" }));
    group.append(
      el("path", { d: path(release), class: "release" }), el("path", { d: path(pull), class: "pull" }), el("path", { d: path(below), class: "second" }),
    );
    return group;
  }

  #events() {
    const found = [];
    const ghosts = [];
    const [, main] = this.shown.at(-1);
    const curve = this.shown.flatMap(([, { poses }]) => poses.travel_mm.map((travel, row) => [this.across(travel), this.up(poses.pull_newton[row] ?? 0)]));
    for (const [role, record] of this.shown) {
      const ghost = role === "fitted" && this.shown.length > 1;
      for (const event of record.events.filter((one) => one.travel_mm !== null && one.pull_newton !== null)) {
        const [x, y] = [this.across(event.travel_mm), this.up(event.pull_newton)];
        const sign = el("path", { d: SIGN[event.kind], transform: `translate(${n(x)} ${n(y)})`, class: `event ${role}${HOLLOW.has(event.kind) ? " hollow" : ""}${ghost ? " ghost" : ""}` });
        sign.append(el("title", {}, document.createTextNode(`${role}: ${event.kind} ${told("mm", event.travel_mm, 1).join(" ")}, ${told("newton", event.pull_newton).join(" ")}`)));
        found.push(sign);
        this.taken.push([x - 8, y - 8, x + 8, y + 8]);
        if (ghost) ghosts.push([x, y]);
        if (ghost) continue;
        found.unshift(el("path", { d: `M${n(x)} ${n(y)}V${n(this.low.bottom)}`, class: `drop ${role}` }));
      }
    }
    for (const event of main.events.filter((one) => one.travel_mm !== null && one.pull_newton !== null)) found.push(this.#eventLabel(event, curve, ghosts));
    return found;
  }

  /** A label beside its event where it covers least. */
  #eventLabel(event, curve, ghosts) {
    const [x, y] = [this.across(event.travel_mm), this.up(event.pull_newton)];
    const lines = [event.kind, `${told("mm", event.travel_mm, 1).join("\u2009")}, ${told("newton", event.pull_newton).join("\u2009")}`];
    const wide = 7 * Math.max(...lines.map((line) => line.length));
    const places = [[-10, -26, "end"], [12, 16, "start"], [-10, 10, "end"], [12, -26, "start"], [-10, -48, "end"], [12, 36, "start"], [-wide / 2, -44, "start"]];
    const costs = places.map(([dx, dy, anchor]) => {
      const left = anchor === "end" ? x + dx - wide : x + dx;
      const box = [left, y + dy - 12, left + wide, y + dy + 20];
      const other = Math.min(Infinity, ...ghosts.map((one) => away(box, one)));
      const taken = other <= away(box, [x, y]) ? 150 : 0; // nearer to a sign of the other pull, it would seem that one's
      return { dx, dy, anchor, box, cost: this.#cost(box, curve) + taken };
    });
    const best = costs.reduce((one, other) => (other.cost < one.cost ? other : one));
    this.taken.push(best.box);
    const text = el("text", { class: `label event-label ${this.shown.at(-1)[0]}`, "text-anchor": best.anchor });
    lines.forEach((line, index) => text.append(el("tspan", { x: n(x + best.dx), y: n(y + best.dy + 17 * index) }, document.createTextNode(line))));
    return text;
  }

  #cost([left, top, right, bottom], curve) {
    const outside = Math.max(0, this.box.left + 4 - left) + Math.max(0, right - this.box.right) + Math.max(0, this.box.top - top) + Math.max(0, bottom - this.box.bottom);
    const over = this.taken.filter(([l, t, r, b]) => l < right && r > left && t < bottom && b > top).length;
    const crossed = curve.filter(([x, y]) => x > left - 3 && x < right + 3 && y > top - 3 && y < bottom + 3).length;
    return 50 * outside + 300 * over + 4 * crossed;
  }

  // Cursor -----------------------------------------------------------------------------------------------------

  #cursor() {
    const line = el("path", { class: "cursor" });
    const dots = this.shown.map(([role]) => ({
      pull: el("circle", { r: 5, class: `dot ${role}` }), second: el("circle", { r: 4, class: `dot ${role}` }),
    }));
    const texts = { pull: label("halo number"), second: label("halo"), travel: label("halo travel", "middle") };
    const plate = el("rect", { width: 72, height: 19, class: "plate" });
    const nodes = [line, plate, ...dots.flatMap((dot) => [dot.pull, dot.second]), ...Object.values(texts).map((text) => text.node)];
    return { line, plate, dots, texts, nodes };
  }

  /** Put the cursor at a travel. */
  move(travel) {
    if (!this.cursor) return;
    const { line, plate, dots, texts } = this.cursor;
    const x = this.across(travel);
    set(line, "d", `M${n(x)} ${n(this.box.top)}V${n(this.low.bottom)}`);
    set(this.svg, "data-travel", n(travel));
    const [key, , unit, decimals] = this.second;
    let last = null;
    this.shown.forEach(([, record], index) => {
      const [row, share] = locate(record.poses.travel_mm, Math.min(travel, endOf(record)));
      const between = (column) => {
        const [a, b] = [column[row], column[row + 1]];
        return a === null || b === null ? null : a + share * (b - a);
      };
      last = { pull: between(record.poses.pull_newton), second: between(this.#rocker(record).poses[key]) };
      const seen = travel <= endOf(record) + 1e-9;
      const put = (dot, value, on) => {
        set(dot, "visibility", value === null || !seen ? "hidden" : "visible");
        if (value === null) return;
        set(dot, "cx", n(x));
        set(dot, "cy", n(on(value)));
      };
      put(dots[index].pull, last.pull, (value) => this.up(value));
      put(dots[index].second, last.second, (value) => this.below(value));
    });
    const right = x < this.box.right - 90;
    const side = right ? 10 : -10;
    texts.second.anchor(right ? "start" : "end");
    texts.pull.write("", ...told("newton", last.pull));
    this.#besideDot(texts.pull, x, this.up(last.pull ?? 0));
    texts.second.write("", ...told(unit, last.second, decimals));
    texts.second.at(x + side, Math.max(this.below(last.second ?? 0) - 8, this.low.top + 12));
    texts.travel.write("", ...told("mm", travel, 1));
    const foot = Math.min(Math.max(x, this.box.left + 12), this.box.right - 24);
    texts.travel.at(foot, this.low.bottom + 17);
    for (const [place, tick] of this.ticks) set(tick, "visibility", Math.abs(place - foot) < 44 ? "hidden" : "visible");
    set(plate, "x", n(foot - 36));
    set(plate, "y", n(this.low.bottom + 2));
  }

  /** The number at the cursor stands where it covers no name of an event. */
  #besideDot(text, x, y) {
    const wide = 48;
    const places = [[10, 20], [-10, -10], [10, -10], [-10, 20], [10, 40], [-10, -30]].map(([dx, dy]) => {
      const left = dx < 0 ? x + dx - wide : x + dx;
      const box = [left, y + dy - 13, left + wide, y + dy + 4];
      return { dx, dy, cost: this.#cost(box, []) };
    });
    const best = places.reduce((one, other) => (other.cost < one.cost ? other : one));
    text.anchor(best.dx < 0 ? "end" : "start");
    text.at(x + best.dx, y + best.dy);
  }

  #listen() {
    let held = null;
    const at = (event) => {
      const box = this.svg.getBoundingClientRect();
      const share = (event.clientX - box.left - this.box.left) / (this.box.right - this.box.left);
      return (share * this.x.high) / this.per.length;
    };
    this.svg.addEventListener("pointerdown", (event) => {
      if (event.button > 0 || !this.cursor) return;
      held = event.pointerId;
      this.svg.setPointerCapture(held);
      this.moved({ travel: at(event) }, false);
    });
    this.svg.addEventListener("pointermove", (event) => held === event.pointerId && this.moved({ travel: at(event) }, false));
    for (const name of ["pointerup", "pointercancel"]) {
      this.svg.addEventListener(name, (event) => {
        if (held !== event.pointerId) return;
        held = null;
        this.moved({}, true);
      });
    }
  }
}

