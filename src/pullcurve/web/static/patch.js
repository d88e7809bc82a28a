// A part of the page set anew without taking away what is there: focus, caret, what is open and what is half typed stay,
// and a press lands on what it was meant for.

const NAMES = ["id", "data-row", "data-part", "data-rows", "data-chapter"];
const AFTER = 80; // ms from letting go until the click has come

let down = false;
let waiting = [];

addEventListener("pointerdown", () => { down = true; }, true);
for (const end of ["pointerup", "pointercancel"]) addEventListener(end, () => setTimeout(released, AFTER), true);
addEventListener("blur", () => released());

function released() {
  down = false;
  for (const go of waiting.splice(0)) go();
}

// Resolves when no finger and no mouse button is down: nothing moves away from under them.
export function calm() {
  return down ? new Promise((resolve) => waiting.push(resolve)) : Promise.resolve();
}

// Make what stands in a place like the HTML, keeping every element that is still wanted.
export function patch(place, html) {
  const wanted = document.createElement("template");
  wanted.innerHTML = html;
  children(place, wanted.content);
}

const name = (node) => (node.nodeType === Node.ELEMENT_NODE ? NAMES.map((one) => node.getAttribute(one)).find(Boolean) : null);
const alike = (one, other) => one.nodeName === other.nodeName && name(one) === name(other);

// What the page itself has put beside the server's elements carries data-own and is left alone.
function children(place, wanted) {
  let next = first(place.firstChild);
  for (const node of [...wanted.childNodes]) {
    const found = next && alike(next, node) ? next : ahead(next, node);
    if (!found) {
      place.insertBefore(document.importNode(node, true), next);
      continue;
    }
    while (next !== found) next = dropped(next);
    one(found, node);
    next = first(found.nextSibling);
  }
  while (next) next = dropped(next);
}

function first(node) {
  while (node?.nodeType === Node.ELEMENT_NODE && "own" in node.dataset) node = node.nextSibling;
  return node;
}

// The same named element further down; what has no name is taken only where it stands.
function ahead(from, node) {
  if (!name(node)) return null;
  for (let known = from; known; known = first(known.nextSibling)) if (alike(known, node)) return known;
  return null;
}

function dropped(node) {
  const next = first(node.nextSibling);
  node.remove();
  return next;
}

function one(known, wanted) {
  if (known.nodeType !== Node.ELEMENT_NODE) {
    if (known.nodeValue !== wanted.nodeValue) known.nodeValue = wanted.nodeValue;
    return;
  }
  attributes(known, wanted);
  if (known.matches("textarea")) {
    if (known !== document.activeElement && known.value !== wanted.value) known.value = wanted.value;
    return;
  }
  children(known, wanted);
  if (known.matches("input[type=checkbox]")) known.checked = wanted.checked;
  else if (known.matches("input") && known !== document.activeElement) known.value = wanted.value;
  if (known.matches("select") && known.value !== wanted.value) known.value = wanted.value;
}

// Whether a chapter is open, and what is unfolded under a button, is the reader's.
function attributes(known, wanted) {
  const kept = (attribute) => (attribute === "open" && known.matches("details")) || attribute === "aria-expanded";
  for (const { name: attribute } of [...known.attributes]) {
    if (!wanted.hasAttribute(attribute) && !kept(attribute)) known.removeAttribute(attribute);
  }
  for (const { name: attribute, value } of wanted.attributes) {
    if (!kept(attribute) && known.getAttribute(attribute) !== value) known.setAttribute(attribute, value);
  }
}
