// The band's solid: swept from the outline the page carries, cut off at the room's surfaces by the
// shader, so that moving the array moves the band and nothing has to be computed again.
import { BufferGeometry, Color, DoubleSide, Float32BufferAttribute, Group, LatheGeometry, LineLoop, Mesh, RingGeometry, ShaderMaterial, Vector2, Vector3 } from "three";

const AROUND = 80;

// All that can be is worked out at the points: without a graphics card pixels are what costs.
const vertexShader = /* glsl */ `
uniform float strength;
varying vec3 place;
varying float alpha;
void main() {
  vec4 world = modelMatrix * vec4(position, 1.0);
  place = world.xyz;
  ALPHA
  alpha *= strength;
  gl_Position = projectionMatrix * viewMatrix * world;
}`;

// The cone shows where it is seen along its side; rings at the level of the mouths, and edges, are even.
const ALPHA = {
  solid: `float grazing = 1.0 - abs(dot(normalize(mat3(modelMatrix) * normal), normalize(cameraPosition - place)));
  alpha = 0.07 + 0.22 * grazing * grazing;`,
  ring: "alpha = 0.2;",
  line: "alpha = 0.6;",
};

// A wall of a room without inner corners is one plane to be in front of; other rooms count crossings.
const inFront = (count) => /* glsl */ `
uniform vec3 walls[${count}];
bool inRoom(vec3 p) {
  float least = walls[0].x * p.x + walls[0].y * p.z + walls[0].z;
  ${Array.from({ length: count - 1 }, (_, i) => `least = min(least, walls[${i + 1}].x * p.x + walls[${i + 1}].y * p.z + walls[${i + 1}].z);`).join("\n  ")}
  return least >= 0.0;
}`;
const crossings = (count) => /* glsl */ `
uniform vec3 walls[${count}];
bool inRoom(vec3 p) {
  bool inside = false;
  vec2 b = walls[${count - 1}].xy;
  for (int i = 0; i < ${count}; i++) {
    vec2 a = walls[i].xy;
    if ((a.y > p.z) != (b.y > p.z) && p.x < (b.x - a.x) * (p.z - a.y) / (b.y - a.y) + a.x) inside = !inside;
    b = a;
  }
  return inside;
}`;

const fragmentShader = (room) => /* glsl */ `
uniform vec3 color;
uniform float ceiling;
varying vec3 place;
varying float alpha;
${room}
void main() {
  if (place.y < 0.004 || place.y > ceiling - 0.004 || !inRoom(place)) discard;
  gl_FragColor = vec4(color, alpha);
  #include <colorspace_fragment>
}`;

/** Corners in three's level plane, anticlockwise on plan, and whether none of them points inwards. */
function cornersOf(outline_m) {
  const turn = (i) => {
    const [a, b, c] = [0, 1, 2].map((k) => outline_m[(i + k) % outline_m.length]);
    return (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0]);
  };
  const area = outline_m.reduce((sum, [x, y], i) => {
    const [u, v] = outline_m[(i + 1) % outline_m.length];
    return sum + x * v - u * y;
  }, 0);
  const outline = area > 0 ? outline_m : [...outline_m].reverse();
  const convex = outline_m.every((_, i) => turn(i) * area >= -1e-9);
  return { outline, convex };
}

/** What the shader needs to know of the room; shared by every band in it. */
export function createBandMaterials(room, colours) {
  const { outline, convex } = cornersOf(room.outline_m);
  const walls = outline.map(([x, y], i) => {
    if (!convex) return new Vector3(x, -y, 0);
    const [u, v] = outline[(i + 1) % outline.length];
    const length = Math.hypot(u - x, v - y);
    // inwards of an edge that runs anticlockwise on plan, with z = -y
    const [across, back] = [-(v - y) / length, -(u - x) / length];
    return new Vector3(across, back, -(across * x - back * y));
  });
  const shared = { walls: { value: walls }, ceiling: { value: room.ceiling_m }, strength: { value: 1 } };
  const inside = (convex ? inFront : crossings)(walls.length);
  const make = (kind, colour) =>
    new ShaderMaterial({
      uniforms: { ...shared, color: { value: new Color(colour) } },
      vertexShader: vertexShader.replace("ALPHA", ALPHA[kind]),
      fragmentShader: fragmentShader(inside),
      transparent: true,
      depthWrite: false,
      side: DoubleSide,
    });
  return { solid: make("solid", colours.band), ring: make("ring", colours.band), line: make("line", colours.band_edge), uniforms: shared };
}

/** A group, centred on the acoustic centre, that shows the solid whose sides are `sides` ([[r, z], ...] each). */
export function createBand(sides, materials) {
  const group = new Group();
  for (const side of sides) {
    const mesh = new Mesh(new LatheGeometry(side.map(([r, z]) => new Vector2(Math.max(r, 0), z)), AROUND), materials.solid);
    mesh.renderOrder = 5;
    group.add(mesh);
  }
  for (const [r, z] of sides.map((side) => side[0])) group.add(circle(r, z, materials.line));
  return group;
}

function circle(radius, z, material) {
  const points = [];
  for (let i = 0; i < AROUND * 2; i++) {
    const turn = (i / (AROUND * 2)) * 2 * Math.PI;
    points.push(radius * Math.cos(turn), z, radius * Math.sin(turn));
  }
  const line = new LineLoop(new BufferGeometry().setAttribute("position", new Float32BufferAttribute(points, 3)), material);
  line.renderOrder = 6;
  return line;
}

/** Puts into `group` where the band meets the level of the mouths: `rings` are [level, inner, outer]. */
export function showRings(group, centre, rings, materials) {
  for (const part of group.children) part.geometry.dispose();
  group.clear();
  group.position.set(centre.x, 0, centre.z);
  for (const [level, inner, outer] of rings ?? []) {
    const flat = new Mesh(new RingGeometry(inner, outer, AROUND, 1).rotateX(-Math.PI / 2).translate(0, level, 0), materials.ring);
    flat.renderOrder = 4;
    group.add(flat, circle(outer, level, materials.line));
    if (inner > 0.005) group.add(circle(inner, level, materials.line));
  }
}
