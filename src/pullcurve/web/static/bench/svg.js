// Small helpers for drawings: elements, paths, text with its unit, hatching.

const SPACE = "http://www.w3.org/2000/svg";

/**
 * An SVG element.
 * @param {string} tag
 * @param {Record<string, string|number|null>} [attributes] null leaves one out
 * @param {...Node} children
 * @returns {SVGElement}
 */
export function el(tag, attributes = {}, ...children) {
  const made = document.createElementNS(SPACE, tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value !== null) made.setAttribute(name, value);
  }
  made.append(...children);
  return made;
}

/** A coordinate with at most two decimals. */
export const n = (value) => Math.round(value * 100) / 100;

/**
 * Points in px as path data.
 * @param {number[][]} points
 * @param {boolean} [closed]
 */
export function path(points, closed = false) {
  let data = "";
  let pen = "M";
  for (const [x, y] of points) {
    if (!Number.isFinite(x) || !Number.isFinite(y)) {
      pen = "M";
      continue;
    }
    data += `${pen}${n(x)} ${n(y)}`;
    pen = "L";
  }
  return closed && data ? `${data}Z` : data;
}

/** Set an attribute only where it changed: nothing is laid out anew for a number that stays. */
export function set(element, name, value) {
  const text = String(value);
  if (element.getAttribute(name) !== text) element.setAttribute(name, text);
}

/**
 * A text of number, unit and words that is written again and again.
 * @param {string} name class of the text
 * @param {"start"|"middle"|"end"} anchor
 */
export function label(name, anchor = "start") {
  const text = el("text", { class: `label ${name}`, "text-anchor": anchor });
  const lead = el("tspan", { class: "lead" });
  const number = el("tspan", { class: "number" });
  const unit = el("tspan", { class: "unit" });
  text.append(lead, number, unit);
  const parts = { lead, number, unit };
  const write = (part, words) => {
    if (parts[part].textContent !== words) parts[part].textContent = words;
  };
  return {
    node: text,
    /** Words before the number, the number, its unit. */
    write(before, value, after) {
      write("lead", before ? `${before} ` : "");
      write("number", value);
      write("unit", after ? `${after === "°" ? "" : "\u2009"}${after}` : "");
    },
    at(x, y) {
      set(text, "x", n(x));
      set(text, "y", n(y));
    },
    anchor(side) {
      set(text, "text-anchor", side);
    },
    show(on) {
      set(text, "visibility", on ? "visible" : "hidden");
    },
  };
}

/** Hatching at 45 degrees, by a name that is used once in the page. */
export function hatching(id, step = 6, turn = 45) {
  const line = el("line", { x1: 0, y1: 0, x2: 0, y2: step, class: "hatching" });
  const attributes = { id, width: step, height: step, patternUnits: "userSpaceOnUse", patternTransform: `rotate(${turn})` };
  return el("pattern", attributes, line);
}

/** An arrow from one point to another, with a filled head that ends at the second. */
export function arrow(name, head = 9) {
  const shaft = el("path", { class: `arrow ${name}` });
  const tip = el("path", { class: `head ${name}` });
  const group = el("g", {}, shaft, tip);
  return {
    node: group,
    place(from, to) {
      const [dx, dy] = [to[0] - from[0], to[1] - from[1]];
      const length = Math.hypot(dx, dy);
      set(group, "visibility", length > 1 ? "visible" : "hidden");
      if (length <= 1) return;
      const [ux, uy] = [dx / length, dy / length];
      const size = Math.min(head, length);
      const base = [to[0] - size * ux, to[1] - size * uy];
      const half = 0.36 * size;
      set(shaft, "d", path([from, base]));
      set(tip, "d", path([to, [base[0] - half * uy, base[1] + half * ux], [base[0] + half * uy, base[1] - half * ux]], true));
    },
  };
}
