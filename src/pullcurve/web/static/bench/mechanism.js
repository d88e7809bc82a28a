// The mechanism to scale, seen along the pivot: built once for a set of cams and a width, moved by transforms.

import { el, hatching, n, path, set } from "./svg.js";
import { endOf, poseAt, shownRockers } from "./poses.js";
import { Notes } from "./notes.js";

const EDGE = { left: 10, right: 10, top: 62, bottom: 8 };
const COILS = 7;

/** Points turned about a centre, degrees counter-clockwise in the drawing. */
export function turned(points, [x0, y0], degrees) {
  const [c, s] = [Math.cos((degrees * Math.PI) / 180), Math.sin((degrees * Math.PI) / 180)];
  return points.map(([x, y]) => [x0 + c * (x - x0) - s * (y - y0), y0 + s * (x - x0) + c * (y - y0)]);
}

/** Everything of a lever that takes room, in mm: left, low, right, top. */
function extent(record, kind) {
  const { grip, hand, lever } = record;
  const outline = lever.outline_mm;
  const end = turned(outline, [0, 0], record.poses.theta_deg.at(-1));
  const front = record.poses.finger_mm[0][1] + hand.over_lever_mm + 0.5 * hand.width_mm;
  const points = [...outline, ...end, [grip.left_mm, hand.behind_mm], [0, front]];
  for (const { rocker } of shownRockers(record, kind)) {
    points.push(...rocker.body_mm, ...turned(rocker.body_mm, rocker.pivot_mm, rocker.poses.turn_deg.at(-1)));
    points.push(...(rocker.cylinder?.walls_mm.flat() ?? []), ...(rocker.cylinder?.outlet_mm ?? []));
    points.push(...(rocker.spring?.seat_mm ?? rocker.spring?.spiral_mm ?? []), ...(rocker.cable?.housing_mm ?? []));
  }
  const [xs, ys] = [points.map(([x]) => x), points.map(([, y]) => y)];
  return [Math.min(...xs) - 1, Math.min(...ys) - 1, Math.max(...xs) + 4, Math.max(...ys) + 1];
}

/** A zigzag of a spring between two points. */
function coils(from, to, half, count) {
  const [dx, dy] = [to[0] - from[0], to[1] - from[1]];
  const length = Math.hypot(dx, dy) || 1;
  const [nx, ny] = [(-dy / length) * half, (dx / length) * half];
  const points = [from];
  for (let step = 0; step < 2 * count; step += 1) {
    const share = (step + 0.5) / (2 * count);
    const side = step % 2 ? -1 : 1;
    points.push([from[0] + share * dx + side * nx, from[1] + share * dy + side * ny]);
  }
  return [...points, to];
}

export class Mechanism {
  /**
   * @param {SVGSVGElement} svg
   * @param {(travel: number, settled: boolean) => void} moved told where a hand puts the lever
   */
  constructor(svg, moved) {
    this.svg = svg;
    this.moved = moved;
    this.travel = 0;
    this.#listen();
  }

  /** Draw a lever with one of its drives at a width; the height follows, up to the most. */
  draw(record, kind, role, width, most) {
    Object.assign(this, { record, kind, role });
    const [left, low, right, top] = extent(record, kind);
    const room = width - EDGE.left - EDGE.right;
    const k = Math.min(room / (right - left), (most - EDGE.top - EDGE.bottom) / (top - low));
    const height = Math.ceil(k * (top - low) + EDGE.top + EDGE.bottom);
    this.scale = k;
    this.size = [width, height];
    this.x0 = EDGE.left + (room - k * (right - left)) / 2 - k * left;
    this.y0 = EDGE.top + k * top;
    set(this.svg, "viewBox", `0 0 ${n(width)} ${height}`);
    set(this.svg, "width", n(width));
    set(this.svg, "height", height);
    this.#build();
  }

  /** A point of the drawing in px. */
  px([x, y]) {
    return [this.x0 + this.scale * x, this.y0 - this.scale * y];
  }

