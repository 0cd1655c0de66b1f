// Labels are text of the page laid over the picture: always sharp, always upright, and where two would
// overlap the less important one waits. They repeat what the tables say, so readers skip them.
import { Vector3 } from "three";

const SIGN_PX = 8; // half of what a head's sign needs to be seen
const NARROW_PX = 560; // below it only the names are written that matter; a tap on a sign gives its name

export function createLabels(holder, { picked }) {
  let labels = [];
  let marks = {}; // by state: which sign, and how much it matters that its name is read
  const seen = new Vector3();

  const set = (list, signs = marks) => {
    marks = signs;
    holder.replaceChildren();
    labels = list.map((label) => {
      const box = document.createElement("div");
      box.className = `label ${label.kind}`;
      const mark = document.createElement("i");
      const text = document.createElement("span");
      text.textContent = label.text;
      box.append(mark, text);
      if (label.pick) box.addEventListener("click", () => picked(label.pick));
      holder.append(box);
      return { ...label, box, shown: true, width: 0, height: 0 };
    });
    // before every array has a place a talker has a name and no sign: measured with the sign that it has
    for (const label of labels) if (label.state) label.box.dataset.state = label.state;
    for (const label of labels) {
      label.width = label.box.offsetWidth;
      label.height = label.box.offsetHeight;
    }
  };

  return {
    set,
    find: (kind, id) => labels.find((label) => label.kind === kind && label.id === id),
    /** The numbers on the line to the chosen thing; null takes them away. */
    measure(what) {
      labels = labels.filter((label) => label.kind !== "measure" || label.box.remove());
      if (!what) return;
      const box = document.createElement("div");
      box.className = "label measure";
      box.textContent = what.text;
      holder.append(box);
      labels.push({ ...what, kind: "measure", box, shown: true, width: box.offsetWidth, height: box.offsetHeight });
    },
    /** The names of heads, with their signs, and of arrays, on a plain canvas (for print). */
    write(pen, camera, width, height, colours) {
      pen.textBaseline = "middle";
      for (const label of labels) {
        if (label.kind !== "head" && label.kind !== "array") continue;
        seen.copy(label.at).project(camera);
        const [x, y] = [((seen.x + 1) / 2) * width, ((1 - seen.y) / 2) * height - (label.kind === "array" ? 24 : 0)];
        pen.font = `600 ${label.kind === "array" ? 22 : 18}px system-ui, sans-serif`;
        const text = label.box.querySelector("span").textContent;
        const wide = pen.measureText(text).width;
        pen.fillStyle = label.kind === "array" ? colours.band : "#ffffffe6";
        pen.beginPath();
        pen.roundRect(x - wide / 2 - 24, y - 14, wide + 36, 28, 14);
        pen.fill();
        pen.fillStyle = label.kind === "array" ? "#ffffff" : "#22272e";
        pen.fillText(text, x - wide / 2 + (label.kind === "array" ? -6 : 0), y + 1);
        if (label.kind !== "head" || !label.state) continue;
        pen.strokeStyle = pen.fillStyle = colours[label.state];
        pen.lineWidth = 3.5;
        pen.beginPath();
        const [u, r] = [x - wide / 2 - 12, 5];
        const { sign } = marks[label.state];
        if (sign === "cross") {
          pen.moveTo(u - r, y - r);
          pen.lineTo(u + r, y + r);
          pen.moveTo(u + r, y - r);
          pen.lineTo(u - r, y + r);
        } else if (sign === "diamond") {
          pen.moveTo(u - r - 1, y);
          pen.lineTo(u, y - r - 1);
          pen.lineTo(u + r + 1, y);
          pen.lineTo(u, y + r + 1);
          pen.closePath();
        } else pen.arc(u, y, r, 0, 2 * Math.PI);
        if (sign === "dot") pen.fill();
        else pen.stroke();
      }
    },
    state(label, state) {
      label.state = state;
      label.box.dataset.state = state;
    },
    say(label, text) {
      const span = label.box.querySelector("span");
      if (span.textContent === text) return;
      span.textContent = text;
      label.width = label.box.offsetWidth;
    },
    chosen(label, on) {
      label.chosen = on;
      label.box.classList.toggle("chosen", on);
    },
    /** Lays every label where its point is seen; with `settle` also decides again which ones show. */
    lay(camera, width, height, { settle, wanted }) {
      const taken = [];
      const rank = (label) => (label.kind === "measure" ? 200 : 40 - 4 * label.rank) + (label.chosen ? 100 : 0) + (marks[label.state]?.rank ?? 0);
      const narrow = width < NARROW_PX;
      const mattersLess = (label) => narrow && label.kind === "head" && !label.chosen && !marks[label.state]?.rank;
      const onScreen = (at) => {
        seen.copy(at).project(camera);
        return [((seen.x + 1) / 2) * width, ((1 - seen.y) / 2) * height];
      };
      // a name never lies on another head's sign
      const signs = settle ? labels.filter((label) => label.kind === "head" && wanted(label)).map((label) => [label, ...onScreen(label.at)]) : [];
      const hides = (box, own) =>
        signs.some(([label, x, y]) => label !== own && box.l < x + SIGN_PX && box.r > x - SIGN_PX && box.t < y + SIGN_PX && box.b > y - SIGN_PX);
      const order = settle ? [...labels].sort((a, b) => rank(b) - rank(a)) : labels;
      for (const label of order) {
        seen.copy(label.at).project(camera);
        const on = label.on !== false && wanted(label) && Math.abs(seen.z) < 1 && Math.abs(seen.x) < 1.02 && Math.abs(seen.y) < 1.02;
        const x = ((seen.x + 1) / 2) * width;
        const y = ((1 - seen.y) / 2) * height;
        if (settle) {
          // the numbers on the line stand to its right
          if (label.kind === "measure") {
            taken.push({ l: x + 12, r: x + 20 + label.width, t: y - label.height / 2, b: y + label.height / 2 });
            label.clear = on;
          } else {
          const [across, lift] = [label.width / 2 + 2, label.kind === "head" ? 0 : label.height / 2 + 6];
          const box = { l: x - across, r: x + across, t: y - lift - label.height / 2, b: y - lift + label.height / 2 };
          label.clear = on && !mattersLess(label) && !(label.kind === "head" && hides(box, label)) && !taken.some((o) => box.l < o.r && box.r > o.l && box.t < o.b && box.b > o.t);
          if (label.clear) taken.push(box);
          }
        }
        // a head's sign always stays, only its name gives way
        const shown = on && (label.clear !== false || label.kind === "head");
        if (shown !== label.shown) label.box.hidden = !(label.shown = shown);
        if (label.kind === "head") label.box.classList.toggle("small", label.clear === false && !label.chosen);
        if (shown) label.box.style.transform = `translate(${Math.round(x * 10) / 10}px,${Math.round(y * 10) / 10}px)`;
      }
    },
  };
}
