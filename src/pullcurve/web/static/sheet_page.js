// Sheet: what is handed to the rider; the page shows the very sheet that is downloaded or printed.

import { Cams } from "./bench/cams.js";
import { ask, Refused, send, tell, tellError } from "./api.js";
import { Desk, packed } from "./keeping.js";
import { download, hardware, line, ownHardware } from "./steps-kept.js";
import { ready, store, view } from "./store.js";
import { units } from "./units.js";

const byId = (id) => document.getElementById(id);
const desk = new Desk("sheet");
const measured = new Desk("measure");
const paper = byId("paper").attachShadow({ mode: "open" });
const radio = (name) => document.querySelector(`input[name=${name}]:checked`).value;
let hands = []; // steppers, a lever and kind each
let told = null; // what the rack has beside what is shown
let stop = new AbortController();

// What is asked -------------------------------------------------------------------------------------------------

const wanted = () => (radio("of") === "proposed" ? store.tried : []);

// The measure page's own pull as it is asked about there, or the file that was taken here.
function pull() {
  if (radio("pull") === "measure") return { ...measured.file("pull"), drop_first: Boolean(measured.held.choices?.first) };
  return radio("pull") === "file" ? desk.file("pull") : null;
}

function lever() {
  if (byId("lever").value) return byId("lever").value;
  return (radio("pull") === "measure" && measured.held.choices?.lever) || null;
}

const question = (form) => ({ job: store.job, cams: wanted(), hardware: hardware(), pull: pull(), lever: lever(), form });

// The newest question counts; one that is on its way for an older one is let go.
async function show() {
  stop.abort();
  stop = new AbortController();
  const { signal } = stop;
  const preview = byId("preview");
  preview.ariaBusy = "true";
  try {
    showHands();
    showHardware();
    const response = await send("/api/sheet", question("html"), { accept: "text/html", signal });
    const text = await response.text();
    if (signal.aborted) return;
    await put(text);
    usable(true);
    tell("");
  } catch (error) {
    if (signal.aborted) return;
    usable(false);
    tellError(error);
  }
  preview.ariaBusy = "false";
}

// No sheet, no paper: what cannot be computed is not handed out either.
function usable(on) {
  byId("paper").hidden = !on;
  for (const id of ["pdf", "html", "print"]) byId(id).disabled = !on;
}

// The sheet in a room of its own: its looks are not the page's, and what is ticked is ticked on paper.
async function put(text) {
  const [head, style, body] = text.split(/<\/?style>/); // the page's own policy lets no style in with the markup
  const sheet = new DOMParser().parseFromString(head + body, "text/html");
  const looks = new CSSStyleSheet();
  await looks.replace(style);
  const page = line("article", "", "page");
  page.append(...sheet.querySelector(".page").childNodes);
  for (const box of page.querySelectorAll("input")) box.disabled = true;
  paper.adoptedStyleSheets = [looks];
  paper.replaceChildren(document.adoptNode(page));
}

function showHardware() {
  const own = ownHardware();
  byId("whose").hidden = !own?.used;
  byId("whose").querySelector("span").textContent = own?.name ?? "";
}

// Cams by their numbers -----------------------------------------------------------------------------------------

async function showHands() {
  const proposed = radio("of") === "proposed";
  byId("hands").hidden = !proposed;
  byId("nothing").hidden = !proposed || store.tried.length > 0;
  if (!proposed) return;
  try {
    const answer = await ask("/api/sheet/cams", { job: store.job, cams: store.tried }, "hands");
    if (answer) listHands(answer.levers);
  } catch (error) {
    // Cams that the rack no longer has: the sheet goes on with what is fitted.
    if (error instanceof Refused && error.status === 422 && store.tried.length) store.try("as fitted", []);
    else tellError(error);
  }
}

// A lever that works both brake and clutch has its reach once.
function listHands(levers) {
  told = levers;
  const listed = levers.flatMap((one) => one.kinds.filter((kind) => kind !== "assist").map((kind, place) => {
    const both = one.kinds.includes("brake") && one.kinds.includes("clutch");
    const steppers = one.steppers.filter((stepper) => place === 0 || stepper.of !== "lever");
    return { name: both ? `${one.name}: ${kind}` : one.name, kind, lever: { ...one, steppers } };
  }));
  const names = listed.map(({ name }) => name).join("\n");
  if (byId("hands").dataset.names !== names) rowOfHands(listed);
  byId("hands").dataset.names = names;
  listed.forEach(({ lever: one, kind }, row) => hands[row].show(one, kind));
}

function rowOfHands(listed) {
  const boxes = listed.map(({ name }) => {
    const box = document.createElement("div");
    box.append(line("h2", name), document.createElement("div"));
    return box;
  });
  byId("hands").replaceChildren(...boxes);
  hands = boxes.map((box, row) => new Cams(box.lastChild, (label, ids) => {
    for (const [other, hand] of hands.entries()) if (other !== row) hand.wait();
    store.try(label, ids);
  }));
}

// What is touched -----------------------------------------------------------------------------------------------

function keep() {
  view.set("of", radio("of") === "fitted" ? null : radio("of"));
  desk.lay({ choices: { pull: radio("pull"), lever: byId("lever").value } });
  show();
}

function offer(id, file, words) {
  byId(id).hidden = !file;
  if (file) byId(id).querySelector("span").textContent = words(file.name);
  const button = byId(id).querySelector("input");
  if (!file && button.checked) document.querySelector("input[name=pull][value=none]").checked = true;
}

function offers() {
  offer("from-measure", measured.file("pull"), (name) => `the pull of the measure page (${name})`);
  offer("from-file", desk.file("pull"), (name) => name);
}

function recall() {
  measured.recall();
  const { choices } = desk.recall();
  const of = view.get("of", "fitted") === "proposed" ? "proposed" : "fitted";
  document.querySelector(`input[name=of][value=${of}]`).checked = true;
  const which = ["measure", "file"].includes(choices?.pull) ? choices.pull : "none";
  document.querySelector(`input[name=pull][value=${which}]`).checked = true;
  byId("lever").value = choices?.lever ?? "";
  offers();
}

byId("what").addEventListener("submit", (event) => event.preventDefault());
for (const button of document.querySelectorAll("input[type=radio]")) button.addEventListener("change", keep);
byId("lever").addEventListener("change", keep);
byId("file").addEventListener("change", async ({ target }) => {
  if (!target.files[0]) return;
  try {
    const found = await packed(target.files[0], target.files[0].name);
    target.value = "";
    if (!found) return;
    desk.layFile("pull", found);
    offers();
    document.querySelector("input[name=pull][value=file]").checked = true;
    keep();
  } catch (error) {
    tellError(error);
  }
});
for (const form of ["pdf", "html"]) byId(form).addEventListener("click", () => download("/api/sheet", question(form)).catch(tellError));
byId("print").addEventListener("click", () => print());
units.subscribe(() => told && listHands(told));

let first = "";
ready.then(() => {
  store.subscribe(() => {
    if (first !== store.id) recall(); // another job has choices and files of its own
    first = store.id;
    show();
  });
  document.addEventListener("back", show);
}, tellError);
