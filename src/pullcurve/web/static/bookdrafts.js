// What was typed into the forms of the book, and who writes: kept in this browser until it is in the book.

import { today } from "./bookleaf.js";

const WHO = "pullcurve.who";
const DRAFT = "pullcurve.book.draft.";
const OPEN = "pullcurve.book.open";
const MOST_KEPT = 1_500_000; // characters that a browser is asked to keep of a file

function read(place, key) {
  try {
    return JSON.parse(place.getItem(key));
  } catch {
    return null;
  }
}

function write(place, key, value) {
  try {
    if (value === null) place.removeItem(key);
    else place.setItem(key, JSON.stringify(value));
  } catch { /* full, or not allowed: the page goes on without */ }
}

export const who = {
  get: () => read(localStorage, WHO) ?? "",
  set: (name) => write(localStorage, WHO, name),
};

// Which chapters stand open.
export const chapters = {
  get: (id) => read(localStorage, OPEN)?.[id] ?? null,
  set: (id, open) => write(localStorage, OPEN, { ...read(localStorage, OPEN), [id]: open }),
};

function values(form) {
  const found = {};
  for (const one of form.elements) {
    if (!one.name || one.type === "file") continue;
    if (one.type === "checkbox") {
      found[one.name] ??= [];
      if (one.checked) found[one.name].push(one.value);
    } else if (one.type !== "radio") found[one.name] = one.value;
    else if (one.checked) found[one.name] = one.value;
  }
  if (found.day === today()) delete found.day; // tomorrow it is another one
  return found;
}

function fill(form, known) {
  for (const one of form.elements) {
    if (!one.name || one.type === "file") continue;
    const given = known[one.name];
    if (one.type === "checkbox") one.checked = (given ?? []).includes(one.value);
    else if (one.type === "radio") one.checked = one.value === (given ?? "");
    else {
      if (one.tagName === "SELECT" && given && ![...one.options].some(({ value }) => value === given)) one.append(new Option(given, given));
      one.value = given ?? (one.type === "date" ? today() : "");
    }
  }
}

// One form's typing, kept under a name: that of the machine, or none.
export class Draft {
  constructor(form) {
    this.form = form;
    this.name = "";
    this.file = null;
    this.before = null;
    this.button = form.querySelector(".clear");
    this.chosen = form.querySelector(".chosen");
    form.addEventListener("input", ({ target }) => target.type !== "file" && this.keep());
    this.button.addEventListener("click", () => (this.before ? this.back() : this.clear()));
  }

  get key() {
    return `${DRAFT}${this.form.dataset.form}.${this.name}`;
  }

  get values() {
    return { ...read(localStorage, this.key), ...values(this.form) };
  }

  keep() {
    this.before = null;
    this.button.textContent = "clear";
    write(localStorage, this.key, { ...read(localStorage, this.key), day: undefined, ...values(this.form) });
  }

  // Another machine's draft, or the same one in a form that was made anew.
  open(name = this.name) {
    if (name !== this.name) {
      this.before = null;
      this.button.textContent = "clear";
    }
    this.name = name;
    fill(this.form, read(localStorage, this.key) ?? {});
    this.showFile(read(sessionStorage, this.key));
  }

  take(file) {
    this.showFile(file);
    write(sessionStorage, this.key, file.data.length <= MOST_KEPT ? file : null);
  }

  showFile(file) {
    this.file = file;
    if (!this.chosen) return;
    this.chosen.hidden = !file;
    this.chosen.textContent = file ? `chosen: ${file.name}` : "";
    const field = this.form.querySelector("input[type=file]");
    if (!file) field.value = "";
  }

  clear() {
    this.before = { values: read(localStorage, this.key) ?? {}, file: this.file };
    this.forget();
    this.button.textContent = "bring back";
  }

  back() {
    write(localStorage, this.key, this.before.values);
    if (this.before.file) this.take(this.before.file);
    this.before = null;
    this.button.textContent = "clear";
    fill(this.form, read(localStorage, this.key));
    this.form.dispatchEvent(new CustomEvent("brought"));
  }

  // It is in the book, or not wanted.
  forget() {
    write(localStorage, this.key, null);
    write(sessionStorage, this.key, null);
    this.showFile(null);
    fill(this.form, {});
    this.form.dispatchEvent(new CustomEvent("brought"));
  }

  written() {
    this.before = null;
    this.button.textContent = "clear";
    this.forget();
  }
}
