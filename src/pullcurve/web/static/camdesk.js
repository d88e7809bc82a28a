// What the parts of the cam page share: which cam they speak of, their desk, and how files are handed over.

import { send, work, tellError } from "./api.js";
import { Desk, theme } from "./keeping.js";
import { store, view, ready } from "./store.js";

export const byId = (id) => document.getElementById(id);
export const kind = () => view.get("kind", "brake");
export const chosen = () => view.get(`cam-${kind()}`, "");
export const asked = () => ({ job: store.job, kind: kind(), cams: chosen() ? [chosen()] : [] });
export const desk = new Desk("cam");
export const laid = ready.then(() => desk.recall());

export function line(tag, text) {
  return Object.assign(document.createElement(tag), { textContent: text });
}

// What is typed as a number, or undefined.
export function typedNumber(text) {
  const number = Number(text.trim().replace(",", "."));
  return text.trim() && Number.isFinite(number) ? number : undefined;
}

// Whether an answer shown in a box was made for the job as it is.
export function stale(box, name) {
  box.querySelector(".stale").hidden = !desk.answered(name) || desk.current(name);
}

// A picture in the colours of another light is asked for again, as long as the job is the one that it was made for.
export function recoloured(name, again) {
  const known = desk.answered(name);
  if (known && desk.current(name) && known.look.theme !== theme()) again(known.found);
}

export async function exported(place, body) {
  try {
    const found = await work(place, "making the files", "/api/cam/export", { ...body, ending: body.ending || null });
    if (!found) return;
    const bytes = Uint8Array.from(atob(found.data), (sign) => sign.charCodeAt(0));
    handOver(new Blob([bytes], { type: found.media }), found.name);
  } catch (error) {
    tellError(error);
  }
}

// The outline of a known cam, at once.
export async function outline() {
  try {
    const response = await send("/api/cam/dxf", asked());
    handOver(await response.blob(), /filename="(.*)"/.exec(response.headers.get("content-disposition"))?.[1] ?? "cam.dxf");
  } catch (error) {
    tellError(error);
  }
}

function handOver(blob, name) {
  const link = Object.assign(document.createElement("a"), { href: URL.createObjectURL(blob), download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 1000);
}
