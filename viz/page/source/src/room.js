// The picture: the stage's props out of the embedded GLB, the shell, the bands, lines and labels, and
// a frame drawn only when something changed.
import { AmbientLight, Box3, BufferGeometry, CylinderGeometry, DirectionalLight, DoubleSide, Float32BufferAttribute, Group, HemisphereLight, Line, LineBasicMaterial, Mesh, MeshBasicMaterial, MeshLambertMaterial, PerspectiveCamera, Plane, Raycaster, Scene, SphereGeometry, Vector2, Vector3, WebGLRenderer } from "three";
import { GLTFLoader } from "three/addons/loaders/GLTFLoader.js";
import { createBand, createBandMaterials } from "./band.js";
import { toRoom, toThree } from "./frame.js";
import { createLabels } from "./labels.js";
import { createEye, fitting, lookingFrom, place } from "./pose.js";
import { createShell } from "./shell.js";

const STILL_MS = 140;
const SLOW_FRAME_MS = 30;

async function unpack(base64) {
  const packed = Uint8Array.from(atob(base64), (c) => c.charCodeAt(0));
  return new Response(new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"))).arrayBuffer();
}

/** The room on `canvas`; null if this browser draws no WebGL. */
export function createRoom({ colours, canvas, view, holder, quiet, onPick, onPickUp, onMoved }) {
  let renderer;
  try {
    renderer = new WebGLRenderer({ canvas, antialias: true, alpha: true, powerPreference: "high-performance" });
  } catch {
    return null;
  }
  const scene = new Scene();
  const camera = new PerspectiveCamera();
  scene.add(new HemisphereLight("#ffffff", "#e8e0d4", 2.0), new AmbientLight("#ffffff", 0.55));
  const sun = new DirectionalLight("#fffaf0", 1.25);
  sun.position.set(-3, 6, 4);
  scene.add(sun);

  const labels = createLabels(holder, { picked: onPick });
  const lines = new Group();
  scene.add(lines);
  const figures = { first_frame_ms: null, frames: 0, triangles: 0, turning: [] };
  let facts;
  let shell;
  let props = new Group();
  let bands = new Map();
  let bandMaterials;
  let nodes = [];
  let hidden = new Set();
  let eye;
  let viewName = "corner";
  let chosen = null;

  // ---- frames ----
  let asked = false;
  let last = 0;
  let lastMoved = 0;
  let ratio = Math.min(devicePixelRatio, 2);
  let movingRatio = Math.min(devicePixelRatio, 1.5);
  let settled = false;
  const ask = () => {
    settled = false;
    if (!asked) {
      asked = true;
      requestAnimationFrame(frame);
    }
  };
  const resize = () => {
    const { clientWidth: w, clientHeight: h } = view;
    if (!w || !h) return;
    camera.aspect = w / h;
    renderer.setSize(w, h, false);
  };
  const useRatio = (wanted) => {
    if (renderer.getPixelRatio() !== wanted) renderer.setPixelRatio(wanted);
  };

  function frame(now) {
    asked = false;
    if (!eye) return;
    const ms = last ? now - last : 16;
    const moving = eye.step(Math.min(ms, 100)) | fade(Math.min(ms, 100));
    if (moving) {
      if (lastMoved === last && last) {
        figures.turning.push(ms);
        if (figures.turning.length > 240) figures.turning.shift();
        tune();
      }
      lastMoved = now;
    }
    last = now;
    const still = !moving && now - lastMoved > STILL_MS;
    useRatio(still ? ratio : movingRatio);
    draw(still);
    if (figures.first_frame_ms === null) figures.first_frame_ms = Math.round(performance.now());
    if (moving || !still) {
      asked = true;
      requestAnimationFrame(frame);
    } else {
      settled = true;
      last = 0;
    }
  }
  // Resolution follows what this machine can do: a slow frame lowers it while the room moves, the
  // picture at rest is always drawn at full resolution.
  const tune = () => {
    const recent = figures.turning.slice(-6);
    if (recent.length < 6 || figures.turning.length % 6) return;
    const mean = recent.reduce((a, b) => a + b) / 6;
    if (mean > SLOW_FRAME_MS && movingRatio > 0.5) movingRatio = Math.max(0.5, movingRatio * 0.8);
  };
  function draw(settle) {
    place(camera, eye.pose);
    renderer.render(scene, camera);
    figures.frames++;
    figures.triangles = renderer.info.render.triangles;
    labels.lay(camera, view.clientWidth, view.clientHeight, { settle: settle || figures.frames % 10 === 1, wanted: wantsLabel });
  }
  const wantsLabel = (label) => {
    if (hidden.has("labels") || hidden.has(label.layer)) return false;
    if (label.kind === "device") return viewName === "ceiling" || label.chosen || label.short;
    return true;
  };

  // ---- the ceiling plan's veil fades in and out ----
  function fade(ms) {
    if (!shell) return false;
    const { veil } = shell;
    const to = viewName === "ceiling" ? 0.86 : 0;
    const gap = to - veil.material.opacity;
    if (Math.abs(gap) < 0.004) {
      veil.material.opacity = to;
      veil.visible = to > 0;
      return false;
    }
    veil.visible = true;
    veil.material.opacity += gap * (quiet() ? 1 : 1 - Math.exp(-ms / 220));
    return true;
  }

  // ---- what there is ----
  const materials = new Map();
  const plainMaterial = (given, doubled) => {
    const key = `${given.color?.getHexString()} ${given.opacity} ${doubled}`;
    if (!materials.has(key)) {
      materials.set(
        key,
        new MeshLambertMaterial({ color: given.color, transparent: given.opacity < 1, opacity: given.opacity, depthWrite: given.opacity >= 1, side: doubled ? DoubleSide : given.side }),
      );
    }
    return materials.get(key);
  };

  async function fill(newFacts, glb) {
    const { scene: loaded } = await new GLTFLoader().parseAsync(await unpack(glb), "");
    facts = newFacts;
    if (shell) scene.remove(shell.group);
    scene.remove(props);
    for (const band of bands.values()) scene.remove(band.group);
    props = loaded;
    nodes = [];
    for (const node of [...loaded.children].flatMap((n) => (n.userData.layer ? [n] : n.children))) {
      const { layer, id } = node.userData;
      nodes.push({ node, layer, id, home: node.position.clone() });
      node.traverse((part) => {
        if (part.isMesh) part.material = plainMaterial(part.material, false);
      });
    }
    shell = createShell(facts.room, facts.shadows);
    shell.veil.position.y = facts.veil_m;
    scene.add(shell.group, props);
    bandMaterials = createBandMaterials(facts.room, facts.mouth_m, colours.band);
    bandMaterials.uniforms.strength.value = facts.arrays.length > 2 ? 0.7 : 1;
    bands = new Map(facts.arrays.map((array) => [array.id, { group: new Group(), name: null }]));
    for (const band of bands.values()) scene.add(band.group);
    labels.set(facts.labels.map((label) => ({ ...label, at: toThree(label.at_m) })));
    hideLayers(hidden);
    apply(facts);
    if (!eye) {
      resize();
      eye = createEye(canvas, viewPose("corner"), { changed: onHand, quiet, pickUp: pickUp, reach: Math.hypot(...size()) });
      new ResizeObserver(() => {
        resize();
        if (viewName) eye.go(viewPose(viewName), { at_once: true });
        ask();
      }).observe(view);
      canvas.addEventListener("tap", ({ detail }) => {
        const hit = under(detail, (n) => n.layer === facts.layers_of.heads);
        if (hit) onPick({ kind: "head", id: hit.id });
      });
    }
    choose(chosen);
    ask();
  }
  const size = () => {
    const box = roomBox();
    return box.getSize(new Vector3()).toArray();
  };
  const roomBox = () => {
    const box = new Box3();
    for (const [x, y] of facts.room.outline_m) box.expandByPoint(new Vector3(x, 0, -y)).expandByPoint(new Vector3(x, facts.room.ceiling_m, -y));
    return box;
  };
  const onHand = (why) => {
    if (why === "hand" && viewName && eye?.moving) {
      viewName = null;
      hideFor(null);
      onMoved(null);
    }
    ask();
  };

  // ---- views ----
  function viewPose(name) {
    const corners = facts.room.outline_m.flatMap(([x, y]) => [new Vector3(x, 0, -y), new Vector3(x, facts.room.ceiling_m, -y)]);
    const [w, , d] = size();
    const aspect = view.clientWidth / Math.max(view.clientHeight, 1);
    const along = w >= d;
    if (name === "plan" || name === "ceiling") return fitting(corners, 0, 89.9, 9, aspect);
    if (name === "long") return fitting(corners, along ? 0 : 90, 1.2, 9, aspect);
    if (name === "cross") return fitting(corners, along ? 90 : 0, 1.2, 9, aspect);
    const seen = facts.seen_from.find((s) => s.name === name);
    if (seen) return lookingFrom(toThree(seen.eye_m), toThree(seen.aim_m), seen.angle_deg);
    // the corner: over the longer side, a little from the right, from as high as shows the table tops
    return fitting(corners, along ? 28 : 62, 31, 30, aspect, 1.03);
  }
  // seen from somebody's eyes, that somebody is not in the picture
  const hideFor = (name) => {
    const own = facts.seen_from.find((s) => s.name === name)?.own;
    for (const n of nodes) n.node.visible = !hidden.has(n.layer) && !(own && n.id === own && n.layer !== facts.layers_of.arrays);
  };
  function go(name) {
    viewName = name;
    hideFor(name);
    eye.go(viewPose(name));
  }
  function hideLayers(names) {
    hidden = new Set(names);
    for (const n of nodes) n.node.visible = !hidden.has(n.layer);
    if (shell) shell.group.visible = !hidden.has("room");
    for (const band of bands.values()) band.group.visible = !hidden.has("band");
    ask();
  }

  // ---- what is so just now: places, bands and states ----
  function apply({ arrays, heads }) {
    facts = { ...facts, arrays, heads };
    for (const array of arrays) {
      const at = toThree([...array.at_m, array.height_m]);
      const band = bands.get(array.id);
      if (!band) continue;
      if (band.name !== array.band) {
        band.group.clear();
        band.group.add(createBand(array.sides[array.band], bandMaterials));
        band.name = array.band;
      }
      band.group.position.copy(at);
      const home = toThree([...array.home_m]);
      for (const n of nodes.filter((n) => n.id === array.id)) {
        n.node.position.copy(n.home);
        n.node.scale.y = 1;
        if (n.layer === facts.layers_of.cables) {
          // a cable hangs from the ceiling: stretched about its upper end
          const top = facts.room.ceiling_m;
          const stretch = Math.max((top - at.y - array.over_m) / (top - home.y - array.over_m), 0.001);
          n.node.scale.y = stretch;
          n.node.position.y = n.home.y * stretch + top * (1 - stretch);
        } else n.node.position.y += at.y - home.y;
        n.node.position.x += at.x - home.x;
        n.node.position.z += at.z - home.z;
      }
      const label = labels.find("array", array.id);
      if (label) label.at.copy(at).setY(at.y + 0.02);
    }
    for (const head of heads) {
      const label = labels.find("head", head.id);
      if (label && label.state !== head.state) labels.state(label, head.state);
      for (const n of nodes.filter((n) => n.layer === facts.layers_of.heads && n.id === head.id)) {
        if (n.state === head.state) continue;
        n.state = head.state;
        n.node.traverse((part) => {
          if (part.isMesh) part.material = stateMaterial(head.state);
        });
      }
    }
    drawLine();
    ask();
  }
  const stateMaterials = {};
  const stateMaterial = (state) => (stateMaterials[state] ??= new MeshLambertMaterial({ color: colours[state] }));

  // ---- the chosen head or clearance: a line to its array, with the numbers on it ----
  function choose(what) {
    chosen = what;
    for (const head of facts.heads) {
      const label = labels.find("head", head.id);
      if (label) labels.chosen(label, what?.kind === "head" && what.id === head.id);
    }
    for (const device of facts.labels.filter((l) => l.kind === "device")) {
      labels.chosen(labels.find("device", device.id), what?.kind === "clearance" && what.against === device.id);
    }
    drawLine();
    ask();
  }
  function tube(a, b, colour, radius) {
    const mesh = new Mesh(new CylinderGeometry(radius, radius, a.distanceTo(b), 8, 1, true), new MeshBasicMaterial({ color: colour, depthTest: false, transparent: true }));
    mesh.position.copy(a).add(b).multiplyScalar(0.5);
    mesh.quaternion.setFromUnitVectors(new Vector3(0, 1, 0), b.clone().sub(a).normalize());
    mesh.renderOrder = 9;
    return mesh;
  }
  function polyline(points, colour) {
    const geometry = new BufferGeometry().setAttribute("position", new Float32BufferAttribute(points.flatMap((p) => p.toArray()), 3));
    const line = new Line(geometry, new LineBasicMaterial({ color: colour, depthTest: false, transparent: true, opacity: 0.8 }));
    line.renderOrder = 9;
    return line;
  }
  function drawLine() {
    for (const part of lines.children) {
      part.geometry.dispose();
      part.material.dispose();
    }
    lines.clear();
    labels.measure(null);
    if (chosen?.kind === "head") {
      const head = facts.heads.find((h) => h.id === chosen.id);
      const array = facts.arrays.find((a) => a.id === head?.array);
      if (!array) return;
      const from = toThree([...array.at_m, array.height_m]);
      const to = toThree(head.at_m);
      const colour = colours[head.state];
      lines.add(tube(from, to, colour, 0.009));
      const halo = new Mesh(new SphereGeometry(0.2, 32, 20), new MeshBasicMaterial({ color: colour, transparent: true, opacity: 0.25, depthWrite: false }));
      halo.position.copy(to);
      halo.renderOrder = 7;
      lines.add(halo);
      // the depression: from the level through the acoustic centre down to the line
      const level = new Vector3(to.x - from.x, 0, to.z - from.z);
      const range = level.length();
      if (range > 0.02) {
        level.divideScalar(range);
        const radius = Math.min(0.55, range * 0.6);
        lines.add(polyline([from, from.clone().addScaledVector(level, radius * 1.25)], colours.line));
        const depth = Math.atan2(from.y - to.y, range);
        const arc = [];
        for (let i = 0; i <= 24; i++) {
          const a = (depth * i) / 24;
          arc.push(from.clone().addScaledVector(level, radius * Math.cos(a)).setY(from.y - radius * Math.sin(a)));
        }
        lines.add(polyline(arc, colours.line));
      }
      labels.measure({ at: from.clone().lerp(to, 0.55), text: head.line });
    } else if (chosen?.kind === "clearance") {
      const array = facts.arrays.find((a) => a.id === chosen.array);
      const device = facts.labels.find((l) => l.id === chosen.against && l.kind === "device");
      if (!array || !device) return;
      const from = toThree([...array.at_m, array.height_m]);
      const to = toThree(device.at_m);
      lines.add(tube(from, to, chosen.state === "short" ? colours.missed : colours.line, 0.008));
      labels.measure({ at: from.clone().lerp(to, 0.5), text: chosen.text });
    }
  }

  // ---- what is under the pointer ----
  const ray = new Raycaster();
  function aim(event) {
    const box = canvas.getBoundingClientRect();
    ray.setFromCamera(new Vector2(((event.clientX - box.left) / box.width) * 2 - 1, 1 - ((event.clientY - box.top) / box.height) * 2), camera);
  }
  function under(event, wanted) {
    aim(event);
    const able = nodes.filter((n) => n.node.visible && wanted(n));
    const [hit] = ray.intersectObjects(able.map((n) => n.node), true);
    if (!hit) return null;
    return able.find((n) => n.node === hit.object || n.node.getObjectById(hit.object.id));
  }
  // live only: an array taken hold of moves in its level plane, or with Shift (or seen from the side) up and down
  function pickUp(event) {
    if (!onPickUp) return null;
    const hit = under(event, (n) => n.layer === facts.layers_of.arrays) ?? nearArray(event);
    if (!hit) return null;
    const array = facts.arrays.find((a) => a.id === hit.id);
    const start = toThree([...array.at_m, array.height_m]);
    const sideways = event.shiftKey || Math.abs(eye.pose.elevation) < 12;
    const facing = sideways ? camera.getWorldDirection(new Vector3()).setY(0).normalize() : new Vector3(0, 1, 0);
    const plane = new Plane().setFromNormalAndCoplanarPoint(facing, start);
    const reached = new Vector3();
    const grip = ray.ray.intersectPlane(plane, new Vector3());
    if (!grip) return null;
    const offset = start.clone().sub(grip);
    const hold = onPickUp(hit.id);
    return {
      move(next) {
        aim(next);
        if (!ray.ray.intersectPlane(plane, reached)) return;
        reached.add(offset);
        if (sideways) hold.move({ height_m: reached.y });
        else hold.move({ at_m: toRoom(reached).slice(0, 2) });
      },
      drop: () => hold.drop(),
    };
  }
  function nearArray(event) {
    const box = canvas.getBoundingClientRect();
    for (const array of facts.arrays) {
      const seen = toThree([...array.at_m, array.height_m]).project(camera);
      const dx = ((seen.x + 1) / 2) * box.width - (event.clientX - box.left);
      const dy = ((1 - seen.y) / 2) * box.height - (event.clientY - box.top);
      if (Math.hypot(dx, dy) < 22) {
        aim(event);
        return array;
      }
    }
    return null;
  }

  return {
    fill,
    apply,
    choose,
    go,
    hideLayers,
    ask,
    get view() {
      return viewName;
    },
    get pose() {
      return { ...eye.pose, target: eye.pose.target.toArray() };
    },
    get settled() {
      return settled && !asked;
    },
    /** The corner view on a plain canvas, for print: drawn and copied in one go. */
    snapshot(target) {
      const before = { ...eye.pose, target: eye.pose.target.clone() };
      const [w, h] = [1500, 900];
      const wide = view.clientWidth / view.clientHeight;
      renderer.setPixelRatio(1);
      renderer.setSize(w, h, false);
      camera.aspect = w / h;
      place(camera, viewName ? fitting(roomCorners(), size()[0] >= size()[2] ? 28 : 62, 31, 30, w / h, 1.03) : before);
      renderer.render(scene, camera);
      target.width = w;
      target.height = h;
      target.getContext("2d").drawImage(canvas, 0, 0);
      camera.aspect = wide;
      resize();
      ask();
    },
    screen_of(point_m) {
      const seen = toThree(point_m).project(camera);
      return [((seen.x + 1) / 2) * view.clientWidth, ((1 - seen.y) / 2) * view.clientHeight];
    },
    figures() {
      const ms = figures.turning.slice(-120);
      const mean = ms.length ? ms.reduce((a, b) => a + b) / ms.length : null;
      return {
        first_frame_ms: figures.first_frame_ms,
        frames: figures.frames,
        turning_frames: ms.length,
        turning_fps: mean ? Math.round((1000 / mean) * 10) / 10 : null,
        pixel_ratio: ratio,
        moving_pixel_ratio: Math.round(movingRatio * 100) / 100,
        triangles: figures.triangles,
      };
    },
  };
  function roomCorners() {
    return facts.room.outline_m.flatMap(([x, y]) => [new Vector3(x, 0, -y), new Vector3(x, facts.room.ceiling_m, -y)]);
  }
}
