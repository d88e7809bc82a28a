// Measure: a pull from a file, what it says is wrong, its numbers into the job.

import { send, work, tell, tellError } from "./api.js";
import { Desk, look, packed, theme } from "./keeping.js";
import { store, ready } from "./store.js";

const byId = (id) => document.getElementById(id);
const desk = new Desk("measure");
const MORE = ["fit", "compare"]; // what is asked about a pull once it was weighed
let turn = 0;

function line(tag, text) {
  return Object.assign(document.createElement(tag), { textContent: text });
}

const percent = (share) => `${Math.round(share * 100)} %`;
const digits = (value) => Number(value.toPrecision(3)).toString();

function question() {
  const lever = document.querySelector("input[name=lever]:checked").value || null;
  return { job: store.job, lever, file: { ...desk.file("pull"), drop_first: byId("first").checked } };
}

// The file ----------------------------------------------------------------------------------------------------------

async function take(blob, name) {
  try {
    const found = await packed(blob, name);
    if (!found) return;
    await put(found);
  } catch (error) {
    tellError(error);
  }
}

// A pull on the desk: what was said of another goes.
async function put(found) {
  desk.forget("diagnose", ...MORE);
  desk.lay({ files: { pull: found }, choices: chosen() });
  await diagnose();
}

const chosen = () => ({ lever: document.querySelector("input[name=lever]:checked").value, first: byId("first").checked });

// The verdict -------------------------------------------------------------------------------------------------------

async function diagnose() {
  if (!desk.file("pull")) return;
  turn += 1;
  const mine = turn;
  showMore();
  byId("answer").hidden = true;
  byId("remarks").replaceChildren();
  byId("now").hidden = false;
  byId("now").textContent = desk.file("pull").name;
  try {
    const seen = look(byId("ask"));
    const found = await work(byId("busy"), "weighing the causes", "/api/measure/diagnose", { ...question(), ...seen });
    if (!found || mine !== turn) return;
    tell("");
    desk.answer("diagnose", found, seen);
    show(found);
  } catch (error) {
    if (mine === turn) tellError(error);
  }
}

// Another lever or another count of pulls is another question.
function again() {
  if (!desk.file("pull")) return null;
  desk.forget("diagnose", ...MORE);
  desk.lay({ choices: chosen() });
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
  const mine = turn;
  const seen = look(byId("ask"));
  try {
    const found = await work(byId("busy-more"), "fitting the pull", "/api/measure/fit", { ...question(), ...seen });
    if (!found || mine !== turn) return;
    tell("");
    desk.answer("fit", found, seen);
    showMore();
    byId("numbers").scrollIntoView({ block: "nearest" });
  } catch (error) {
    tellError(error);
  }
}

function showFit(found) {
  byId("numbers").hidden = !found;
  if (!found) return;
  const rows = Object.values(found.fit.numbers).filter((number) => number.told_by_the_pull).map(numberRow);
  byId("numbers").querySelector("tbody").replaceChildren(...rows);
  byId("open").replaceChildren(...found.fit.not_told_apart.slice(0, 5).map((pair) => line("li", pair.words)));
  byId("intervals").innerHTML = found.intervals;
}

// Fit and comparison as they were last answered; they say so where the job was changed since.
function showMore() {
  showFit(desk.answered("fit")?.found);
  showCompared(desk.answered("compare")?.found);
  stale();
}

function stale() {
  for (const name of MORE) byId(`stale-${name}`).hidden = !desk.answered(name) || desk.current(name);
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
  const told = desk.answered("fit")?.found.job;
  if (!told || !desk.current("fit")) {
    desk.forget("fit");
    showMore();
    tell("The job was changed after the fit; ask for its numbers again.", "caution");
    return;
  }
  store.replace("numbers of a measured pull", told);
  tell("The numbers are in the job, marked as measured; undo takes them out again.", "good");
}

// Compare -----------------------------------------------------------------------------------------------------------

// With another pull, or with what the job predicts.
function against(other) {
  desk.layFile("other", other);
  return compare();
}

async function compare() {
  const { file: before, lever, job } = question();
  const after = desk.file("other");
  const mine = turn;
  const seen = look(byId("ask"));
  try {
    const found = await work(byId("busy-more"), "comparing", "/api/measure/compare", { job, lever, before, after, ...seen });
    if (!found || mine !== turn) return;
    tell("");
    desk.answer("compare", { words: found.words, sheet: found.sheet }, seen);
    showMore();
    byId("compared").scrollIntoView({ block: "nearest" });
  } catch (error) {
    tellError(error);
  }
}

function showCompared(found) {
  const place = byId("compared");
  place.hidden = !found;
  if (!found) return;
  place.querySelector("h2").textContent = found.words;
  place.querySelector(".picture").innerHTML = found.sheet;
}

// What is touched ---------------------------------------------------------------------------------------------------

byId("file").addEventListener("change", ({ target }) => target.files[0] && take(target.files[0], target.files[0].name));
byId("other").addEventListener("change", async ({ target }) => {
  if (!target.files[0]) return;
  const after = await packed(target.files[0], target.files[0].name);
  target.value = "";
  if (after) against(after);
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
byId("predicted").addEventListener("click", () => against(null));
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
// Pictures have the colours of the sheet: in another light they are asked for again.
document.addEventListener("theme", async () => {
  const asked = MORE.filter((name) => desk.current(name));
  desk.forget("diagnose", ...MORE);
  await diagnose();
  if (asked.includes("fit")) await fit();
  if (asked.includes("compare")) await compare();
});

function recall() {
  const { choices, answers } = desk.recall();
  if (!desk.file("pull")) return;
  byId("first").checked = choices.first;
  document.querySelector(`input[name=lever][value="${choices.lever}"]`).checked = true;
  const weighed = answers?.diagnose;
  showMore();
  if (!weighed || !desk.current("diagnose") || weighed.look.theme !== theme()) return;
  byId("now").hidden = false;
  show(weighed.found);
}

ready.then(async () => {
  recall();
  store.subscribe(stale);
  const { pulls } = await (await send("/api/measure/demo")).json();
  byId("demo").append(...pulls.map(({ name, job }) => new Option(name.replace(".csv", ""), `${name}|${job}`)));
  if (byId("answer").hidden) await diagnose();
}).catch(tellError);
