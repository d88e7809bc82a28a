// Numbers written into the drawing as dimensions: force at the finger, gap, travel, contact force, stroke, pressure.

import { units } from "../units.js";
import { arrow, el, label, n, path, set } from "./svg.js";

const LONGEST = 26; // mm of the longest force arrow
const NOTE_ROOM = 118; // px for the note beside a cylinder

/** Number and unit of a quantity, written in two colours. */
export function told(unit, value, decimals = 0) {
  if (value === null || value === undefined) return ["–", ""];
  const { value: number, unit: sign, decimals: digits } = units.shown(unit, value, decimals);
  const text = number.toFixed(digits);
  return [Number(text) === 0 ? text.replace("-", "") : text.replace("-", "−"), SIGNS[sign] ?? sign];
}

const SIGNS = { newton: "N", deg: "°", m_per_s2: "m/s²", newton_m: "N m", percent: "%" };

export class Notes {
  /** @param {import("./mechanism.js").Mechanism} view */
  constructor(view) {
    this.view = view;
    const { record, kind } = view;
    const known = (name) => Math.max(...record.poses[name].filter((value) => value !== null));
    this.perNewton = LONGEST / Math.max(known("pull_newton"), 1);
    const contacts = record.rockers.flatMap((rocker) => rocker.poses.contact_pull_newton).filter((value) => value !== null);
    this.perContact = LONGEST / Math.max(...contacts, 1);
    this.kind = kind;
    this.rest = el("path", { class: "centre" });
    this.now = el("path", { class: "centre" });
    this.arc = arrow("dim");
    this.gap = [arrow("dim"), arrow("dim")];
    this.force = arrow("force");
    this.texts = {
      force: label("main", "middle"), release: label("note", "middle"), gap: label("halo"), travel: label("", "end"), angle: label("note", "end"),
    };
    this.contacts = view.parts.map((part) => this.#contact(part));
    this.loads = view.parts.filter((part) => part.rocker.cylinder || part.rocker.cable).map((part) => this.#loadNote(part));
    this.under = el("g", {}, this.rest, this.now);
    this.over = el("g", { class: "notes" },
      this.arc.node, ...this.gap.map((one) => one.node), this.force.node,
      ...this.contacts.flatMap((one) => [one.arrow.node, one.dot]), ...this.loads.flatMap((one) => [one.leader, ...one.rows.map((row) => row.node)]),
      ...this.contacts.map((one) => one.text.node), ...Object.values(this.texts).map((text) => text.node));
    this.#rest();
  }

  #contact({ rocker, index }) {
    return { rocker, index, arrow: arrow("force"), dot: el("circle", { r: 3.5, class: "contact" }), text: label("halo") };
  }

  /** Stroke, pressure and what they do, beside the end of a cylinder, tied to it by a leader. */
  #loadNote({ rocker, index }) {
    const rows = [label("halo"), label("halo"), label("halo")];
    return { rocker, index, rows, leader: el("path", { class: "leader" }) };
  }

  #rest() {
    const { record } = this.view;
    set(this.rest, "d", path(this.#ray(record.lever.rest_deg).map((point) => this.view.px(point))));
  }

  /** The middle of the lever as a line, at an angle of the blade. */
  #ray(blade) {
    const { length_mm: length, thickness_mm: thick } = this.view.record.lever;
    const [c, s] = [Math.cos((blade * Math.PI) / 180), Math.sin((blade * Math.PI) / 180)];
    const away = 0.5 * thick;
    return [0, length + 9].map((along) => [away * s - along * c, along * s + away * c]);
  }

  move(pose) {
    this.#travel(pose);
    this.#gap(pose);
    this.#force(pose);
    for (const one of this.contacts) this.#contactAt(one, pose.rockers[one.index]);
    for (const one of this.loads) this.#loadAt(one, pose.rockers[one.index]);
  }

