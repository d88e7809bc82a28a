// Display in millimetres and newtons, or in inches and pounds; jobs and answers stay in the units of their keys.

const KEY = "pullcurve.inch";
const listeners = new Set();
// The server's own table: { mm: { label: "mm", unit: "in", factor: 25.4, decimals: 1 }, ... }
const factors = JSON.parse(document.getElementById("unit-table")?.textContent ?? "{}");
let inch = false;
try {
  inch = localStorage.getItem(KEY) === "true";
} catch { /* a browser that keeps nothing */ }

export const units = {
  get inch() {
    return inch;
  },
  set(on) {
    inch = on;
    try {
      localStorage.setItem(KEY, String(on));
    } catch { /* a browser that keeps nothing */ }
    for (const fn of listeners) fn(inch);
  },
  subscribe(fn) {
    listeners.add(fn);
    fn(inch);
    return () => listeners.delete(fn);
  },
  // Label, value and decimals of a quantity in the chosen display: shown("mm", 48) is { value: 48, unit: "mm" }.
  shown(unit, value, decimals = null) {
    const known = factors[unit] ?? {};
    const other = inch && known.factor ? known : null;
    if (!other) return { value, unit: known.label ?? unit, decimals };
    const more = decimals === null ? null : Math.max(0, decimals + other.decimals);
    return { value: value / other.factor, unit: other.unit, decimals: more };
  },
  // A number typed in the chosen display, back in the key's unit.
  typed(unit, value) {
    const other = inch && factors[unit]?.factor ? factors[unit] : null;
    return other ? Number((value * other.factor).toPrecision(6)) : value;
  },
  text(unit, value, decimals = 0) {
    if (value === null || value === undefined) return "not reached";
    const { value: number, unit: name, decimals: digits } = units.shown(unit, value, decimals);
    return `${number.toFixed(digits)} ${name}`.trim();
  },
};
