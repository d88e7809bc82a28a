// What the steps and the sheet share: the unit's own hardware as it is kept in this browser, and files handed over.

import { send } from "./api.js";
import { store } from "./store.js";

const HARDWARE = "pullcurve.hardware.";

export const kept = {
  read(key) {
    try {
      return JSON.parse(localStorage.getItem(key));
    } catch {
      return null; // nothing there, nothing that can be read, or a browser that keeps nothing
    }
  },
  write(key, value) {
    try {
      localStorage.setItem(key, JSON.stringify(value));
      return true;
    } catch {
      return false;
    }
  },
};

// The hardware file of this job: { name, text, used }, or null.
export const ownHardware = () => kept.read(HARDWARE + store.id);
export const keepHardware = (own) => kept.write(HARDWARE + store.id, own);

// The same as a question carries it.
export function hardware() {
  const own = ownHardware();
  return own?.used ? { name: own.name, text: own.text } : null;
}

// A file that the server makes, into the hands of whoever asked.
export async function download(path, body) {
  const response = await send(path, body, { accept: "*/*" });
  const name = /filename="(.*)"/.exec(response.headers.get("content-disposition"))?.[1] ?? "file";
  const link = Object.assign(document.createElement("a"), { href: URL.createObjectURL(await response.blob()), download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 1000);
}

export function line(tag, text, name = "") {
  return Object.assign(document.createElement(tag), { textContent: text, className: name });
}
