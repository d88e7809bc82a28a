// Swap: a complaint in the trade's words, what to check first, one change.

import { ask, work, tellError } from "./api.js";
import { store, view, ready } from "./store.js";
import { put } from "./paths.js";

const FEW = 5;
const field = document.getElementById("complaint");
let all = false;
let turn = 0;

function clone(id) {
  return document.getElementById(id).content.firstElementChild.cloneNode(true);
}

function line(tag, text) {
  return Object.assign(document.createElement(tag), { textContent: text });
}

async function answer() {
  turn += 1;
  const mine = turn;
  const complaint = view.get("complaint", "");
  try {
    const found = await work(document.getElementById("busy"), "trying every single swap", "/api/swap", { job: store.job, complaint });
    if (found && mine === turn) show(found);
  } catch (error) {
    if (mine === turn) {
      document.getElementById("answer").hidden = true;
      document.getElementById("checks").replaceChildren();
    }
    tellError(error);
  }
}

function show(found) {
  document.getElementById("answer").hidden = false;
  document.getElementById("checks").replaceChildren(...found.complaints.map(checkFirst));
  const heard = found.complaints.length > 0;
  const listed = heard ? found.helping : found.others;
  const section = document.getElementById("helping");
  section.querySelector("h2").textContent = heard ? "Single swaps that would help, best first" : "Single swaps, smallest change first";
  const few = all ? listed : listed.slice(0, FEW);
  const list = section.querySelector("ol");
  list.replaceChildren(...few.map(swapItem));
  if (!listed.length) list.replaceChildren(line("li", "none"));
  const more = section.querySelector(".more");
  more.hidden = few.length === listed.length;
  more.textContent = `show ${listed.length - few.length} more`;
  more.onclick = () => {
    all = true;
    show(found);
  };
  document.getElementById("notes").replaceChildren(...found.notes.map((note) => line("li", note)));
  const refused = document.getElementById("refused");
  refused.hidden = !found.refused.length;
  refused.querySelector("summary").textContent = `${found.refused.length} swaps would break a limit`;
  refused.querySelector("ul").replaceChildren(...found.refused.map((swap) => line("li", `${swap.off.id} off, ${swap.on.id} on: ${swap.breaks.join("; ")}`)));
}

function checkFirst(known) {
  const box = clone("check");
  box.querySelector("h2").textContent = `${known.lever}, ${known.name}: check first, before any cam`;
  box.querySelector("ol").append(...known.check_first.map(({ cause, check }) => {
    const item = document.createElement("li");
    item.append(line("strong", cause), `: ${check}`);
    return item;
  }));
  box.querySelector(".cam span").textContent = known.cam;
  box.querySelector(".source").textContent = `${known.source} (${known.mark})`;
  return box;
}

function swapItem(swap) {
  const item = clone("swap");
  item.querySelector(".off").textContent = swap.off.id;
  item.querySelector(".on").textContent = swap.on.id;
  const gain = swap.gain_felt_steps ? `gain ${swap.gain_felt_steps.toFixed(1)}, side effects ${swap.side_effects_felt_steps.toFixed(1)} felt steps` : "";
  item.querySelector(".distance").textContent = [swap.lever, gain].filter(Boolean).join(" · ");
  item.querySelector(".words").textContent = swap.words;
  const look = item.querySelector(".look");
  look.href = `/?job=${store.id}&with=${swap.on.id}`;
  look.setAttribute("aria-label", `see ${swap.on.id} on the bench`);
  const fit = item.querySelector(".fit");
  fit.setAttribute("aria-label", `fit ${swap.on.id}`);
  const { id: _, name: __, ...numbers } = swap.on;
  fit.addEventListener("click", () => store.change(`fit ${swap.on.id}`, (job) => put(job, `fitted.${swap.change}`, numbers)));
  return item;
}

function heard(complaint) {
  field.value = complaint;
  all = false;
  view.set("complaint", complaint);
  answer();
}

async function showKnown() {
  const { complaints } = await ask("/api/complaints");
  const place = document.querySelector("#known .known");
  const words = document.getElementById("words");
  let lever = "";
  for (const known of complaints) {
    if (known.lever !== lever) place.append(line("h3", known.lever));
    lever = known.lever;
    const button = Object.assign(line("button", known.name), { type: "button" });
    button.setAttribute("aria-label", `${known.lever} ${known.name}`);
    button.title = known.words.join(", ");
    button.addEventListener("click", () => heard(`${known.lever} ${known.name}`));
    place.append(button);
    words.append(...known.words.map((word) => new Option(`${known.lever} ${word}`)));
  }
}

document.getElementById("ask").addEventListener("submit", (event) => {
  event.preventDefault();
  heard(field.value.trim());
});
document.getElementById("none").addEventListener("click", () => heard(""));

ready.then(() => {
  field.value = view.get("complaint", "");
  store.subscribe(answer);
  document.addEventListener("back", answer);
  return showKnown();
}).catch(tellError);
