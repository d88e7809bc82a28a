// What a page of questions keeps on a reload: the file as it was dropped, the choices, and the last answers with the
// job and the looks that they were made for.

import { tell } from "./api.js";
import { store, beside } from "./store.js";

const LARGEST = 30_000_000;

export const theme = () => document.documentElement.dataset.theme;

export function look(place) {
  return { theme: theme(), width: Math.max(320, Math.min(1400, Math.floor(place.clientWidth))) };
}

// A file as it is sent: { name, data }; null, with one line, where it is too large.
export async function packed(blob, name) {
  if (blob.size > LARGEST) {
    tell(`${name}: has ${Math.round(blob.size / 1e6)} MB; allowed is ${LARGEST / 1e6}`);
    return null;
  }
  const address = await new Promise((resolve, reject) => {
    const reader = new FileReader();
    reader.addEventListener("load", () => resolve(reader.result));
    reader.addEventListener("error", () => reject(reader.error));
    reader.readAsDataURL(blob);
  });
  return { name, data: address.slice(address.indexOf(",") + 1) };
}

export class Desk {
  constructor(page) {
    this.page = page;
    this.held = {};
  }

  // What was kept of this job: { files: { name: { name, data } }, choices, answers: { name: { found, job, look } } }.
  recall() {
    this.held = beside.get(this.page) ?? {};
    return this.held;
  }

  // One part laid down; where all of it is too large, answers go first and then files, with one line that says so.
  lay(part) {
    Object.assign(this.held, part);
    const { files, answers, ...rest } = this.held;
    if (beside.set(this.page, this.held)) return;
    if (beside.set(this.page, { ...rest, files })) {
      tell("These answers are too large to be kept here: after a reload, ask again.", "caution");
    } else {
      beside.set(this.page, rest);
      const names = Object.values(files ?? {}).map((one) => one.name);
      tell(`${names.at(-1) ?? "What was asked"} is too large to be kept here: after a reload, drop it again.`, "caution");
    }
  }

  // A file by what it is here for; null takes it away.
  file(name) {
    return this.held.files?.[name] ?? null;
  }

  layFile(name, file, part = {}) {
    const files = { ...this.held.files };
    if (file) files[name] = file;
    else delete files[name];
    this.lay({ ...part, files });
  }

  answer(name, found, seen) {
    const job = JSON.stringify(store.job);
    this.lay({ answers: { ...this.held.answers, [name]: { found, job, look: seen } } });
  }

  // The last answer of one kind, or null.
  answered(name) {
    return this.held.answers?.[name] ?? null;
  }

  // Whether an answer was made for the job as it is now.
  current(name) {
    return this.answered(name)?.job === JSON.stringify(store.job);
  }

  forget(...names) {
    const answers = { ...this.held.answers };
    for (const name of names) delete answers[name];
    this.lay({ answers });
  }
}
