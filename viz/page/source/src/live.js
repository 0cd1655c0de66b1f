// The live part: the page talks to the server that serves it. Every what-if goes there, is reviewed by the
// same Python code as everything else, and comes back as the room as it then stands.
const { overtable } = window;
const $ = (selector) => document.querySelector(selector);
const said = $("#live-said");
const button = (name) => $(`[data-do=${name}]`);
const trips = [];
let line;
let waiting = null; // the message whose answer is awaited
let next = null; // the newest one behind it: while the array is dragged only the last place matters
let seq = 0;
let quiet;
let tries = 0;

function connect() {
  const address = new URL("talk", location.href);
  address.protocol = "ws:";
  line = new WebSocket(address);
  line.addEventListener("open", () => {
    document.body.classList.add("connected");
    // what was tried is kept by the server only while the line is up
    if (tries) location.reload();
  });
  line.addEventListener("message", ({ data }) => heard(JSON.parse(data)));
  line.addEventListener("close", () => {
    document.body.classList.remove("connected");
    tell(said.dataset.gone);
    waiting = next = null;
    tries += 1;
    setTimeout(connect, Math.min(4000, 400 * tries));
  });
}
const ask = (message) => line.readyState === WebSocket.OPEN && line.send(JSON.stringify(message));
function put(change) {
  if (waiting) {
    next = { ...(next?.array === change.array ? next : {}), ...change };
    return;
  }
  seq += 1;
  waiting = { seq, sent: performance.now() };
  ask({ kind: "put", seq, ...change });
}
function tell(text, busy = false) {
  said.textContent = text;
  said.classList.toggle("busy", busy);
}

function heard(message) {
  if (message.kind === "now") {
    if (waiting?.seq === message.seq) trips.push(performance.now() - waiting.sent);
    settle();
    merge(message);
    changed(message.changed);
    // the slider's table is for the array where it is: asked for again once it stands still
    clearTimeout(quiet);
    quiet = setTimeout(() => !waiting && ask({ kind: "table" }), 250);
  } else if (message.kind === "table") {
    const today = overtable.today();
    for (const array of today.arrays) array.rings_over = message.rings_over[array.id] ?? array.rings_over;
    if (!waiting && !holding()) overtable.explorer.load(message.explore);
  } else if (message.kind === "room") {
    waiting = next = null;
    $("#mistakes").hidden = true;
    overtable.renew(message.facts, message).then(() => {
      if (message.shown) overtable.explorer.use(message.shown);
      changed(message.changed);
      if (message.said) tell(message.said);
    });
    if (!message.said) tell("");
  } else if (message.kind === "mistakes") {
    tell(said.dataset.mistakes);
    $("#mistakes").textContent = message.text;
    $("#mistakes").hidden = false;
  } else if (message.kind === "offer") {
    $("#ask-lines").textContent = message.lines || said.dataset.same;
    button("write").disabled = !message.lines;
    $("#ask").showModal();
  } else if (message.kind === "written") {
    tell(message.said);
  } else if (message.kind === "refused") {
    settle();
    if (!message.quiet) tell(message.why);
  }
}
function settle() {
  waiting = null;
  if (next) {
    const change = next;
    next = null;
    put(change);
  }
}
function merge({ facts, html }) {
  const today = overtable.today();
  const arrays = today.arrays.map((array) => ({ ...array, ...facts.arrays.find((a) => a.id === array.id) }));
  overtable.renew({ ...today, ...facts, arrays }, { html });
}
function changed(is) {
  button("reset").disabled = button("offer").disabled = !is;
  document.body.classList.toggle("tried", !!is);
  const added = overtable.today().arrays.find((a) => a.id === overtable.explorer.array)?.added;
  button("remove").hidden = !added;
}
const holding = () => document.activeElement?.matches("input[type=range]:active");

// taken hold of in the picture, on the slider, at the bands
overtable.carry((array) => {
  $("#canvas").classList.add("holding");
  overtable.explorer.use(array);
  changed(document.body.classList.contains("tried"));
  return {
    move: (change) => put({ array, ...change }),
    drop: () => $("#canvas").classList.remove("holding"),
  };
});
overtable.exploring = ({ array, band, height_m }) => put({ array, band, height_m });

$("#dock select").addEventListener("change", () => changed(document.body.classList.contains("tried")));
document.addEventListener("click", (event) => {
  const layout = event.target.closest?.("[data-layout]")?.dataset.layout;
  if (layout) ask({ kind: "layout", layout });
  const what = event.target.closest?.("[data-do]")?.dataset.do;
  if (!what) return;
  if (what === "close" || what === "write") $("#ask").close();
  if (what === "close") return;
  if (what === "best") tell(said.dataset.searching, true);
  if (what === "add") tell(said.dataset.adding, true);
  ask(what === "remove" ? { kind: what, array: overtable.explorer.array } : { kind: what });
});

overtable.trips = () => [...trips];
connect();
