// A scatter of sets, drawn at its real width: every set that keeps the limits, which of them nothing beats, what is
// fitted, what is wished. Dragging a window over it narrows the list of answers.

import { units } from "./units.js";

const NS = "http://www.w3.org/2000/svg";
const HEIGHT = 320;
const EDGE = { left: 62, right: 16, top: 14, bottom: 44 };

export class Scatter {
  constructor(place, narrowed) {
    this.place = place;
    this.narrowed = narrowed;
    this.window = null; // { x: [low, high], y: [low, high] } in the axes' own units
    new ResizeObserver(() => this.draw()).observe(place);
    place.addEventListener("pointerdown", (event) => this.press(event));
  }

  show(cloud, across, up) {
    const axes = Object.fromEntries(cloud.axes.map((axis) => [axis.key, axis]));
    if (this.across?.key !== across || this.up?.key !== up) this.window = null;
    Object.assign(this, { cloud, across: axes[across], up: axes[up] });
    this.draw();
  }

  inside(row) {
    if (!this.window) return true;
    return between(this.across.values[row], this.window.x) && between(this.up.values[row], this.window.y);
  }

  narrow(window) {
    this.window = window;
    this.draw();
    this.narrowed();
  }

  draw() {
    const width = this.place.clientWidth;
    if (!this.cloud || width < 50) return;
    this.x = scale(this.across, EDGE.left, width - EDGE.right);
    this.y = scale(this.up, HEIGHT - EDGE.bottom, EDGE.top);
    const svg = make("svg", { viewBox: `0 0 ${width} ${HEIGHT}`, height: HEIGHT, role: "img" });
    svg.setAttribute("aria-label", `Sets of the rack: ${this.up.label} over ${this.across.label}`);
    svg.append(...this.frame(width), ...this.wishes(width), ...this.points(), ...this.brush());
    this.place.replaceChildren(svg);
  }

  frame(width) {
    const parts = [];
    for (const at of this.x.ticks) {
      const x = this.x.to(at);
      parts.push(stroke(`M${x} ${EDGE.top}V${HEIGHT - EDGE.bottom}`, "var(--grid)", 0.75));
      parts.push(text(x, HEIGHT - EDGE.bottom + 18, figure(this.across, at), "middle"));
    }
    for (const at of this.y.ticks) {
      const y = this.y.to(at);
      parts.push(stroke(`M${EDGE.left} ${y}H${width - EDGE.right}`, "var(--grid)", 0.75));
      parts.push(text(EDGE.left - 6, y + 5, figure(this.up, at), "end"));
    }
    parts.push(stroke(`M${EDGE.left} ${EDGE.top}V${HEIGHT - EDGE.bottom}H${width - EDGE.right}`, "var(--ink)", 1.25));
    parts.push(text(width - EDGE.right, HEIGHT - 6, `${this.across.label}, ${sign(this.across)}`, "end"));
    parts.push(text(EDGE.left + 6, EDGE.top + 12, `${this.up.label}, ${sign(this.up)}`, "start"));
    return parts;
  }

  // A wish is a chain line: what is wanted, on one axis or on both.
  wishes(width) {
    const line = (path) => make("path", { d: path, stroke: "var(--ink-2)", "stroke-width": 1, "stroke-dasharray": "12 3 2 3", fill: "none" });
    const parts = [];
    if (this.across.wish !== null) parts.push(line(`M${this.x.to(this.across.wish)} ${EDGE.top}V${HEIGHT - EDGE.bottom}`));
    if (this.up.wish !== null) parts.push(line(`M${EDGE.left} ${this.y.to(this.up.wish)}H${width - EDGE.right}`));
    return parts;
  }