  #path(points, closed = true) {
    return path(points.map((point) => this.px(point)), closed);
  }

  #shape(points, name, closed = true) {
    return el("path", { d: this.#path(points, closed), class: name });
  }

  #circle(centre, radius, name) {
    const [x, y] = this.px(centre);
    return el("circle", { cx: n(x), cy: n(y), r: n(radius * this.scale), class: name });
  }

  #cross(centre, half) {
    const [x, y] = this.px(centre);
    const reach = half * this.scale;
    return el("path", { d: `M${n(x - reach)} ${n(y)}h${n(2 * reach)}M${n(x)} ${n(y - reach)}v${n(2 * reach)}`, class: "centre" });
  }

  #build() {
    const { record } = this;
    this.parts = shownRockers(record, this.kind).map(({ rocker, index }) => this.#rocker(rocker, index));
    this.pulling = record.hand.fingers.filter((finger) => finger.pulls).map((finger) => this.#finger(finger));
    const resting = record.hand.fingers.filter((finger) => !finger.pulls).map((finger) => this.#finger(finger));
    const outline = record.lever.outline_mm;
    this.lever = el("g", {}, this.#shape(outline, "part lever-edge"));
    this.handle = this.#shape(outline, "handle");
    this.grab = el("g", { class: "grab" }, this.handle);
    this.#slider();
    this.notes = new Notes(this);
    const cams = this.parts.map((part) => part.cam).reverse();
    this.svg.replaceChildren(
      el("defs", {}, hatching("bench-cut"), hatching("bench-grip", 5, -45)),
      el("title", {}, document.createTextNode(`${record.name}, seen along its pivot`)),
      ...this.#grip(),
      ...resting.map((finger) => finger.node),
      ...this.parts.map((part) => part.load),
      ...this.parts.map((part) => part.body),
      this.notes.under,
      this.lever,
      ...cams,
      ...this.parts.map((part) => part.roller),
      this.#circle([0, 0], record.pin_radius_mm, "part pin"),
      this.#cross([0, 0], record.pin_radius_mm + 3),
      ...this.pulling.map((finger) => finger.node),
      this.notes.over,
      this.grab,
    );
    resting.forEach((finger) => finger.place(-finger.along, record.hand.over_grip_mm));
    this.move(Math.min(this.travel, endOf(record)));
  }

  #grip() {
    const { grip } = this.record;
    const box = (left, right, radius) => [
      [left, grip.axis_mm - radius], [right, grip.axis_mm - radius], [right, grip.axis_mm + radius], [left, grip.axis_mm + radius],
    ];
    const [left] = this.#inside(4);
    const bar = this.#break(grip);
    const from = Math.max(grip.left_mm, left);
    return [
      this.#shape(bar, "part"),
      this.#shape(box(from, grip.right_mm, grip.radius_mm), "part"),
      this.#shape(box(grip.right_mm - 3, grip.right_mm, grip.radius_mm + 3), "part"),
      this.#shape([[from - 3, grip.axis_mm], [this.#inside(0)[1], grip.axis_mm]], "centre", false),
    ];
  }

  /** Left and right edge of the drawing in mm, some px inside. */
  #inside(px) {
    return [(px - this.x0) / this.scale, (this.size[0] - px - this.x0) / this.scale];
  }

  /** The bar from the grip to where it is broken off, the break in two waves. */
  #break({ axis_mm: axis, bar_radius_mm: radius, right_mm: start }) {
    const end = this.#inside(6)[1];
    const wave = [0, 0.25, 0.5, 0.75, 1].map((share) => [end + 2 * Math.sin(2 * Math.PI * share) - 2, axis + radius * (1 - 2 * share)]);
    return [[start, axis - radius], [start, axis + radius], ...wave];
  }

  #finger({ name, along_mm: along, pulls }) {
    const { hand } = this.record;
    const half = hand.width_mm / 2;
    const node = el("path", { class: "finger" });
    node.append(el("title", {}, document.createTextNode(`${name} finger${pulls ? " on the lever" : " on the grip"}`)));
    const place = (x, tip) => {
      const [left, top] = this.px([x - half, tip]);
      const [right, foot] = this.px([x + half, hand.behind_mm]);
      const round = (right - left) / 2;
      const low = Math.min(round, 0.5 * (foot - top));
      set(node, "d", `M${n(left)} ${n(foot - low)}V${n(top + round)}A${n(round)} ${n(round)} 0 0 1 ${n(right)} ${n(top + round)}V${n(foot - low)}A${n(round)} ${n(low)} 0 0 1 ${n(left)} ${n(foot - low)}Z`);
    };
    return { node, along, place };
  }

  #rocker(rocker, index) {
    const pin = this.#circle(rocker.pivot_mm, rocker.pivot_radius_mm, "part pin");
    const body = el("g", {}, this.#shape(rocker.body_mm, "part"));
    const bodies = el("g", {}, body, pin, this.#cross(rocker.pivot_mm, rocker.pivot_radius_mm + 2));
    const roller = el("g", {},
      this.#circle([0, 0], rocker.roller_radius_mm, "part"), this.#circle([0, 0], rocker.roller_pin_radius_mm, "part pin"));
    const cam = el("g", {}, this.#shape(rocker.cam.outline_mm, `part cam ${this.role}`));
    for (const [x, y, radius] of rocker.cam.holes_mm) cam.append(this.#circle([x, y], radius, "part"));
    return { rocker, index, turning: body, body: bodies, roller, cam, ...this.#load(rocker) };
  }

  #load(rocker) {
    if (rocker.cylinder) return this.#cylinder(rocker.cylinder);
    if (rocker.spring) return this.#spring(rocker.spring);
    if (rocker.cable) return this.#cable(rocker.cable);
    return { load: el("g"), moveLoad: () => {} };
  }

  #cylinder(cylinder) {
    const [start, floor] = cylinder.chamber_mm;
    const [wx, wy] = cylinder.way;
    const half = cylinder.bore_mm / 2;
    const fluid = el("path", { class: "fluid" });
    const spring = el("path", { class: "coil thin" });
    const plunger = el("g", {},
      ...cylinder.plunger_mm.map((points) => this.#shape(points, "part")),
      ...cylinder.seals_mm.map((points) => this.#shape(points, "seal")));
    const walls = cylinder.walls_mm.flatMap((points) => [this.#shape(points, "cut ground"), this.#shape(points, "cut")]);
    const port = el("path", { d: this.#path(cylinder.port_mm, false), class: "port" });
    const most = Math.max(...this.#pressures(), 1);
    const moveLoad = (pose) => {
      const at = [start[0] + wx * pose.plunger_mm, start[1] + wy * pose.plunger_mm];
      const side = (point, sign) => [point[0] - sign * half * wy, point[1] + sign * half * wx];
      set(fluid, "d", this.#path([side(at, 1), side(floor, 1), side(floor, -1), side(at, -1)]));
      set(fluid, "fill-opacity", n(0.1 + 0.4 * Math.min(1, (pose.pressure_bar ?? 0) / most)));
      set(spring, "d", this.#path(coils(at, floor, 0.62 * half, COILS), false));
      const [dx, dy] = [this.scale * wx * pose.plunger_mm, -this.scale * wy * pose.plunger_mm];
      set(plunger, "transform", `translate(${n(dx)} ${n(dy)})`);
    };
    return { load: el("g", {}, fluid, ...walls, port, spring, plunger), moveLoad };
  }

  #pressures() {
    return this.record.rockers.flatMap((rocker) => rocker.poses.pressure_bar ?? []).filter((value) => value !== null);
  }

  #spring(spring) {
    if (spring.spiral_mm) return { load: el("g", {}, this.#shape(spring.spiral_mm, "coil", false)), moveLoad: () => {} };
    const [start, seat] = spring.coils_mm;
    const wire = el("path", { class: "coil" });
    const box = [this.#shape(spring.seat_mm, "cut ground"), this.#shape(spring.seat_mm, "cut")];
    const moveLoad = ({ stroke_mm: stroke }) => {
      const at = [start[0] + spring.way[0] * stroke, start[1] + spring.way[1] * stroke];
      set(wire, "d", this.#path(coils(at, seat, spring.radius_mm, spring.coils), false));
    };
    return { load: el("g", {}, ...box, wire), moveLoad };
  }

  #cable(cable) {
    const [from, to] = cable.cable_mm;
    const bead = el("circle", { r: 4, class: "part" });
    const moveLoad = ({ stroke_mm: stroke }) => {
      const share = 12 - stroke; // the bead starts 12 mm out on the cable, so that it stays in sight
      const [x, y] = this.px([from[0] - cable.way[0] * share, from[1] - cable.way[1] * share]);
      set(bead, "cx", n(x));
      set(bead, "cy", n(y));
    };
    const load = el("g", {}, this.#shape([from, to], "coil", false), this.#shape(cable.housing_mm, "cut ground"),
      this.#shape(cable.housing_mm, "cut"), bead);
    return { load, moveLoad };
  }

  /** Put the lever at a travel; everything else follows. */
  move(travel) {
    this.travel = travel;
    const { record } = this;
    const pose = poseAt(record, travel);
    const spin = `rotate(${n(-pose.theta_deg)} ${n(this.x0)} ${n(this.y0)})`;
    for (const node of [this.lever, this.grab, ...this.parts.map((part) => part.cam)]) set(node, "transform", spin);
    for (const part of this.parts) {
      const at = pose.rockers[part.index];
      const [px, py] = this.px(part.rocker.pivot_mm);
      const [rx, ry] = this.px(at.roller_mm);
      set(part.turning, "transform", `rotate(${n(-at.turn_deg)} ${n(px)} ${n(py)})`);
      set(part.roller, "transform", `translate(${n(rx - this.x0)} ${n(ry - this.y0)})`);
      part.moveLoad(at);
    }
    this.#fingers(pose);
    this.notes.move(pose);
    this.#tell(pose);
    return pose;
  }

  /** Fingers on the lever end in front of the blade, side by side about the pad. */
  #fingers(pose) {
    const { hand, lever } = this.record;
    const blade = ((lever.rest_deg - pose.theta_deg) * Math.PI) / 180;
    const [x, y] = pose.finger_mm;
    this.fingertips = Infinity;
    for (const finger of this.pulling) {
      const away = finger.along - lever.finger_radius_mm;
      const tip = y + away * Math.tan(blade) + hand.over_lever_mm / Math.cos(blade);
      finger.place(x - away, tip);
      this.fingertips = Math.min(this.fingertips, this.px([0, tip])[1]);
    }
  }

  #slider() {
    const attributes = { role: "slider", tabindex: 0, "aria-label": this.record.name, "aria-orientation": "vertical", "aria-valuemin": 0 };
    for (const [name, value] of Object.entries(attributes)) set(this.grab, name, value);
    set(this.grab, "aria-valuemax", n(endOf(this.record)));
  }

  #tell(pose) {
    set(this.grab, "aria-valuenow", n(pose.travel_mm));
    set(this.grab, "aria-valuetext", this.notes.spoken(pose));
  }

  /** Angle of a pointer about the pivot, degrees counter-clockwise. */
  #angle(event) {
    const box = this.svg.getBoundingClientRect();
    return (Math.atan2(this.y0 - (event.clientY - box.top), event.clientX - box.left - this.x0) * 180) / Math.PI;
  }

  #listen() {
    let held = null;
    this.svg.addEventListener("pointerdown", (event) => {
      if (!event.target.closest(".grab") || event.button > 0) return;
      event.preventDefault();
      this.grab.focus({ preventScroll: true });
      this.svg.setPointerCapture(event.pointerId);
      held = { id: event.pointerId, angle: this.#angle(event), theta: poseAt(this.record, this.travel).theta_deg };
      this.svg.classList.add("held");
    });
    this.svg.addEventListener("pointermove", (event) => {
      if (held?.id !== event.pointerId) return;
      const swing = ((this.#angle(event) - held.angle + 540) % 360) - 180;
      this.moved({ theta: held.theta + swing }, false);
    });
    const release = (event) => {
      if (held?.id !== event.pointerId) return;
      held = null;
      this.svg.classList.remove("held");
      this.moved({}, true);
    };
    this.svg.addEventListener("pointerup", release);
    this.svg.addEventListener("pointercancel", release);
  }
}
