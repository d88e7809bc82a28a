// Seven steps for each read-out that is felt, from far too little to far too much, wide enough for a glove.

import { el, known, label, most, pointWords, signed, value } from "./bookleaf.js";

const ENDS = [-most, 0, most];

export function showRates(place, visit) {
  const keys = Object.entries(visit?.readouts ?? {}).flatMap(([kind, values]) => Object.entries(values).map(([name, si]) => [`${kind}.${name}`, si]));
  const felt = keys.filter(([key]) => known.readouts[key] && known.readouts[key].felt !== "no");
  place.replaceChildren(...felt.map(([key, si]) => rate(key, si)));
}

function rate(key, si) {
  const legend = el("legend", {}, `${label(key)} `, el("span", { className: "note" }, value(key, si)));
  const steps = Array.from({ length: 2 * most + 1 }, (_, place) => place - most);
  const seven = el("div", { className: "seven" }, ...steps.map((points) => step(key, points)));
  const ends = el("div", { className: "ends note", ariaHidden: "true" }, ...ENDS.map((points) => el("span", {}, pointWords(points))));
  const none = el("label", { className: "tick" }, el("input", { type: "radio", name: key, value: "", checked: true }), "not rated");
  return el("fieldset", { className: "rate" }, legend, el("div", {}, seven, ends), none);
}

function step(key, points) {
  const button = el("input", { type: "radio", name: key, value: String(points) });
  button.setAttribute("aria-label", `${signed(points)}, ${pointWords(points)}`);
  return el("label", {}, button, el("span", { ariaHidden: "true" }, signed(points)));
}
