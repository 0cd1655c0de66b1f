// Strokes as tubes of three sides, as wide as so many pixels wherever they are seen; zone.js has the shader.
import { BufferGeometry, Float32BufferAttribute, Vector3 } from "three";

const SIDES = 3;

/** Paths ({points, px, tone, alpha, lift}) -> one geometry. */
export function pathsOf(paths) {
  const [position, way, px, tone, lift, index] = [[], [], [], [], [], []];
  const [along, across, up, out] = [0, 1, 2, 3].map(() => new Vector3());
  for (const { points, px: wide, tone: colour, alpha = 1, lift: raised = 0 } of paths) {
    const round = points.length > 2 && points[0].distanceTo(points.at(-1)) < 1e-6;
    points.forEach((point, i) => {
      const before = points[i ? i - 1 : round ? points.length - 2 : 0];
      const after = points[i < points.length - 1 ? i + 1 : round ? 1 : i];
      along.subVectors(after, before).normalize();
      across.set(0, 1, 0).cross(along);
      if (across.lengthSq() < 1e-6) across.set(1, 0, 0).cross(along);
      across.normalize();
      up.crossVectors(along, across);
      for (let k = 0; k < SIDES; k++) {
        const turn = (k / SIDES) * 2 * Math.PI + Math.PI / 2;
        out.copy(across).multiplyScalar(Math.cos(turn)).addScaledVector(up, Math.sin(turn));
        position.push(point.x, point.y, point.z);
        way.push(out.x, out.y, out.z);
        px.push(wide * 1.15); // a three-sided tube is a little narrower than round
        tone.push(colour.r, colour.g, colour.b, alpha);
        lift.push(raised);
        if (i) {
          const here = position.length / 3 - 1 - k;
          const [a, b] = [here + k, here + ((k + 1) % SIDES)];
          index.push(a, b, a - SIDES, b, b - SIDES, a - SIDES);
        }
      }
    });
  }
  const made = new BufferGeometry();
  const set = (name, values, size) => made.setAttribute(name, new Float32BufferAttribute(values, size));
  set("position", position, 3);
  set("way", way, 3);
  set("px", px, 1);
  set("tone", tone, 4);
  set("lift", lift, 1);
  return made.setIndex(index);
}
