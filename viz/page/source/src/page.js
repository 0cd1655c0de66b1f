// The page: tables, buttons and the picture kept in step. The tables are in the HTML already, so
// without WebGL, and even without this script, every number is there to read.
import { createExplorer, explored as exploredFacts } from "./explore.js";
import { createRoom } from "./room.js";
import { createTour } from "./tour.js";

const $ = (selector, inside = document) => inside.querySelector(selector);
const $$ = (selector, inside = document) => [...inside.querySelectorAll(selector)];
const read = (id) => JSON.parse(document.getElementById(id).textContent);


let facts = read("facts");
const narrow = matchMedia("(max-width:62rem)");
const calm = matchMedia("(prefers-reduced-motion: reduce)");
const view = $("#view");
const status = $("#said");
const announce = (text) => {
  status.textContent = text;
};
let chosen = null;
let pickUp = null;

const room = createRoom({
  colours: facts.colours,
  canvas: $("#canvas"),
  view,
  holder: $("#labels"),
  quiet: () => calm.matches,
  scrolls: () => narrow.matches,
  onTurned: () => document.body.classList.add("turned"),
  onPick: (what) => choose(what, { scroll: true }),
  onPickUp: (id) => pickUp?.(id),
  onMoved: pressView,
});
document.body.classList.toggle("flat", !room);

// ---- heads and clearances: chosen in the table or in the picture, shown in both ----
const same = (a, b) => a && b && a.kind === b.kind && a.id === b.id;
function choose(what, { scroll = false, keep = false } = {}) {
  chosen = what && same(what, chosen) && !keep ? null : what;
  for (const row of $$("[data-head], [data-clearance]")) {
    const on = same(rowThing(row), chosen);
    row.classList.toggle("chosen", on);
    $("button", row)?.setAttribute("aria-pressed", String(on));
    if (on && scroll) row.scrollIntoView({ block: "nearest", behavior: calm.matches ? "auto" : "smooth" });
  }
  for (const figure of $$("[data-figure]")) {
    figure.classList.toggle("chosen", chosen?.kind === "head" && figure.dataset.figure.split(" ").some((at) => facts.heads[Number(at)]?.id === chosen.id));
  }
  const row = chosen?.kind === "head" && $$("[data-head]").find((one) => same(rowThing(one), chosen));
  if (row) announce([...row.cells].map((cell) => cell.innerText.trim()).join(", "));
  room?.choose(chosen);
}
function rowThing(row) {
  if ("head" in row.dataset) return { kind: "head", id: facts.heads[Number(row.dataset.head)].id };
  const clearance = facts.clearances[Number(row.dataset.clearance)];
  return { kind: "clearance", id: Number(row.dataset.clearance), ...clearance };
}
document.addEventListener("click", (event) => {
  const row = event.target.closest?.("[data-head], [data-clearance]");
  if (row) choose(rowThing(row));
});
// several talkers at one distance are one figure: each click is the next of them
document.addEventListener("click", (event) => {
  const figure = event.target.closest?.("[data-figure]");
  if (!figure) return;
  const heads = figure.dataset.figure.split(" ").map((at) => facts.heads[Number(at)].id);
  const at = chosen?.kind === "head" ? heads.indexOf(chosen.id) : -1;
  choose(at === heads.length - 1 ? null : { kind: "head", id: heads[at + 1] });
});
document.addEventListener("keydown", (event) => {
  if (event.key === "Escape" && chosen) choose(null);
});

// ---- views and layers ----
function pressView(name) {
  for (const button of $$("[data-view]")) button.setAttribute("aria-pressed", String(button.dataset.view === name));
  const from = $("#seen-from");
  if (!$$("option", from).some((option) => option.value === name)) from.value = "";
}
function go(name) {
  if (!name) return;
  room?.go(name);
  pressView(name);
  keep("view", name === "corner" ? null : name);
}
for (const button of $$("[data-view]")) button.addEventListener("click", () => go(button.dataset.view));
$("#seen-from").addEventListener("change", (event) => go(event.target.value));
const switchedOff = () => $$("[data-layer]").filter((box) => !box.checked).map((box) => box.dataset.layer);
const hideLayers = () => room?.hideLayers(switchedOff());

// ---- what is shown stands in the address, so that a link opens the same ----
const state = new URLSearchParams(location.hash.slice(1));
function keep(key, value) {
  if (value === null) state.delete(key);
  else state.set(key, value);
  history.replaceState(null, "", `#${state}`);
}

// ---- the guided look ----
const tour = createTour($("#offer"), $("#tour"), {
  show({ without, zone, plain }) {
    document.body.classList.add("touring");
    go("corner");
    room?.hideLayers([...new Set([...switchedOff(), ...without])]);
    room?.unfold(zone);
    room?.plain(plain);
    // on a phone the picture and what is said of it fill the screen
    if (narrow.matches) view.scrollIntoView({ block: "start", behavior: calm.matches ? "auto" : "smooth" });
  },
  ended() {
    document.body.classList.remove("touring");
    hideLayers();
    room?.unfold(1);
    room?.plain(false);
    keep("step", null);
  },
  said: (at) => keep("step", at + 1),
});
document.addEventListener("change", (event) => {
  if ("layer" in event.target.dataset) hideLayers();
});
$("#canvas").addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const name = { 1: "corner", 2: "plan", 3: "ceiling", 4: "long", 5: "cross", Home: "corner" }[event.key];
  if (name) {
    event.preventDefault();
    go(name);
  }
});

