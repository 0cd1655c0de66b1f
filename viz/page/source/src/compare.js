// Two rooms side by side: one set of views, one way of looking, one height. The figures are in the HTML already; what
// the slider shows is looked up in the tables that came with the page.
import { explored, lookUp, nearest } from "./explore.js";
import { createRoom } from "./room.js";

const $ = (selector, inside = document) => inside.querySelector(selector);
const $$ = (selector, inside = document) => [...inside.querySelectorAll(selector)];
const read = (id) => JSON.parse(document.getElementById(id).textContent);
const calm = matchMedia("(prefers-reduced-motion: reduce)");
const heights = read("heights");

const sides = ["A", "B"].map((name) => {
  const box = $(`[data-side=${name}]`);
  const facts = read(`facts-${name}`);
  const table = read(`explore-${name}`);
  const room = createRoom({
    colours: facts.colours,
    canvas: $("canvas", box),
    view: $(".view", box),
    holder: $(".labels", box),
    quiet: () => calm.matches,
    onPick: (what) => choose(name, what),
    onMoved: pressView,
    onTurned: () => turned(name),
  });
  box.classList.toggle("flat", !room);
  return { name, box, facts, table, room, array: table.arrays[0]?.id };
});

// ---- one way of looking at both ----
function turned(name) {
  const from = sides.find((side) => side.name === name);
  for (const side of sides) if (side !== from) side.room?.lookAlike(from.room.look);
}
function pressView(name) {
  for (const button of $$("[data-view]")) button.setAttribute("aria-pressed", String(button.dataset.view === name));
}
function go(name) {
  for (const side of sides) side.room?.go(name);
  pressView(name);
}
for (const button of $$("[data-view]")) button.addEventListener("click", () => go(button.dataset.view));
const hideLayers = () => {
  const hidden = $$("[data-layer]").filter((box) => !box.checked).map((box) => box.dataset.layer);
  for (const side of sides) side.room?.hideLayers(hidden);
};
document.addEventListener("change", (event) => {
  if ("layer" in event.target.dataset) hideLayers();
});
const picked = {};
function choose(name, what) {
  const side = sides.find((one) => one.name === name);
  picked[name] = picked[name]?.id === what.id ? null : what;
  side.room.choose(picked[name]);
}

// ---- one height for both ----
const range = $("#height");
const shown = $("#dock output");
const back = $("#dock .today");
function show(side, height_m) {
  const here = side.table.arrays.find((one) => one.id === side.array);
  if (!here) return true;
  const now = lookUp(side.table, side.array, here.band, height_m === null ? here.own : nearest(here.heights_m, height_m));
  side.room?.apply(explored(side.facts, now));
  const said = $(".so", side.box);
  said.dataset.verdict = now.verdict;
  $("b", said).textContent = `${now.word}.`;
  $("span", said).textContent = [now.sentence, ...now.list].join(" ");
  $("i", said).textContent = now.label;
  return now.own;
}
function showAll(height_m) {
  const own = sides.map((side) => show(side, height_m)).every(Boolean);
  back.disabled = own;
  shown.textContent = height_m === null ? "" : heights.shown[Number(range.value)];
  range.setAttribute("aria-valuetext", shown.textContent || back.textContent);
  document.body.classList.toggle("exploring", !own);
}
function home() {
  range.value = String(heights.home);
  showAll(null);
}
range.max = String(heights.heights_m.length - 1);
range.disabled = heights.heights_m.length < 2;
$("#dock").hidden = heights.heights_m.length < 2;
range.addEventListener("input", () => showAll(heights.heights_m[Number(range.value)]));
back.addEventListener("click", home);
for (const side of sides) {
  const pick = $("select", side.box);
  pick.replaceChildren(...side.table.arrays.map(({ id }) => new Option(id, id)));
  pick.closest("label").hidden = side.table.arrays.length < 2;
  pick.addEventListener("change", () => {
    side.array = pick.value;
    home();
  });
}

hideLayers();
home();
document.body.classList.toggle("flat", sides.every((side) => !side.room));
async function draw(side) {
  try {
    await side.room?.fill(side.facts, document.getElementById(`glb-${side.name}`).textContent.trim());
    if (side.room) side.box.classList.add("drawn");
  } catch (reason) {
    side.box.classList.add("flat");
    throw reason;
  }
}
Promise.allSettled(sides.map(draw)).then((drawn) => {
  home();
  document.body.classList.add("drawn");
  for (const { reason } of drawn) if (reason) throw reason;
});
window.overtable = { sides, go };
