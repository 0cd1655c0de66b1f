// The height slider and the bands. Everything that is shown was made when the page was: for each array, band
// and height the page carries the texts, the verdict and the bars, and looks them up.

export const nearest = (heights, h) => heights.reduce((best, x, i) => (Math.abs(x - h) < Math.abs(heights[best] - h) ? i : best), 0);

/** The switches between layouts, out of their texts one after the other. */
function switches(texts) {
  const each = [];
  for (let i = 0; i < texts.length; i += 5) {
    const [name, state, word, covered, title] = texts.slice(i, i + 5);
    each.push({ name, state, word, covered, title });
  }
  return each;
}

/** What is so with an array at one of its heights, in a band: looked up in the table that the page carries. */
export function lookUp(table, array, band, index) {
  const text = (at) => table.texts[at];
  const here = table.arrays.find((a) => a.id === array);
  const numbers = here.bands.find((b) => b.name === band);
  const heads = table.heads.map((id, i) => {
    const head = numbers.heads[i];
    const standing = table.standings[head.standing[index]];
    const texts = { depression: text(head.angle[index]), slant: text(head.distance[index]), margin: text(head.margin[index]) };
    return { id, ...standing, text: texts, line: Object.values(texts).join(" · "), array: head.array ? table.arrays[head.array[index]].id : array };
  });
  return {
    array,
    band,
    index,
    height_m: here.heights_m[index],
    own: band === here.band && index === here.own,
    shown: text(here.shown[index]),
    label: text(here.labels[index]),
    counted: text(numbers.counts[index]),
    verdict: table.verdicts[numbers.verdict[index]],
    word: table.words[numbers.verdict[index]],
    sentence: text(numbers.sentence[index]),
    list: table.lists[numbers.list[index]].map(text),
    layouts: numbers.layouts.length ? switches(table.lists[numbers.layouts[index]].map(text)) : [],
    heads,
  };
}

/** The facts of a page with one array at another height: its place, its rings, and how everybody stands then. */
export function explored(today, now) {
  if (now.own) return today;
  const looked_up = new Map(now.heads.map((head) => [head.id, head]));
  const heads = today.heads.map((head) => ({ ...head, ...looked_up.get(head.id) }));
  const arrays = today.arrays.map((a) =>
    a.id === now.array ? { ...a, band: now.band, height_m: now.height_m, rings: a.rings_over[now.band][now.index], label: now.label } : a,
  );
  return { ...today, heads, arrays };
}

/**
 * Wires the dock. `onChange` is called with what is so at the chosen height and band: array, band, index,
 * height_m, own (whether that is what the file says), shown, label, verdict, word, sentence, list, heads.
 */
export function createExplorer(dock, { onChange, announce }) {
  const range = dock.querySelector("input[type=range]");
  const shown = dock.querySelector("output");
  const pickArray = dock.querySelector("select");
  const bandBox = dock.querySelector(".bands");
  const track = dock.querySelector(".track");
  const chart = dock.querySelector(".chart");
  const counted = dock.querySelector(".counted");
  const back = dock.querySelector(".today");
  const best = dock.querySelector(".go-best");
  let table;
  let array;
  let band;

  const text = (index) => table.texts[index];
  const entry = () => table.arrays.find((a) => a.id === array);
  const bandEntry = () => entry().bands.find((b) => b.name === band);

  const at = (index) => lookUp(table, array, band, index);
  function paint() {
    const { bars, stretch, best: where } = bandEntry();
    track.replaceChildren(
      ...bars.map(([kind, from, wide, title]) => {
        const bar = document.createElement("span");
        bar.className = kind;
        bar.style.left = `${from}%`;
        if (wide !== null) bar.style.width = `${wide}%`;
        bar.title = text(title);
        return bar;
      }),
    );
    paintChart(bandEntry().chart);
    dock.querySelector(".stretch").textContent = text(stretch);
    best.disabled = where === null;
  }
  /** How many are covered at each height, hatched where something is too close, and what that is. */
  function paintChart({ columns, named, top }) {
    const parts = columns.map(([from, wide, tall, ruled]) => {
      const column = document.createElement("span");
      column.className = ruled ? "column ruled" : "column";
      Object.assign(column.style, { left: `${from}%`, width: `${wide}%` });
      column.style.setProperty("--tall", `${tall}%`);
      return column;
    });
    for (const [kind, place, at] of [["top", 100, top], ...(named ? [["named", ...named]] : [])]) {
      const word = document.createElement("b");
      word.className = kind;
      word.textContent = text(at);
      if (kind === "named") word.style.left = `${Math.min(Math.max(place, 22), 78)}%`;
      parts.push(word);
    }
    chart.replaceChildren(...parts);
  }
  function show(index, { quietly = false } = {}) {
    const now = at(index);
    shown.textContent = now.shown;
    counted.textContent = now.counted;
    range.setAttribute("aria-valuetext", [now.shown, now.own ? text(entry().own_said) : now.sentence].join(". "));
    back.disabled = now.own;
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
    const { heights_m, bands, own } = entry();
    range.min = "0";
    range.max = String(heights_m.length - 1);
    range.step = "1";
    range.disabled = heights_m.length < 2;
    dock.classList.toggle("fixed", heights_m.length < 2);
    bandBox.replaceChildren();
    for (const { name, edges } of bands) {
      const button = document.createElement("button");
      button.type = "button";
      button.dataset.band = name;
      button.textContent = name;
      const angles = document.createElement("small");
      angles.textContent = text(edges);
      button.append(" ", angles);
      button.addEventListener("click", () => useBand(name));
      bandBox.append(button);
    }
    useBand(entry().band, own, options);
  }
  range.addEventListener("input", () => show(Number(range.value)));
  pickArray.addEventListener("change", () => useArray(pickArray.value));
  back.addEventListener("click", () => useArray(array));
  best.addEventListener("click", () => {
    useBand(band, bandEntry().best);
    announce(text(bandEntry().best_said));
  });

  return {
    /** Takes a table, at the start and whenever live sends a new one; keeps the array in hand. */
    load(newTable, { quietly = true } = {}) {
      table = newTable;
      // before every array has a place there is nothing to explore
      dock.hidden = !table.arrays.length;
      if (dock.hidden) return;
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
      show(Number((range.value = String(nearest(entry().heights_m, height_m)))));
    },
  };
}
