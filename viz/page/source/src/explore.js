// The height slider and the bands. Every number it shows was computed when the page was made: the page
// carries, for each array, band and centimetre of height, what every head has there, and looks it up.
import { degrees, length, margin } from "./numbers.js";

const STATES = { c: "covered", m: "marginal", x: "missed" };

const nearest = (heights, h) => heights.reduce((best, x, i) => (Math.abs(x - h) < Math.abs(heights[best] - h) ? i : best), 0);

/**
 * Wires the dock. `onChange({array, band, height_m, heads | null, sentence, verdict})` is called with
 * what is so at the chosen height and band; heads is null where today's numbers hold.
 */
export function createExplorer(dock, { units, onChange, announce }) {
  const range = dock.querySelector("input[type=range]");
  const shown = dock.querySelector("output");
  const pickArray = dock.querySelector("select");
  const bandBox = dock.querySelector(".bands");
  const track = dock.querySelector(".track");
  const back = dock.querySelector(".today");
  const tell = (h) => length(h, units);
  let table;
  let array;
  let band;
  let heights;

  const entry = () => table.arrays.find((a) => a.id === array);
  const bandEntry = () => entry().bands.find((b) => b.name === band);
  const isToday = (index) => band === entry().today.band && index === nearest(heights, entry().today.height_m);

  function at(index) {
    const numbers = bandEntry();
    if (isToday(index)) return { array, band, height_m: entry().today.height_m, index, heads: null, sentence: null };
    const heads = table.heads.map((id, i) => {
      const text = {
        depression: degrees(numbers.depression_cdeg[i][index] / 100),
        slant: length(numbers.slant_mm[i][index] / 1000, units),
        margin: margin(numbers.margin_steps[i][index], units),
      };
      return {
        id,
        text,
        state: STATES[numbers.states[i][index]],
        array: numbers.served[i][index] === "1" ? array : entry().otherwise[i],
        line: `${text.depression} · ${text.slant} · ${text.margin}`,
      };
    });
    return { array, band, height_m: heights[index], index, heads, sentence: table.sentences[numbers.sentences[index]] };
  }
  function paint() {
    const low = heights[0];
    const span = Math.max(heights.at(-1) - low, 1e-6);
    const share = (h) => Math.min(Math.max(((h - low) / span) * 100, 0), 100);
    track.replaceChildren();
    const add = (kind, from, to, title) => {
      const bar = document.createElement("span");
      bar.className = kind;
      bar.style.left = `${share(from)}%`;
      if (to !== undefined) bar.style.width = `${Math.max(share(to) - share(from), 0.4)}%`;
      bar.title = title;
      track.append(bar);
    };
    const { interval_m, covered_interval_m, best_m } = bandEntry();
    if (interval_m) add("reached", ...interval_m, `everybody in the band: ${interval_m.map(tell).join(" to ")}`);
    if (covered_interval_m) add("covered", ...covered_interval_m, `everybody covered: ${covered_interval_m.map(tell).join(" to ")}`);
    if (best_m !== null && best_m !== undefined) add("best", best_m, undefined, `best: ${tell(best_m)}`);
    if (band === entry().today.band) add("now", entry().today.height_m, undefined, `as designed: ${tell(entry().today.height_m)}`);
    const words = dock.querySelector(".stretch");
    if (heights.length < 2) words.textContent = "Flush in the ceiling: its height is fixed.";
    else words.textContent = covered_interval_m
      ? `Everybody covered from ${tell(covered_interval_m[0])} to ${tell(covered_interval_m[1])}${best_m == null ? "" : `, best at ${tell(best_m)}`}.`
      : `At no height does this band cover everybody here${best_m == null ? "" : `; best at ${tell(best_m)}`}.`;
    const best = dock.querySelector(".go-best");
    best.disabled = best_m == null;
  }
  function show(index, { quietly = false } = {}) {
    const now = at(index);
    shown.textContent = tell(now.height_m);
    range.setAttribute("aria-valuetext", `${tell(now.height_m)}${now.sentence ? `. ${now.sentence}` : ", as designed"}`);
    back.disabled = isToday(index);
    if (!quietly) onChange(now);
  }
  function useBand(name, index = Number(range.value), options) {
    band = name;
    for (const button of bandBox.children) button.setAttribute("aria-pressed", String(button.dataset.band === name));
    paint();
    range.value = String(index);
    show(index, options);
  }
  function useArray(id, options) {
    array = id;
    pickArray.value = id;
    heights = entry().heights_m;
    range.min = "0";
    range.max = String(heights.length - 1);
    range.step = "1";
    range.disabled = heights.length < 2;
    dock.classList.toggle("fixed", heights.length < 2);
    bandBox.replaceChildren();
    for (const { name, low_deg, high_deg } of entry().bands) {
      const button = document.createElement("button");
      button.type = "button";
      button.dataset.band = name;
      button.textContent = name;
      const angles = document.createElement("small");
      angles.textContent = `${low_deg}–${high_deg}°`;
      button.append(" ", angles);
      button.addEventListener("click", () => useBand(name));
      bandBox.append(button);
    }
    useBand(entry().today.band, nearest(heights, entry().today.height_m), options);
  }
  range.addEventListener("input", () => show(Number(range.value)));
  pickArray.addEventListener("change", () => useArray(pickArray.value));
  back.addEventListener("click", () => useArray(array));
  dock.querySelector(".go-best").addEventListener("click", () => {
    useBand(band, nearest(heights, bandEntry().best_m));
    announce(`Best height in this band: ${shown.textContent}`);
  });

  return {
    /** Takes a table, at the start and whenever live sends a new one; keeps the array in hand. */
    load(newTable, { quietly = true } = {}) {
      table = newTable;
      pickArray.replaceChildren(
        ...table.arrays.map(({ id }) => {
          const option = document.createElement("option");
          option.value = option.textContent = id;
          return option;
        }),
      );
      pickArray.closest("label").hidden = table.arrays.length < 2;
      useArray(table.arrays.some((a) => a.id === array) ? array : table.arrays[0].id, { quietly });
    },
    /** Takes another array in hand, at its place just now. */
    use(id) {
      if (id !== array && table.arrays.some((a) => a.id === id)) useArray(id, { quietly: true });
    },
    get array() {
      return array;
    },
    get band() {
      return band;
    },
    set_height(height_m) {
      show(Number((range.value = String(nearest(heights, height_m)))));
    },
  };
}
