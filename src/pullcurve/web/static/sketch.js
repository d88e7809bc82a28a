// A pad to sketch a wanted curve on: the fitted pull is there already, the finger draws over it.

import { units } from "./units.js";

const NS = "http://www.w3.org/2000/svg";
const HEIGHT = 320;
const EDGE = { left: 52, right: 14, top: 14, bottom: 44 };
const STEP = 1.5; // mm of travel between two points of a sketch

export class Pad {
  constructor(place, changed) {
    this.place = place;
    this.changed = changed;
    this.points = []; // [travel mm, force N], rising travel
    this.curve = null; // { travel, pull, release } in mm and N
    new ResizeObserver(() => this.draw()).observe(place);
    place.addEventListener("pointerdown", (event) => this.press(event));
  }

  show(curve) {
    this.curve = curve;
    this.draw();
  }

  set(points) {
    this.points = points;
    this.draw();
  }

  scales(width) {
    const { travel, pull } = this.curve;
    const far = travel.at(-1) * 1.02;
    const high = Math.max(...pull, ...this.points.map(([, force]) => force)) * 1.25;
    const across = (width - EDGE.left - EDGE.right) / far;
    const up = (HEIGHT - EDGE.top - EDGE.bottom) / high;
    return {
      far,
      high,
      x: (value) => EDGE.left + value * across,
      y: (value) => HEIGHT - EDGE.bottom - value * up,
      back: (px, py) => [(px - EDGE.left) / across, (HEIGHT - EDGE.bottom - py) / up],
    };
  }

  draw() {
    const width = this.place.clientWidth;
    if (!this.curve || width < 50) return;
    if (!this.held) this.scale = this.scales(width);
    const svg = make("svg", { viewBox: `0 0 ${width} ${HEIGHT}`, height: HEIGHT, role: "img" });
    svg.setAttribute("aria-label", "Force over finger travel: the fitted pull, and the sketch of what is wanted");
    svg.append(...this.frame(width), ...this.lines());
    this.place.replaceChildren(svg);
  }

  frame(width) {
    const { x, y, far, high } = this.scale;
    const parts = [];
    for (const at of ticks("mm", far, (width - EDGE.left) / 70)) {
      parts.push(path(`M${x(at)} ${EDGE.top}V${y(0)}`, "var(--grid)", 0.75), text(x(at), y(0) + 18, figure("mm", at), "middle"));
    }
    for (const at of ticks("newton", high, 6)) {
      parts.push(path(`M${EDGE.left} ${y(at)}H${width - EDGE.right}`, "var(--grid)", 0.75), text(EDGE.left - 6, y(at) + 5, figure("newton", at), "end"));
    }
    parts.push(path(`M${EDGE.left} ${EDGE.top}V${y(0)}H${width - EDGE.right}`, "var(--ink)", 1.25));
    parts.push(text(width - EDGE.right, HEIGHT - 6, `finger travel, ${units.shown("mm", 0).unit}`, "end"));
    parts.push(text(EDGE.left + 6, EDGE.top + 12, `finger force, ${units.shown("newton", 0).unit}`, "start"));
    return parts;
  }

  lines() {
    const { x, y } = this.scale;
    const { travel, pull, release } = this.curve;
    const through = (values) => travel.map((at, place) => `${place ? "L" : "M"}${x(at).toFixed(1)} ${y(values[place]).toFixed(1)}`).join("");
    const parts = [path(through(pull), "var(--fitted)", 2.5), path(through(release), "var(--fitted)", 1.5, "6 4")];
    const last = travel.length - 1;
    parts.push(text(x(travel[last]) - 6, y(pull[last]) - 8, "fitted", "end", "var(--fitted)"));
    if (!this.points.length) return parts;
    parts.push(path(this.points.map(([at, force], place) => `${place ? "L" : "M"}${x(at).toFixed(1)} ${y(force).toFixed(1)}`).join(""), "var(--proposed)", 2.5));
    for (const [at, force] of this.points) parts.push(make("circle", { cx: x(at), cy: y(force), r: 3, fill: "var(--proposed)" }));
    const [at, force] = this.points[0];
    parts.push(text(x(at) + 8, y(force) - 10, "wanted", "start", "var(--proposed)"));
    return parts;
  }

  press(event) {
    if (!this.curve || event.button) return;
    this.place.setPointerCapture(event.pointerId);
    this.held = true;
    this.stroke = [];
    this.add(event);
    const move = (moved) => moved.getCoalescedEvents().concat(moved).forEach((one) => this.add(one));
    const up = () => {
      this.held = false;
      this.place.removeEventListener("pointermove", move);
      this.draw();
      this.changed(this.points);
    };
    this.place.addEventListener("pointermove", move);
    this.place.addEventListener("pointerup", up, { once: true });
    this.place.addEventListener("pointercancel", up, { once: true });
  }

  // A stroke takes the place of what was sketched over the same travel.
  add(event) {
    const box = this.place.getBoundingClientRect();
    const [travel, force] = this.scale.back(event.clientX - box.left, event.clientY - box.top);
    const last = this.curve.travel.at(-1);
    const point = [round(Math.min(Math.max(travel, 0), last)), Math.max(round(force), 0.5)];
    this.stroke.push(point);
    const along = this.stroke.map(([at]) => at);
    const [from, to] = [Math.min(...along), Math.max(...along)];
    const kept = this.points.filter(([at]) => at < from - STEP || at > to + STEP);
    this.points = thinned([...kept, ...this.stroke]);
    this.draw();
  }
}

// Points in order of travel, none nearer to the next than a step.
function thinned(points) {
  const kept = [];
  for (const point of [...points].sort(([one], [other]) => one - other)) {
    if (!kept.length || point[0] - kept.at(-1)[0] >= STEP) kept.push(point);
  }
  return kept;
}

function round(value) {
  return Math.round(value * 10) / 10;
}

function make(name, attributes) {
  const element = document.createElementNS(NS, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  return element;
}

function path(d, colour, width, dash = "none") {
  return make("path", { d, stroke: colour, "stroke-width": width, "stroke-dasharray": dash, fill: "none" });
}

function text(x, y, content, anchor, fill = "var(--ink-2)") {
  const element = make("text", { x, y, "text-anchor": anchor, fill, "font-size": 14 });
  element.textContent = content;
  return element;
}

function figure(unit, value) {
  return String(Number(units.shown(unit, value).value.toPrecision(4)));
}

function ticks(unit, end, count) {
  const factor = units.shown(unit, 1).value;
  const rough = (end * factor) / Math.max(2, count);
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].find((one) => one * power >= rough) * power;
  return Array.from({ length: Math.floor((end * factor) / step) + 1 }, (_, place) => (place * step) / factor);
}