// ---- what is so just now ----
const said = {};
/** Remembers the verdict as the page came with it, to go back to from other heights. */
function remember() {
  said.html = $("#part-verdict").innerHTML;
}
function showVerdict(now) {
  if (now.own) {
    $("#part-verdict").innerHTML = said.html;
    return;
  }
  const box = $("#verdict");
  box.dataset.verdict = now.verdict;
  const word = document.createElement("b");
  word.textContent = `${now.word}.`;
  $("#sentence").replaceChildren(word, " ", now.sentence);
  const list = $("ul", box) ?? box.appendChild(document.createElement("ul"));
  list.replaceChildren(
    ...now.list.map((text) => {
      const item = document.createElement("li");
      item.textContent = text;
      return item;
    }),
  );
}
/** The tabs of the layouts, as all of them stand at the chosen height. */
function showLayouts(layouts) {
  for (const { name, state, word, covered, title } of layouts) {
    const button = $$("[data-layout]").find((each) => each.dataset.layout === name);
    const mark = $(".mark", button);
    button.title = title;
    mark.dataset.state = state;
    mark.setAttribute("aria-label", word);
    $("small", button).textContent = covered;
  }
}
function showHeads(heads) {
  for (const row of $$("[data-head]")) {
    const head = heads[Number(row.dataset.head)];
    $(".mark", row).dataset.state = head.state;
    $(".word", row).textContent = head.word;
    for (const [key, text] of Object.entries(head.text)) $(`.${key}`, row).textContent = text;
    const served = $(".array", row);
    if (served) served.textContent = head.array;
  }
}
/**
 * Changes the page and leaves the slider under the thumb: where the verdict stands above it, that is never
 * lower again than it was (until the page is wider or narrower), and the page scrolls by what it grew.
 */
function inPlace(change) {
  const above = $(".summary");
  const hold = () => (above.style.minHeight = narrow.matches ? `${above.getBoundingClientRect().height}px` : "");
  hold();
  const before = dock.getBoundingClientRect().top;
  change();
  hold();
  if (narrow.matches) scrollBy({ top: dock.getBoundingClientRect().top - before, behavior: "instant" });
}
let wide = innerWidth;
addEventListener("resize", () => {
  if (innerWidth !== wide) $(".summary").style.minHeight = "";
  wide = innerWidth;
});
function explored(now) {
  facts = exploredFacts(today, now);
  inPlace(() => {
    showVerdict(now);
    showLayouts(now.layouts);
    document.body.classList.toggle("exploring", !now.own);
  });
  showHeads(facts.heads);
  room?.apply(facts);
}
let today = facts;
const dock = $("#dock");
const explorer = createExplorer(dock, { onChange: (now) => (window.overtable.exploring ?? explored)(now), announce });

// ---- print: the corner as it is, on a plain canvas, whatever is on the screen ----
addEventListener("beforeprint", () => {
  if (room) room.snapshot($("#print"));
});

/** Takes new facts in place of those the page came with (live), and a new GLB if the things changed. */
async function renew(newFacts, { glb, html, explore, title } = {}) {
  today = facts = newFacts;
  if (title) $("h1").textContent = title;
  const layout = document.activeElement?.dataset?.layout;
  for (const [id, text] of Object.entries(html ?? {})) $(`#${id}`).innerHTML = text;
  // the switch was made anew: whoever was on it with the keyboard still is
  if (layout) $$("[data-layout]").find((button) => button.dataset.layout === layout)?.focus();
  remember();
  const from = $("#seen-from");
  from.replaceChildren(from.options[0], ...facts.seen_from.map(({ name, title }) => new Option(title, name)));
  if (glb) await room?.fill(facts, glb);
  else room?.apply(facts);
  if (explore) explorer.load(explore);
  hideLayers();
  tour.load(facts.tour);
  document.body.classList.remove("exploring");
  if (chosen && chosen.kind === "head" && facts.heads.some((h) => h.id === chosen.id)) choose(chosen, { keep: true });
  else choose(null);
}

// ---- several layouts of the room: everything shown is of the one chosen, its words made before ----
const layouts = document.getElementById("layouts") ? read("layouts") : [];
async function showLayout(name) {
  const one = layouts.find((some) => some.name === name);
  if (!one) return;
  keep("layout", name);
  const still = $("#still");
  if (still && one.still) still.src = `data:image/png;base64,${one.still}`;
  await renew(one.facts, one);
  announce($("#verdict").innerText);
}
document.addEventListener("click", (event) => {
  const name = event.target.closest?.("[data-layout]")?.dataset.layout;
  if (name) showLayout(name);
});

window.overtable = {
  room,
  explorer,
  facts: () => facts,
  today: () => today,
  renew,
  announce,
  carry: (hold) => (pickUp = hold),
  exploring: null,
  choose,
  go,
  tour,
  figures: () => ({ page_bytes: document.documentElement.outerHTML.length, webgl: !!room, ...(room?.figures() ?? {}) }),
};

remember();
explorer.load(read("explore"));
hideLayers();
tour.load(facts.tour);
const asked = state.get("layout");
if (room) {
  room.fill(facts, document.getElementById("room-glb").textContent.trim()).then(
    async () => {
      await showLayout(asked);
      document.body.classList.add("drawn");
      if (state.has("view")) go(state.get("view"));
      if (state.has("step")) tour.go(Number(state.get("step")) - 1, { focus: false });
    },
    (reason) => {
      document.body.classList.add("flat");
      throw reason;
    },
  );
} else showLayout(asked);