  points() {
    const faint = [];
    const best = [];
    this.cloud.cams.forEach((cams, row) => {
      const [x, y] = [this.across.values[row], this.up.values[row]];
      if (x === null || y === null) return;
      const [px, py] = [this.x.to(x).toFixed(1), this.y.to(y).toFixed(1)];
      if (!this.cloud.undominated[row]) {
        faint.push(`M${px} ${py}m-2.5 0h5m-2.5 -2.5v5`);
        return;
      }
      const dot = make("circle", { cx: px, cy: py, r: 6, fill: "var(--proposed)", stroke: "var(--surface)", "stroke-width": 1 });
      dot.append(Object.assign(document.createElementNS(NS, "title"), { textContent: Object.values(cams).join(" + ") }));
      best.push(dot);
    });
    const parts = [stroke(faint.join(""), "var(--ink-2)", 1), ...best];
    const { fitted: x } = this.across;
    const { fitted: y } = this.up;
    if (x !== null && y !== null) {
      parts.push(make("path", { d: `M${this.x.to(x) - 6} ${this.y.to(y) - 7}l13 7l-13 7z`, fill: "none", stroke: "var(--fitted)", "stroke-width": 2 }));
      parts.push(text(this.x.to(x) + 10, this.y.to(y) + 5, "fitted", "start", "var(--fitted)"));
    }
    return parts;
  }

  brush() {
    if (!this.window) return [];
    const [x0, x1] = this.window.x.map(this.x.to);
    const [y1, y0] = this.window.y.map(this.y.to);
    return [make("rect", { x: x0, y: y0, width: Math.max(0, x1 - x0), height: Math.max(0, y1 - y0), fill: "none", stroke: "var(--ink)", "stroke-width": 2 })];
  }

  press(event) {
    if (!this.x || event.button) return;
    const from = this.where(event);
    this.place.setPointerCapture(event.pointerId);
    const move = (moved) => {
      const to = this.where(moved);
      const span = (a, b) => [Math.min(a, b), Math.max(a, b)];
      this.narrow({ x: span(from.x, to.x), y: span(from.y, to.y) });
    };
    const up = (moved) => {
      this.place.removeEventListener("pointermove", move);
      const to = this.where(moved);
      const small = Math.abs(this.x.to(to.x) - this.x.to(from.x)) < 6 && Math.abs(this.y.to(to.y) - this.y.to(from.y)) < 6;
      if (small) this.narrow(null);
    };
    this.place.addEventListener("pointermove", move);
    this.place.addEventListener("pointerup", up, { once: true });
  }

  where(event) {
    const box = this.place.getBoundingClientRect();
    return { x: this.x.from(event.clientX - box.left), y: this.y.from(event.clientY - box.top) };
  }
}

function between(value, [low, high]) {
  return value !== null && value >= low && value <= high;
}

function make(name, attributes) {
  const element = document.createElementNS(NS, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  return element;
}

function stroke(d, colour, width) {
  return make("path", { d, stroke: colour, "stroke-width": width, fill: "none" });
}

function text(x, y, content, anchor, fill = "var(--ink-2)") {
  const element = make("text", { x, y, "text-anchor": anchor, fill, "font-size": 14 });
  element.textContent = content;
  return element;
}

function sign(axis) {
  return units.shown(axis.unit, 0).unit;
}

function figure(axis, value) {
  const { value: number } = units.shown(axis.unit, value);
  return String(Number(number.toPrecision(4)));
}

// Ends of an axis with room, and ticks at round numbers of the display.
function scale(axis, start, end) {
  const known = [...axis.values, axis.fitted, axis.wish].filter((value) => value !== null);
  let [low, high] = [Math.min(...known), Math.max(...known)];
  const least = 4 * 10 ** -axis.decimals; // what differs by less than it is shown with is drawn as one place
  const room = high - low < least ? least : (high - low) * 0.08;
  [low, high] = [low - room, high + room];
  const factor = units.shown(axis.unit, 1).value;
  const rough = ((high - low) * factor) / Math.max(3, Math.abs(end - start) / 70);
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].find((one) => one * power >= rough) * power;
  const ticks = [];
  for (let at = Math.ceil((low * factor) / step); at * step <= high * factor; at += 1) ticks.push((at * step) / factor);
  const slope = (end - start) / (high - low);
  return { ticks, to: (value) => start + (value - low) * slope, from: (pixel) => low + (pixel - start) / slope };
}
