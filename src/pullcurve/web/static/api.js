// Questions to the server: on each lane one request is in flight, and of those that wait only the newest is sent.

const SLOW = 300;
const RETRY = 3000;
const UNKNOWN = "The server does not answer. What you typed is kept here; start pullcurve serve again.";
const lanes = new Map();
let lost = 0;

export class Refused extends Error {
  constructor(status, faults) {
    super(faults.map(sentence).join("\n"));
    this.status = status;
    this.faults = faults;
  }
}

export function sentence({ where, key, said }) {
  return `${where ? `${where}: ` : ""}${key ? `${key} ` : ""}${said}`;
}

// Answer to a question; null where a newer one on the same lane took its place before it was sent.
export function ask(path, body, lane = path) {
  const known = lanes.get(lane) ?? { busy: false, next: null };
  lanes.set(lane, known);
  return new Promise((resolve, reject) => {
    known.next?.resolve(null);
    known.next = { path, body, resolve, reject };
    if (!known.busy) drain(known);
  });
}

async function drain(lane) {
  lane.busy = true;
  while (lane.next) {
    const { path, body, resolve, reject } = lane.next;
    lane.next = null;
    try {
      const response = await send(path, body);
      resolve(await response.json());
    } catch (error) {
      reject(error);
    }
  }
  lane.busy = false;
}

// Send JSON, or a file as it is; raises Refused with faults, each one line.
export async function send(path, body, { accept = "application/json", signal } = {}) {
  const whole = body instanceof Blob;
  const options = { method: body === undefined ? "GET" : "POST", headers: { Accept: accept }, signal };
  if (body !== undefined) {
    options.headers["Content-Type"] = whole ? "application/octet-stream" : "application/json";
    options.body = whole ? body : JSON.stringify(body);
  }
  let response;
  try {
    response = await fetch(path, options);
  } catch (error) {
    if (error.name === "AbortError") throw error;
    missed();
    throw new Refused(0, [{ where: "", key: "", said: UNKNOWN }]);
  }
  if (response.status === 401) location.assign(`/enter?next=${encodeURIComponent(location.pathname + location.search)}`);
  if (!response.ok) throw new Refused(response.status, await faultsOf(response));
  return response;
}

async function faultsOf(response) {
  try {
    const { faults } = await response.json();
    if (Array.isArray(faults) && faults.length) return faults;
  } catch { /* no JSON: said below */ }
  return [{ where: "", key: "", said: `The server answered ${response.status} ${response.statusText}.` }];
}

// Long work: lines of JSON, progress first, the answer last. Stopping the signal stops the work.
export async function stream(path, body, { told = () => {}, signal } = {}) {
  const response = await send(path, body, { accept: "application/x-ndjson", signal });
  const reader = response.body.pipeThrough(new TextDecoderStream()).getReader();
  let rest = "";
  for (;;) {
    const { done, value } = await reader.read();
    rest += value ?? "";
    const lines = rest.split("\n");
    rest = lines.pop();
    for (const line of lines.filter(Boolean)) {
      const message = JSON.parse(line);
      if ("answer" in message) return message.answer;
      if ("faults" in message) throw new Refused(message.status, message.faults);
      told(message.done, message.total);
    }
    if (done) throw new Refused(0, [{ where: "", key: "", said: "The answer broke off. Ask again." }]);
  }
}

// A bar with what is being done and a stop, shown only when it takes long; null when stopped.
export async function work(place, doing, path, body) {
  const stop = new AbortController();
  const bar = busyLine(doing, stop);
  const late = setTimeout(() => place.replaceChildren(bar), SLOW);
  try {
    return await stream(path, body, {
      signal: stop.signal,
      told: (done, total) => show(bar, done, total),
    });
  } catch (error) {
    if (error.name === "AbortError") return null;
    throw error;
  } finally {
    clearTimeout(late);
    bar.remove();
  }
}

function busyLine(doing, stop) {
  const bar = document.createElement("p");
  bar.className = "busy";
  bar.setAttribute("role", "status");
  const meter = document.createElement("progress");
  meter.setAttribute("aria-label", doing);
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = "stop";
  button.addEventListener("click", () => stop.abort());
  bar.append(Object.assign(document.createElement("span"), { textContent: doing }), meter, button);
  return bar;
}

function show(bar, done, total) {
  const meter = bar.querySelector("progress");
  if (total) Object.assign(meter, { max: total, value: done });
}

// One line above the sheet; an empty text takes it away.
export function tell(text, kind = "danger") {
  const line = document.getElementById("line");
  const signs = { danger: "✕", caution: "!", good: "✓" };
  line.hidden = !text;
  line.dataset.kind = kind;
  line.textContent = text ? `${signs[kind]} ${text}` : "";
}

// What went wrong, in one line.
export function tellError(error) {
  if (error.name === "AbortError") return;
  const lines = error instanceof Refused ? error.faults.map(sentence) : [`This page failed: ${error.message}`];
  tell(lines.length > 1 ? `${lines[0]} (and ${lines.length - 1} more)` : lines[0]);
  if (!(error instanceof Refused)) console.error(error);
}

// A server that was away is asked for until it is back; then every page may ask again.
function missed() {
  if (lost) return;
  lost = setInterval(async () => {
    try {
      if (!(await fetch("/api/alive")).ok) return;
    } catch {
      return;
    }
    clearInterval(lost);
    lost = 0;
    tell("The server is back.", "good");
    document.dispatchEvent(new CustomEvent("back"));
  }, RETRY);
}
