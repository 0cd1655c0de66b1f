// Labels are text of the page laid over the picture: always sharp, always upright, and where two would
// overlap the less important one waits. They repeat what the tables say, so readers skip them.
import { Vector3 } from "three";

const SIGN_PX = 9; // half of what a head's sign needs to be seen
const SIDES = ["right", "left", "above"]; // of its sign, where a head's name may stand
const GAP_PX = 3;
const EDGE_PX = 4; // from a label to the edge of the picture
const FACE_M = 0.13; // about half of a head, over which no name lies if it can stand elsewhere
const NARROW_PX = 560; // below it only the names are written that matter; a tap on a sign gives its name

/** A sign on a plain canvas: a disc with a tick, a ring, a square with a cross, a diamond. */
function drawSign(pen, sign, x, y, r, colour) {
  pen.save();
  pen.translate(x, y);
  if (sign === "diamond") pen.rotate(Math.PI / 4);
  const body = (reach) => {
    pen.beginPath();
    if (sign === "dot" || sign === "ring") pen.arc(0, 0, reach, 0, 2 * Math.PI);
    else pen.roundRect(-reach, -reach, 2 * reach, 2 * reach, 2);
    pen.fill();
  };
  const size = sign === "diamond" ? 0.85 * r : r;
  pen.fillStyle = "#ffffff";
  body(size + 2);
  pen.fillStyle = colour;
  body(size);
  pen.strokeStyle = pen.fillStyle = "#ffffff";
  pen.lineWidth = 2.6;
  const path = { dot: [[-0.45, 0.02], [-0.12, 0.38], [0.48, -0.36]], cross: [[-0.42, -0.42], [0.42, 0.42], null, [0.42, -0.42], [-0.42, 0.42]] }[sign];
  if (sign === "ring") body(0.5 * r);
  pen.beginPath();
  let lifted = true;
  for (const at of path ?? []) {
    if (at) pen[lifted ? "moveTo" : "lineTo"](at[0] * r, at[1] * r);
    lifted = !at;
  }
  pen.stroke();
  pen.restore();
}

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
      // a sign stands on a stem over its head, never on the face
      if (label.stem) mark.append(document.createElement("u"));
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
      if (label.kind === "head") [label.name, label.tall] = [label.box.lastChild.offsetWidth, label.box.lastChild.offsetHeight];
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
        const text = label.box.querySelector("span").textContent;
        if (label.kind === "array") {
          pen.font = "600 22px system-ui, sans-serif";
          const wide = pen.measureText(text).width;
          pen.fillStyle = "#22272e";
          pen.beginPath();
          pen.roundRect(x - wide / 2 - 14, y - 16, wide + 28, 32, 6);
          pen.fill();
          pen.fillStyle = "#ffffff";
          pen.fillText(text, x - wide / 2, y + 1);
          continue;
        }
        const colour = colours[label.state] ?? "#22272e";
        const sign = label.state ? marks[label.state].sign : null;
        pen.font = `${sign === "dot" ? 550 : 700} 18px system-ui, sans-serif`;
        pen.lineJoin = "round";
        pen.strokeStyle = "#ffffff";
        pen.lineWidth = 5;
        pen.strokeText(text, x + 14, y + 1);
        pen.fillStyle = sign === "dot" || !sign ? "#22272e" : colour;
        pen.fillText(text, x + 14, y + 1);
        if (sign) drawSign(pen, sign, x, y, 9, colour);
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
      const rank = (label) => (label.kind === "measure" ? 200 : 40 - 4 * label.rank) + (label.chosen ? 100 : 0) + (marks[label.state]?.rank ?? 0);
      const narrow = width < NARROW_PX;
      const taken = [];
      for (const label of labels) {
        seen.copy(label.at).project(camera);
        label.on = wanted(label) && Math.abs(seen.z) < 1 && Math.abs(seen.x) < 1.02 && Math.abs(seen.y) < 1.02;
        [label.x, label.y] = [((seen.x + 1) / 2) * width, ((1 - seen.y) / 2) * height];
        // what is lettered beside a thing is not cut by the picture's edge
        if (label.kind !== "head" && label.kind !== "measure") {
          const half = label.width / 2 + EDGE_PX;
          label.x = Math.max(half, Math.min(label.x, width - half));
        }
        if (!label.stem) continue;
        seen.copy(label.foot).project(camera);
        const [x, y] = [((seen.x + 1) / 2) * width, ((1 - seen.y) / 2) * height];
        label.drop = Math.hypot(x - label.x, y - label.y) < 3 * SIGN_PX + 60 ? Math.max(y - label.y, 0) : 0;
        seen.copy(label.foot).y -= FACE_M / 2;
        const from = seen.distanceTo(camera.position);
        seen.project(camera);
        label.face = { x: ((seen.x + 1) / 2) * width, y: ((1 - seen.y) / 2) * height, r: (FACE_M * height) / (2 * from * Math.tan((camera.fov * Math.PI) / 360)) };
      }
      if (settle) settleAll([...labels].sort((a, b) => rank(b) - rank(a)), taken, narrow);
      for (const label of labels) {
        // a head's sign always stays, only its name gives way
        const shown = label.on && (label.clear !== false || label.kind === "head");
        if (shown !== label.shown) label.box.hidden = !(label.shown = shown);
        if (label.kind === "head") label.box.classList.toggle("small", label.clear === false && !label.chosen);
        if (!shown) continue;
        const [x, y] = label.kind === "head" && label.clear !== false ? corner(label) : [label.x, label.y];
        label.box.style.transform = `translate(${Math.round(x * 10) / 10}px,${Math.round(y * 10) / 10}px)`;
        if (label.stem) label.box.style.setProperty("--stem", `${Math.round(Math.max(label.drop - SIGN_PX + 1, 0))}px`);
      }
    },
  };

  /** Where the box of a head's sign and name begins, the name on a side of the sign. */
  function corner(label, side = label.side ?? "right") {
    const { x, y, name, tall } = label;
    if (side === "right") return [x - SIGN_PX, y - SIGN_PX];
    if (side === "left") return [x - SIGN_PX - GAP_PX - name, y - SIGN_PX];
    return [x - Math.max(name / 2, SIGN_PX), y - SIGN_PX - tall];
  }
  function boxOf(label, side) {
    if (label.kind === "measure") return { l: label.x + 12, r: label.x + 20 + label.width, t: label.y - label.height / 2, b: label.y + label.height / 2 };
    if (label.kind !== "head") {
      const [across, lift] = [label.width / 2 + 2, label.height / 2 + 6];
      return { l: label.x - across, r: label.x + across, t: label.y - lift - label.height / 2, b: label.y - lift + label.height / 2 };
    }
    const [l, t] = corner(label, side);
    const wide = side === "above" ? Math.max(label.name, 2 * SIGN_PX) : 2 * SIGN_PX + GAP_PX + label.name;
    return { l, t, r: l + wide, b: t + 2 * SIGN_PX + (side === "above" ? label.tall : 0) };
  }
  /** Decides which labels show, the weightier first, and on which side of a sign its name stands. */
  function settleAll(order, taken, narrow) {
    const heads = order.filter((label) => label.kind === "head" && label.on);
    const meets = (a, b) => a.l < b.r && a.r > b.l && a.t < b.b && a.b > b.t;
    const round = (x, y, r) => ({ l: x - r, r: x + r, t: y - r, b: y + r });
    for (const label of order) {
      if (label.kind !== "head") {
        const box = boxOf(label);
        label.clear = label.on && (label.kind === "measure" || !taken.some((other) => meets(box, other)));
        if (label.clear) taken.push(box);
        continue;
      }
      const matters = !!marks[label.state]?.rank || label.chosen || !label.state;
      label.clear = false;
      if (!label.on || (narrow && !matters)) continue;
      const free = (side, faces) => {
        const box = boxOf(label, side);
        const others = heads.filter((one) => one !== label);
        return !taken.some((other) => meets(box, other)) && !others.some((one) => meets(box, round(one.x, one.y, SIGN_PX)) || (faces && one.face && meets(box, round(one.face.x, one.face.y, one.face.r))));
      };
      const side = SIDES.find((one) => free(one, true)) ?? (matters ? SIDES.find((one) => free(one, false)) : undefined);
      if (!side) continue;
      label.clear = true;
      label.side = label.box.dataset.side = side;
      taken.push(boxOf(label, side));
    }
  }
}
