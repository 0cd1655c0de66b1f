// The room in one minute: steps that Python wrote, each a view, what of the room it shows, and what is said.
const SHOWS = {
  room: { without: ["arrays", "band", "footprint", "sectors"], zone: 0, plain: true },
  array: { without: ["band", "footprint", "sectors"], zone: 0, plain: true },
  zone: { without: [], zone: 0, plain: true },
  hollow: { without: [], zone: 1, plain: true },
  people: { without: [], zone: 1, plain: false },
  outcome: { without: [], zone: 1, plain: false },
};
const SWIPE_PX = 40;

/** Wires the offer and the card. `show` is called with what a step shows of the room; `ended` at the end. */
export function createTour(offer, card, { show, ended, said }) {
  const $ = (selector) => card.querySelector(selector);
  const start = offer.querySelector("button");
  let steps = [];
  let at = -1;

  function go(to, { focus = true } = {}) {
    const before = at;
    at = Math.min(Math.max(to, -1), steps.length);
    if (at === steps.length) at = -1;
    offer.hidden = at >= 0 || !steps.length;
    card.hidden = at < 0;
    if (at < 0) {
      if (before >= 0) {
        ended();
        if (focus) start.focus();
      }
      return;
    }
    const { part, title, text, which, last } = steps[at];
    $("h2").textContent = title;
    $(".text").textContent = text;
    $(".count").textContent = which;
    $(".back").disabled = at === 0;
    $(".next").hidden = last;
    if (focus) (last ? $(".close") : $(".next")).focus({ preventScroll: true });
    show(SHOWS[part]);
    said(at);
  }

  start.addEventListener("click", () => go(0));
  $(".next").addEventListener("click", () => go(at + 1));
  $(".back").addEventListener("click", () => go(at - 1));
  $(".close").addEventListener("click", () => go(-1));
  document.addEventListener("keydown", (event) => {
    if (at < 0 || event.ctrlKey || event.metaKey || event.altKey || event.target.matches("input,select,#canvas")) return;
    const to = { ArrowRight: at + 1, PageDown: at + 1, ArrowLeft: at - 1, PageUp: at - 1, Escape: -1 }[event.key];
    if (to === undefined || (event.key !== "Escape" && (to < 0 || to === steps.length))) return;
    event.preventDefault();
    event.stopPropagation();
    go(to);
  });
  let from = null;
  card.addEventListener("pointerdown", (event) => (from = event.clientX));
  card.addEventListener("pointerup", (event) => {
    const by = from === null ? 0 : event.clientX - from;
    from = null;
    if (Math.abs(by) > SWIPE_PX && at - Math.sign(by) >= 0 && at - Math.sign(by) < steps.length) go(at - Math.sign(by));
  });

  return {
    load(newSteps) {
      steps = newSteps.map((step, i) => ({ ...step, last: i === newSteps.length - 1 }));
      if (at >= 0) go(Math.min(at, steps.length - 1), { focus: false });
      else offer.hidden = !steps.length;
    },
    go,
    get at() {
      return at;
    },
  };
}
