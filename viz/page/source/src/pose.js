// Where the eye is and how it moves: orbit by mouse, touch and keys, and smooth moves between named
// poses. A pose is an azimuth and an elevation about a target, a distance, and an angle of view; a
// narrow angle from far away stands in for the parallel views (plan, sections), so that every move,
// also into the plan, is one smooth motion.
import { MathUtils, Vector3 } from "three";

const { degToRad, clamp } = MathUtils;
const STEEPEST_DEG = 89.9;
const TURN_DEG_PER_PX = 0.32;
const MOVE_MS = 900;
const TAP_MS = 60;

const ease = (t) => (t < 0.5 ? 4 * t * t * t : 1 - (-2 * t + 2) ** 3 / 2);

const outward = (pose, into = new Vector3()) => {
  const a = degToRad(pose.azimuth);
  const e = degToRad(pose.elevation);
  return into.set(Math.cos(e) * Math.sin(a), Math.sin(e), Math.cos(e) * Math.cos(a));
};

/** Puts a camera where a pose says. */
export function place(camera, pose) {
  camera.position.copy(outward(pose)).multiplyScalar(pose.distance).add(pose.target);
  camera.up.set(0, 1, 0);
  camera.fov = pose.fov;
  camera.near = Math.max(0.02, pose.distance - 40 - pose.distance * 0.2);
  camera.far = pose.distance + 60;
  camera.lookAt(pose.target);
  camera.updateProjectionMatrix();
  camera.updateMatrixWorld();
}

/** The pose with this direction and angle of view from which all `points` just fit in the picture. */
export function fitting(points, azimuth, elevation, fov, aspect, spare = 1.06) {
  const pose = { azimuth, elevation, fov, target: new Vector3(), distance: 1 };
  const back = outward(pose);
  const right = new Vector3(Math.cos(degToRad(azimuth)), 0, -Math.sin(degToRad(azimuth)));
  const up = new Vector3().crossVectors(back, right);
  const tall = Math.tan(degToRad(fov) / 2) / spare;
  const wide = tall * aspect;
  for (const p of points) pose.target.addScaledVector(p, 1 / points.length);
  // the middle of the picture is not the middle of the room in perspective: shift until it is
  for (let round = 0; round < 4; round++) {
    const seen = points.map((p) => {
      const from = p.clone().sub(pose.target);
      return { r: from.dot(right), u: from.dot(up), t: from.dot(back) };
    });
    pose.distance = Math.max(...seen.map((s) => Math.max(Math.abs(s.r) / wide, Math.abs(s.u) / tall) + s.t));
    const xs = seen.map((s) => s.r / (pose.distance - s.t));
    const ys = seen.map((s) => s.u / (pose.distance - s.t));
    pose.target.addScaledVector(right, ((Math.max(...xs) + Math.min(...xs)) / 2) * pose.distance);
    pose.target.addScaledVector(up, ((Math.max(...ys) + Math.min(...ys)) / 2) * pose.distance);
  }
  return pose;
}

/** The pose of an eye at `eye` that looks at `target`. */
export function lookingFrom(eye, target, fov) {
  const back = eye.clone().sub(target);
  const distance = Math.max(back.length(), 0.05);
  return {
    azimuth: MathUtils.radToDeg(Math.atan2(back.x, back.z)),
    elevation: clamp(MathUtils.radToDeg(Math.asin(back.y / distance)), -STEEPEST_DEG, STEEPEST_DEG),
    distance,
    fov,
    target: target.clone(),
  };
}

/**
 * The eye: `pose` now, moved by hand or by `go(pose)`. `changed` is called whenever the picture has to
 * be drawn again; `step(ms)` is to be called before each frame and tells whether the eye still moves. Where
 * `scrolls()`, as on a phone, one finger moves the page and two turn the room.
 */
