// Measure: a pull from a file, what it says is wrong, its numbers into the job.

import { send, work, tell, tellError } from "./api.js";
import { store, ready } from "./store.js";

const byId = (id) => document.getElementById(id);
const KEPT = "pullcurve.pull";
const LARGEST = 30_000_000;
const MOST_KEPT = 1_500_000; // characters that a browser is asked to keep of a file
let file = null; // { name, data } as it is sent
let told = null; // answer of the last fit, and the job that it was made for
let turn = 0;

const look = (place) => ({
  theme: document.documentElement.dataset.theme,
  width: Math.max(320, Math.min(1400, Math.floor(place.clientWidth))),
});

function line(tag, text) {
  return Object.assign(document.createElement(tag), { textContent: text });
}

const percent = (share) => `${Math.round(share * 100)} %`;
const digits = (value) => Number(value.toPrecision(3)).toString();

function question() {
  const lever = document.querySelector("input[name=lever]:checked").value || null;
  return { job: store.job, lever, file: { ...file, drop_first: byId("first").checked } };
}

// The file ----------------------------------------------------------------------------------------------------------

async function packed(blob, name) {
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

async function take(blob, name) {
  try {
    const found = await packed(blob, name);
    if (!found) return;
    file = found;
    keep();
    await diagnose();
  } catch (error) {
    tellError(error);
  }
}

const chosen = () => ({ lever: document.querySelector("input[name=lever]:checked").value, first: byId("first").checked });

function keep() {
  try {
    if (file.data.length <= MOST_KEPT) sessionStorage.setItem(KEPT, JSON.stringify({ ...chosen(), file }));
    else sessionStorage.removeItem(KEPT);
  } catch { /* full: the page goes on without */ }
}

// The verdict -------------------------------------------------------------------------------------------------------

async function diagnose() {
  if (!file) return;
  turn += 1;
  const mine = turn;
  told = null;
  byId("numbers").hidden = byId("compared").hidden = true;
  byId("answer").hidden = true;
  byId("remarks").replaceChildren();
  byId("now").hidden = false;
  byId("now").textContent = file.name;
  try {
    const found = await work(byId("busy"), "weighing the causes", "/api/measure/diagnose", { ...question(), ...look(byId("ask")) });
    if (!found || mine !== turn) return;
    tell("");
    show(found);
  } catch (error) {
    if (mine === turn) tellError(error);
  }
}

function again() {
  if (file) keep();
  return diagnose();
}

function show({ measured, diagnosis, sheet }) {
  const pulls = measured.pulls === 1 ? "1 pull" : `${measured.pulls} pulls`;
  byId("now").textContent = `${measured.name}: ${measured.lever}, ${pulls}, ${measured.readings} readings`;
  byId("remarks").replaceChildren(...measured.remarks.map((remark) => line("li", remark)));
  byId("answer").hidden = false;
  byId("verdict").textContent = headline(diagnosis);
  byId("shape").textContent = diagnosis.shape;
  const named = diagnosis.causes.filter((cause, place) => place === 0 || cause.probability >= 0.02);
  byId("causes").replaceChildren(...named.map(causeItem));
  byId("next").hidden = !diagnosis.measure_next;
  byId("next").querySelector("span").textContent = diagnosis.measure_next ?? "";
  byId("mend").hidden = diagnosis.first === "healthy";
  byId("cam").querySelector("span").textContent = diagnosis.cam.words;
  byId("sheet").innerHTML = sheet;
}

function headline(diagnosis) {
  const [first] = diagnosis.causes;
  if (diagnosis.no_cause_explains_it) return "None of the known causes explains this pull: measure again, or look for something else.";
  if (first.of === "healthy") return `✓ Nothing wrong that this pull would show (${percent(first.probability)}).`;
  return `! Check first: ${first.cause} (${percent(first.probability)}).`;
}

function causeItem(cause) {
  const item = document.createElement("li");
  item.append(line("strong", `${cause.cause}: ${percent(cause.probability)}`), ` ${cause.shows}`);
  if (cause.check_first.length) {
    const list = document.createElement("ul");
    list.append(...cause.check_first.map(({ check }) => line("li", check)));
    item.append(list);
  }
  return item;
}

// The numbers -------------------------------------------------------------------------------------------------------

async function fit() {
  const asked = JSON.stringify(store.job);
  try {
    const found = await work(byId("busy-more"), "fitting the pull", "/api/measure/fit", { ...question(), ...look(byId("ask")) });
    if (!found) return;
    tell("");
    told = { job: found.job, for: asked };
    byId("numbers").hidden = false;
    const rows = Object.values(found.fit.numbers).filter((number) => number.told_by_the_pull).map(numberRow);
    byId("numbers").querySelector("tbody").replaceChildren(...rows);
    byId("open").replaceChildren(...found.fit.not_told_apart.slice(0, 5).map((pair) => line("li", pair.words)));
    byId("intervals").innerHTML = found.intervals;
    byId("numbers").scrollIntoView({ block: "nearest" });
  } catch (error) {
    tellError(error);
  }
}

function numberRow(number) {
  const row = document.createElement("tr");
  const unit = number.unit ? ` ${number.unit}` : "";
  row.append(
    line("td", number.label),
    line("td", digits(number.before) + unit),
    line("td", digits(number.value) + unit),
    line("td", `${digits(number.low)} to ${digits(number.high)}${unit}`),
    line("td", number.behind),
  );
  return row;
}

// Numbers that were told of another job than the one that is open now are not taken.
function adopt() {
  if (!told || told.for !== JSON.stringify(store.job)) {
    byId("numbers").hidden = true;
    tell("The job was changed after the fit; ask for its numbers again.", "caution");
    return;
  }
  store.replace("numbers of a measured pull", told.job);
  tell("The numbers are in the job, marked as measured; undo takes them out again.", "good");
}

// Compare -----------------------------------------------------------------------------------------------------------

async function compare(after) {
  const { file: before, lever, job } = question();
  try {
    const body = { job, lever, before, after, ...look(byId("ask")) };
    const found = await work(byId("busy-more"), "comparing", "/api/measure/compare", body);
    if (!found) return;
    tell("");
    const place = byId("compared");
    place.hidden = false;
    place.querySelector("h2").textContent = found.words;
    place.querySelector(".picture").innerHTML = found.sheet;
    place.scrollIntoView({ block: "nearest" });
  } catch (error) {
    tellError(error);
  }
}

// What is touched ---------------------------------------------------------------------------------------------------

byId("file").addEventListener("change", ({ target }) => target.files[0] && take(target.files[0], target.files[0].name));
byId("other").addEventListener("change", async ({ target }) => {
  if (!target.files[0]) return;
  const after = await packed(target.files[0], target.files[0].name);
  if (after) compare(after);
  target.value = "";
});
byId("ask").addEventListener("submit", (event) => event.preventDefault());
byId("ask").addEventListener("dragover", (event) => {
  event.preventDefault();
  byId("ask").classList.add("over");
});
byId("ask").addEventListener("dragleave", () => byId("ask").classList.remove("over"));
byId("ask").addEventListener("drop", (event) => {
  event.preventDefault();
  byId("ask").classList.remove("over");
  const [dropped] = event.dataTransfer.files;
  if (dropped) take(dropped, dropped.name);
});
for (const button of document.querySelectorAll("input[name=lever]")) button.addEventListener("change", again);
byId("first").addEventListener("change", again);
byId("fit").addEventListener("click", fit);
byId("predicted").addEventListener("click", () => compare(null));
byId("adopt").addEventListener("click", adopt);
byId("demo").addEventListener("change", async ({ target }) => {
  const [name, job] = target.value.split("|");
  if (!name) return;
  try {
    const typed = await (await send(`/api/jobs/demo/${job.replace(".toml", "")}`)).json();
    store.replace("job of the demo pull", typed);
    await take(await (await send(`/api/measure/demo/${name}`)).blob(), name);
  } catch (error) {
    tellError(error);
  }
});
document.addEventListener("theme", diagnose);

function recall() {
  let kept = null;
  try {
    kept = JSON.parse(sessionStorage.getItem(KEPT));
  } catch { /* nothing that can be read */ }
  if (!kept?.file) return;
  file = kept.file;
  byId("first").checked = kept.first;
  document.querySelector(`input[name=lever][value="${kept.lever}"]`).checked = true;
}

ready.then(async () => {
  const { pulls } = await (await send("/api/measure/demo")).json();
  byId("demo").append(...pulls.map(({ name, job }) => new Option(name.replace(".csv", ""), `${name}|${job}`)));
  recall();
  if (file) await diagnose();
}).catch(tellError);