  #travel(pose) {
    const { view } = this;
    const { rest_deg: rest } = view.record.lever;
    const [from, to] = [rest, rest - pose.theta_deg].map((blade) => view.px(this.#ray(blade)[1]));
    set(this.now, "d", path(this.#ray(rest - pose.theta_deg).map((point) => view.px(point))));
    this.arc.place(from, to);
    const [number, unit] = told("mm", pose.travel_mm, 1);
    const [degrees] = told("deg", pose.theta_deg, 1);
    const wordy = view.size[0] > 600;
    const x = Math.max(Math.min(from[0], to[0]) - 6, wordy ? 102 : 58);
    const y = Math.max(0.5 * (from[1] + to[1]), from[1] + 4);
    this.texts.travel.write(wordy ? "travel" : "", number, unit);
    this.texts.travel.at(x, y - 2);
    this.texts.angle.write("", degrees, "°");
    this.texts.angle.at(x, y + 14);
  }

  #gap(pose) {
    const { view } = this;
    const { grip } = view.record;
    const [x, top] = pose.finger_mm;
    const foot = grip.axis_mm + grip.radius_mm;
    const [a, b] = [view.px([x, top]), view.px([x, foot])];
    const middle = [a[0], 0.5 * (a[1] + b[1])];
    this.gap[0].place(middle, a);
    this.gap[1].place(middle, b);
    const [number, unit] = told("mm", pose.gap_mm, 1);
    this.texts.gap.write("gap", number, unit);
    this.texts.gap.at(middle[0] + 7, middle[1] + 5);
  }

  /** The finger's pull as an arrow onto the blade; its number stands over the fingers, clear of the arrow. */
  #force(pose) {
    const { view } = this;
    const { lever } = view.record;
    const [x, y] = pose.finger_mm;
    const [dx, dy] = pose.push;
    const long = this.perNewton * Math.max(pose.pull_newton ?? 0, 0);
    const on = (away) => view.px([x - dx * away, y - dy * away]);
    const [from, to] = [on(lever.thickness_mm + long), on(lever.thickness_mm)];
    this.force.place(from, to);
    const [pull, unit] = told("newton", pose.pull_newton);
    const [release] = told("newton", pose.release_newton);
    const foot = Math.max(Math.min(from[1], view.fingertips) - 8, 38);
    this.texts.force.write("", pull, unit);
    this.texts.force.at(from[0], foot - 18);
    this.texts.release.write("", release, `${unit} released`);
    this.texts.release.at(from[0], foot);
  }

  /** The contact force through the roller; its number stands out from the rocker's end, where nothing moves. */
  #contactAt(one, at) {
    const { view } = this;
    const { rocker } = one;
    const [px, py] = view.px(at.contact_mm);
    set(one.dot, "cx", n(px));
    set(one.dot, "cy", n(py));
    const [fx, fy] = at.contact_newton.map((part) => (part ?? 0) * this.perContact);
    one.arrow.place([px, py], view.px([at.contact_mm[0] + fx, at.contact_mm[1] + fy]));
    one.text.write("", ...told("newton", at.contact_pull_newton));
    const [ex, ey] = [0, 1].map((axis) => (at.roller_mm[axis] - rocker.pivot_mm[axis]) / rocker.arm_mm);
    const [x, y] = view.px(at.roller_mm);
    const away = view.scale * rocker.roller_radius_mm + 7;
    one.text.anchor(Math.abs(ex) < 0.4 ? "middle" : ex < 0 ? "end" : "start");
    one.text.at(x + ex * away, y - ey * away + 5 - 5 * Math.sign(ey) * Number(Math.abs(ex) < 0.4));
  }

  #loadAt(one, at) {
    const { view } = this;
    const { cylinder, cable } = one.rocker;
    const corners = (cylinder ? cylinder.walls_mm.map((wall) => wall[4]) : cable.housing_mm.slice(1, 3)).map((point) => view.px(point));
    const [low, high] = [Math.min(...corners.map(([x]) => x)), Math.max(...corners.map(([x]) => x))];
    const up = (cylinder ?? cable).way[1] * (cylinder ? 1 : -1) >= 0;
    const beside = view.size[0] - high > NOTE_ROOM;
    const rows = this.#loadRows(at, Boolean(cylinder));
    const tied = corners.find(([x]) => x === (beside ? high : low));
    const end = (up ? Math.min : Math.max)(...corners.map(([, y]) => y));
    const over = up ? end - 12 - 17 * (rows.length - 1) : end + 22;
    const [x, y] = beside ? [high + 22, Math.max(tied[1] - 2, 16)] : [Math.min(view.size[0] - 4, high + 70), over];
    one.rows.forEach((row, index) => {
      const words = rows[index];
      row.show(Boolean(words));
      if (!words) return;
      row.write(...words);
      row.anchor(beside ? "start" : "end");
      row.at(x, y + 17 * index);
    });
    set(one.leader, "d", beside ? path([tied, [x - 8, y - 5], [x - 3, y - 5]]) : "");
  }

  #loadRows(at, hydraulic) {
    const rows = [];
    if (hydraulic) rows.push(["", ...told("bar", at.pressure_bar)]);
    rows.push(["stroke", ...told("mm", at.stroke_mm, 1)]);
    if (at.deceleration_m_per_s2 !== undefined) rows.push(["slows", ...told("m_per_s2", at.deceleration_m_per_s2, 1)]);
    if (at.torque_newton_m !== undefined) rows.push(["carries", ...told("newton_m", at.torque_newton_m)]);
    return rows;
  }

  /** The same in one line for a reader. */
  spoken(pose) {
    const part = (words, unit, value, decimals) => `${words} ${told(unit, value, decimals).join(" ")}`.trim();
    const said = [
      part("travel", "mm", pose.travel_mm, 1), part("pull", "newton", pose.pull_newton, 0),
      part("release", "newton", pose.release_newton, 0), part("gap", "mm", pose.gap_mm, 1),
    ];
    for (const { index } of this.loads) {
      const at = pose.rockers[index];
      if (at.pressure_bar !== undefined) said.push(part("pressure", "bar", at.pressure_bar, 0));
    }
    return said.join(", ");
  }
}

