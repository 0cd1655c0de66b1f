// The picture: the stage's props out of the embedded GLB, the shell, the zones, lines and labels, and
// a frame drawn only when something changed.
import { Box3, BufferGeometry, Color, CylinderGeometry, Float32BufferAttribute, Group, Line, LineBasicMaterial, Mesh, MeshBasicMaterial, PerspectiveCamera, Plane, Raycaster, Scene, SphereGeometry, Vector2, Vector3, WebGLRenderer } from "three";
import { GLTFLoader } from "three/addons/loaders/GLTFLoader.js";
import { toRoom, toThree } from "./frame.js";
import { createLabels } from "./labels.js";
import { createLooks, merged, repaint } from "./merge.js";
import { createEye, fitting, lookingFrom, place } from "./pose.js";
import { createShell } from "./shell.js";
import { createZone, createZoneLook } from "./zone.js";

const STILL_MS = 140;
// from above the ceiling's devices are a shade over what is below them
const SEEN_THROUGH = new MeshBasicMaterial({ vertexColors: true, transparent: true, opacity: 0.16, depthWrite: false });
const UNFOLD_MS = 900;
const SLOW_FRAME_MS = 30;
const SLOW_PIXELS = 4e6; // at rest, without a graphics card

async function unpack(base64) {
  const packed = Uint8Array.from(atob(base64), (c) => c.charCodeAt(0));
  return new Response(new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"))).arrayBuffer();
}

function drawnBy(gl) {
  const said = String(gl.getParameter(gl.RENDERER));
  if (!/^webkit/i.test(said)) return said;
  // some browsers tell the real name only this way, the others complain when asked this way
  const more = gl.getExtension("WEBGL_debug_renderer_info");
  return more ? String(gl.getParameter(more.UNMASKED_RENDERER_WEBGL)) : said;
}

/** The room on `canvas`; null if this browser draws no WebGL. */
export function createRoom({ colours, canvas, view, holder, quiet, scrolls, onPick, onPickUp, onMoved, onTurned }) {
  // Smoothing costs a processor without a graphics card more than drawing, and this cannot be changed
  // later: so no smoothing by the library, but more pixels than are shown, as many as the machine bears.
  const context = canvas.getContext("webgl2", { alpha: false, antialias: false, stencil: true, powerPreference: "high-performance" });
  if (!context) return null;
  const renderer = new WebGLRenderer({ canvas, context });
  const slow = /swiftshader|llvmpipe|software|basic render/i.test(drawnBy(context));
  const scene = new Scene();
  const camera = new PerspectiveCamera();
  scene.background = new Color(colours.paper);

  const labels = createLabels(holder, { picked: onPick });
  const lines = new Group();
  scene.add(lines);
  const figures = { first_frame_ms: null, frames: 0, triangles: 0, turning: [] };
  let facts;
  let shell;
  let props = new Group();
  let zones = new Map();
  let looks;
  let zoneLook;
  let painted = new Map();
  let nodes = [];
  let pieces = [];
  let hidden = new Set();
  let eye;
  let viewName = "corner";
  let chosen = null;
  let stale = false;
  let unfolded = 1; // how far the zones are open: the guided look shows them closed first
  let unfoldTo = 1;
  let plain = false; // people are shown without how they stand

  // ---- frames ----
  let asked = false;
  let last = 0;
  let lastMoved = 0;
  const finest = Math.min(Math.max(devicePixelRatio, 2), 3);
  let ratio = finest;
  let movingRatio = slow ? 0.8 : ratio;
  let settled = false;
  let later;
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
    // a large screen is fine enough by itself for a machine that draws without a graphics card
    if (slow) ratio = Math.min(finest, Math.max(1, Math.sqrt(SLOW_PIXELS / (w * h))));
    renderer.setSize(w, h, false);
  };
  const useRatio = (wanted) => {
    if (renderer.getPixelRatio() !== wanted) renderer.setPixelRatio(wanted);
  };

  function frame(now) {
    asked = false;
    if (!eye) return;
    const ms = last ? now - last : 16;
    // the first picture quickly, then finer
    if (figures.first_frame_ms === null) lastMoved = now;
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
    clearTimeout(later);
    if (moving) ask();
    else if (!still) later = setTimeout(ask, STILL_MS + 20);
    else if (!asked) {
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
    if (mean > SLOW_FRAME_MS && movingRatio > 0.5) movingRatio = Math.max(0.5, movingRatio * (mean > 2 * SLOW_FRAME_MS ? 0.7 : 0.85));
  };
  function draw(settle) {
    place(camera, eye.pose);
    lift();
    renderer.render(scene, camera);
    figures.frames++;
    figures.triangles = renderer.info.render.triangles;
    labels.lay(camera, view.clientWidth, view.clientHeight, { settle: settle || figures.frames % 10 === 1, wanted: wantsLabel });
  }
  const wantsLabel = (label) => {
    if ((plain && label.kind === "head") || (label.kind === "array" && hidden.has("arrays"))) return false;
    if (hidden.has("labels") || (viewName === "ceiling" && label.kind === "head")) return false;
    return shows(label) || (label.chosen && label.kind === "device");
  };

  // ---- the ceiling plan's veil fades in and out, and zones open and close ----
  function fade(ms) {
    if (!shell) return false;
    return veil(ms) | unfold(ms);
  }
  function unfold(ms) {
    const by = quiet() ? 1 : ms / UNFOLD_MS;
    const gap = unfoldTo - unfolded;
    unfolded += Math.sign(gap) * Math.min(Math.abs(gap), by);
    return Math.abs(unfoldTo - unfolded) > 1e-6;
  }
  function veil(ms) {
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
  async function fill(newFacts, glb) {
    const { scene: loaded } = await new GLTFLoader().parseAsync(await unpack(glb), "");
    facts = newFacts;
    if (shell) scene.remove(shell.group);
    scene.remove(props);
    for (const zone of zones.values()) scene.remove(zone.group, zone.rings);
    for (const gone of [props, shell?.group, ...[...zones.values()].flatMap((zone) => [zone.group, zone.rings])]) gone?.traverse((part) => part.geometry?.dispose());
    props = new Group();
    nodes = [];
    pieces = [];
    loaded.traverse((part) => {
      if (part.isMesh && !part.geometry.attributes.normal) part.geometry.computeVertexNormals();
    });
    looks = createLooks(facts.arrays.length, facts.colours.zone);
    const together = new Map();
    for (const node of loaded.children) {
      const { layer, id, about = "", outward, edge, only, unless, state } = node.userData;
      // a line that only says that nothing is wrong is drawn on the ceiling plan, as in the pictures
      const well = layer === "clearances" && state === "clear";
      nodes.push({ node, layer, about });
      const moves = layer === "arrays" || layer === "sectors";
      const apart = moves ? id : layer === "people" ? about : id === "grid" ? id : "";
      const key = JSON.stringify([layer, apart, outward, outward && Math.round(edgeAlong(outward, edge) * 100), only, unless, well]);
      if (!together.has(key)) together.set(key, { layer, id, about: moves || layer === "people" ? about : "", only, unless, well, outward, edge, moves, nodes: [] });
      together.get(key).nodes.push(node);
    }
    loaded.updateMatrixWorld(true);
    for (const { nodes: some, outward, edge, ...rest } of together.values()) {
      const node = new Group();
      node.add(...merged(some, looks));
      if (rest.only) for (const part of node.children) part.renderOrder = 9;
      props.add(node);
      const way = outward && toThree(outward);
      const solid = rest.layer === "overhead" ? node.children.filter((part) => part.isMesh).map((part) => [part, part.material]) : [];
      pieces.push({ ...rest, node, way, edge: way && toThree(edge), solid });
    }
    shell = createShell(facts.room.outline_m, facts.room.slab_m);
    shell.veil.position.y = facts.veil_m;
    scene.add(shell.group, props);
    zoneLook = createZoneLook(facts.room, facts.colours, facts.zone, slow);
    zones = new Map(facts.arrays.map((array) => [array.id, Object.assign(createZone(zoneLook), { name: null })]));
    for (const zone of zones.values()) {
      zone.strength = Math.max(0.55, 1.15 - 0.15 * facts.arrays.length);
      scene.add(zone.group, zone.rings);
    }
    painted = new Map();
    labels.set(facts.labels.map((label) => ({ ...label, at: toThree(label.at_m), home: toThree(label.at_m), stem: !!label.foot_m, foot: label.foot_m && toThree(label.foot_m) })), facts.marks);
    apply(facts);
    if (!eye) {
      resize();
      eye = createEye(canvas, viewPose("corner"), { changed: onHand, quiet, pickUp, reach: size().length(), scrolls });
      new ResizeObserver(() => {
        resize();
        if (viewName) eye.go(viewPose(viewName), { at_once: true });
        ask();
      }).observe(view);
      canvas.addEventListener("tap", ({ detail }) => {
        const hit = under(detail, (n) => n.layer === "people");
        if (hit) onPick({ kind: "head", id: hit.about });
      });
    }
    choose(chosen);
    ask();
  }
  const edgeAlong = ([x, y, z], [u, v, w]) => x * u + y * v + z * w;
  const size = () => {
    const box = roomBox();
    return box.getSize(new Vector3());
  };
  const roomBox = () => {
    const box = new Box3();
    for (const [x, y] of facts.room.outline_m) box.expandByPoint(new Vector3(x, 0, -y)).expandByPoint(new Vector3(x, facts.room.ceiling_m, -y));
    return box;
  };
  const onHand = (why) => {
    if (why === "hand") {
      if (viewName) onMoved(null);
      viewName = null;
      onTurned?.();
    }
    ask();
  };

  // ---- views ----
  function viewPose(name) {
    const { x: w, z: d } = size();
    const aspect = view.clientWidth / Math.max(view.clientHeight, 1);
    const along = w >= d;
    if (name === "plan" || name === "ceiling") return fitting(roomCorners(facts.room.margin_m), 0, 89.9, 9, aspect);
    if (name === "long") return fitting(roomCorners(0.7), along ? 0 : 90, 1.2, 9, aspect);
    if (name === "cross") return fitting(roomCorners(0.7), along ? 90 : 0, 1.2, 9, aspect);
    const seen = facts.seen_from.find((s) => s.name === name);
    if (seen) return lookingFrom(toThree(seen.eye_m), toThree(seen.aim_m), seen.angle_deg);
    return cornerPose(aspect);
  }
  function cornerPose(aspect) {
    const { wide, tall, tall_below, angle_deg, points_m } = facts.corner;
    const { azimuth, elevation } = aspect < tall_below ? tall : wide;
    return fitting(points_m.map((at) => toThree(at)), azimuth, elevation, angle_deg, aspect, aspect < tall_below ? 1.02 : 1.08);
  }
  function go(name) {
    viewName = name;
    eye.go(viewPose(name));
  }
  function hideLayers(names) {
    hidden = new Set(names);
    ask();
  }
  // What the review found for the place as designed says nothing about another place.
  const FOUND = new Set(["clearances", "sightlines", "sectors", "dimensions", "region", "margins"]);
  /** What kind of view this is just now: turned by hand it is one into the room from above, or one from inside it. */
  const viewKind = () => {
    if (!viewName) return camera.position.y > facts.room.ceiling_m ? "free" : "seat";
    return facts.seen_from.some((s) => s.name === viewName) ? viewName.split(" ")[0].replace("head", "seat") : viewName;
  };
  const shows = (thing, kind = viewKind()) => !hidden.has(thing.layer) && (!thing.only || thing.only.includes(kind)) && !thing.unless?.includes(kind) && !(thing.well && kind !== "ceiling") && !(stale && FOUND.has(thing.layer));
  const offset = new Vector3();
  /** Before each frame: walls and ceilings stand open towards the eye; nobody sees their own head. */
  function lift() {
    const own = facts.seen_from.find((s) => s.name === viewName)?.own;
    const kind = viewKind();
    for (const n of pieces) {
      const facing = n.way && offset.subVectors(camera.position, n.edge).dot(n.way) > 0;
      const needed = viewName === "ceiling" && n.id === "grid";
      for (const [part, own] of n.solid) part.material = viewName === "plan" ? SEEN_THROUGH : own;
      n.node.visible = shows(n, kind) && (!facing || needed) && !(own && n.about === own && n.layer !== "arrays");
    }
    const way = { plan: "rings", ceiling: "rings", long: "half", cross: "half" }[viewName] ?? (facts.seen_from.some((s) => s.name === viewName) ? "lines" : "open");
    zoneLook.uniforms.pixel.value = (2 * Math.tan((camera.fov * Math.PI) / 360)) / view.clientHeight;
    for (const zone of zones.values()) {
      zone.group.visible = !hidden.has("band") && way !== "rings";
      zone.rings.visible = !hidden.has("footprint");
      zone.face(camera.position, eye.pose.elevation, way, unfolded);
    }
    looks.tables.uniforms.tinted.value = hidden.has("footprint") && hidden.has("band") ? 0 : 1;
  }

  // ---- what is so just now: places, bands and states ----
  function apply(now) {
    facts = { ...facts, arrays: now.arrays, heads: now.heads };
    if (!looks) return; // nothing is there yet to be changed
    // one change seldom comes alone: the fine picture waits until they stop
    lastMoved = performance.now();
    stale = facts.arrays.some((array) => array.at_m.concat(array.height_m).some((v, i) => Math.abs(v - array.home_m[i]) > 1e-6) || array.band !== array.home_band);
    for (const array of facts.arrays) {
      const at = toThree([...array.at_m, array.height_m]);
      const zone = zones.get(array.id);
      if (!zone) continue;
      if (zone.name !== array.band) {
        zone.shape(array.sides[array.band]);
        zone.name = array.band;
      }
      zone.put(at, array.rings);
      showOnTables(array, at, facts.arrays.indexOf(array));
      const home = toThree(array.home_m);
      for (const n of pieces) {
        if (!n.moves || n.about !== array.id) continue;
        n.node.position.copy(at).sub(home);
        const part = n.id.slice(array.id.length + 1);
        if (part === "cable" || part === "clamp") {
          // hangs from the ceiling: stretched about its upper end
          const room = array.ceiling_m - array.over_m;
          n.node.scale.y = Math.max((room - at.y) / (room - home.y), 0.001);
          n.node.position.y = array.ceiling_m * (1 - n.node.scale.y);
        } else if (part === "box" || part === "hanger") n.node.position.y = 0;
      }
      const label = labels.find("array", array.id);
      if (label) {
        label.at.copy(label.home).add(at).sub(home);
        labels.say(label, array.label);
      }
    }
    for (const head of facts.heads) {
      const label = labels.find("head", head.id);
      if (label && label.state !== head.state) labels.state(label, head.state);
      paint(head);
    }
    drawLine();
    ask();
  }

  /** Tells the tables' look where the zone of an array meets them. */
  function showOnTables(array, at, i) {
    const [far, , near, shallow] = array.sides[array.band];
    const slope = ([r, z]) => -z / Math.max(r, 1e-6);
    looks.tables.uniforms.centres.value[i].copy(at);
    looks.tables.uniforms.sides.value[i].set(slope(shallow.at(-1)), slope(far.at(-1)), Math.hypot(...near[0]), Math.hypot(...far[0]));
  }
  /** People are tinted by how they stand, beside their sign. */
  function paint(head) {
    const state = plain ? "none" : head.state;
    if (painted.get(head.id) === state) return;
    painted.set(head.id, state);
    const tones = Object.fromEntries(Object.entries(facts.clay[state] ?? {}).map(([part, tone]) => [part, new Color(tone)]));
    for (const { layer, about, node } of pieces) {
      if (layer !== "people" || about !== head.id) continue;
      for (const part of node.children) if (part.geometry.userData.runs) repaint(part, head.id, tones);
    }
  }

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
      if (!chosen.line_m) return;
      const [from, to] = chosen.line_m.map((point) => toThree(point));
      lines.add(tube(from, to, colours[chosen.colour], 0.008));
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
    const able = nodes.filter((n) => !hidden.has(n.layer) && wanted(n));
    const [hit] = ray.intersectObjects(able.map((n) => n.node), true);
    return hit && able.find((n) => n.node.getObjectById(hit.object.id));
  }
  // live only: an array taken hold of moves in its level plane, or with Shift (or seen from the side) up and down
  function pickUp(event) {
    if (!onPickUp) return null;
    const array = nearArray(event);
    if (!array) return null;
    const start = toThree([...array.at_m, array.height_m]);
    const sideways = event.shiftKey || Math.abs(eye.pose.elevation) < 12;
    const facing = sideways ? camera.getWorldDirection(new Vector3()).setY(0).normalize() : new Vector3(0, 1, 0);
    const plane = new Plane().setFromNormalAndCoplanarPoint(facing, start);
    const reached = new Vector3();
    const grip = ray.ray.intersectPlane(plane, new Vector3());
    if (!grip) return null;
    const offset = start.clone().sub(grip);
    const hold = onPickUp(array.id);
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
    /** Opens the zones so far (0 closed, 1 open towards the eye). */
    unfold(to) {
      unfoldTo = to;
      ask();
    },
    /** People without a word of how they stand, or tinted and signed by it. */
    plain(wanted) {
      plain = wanted;
      for (const head of facts.heads) paint(head);
      ask();
    },
    ask,
    get view() {
      return viewName;
    },
    get pose() {
      return { ...eye.pose, target: eye.pose.target.toArray() };
    },
    /** How the room is looked at, whatever its size and wherever it lies: for another room to be looked at alike. */
    get look() {
      const [box, { target, distance, ...way }] = [roomBox(), eye.pose];
      const reach = size().length();
      return { ...way, distance: distance / reach, offset: target.clone().sub(box.getCenter(new Vector3())).divideScalar(reach) };
    },
    lookAlike({ distance, offset, ...way }) {
      const reach = size().length();
      viewName = null;
      Object.assign(eye.pose, way, { distance: distance * reach });
      eye.pose.target.copy(offset).multiplyScalar(reach).add(roomBox().getCenter(new Vector3()));
      ask();
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
      place(camera, viewName ? cornerPose(w / h) : before);
      lift();
      scene.background.set("#ffffff");
      renderer.render(scene, camera);
      scene.background.set(colours.paper);
      target.width = w;
      target.height = h;
      const pen = target.getContext("2d");
      pen.drawImage(canvas, 0, 0);
      labels.write(pen, camera, w, h, colours);
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
        slow,
        draws: renderer.info.render.calls,
      };
    },
  };
  // walls and slab are part of the picture, and so is the writing outside a plan
  function roomCorners(around = 0.15) {
    const { x, y, w, d } = facts.room.box;
    const ways = [[x - around, y - around], [x + w + around, y - around], [x + w + around, y + d + around], [x - around, y + d + around]];
    const level = [-facts.room.slab_m, facts.room.top_m];
    return (facts.room.outline_m.length === 4 || around > 0.2 ? ways : facts.room.outline_m).flatMap(([u, v]) => level.map((z) => new Vector3(u, z, -v)));
  }
}