export function createEye(element, start, { changed, quiet, pickUp, reach, scrolls = () => false }) {
  const pose = { ...start, target: start.target.clone() };
  const held = new Set();
  const pointers = new Map();
  let move = null;
  let spin = { azimuth: 0, elevation: 0 };
  let pinch = 0;
  let carried = null;

  const byHand = () => {
    move = null;
    changed("hand");
  };
  const turn = (right, up) => {
    pose.azimuth -= right;
    pose.elevation = clamp(pose.elevation + up, -STEEPEST_DEG, STEEPEST_DEG);
    byHand();
  };
  const zoom = (factor) => {
    pose.distance = clamp(pose.distance * factor, 0.3, reach * 40);
    byHand();
  };
  const slide = (right, up) => {
    const perPx = (2 * pose.distance * Math.tan(degToRad(pose.fov) / 2)) / element.clientHeight;
    const a = degToRad(pose.azimuth);
    const back = outward(pose);
    const across = new Vector3(Math.cos(a), 0, -Math.sin(a));
    pose.target.addScaledVector(across, -right * perPx);
    pose.target.addScaledVector(new Vector3().crossVectors(back, across), up * perPx);
    pose.target.clampLength(0, reach * 4);
    byHand();
  };

  element.addEventListener("pointerdown", (event) => {
    element.setPointerCapture(event.pointerId);
    pointers.set(event.pointerId, { x: event.clientX, y: event.clientY, far: 0 });
    spin = { azimuth: 0, elevation: 0 };
    pinch = 0;
    // live: an array may be taken hold of instead of the room
    carried = pointers.size === 1 && event.button === 0 ? pickUp(event) : null;
  });
  element.addEventListener("pointermove", (event) => {
    const before = pointers.get(event.pointerId);
    if (!before) return;
    const dx = event.clientX - before.x;
    const dy = event.clientY - before.y;
    Object.assign(before, { x: event.clientX, y: event.clientY, far: before.far + Math.hypot(dx, dy) });
    const touched = event.pointerType === "touch" && scrolls();
    if (carried) {
      carried.move(event);
    } else if (touched && pointers.size === 1) {
      // the page's to scroll
    } else if (touched && pointers.size === 2) {
      const [a, b] = [...pointers.values()];
      const apart = Math.hypot(a.x - b.x, a.y - b.y);
      if (pinch) zoom(pinch / apart);
      pinch = apart;
      turn((dx / 2) * TURN_DEG_PER_PX, (dy / 2) * TURN_DEG_PER_PX);
    } else if (pointers.size === 2) {
      const [a, b] = [...pointers.values()];
      const apart = Math.hypot(a.x - b.x, a.y - b.y);
      if (pinch) zoom(pinch / apart);
      pinch = apart;
      slide(dx / 2, dy / 2);
    } else if (event.shiftKey || event.buttons & 2 || event.buttons & 4) {
      slide(dx, dy);
    } else {
      spin = { azimuth: dx * TURN_DEG_PER_PX, elevation: dy * TURN_DEG_PER_PX };
      turn(spin.azimuth, spin.elevation);
    }
  });
  // two fingers are for the room, also where one scrolls
  element.addEventListener("touchmove", (event) => event.touches.length > 1 && event.preventDefault(), { passive: false });
  const lift = (event) => {
    const pointer = pointers.get(event.pointerId);
    if (!pointer) return;
    pointers.delete(event.pointerId);
    pinch = 0;
    if (carried) carried.drop(event);
    else if (event.type === "pointerup" && pointer.far < 5) element.dispatchEvent(new CustomEvent("tap", { detail: event }));
    carried = null;
    if (quiet()) spin = { azimuth: 0, elevation: 0 };
    changed("let go");
  };
  element.addEventListener("pointerup", lift);
  element.addEventListener("pointercancel", lift);
  element.addEventListener("contextmenu", (event) => event.preventDefault());
  element.addEventListener(
    "wheel",
    (event) => {
      event.preventDefault();
      zoom(Math.exp(clamp(event.deltaY * (event.deltaMode ? 16 : 1), -120, 120) * 0.0016));
    },
    { passive: false },
  );

  const TURN_KEYS = { ArrowLeft: [1, 0], ArrowRight: [-1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
  element.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.key in TURN_KEYS || "+=-_".includes(event.key)) {
      event.preventDefault();
      held.add(event.shiftKey && event.key in TURN_KEYS ? `slide ${event.key}` : event.key);
      // a key that is only tapped is up again before the next frame, and has to do something too
      if (!event.repeat) turnHeld(TAP_MS);
      byHand();
    }
  });
  element.addEventListener("keyup", (event) => {
    held.delete(event.key);
    held.delete(`slide ${event.key}`);
    changed("let go");
  });
  element.addEventListener("blur", () => held.clear());

  const turnHeld = (ms) => {
    for (const key of held) {
      const slid = key.startsWith("slide ");
      const way = TURN_KEYS[slid ? key.slice(6) : key];
      if (way && slid) slide(way[0] * ms * 0.3, way[1] * ms * 0.3);
      else if (way) turn(way[0] * ms * 0.06, way[1] * ms * 0.06);
      else zoom(Math.exp(("+=".includes(key) ? -1 : 1) * ms * 0.0012));
    }
  };

  return {
    pose,
    get moving() {
      return !!move || held.size > 0 || pointers.size > 0 || Math.abs(spin.azimuth) + Math.abs(spin.elevation) > 0.02;
    },
    step(ms) {
      if (move) {
        const t = Math.min(1, (move.spent += ms) / move.lasts);
        const k = ease(t);
        for (const key of ["azimuth", "elevation"]) pose[key] = move.from[key] + (move.to[key] - move.from[key]) * k;
        // distance and angle of view together keep the room the same size on the way into a parallel view
        const size = (p) => p.distance * Math.tan(degToRad(p.fov) / 2);
        pose.fov = move.from.fov * (move.to.fov / move.from.fov) ** k;
        pose.distance = (size(move.from) * (size(move.to) / size(move.from)) ** k) / Math.tan(degToRad(pose.fov) / 2);
        pose.target.lerpVectors(move.from.target, move.to.target, k);
        if (t === 1) move = null;
      } else if (held.size) {
        turnHeld(Math.min(ms, 60));
      } else if (!pointers.size && Math.abs(spin.azimuth) + Math.abs(spin.elevation) > 0.02) {
        turn(spin.azimuth, spin.elevation);
        const fade = Math.exp(-ms / 110);
        spin = { azimuth: spin.azimuth * fade, elevation: spin.elevation * fade };
      }
      return this.moving;
    },
    go(to, { at_once = quiet() } = {}) {
      spin = { azimuth: 0, elevation: 0 };
      const from = { ...pose, target: pose.target.clone() };
      // the short way round
      from.azimuth = to.azimuth + (((((from.azimuth - to.azimuth) % 360) + 540) % 360) - 180);
      move = { from, to, spent: at_once ? MOVE_MS : 0, lasts: MOVE_MS };
      if (at_once) this.step(0);
      changed("go");
    },
  };
}
