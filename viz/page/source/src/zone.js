// The listening zone, cut open towards the viewer: the rear of it stands, what is in front of the array is taken away,
// and the cut turns with the eye. What goes all round, the rings at the height of mouths, stays whole. Everything is
// made from the outline that the page carries and cut off at the room's surfaces by the shader, so that moving the
// array moves the zone and nothing is computed again.
import { BufferGeometry, Color, DoubleSide, EqualStencilFunc, Float32BufferAttribute, Group, KeepStencilOp, Mesh, NotEqualStencilFunc, RingGeometry, ShaderMaterial, Vector2, Vector3 } from "three";
import { pathsOf } from "./strokes.js";

const AROUND = 72;
const ROWS = 10; // of points along a side: films fade from one to the next
const CLOSES_DEG = [50, 70]; // as the eye rises the opening closes: from above the rings say it all
const OVER_PEOPLE = 0.35;

// All that can be is worked out at the points: without a graphics card pixels are what costs.
// A swept side has at each point its radius, its height and how far round it is of what stands: the shader bends it to
// the opening, so that nothing is drawn that is taken away.
const filmVertex = (swept) => /* glsl */ `
attribute vec3 strengths;
attribute vec3 tone;
uniform float strength;
uniform float table;
uniform vec3 centre;
uniform float facing;
uniform float half_open;
varying vec3 place;
varying vec4 film;
void main() {
  ${
    swept
      ? `float turn = facing + half_open + position.z * (6.2831853 - 2.0 * half_open);
  vec2 out_there = vec2(cos(turn), sin(turn));
  vec4 world = modelMatrix * vec4(position.x * out_there.x, position.y, position.x * out_there.y, 1.0);
  vec3 looks = vec3(normal.x * out_there.x, normal.y, normal.x * out_there.y);`
      : `vec4 world = modelMatrix * vec4(position, 1.0);
  vec3 looks = mat3(modelMatrix) * normal;`
  }
  place = world.xyz;
  float grazing = 1.0 - abs(dot(normalize(looks), normalize(cameraPosition - place)));
  float far = smoothstep(0.6, 2.6, length(world.xyz - centre));
  float alpha = strengths.x * (1.0 - strengths.y * far) + strengths.z * grazing * grazing * grazing;
  film = vec4(tone, alpha * strength * smoothstep(table - 0.4, table + 0.02, world.y));
  gl_Position = projectionMatrix * viewMatrix * world;
}`;

// A stroke as wide as so many pixels, wherever it is: a tube of three sides, widened with its distance.
const strokeVertex = /* glsl */ `
attribute vec3 way;
attribute float px;
attribute vec4 tone;
attribute float lift;
uniform float pixel;
uniform float table;
uniform vec3 centre;
varying vec3 place;
varying vec4 film;
varying vec2 away;
void main() {
  vec4 world = modelMatrix * vec4(position, 1.0);
  away = world.xz - centre.xz;
  place = world.xyz;
  float depth = -(viewMatrix * world).z;
  world.xyz += mat3(modelMatrix) * way * (0.5 * px * pixel * depth);
  film = vec4(tone.rgb, tone.a * smoothstep(table - 0.4, table + 0.02, world.y));
  gl_Position = projectionMatrix * viewMatrix * world;
  gl_Position.z -= lift * gl_Position.w;
}`;

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

const fragmentShader = (room, cut) => /* glsl */ `
uniform float ceiling;
uniform float weight;
varying vec3 place;
varying vec4 film;
${cut ? "uniform vec2 open;\nuniform float closed;\nvarying vec2 away;" : ""}
${room}
void main() {
  if (place.y < 0.004 || place.y > ceiling - 0.004 || !inRoom(place)) discard;
  ${cut ? "if (dot(away, open) > closed * length(away)) discard;" : ""}
  gl_FragColor = vec4(film.rgb, film.a * weight);
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

/** What the shaders need to know of the room, and `look`, how the zone is drawn; shared by every zone in it. */
export function createZoneLook(room, colours, look, slow) {
  const { outline, convex } = cornersOf(room.outline_m);
  const walls = outline.map(([x, y], i) => {
    if (!convex) return new Vector3(x, -y, 0);
    const [u, v] = outline[(i + 1) % outline.length];
    const length = Math.hypot(u - x, v - y);
    // inwards of an edge that runs anticlockwise on plan, with z = -y
    const [across, back] = [-(v - y) / length, -(u - x) / length];
    return new Vector3(across, back, -(across * x - back * y));
  });
  const uniforms = { walls: { value: walls }, ceiling: { value: room.ceiling_m }, table: { value: room.table_m }, pixel: { value: 0.001 } };
  const inside = (convex ? inFront : crossings)(walls.length);
  const tones = Object.fromEntries(["zone", "zone_inner", "zone_near", "zone_line"].map((name) => [name, new Color(colours[name])]));
  return { ...look, uniforms, inside, tones, slow, table_m: room.table_m };
}

/** A zone: what is to be drawn for one array, told its sides, its place and from where it is looked at. */
export function createZone(look) {
  const { tones } = look;
  const uniforms = { ...look.uniforms, centre: { value: new Vector3() }, open: { value: new Vector2(0, 1) }, closed: { value: -0.139 }, facing: { value: 0 }, half_open: { value: 0 }, strength: { value: 1 } };
  const material = (vertexShader, cut, more = {}) => {
    const { weight = 1, ...options } = more;
    return new ShaderMaterial({ uniforms: { ...uniforms, weight: { value: weight } }, vertexShader, fragmentShader: fragmentShader(look.inside, cut), transparent: true, depthWrite: false, ...options });
  };
  // a film hardly veils people: over them it is drawn with a part of its strength
  const films = (swept) =>
    [NotEqualStencilFunc, EqualStencilFunc].map((stencilFunc, over) =>
      material(filmVertex(swept), false, { side: DoubleSide, weight: over ? OVER_PEOPLE : 1, stencilWrite: true, stencilWriteMask: 0, stencilRef: 1, stencilFunc, stencilFail: KeepStencilOp, stencilZFail: KeepStencilOp, stencilZPass: KeepStencilOp }),
    );
  const [shellFilms, faceFilms, plane] = [films(true), films(false), material(filmVertex(false), false, { side: DoubleSide })];
  const [cutStroke, stroke] = [material(strokeVertex, true), material(strokeVertex, false)];
  const group = new Group();
  const shells = new Group();
  const faces = [new Group(), new Group()];
  const lines = new Group();
  const rings = new Group();
  group.add(shells, ...faces, lines);
  let profile;

  const add = (parent, geometry, materials, order) => {
    for (const one of [materials].flat()) {
      const mesh = new Mesh(geometry, one);
      mesh.renderOrder = order;
      mesh.frustumCulled = false; // where it is, its shader says
      parent.add(mesh);
    }
  };
  const clear = (parent) => {
    for (const part of parent.children) part.geometry.dispose();
    parent.clear();
  };

  /** The solid whose section has these sides: far, steep, near and shallow, [[r, z], ...] each. */
  function shape(sides) {
    profile = profileOf(sides);
    for (const parent of [shells, ...faces]) clear(parent);
    const { far, steep, near, shallow } = profile;
    const swept = [
      [far, tones.zone, look.films.far],
      [shallow, tones.zone, look.films.outer],
      [steep, tones.zone_inner, look.films.inner],
      [near, tones.zone_near, look.films.near],
    ];
    add(shells, joined(swept.map(([side, tone, strengths]) => sweep(side, tone, strengths))), shellFilms, 5);
    for (const face of faces) {
      add(face, section(profile, tones.zone, look.films.face), faceFilms, 5);
      const { edge_m } = profile;
      const rays = [far[0], far.at(-1)].map(([r, z]) => dashed([[0, 0], [r * edge_m, z * edge_m]], 0.04));
      const outline = [...far, ...steep.slice(1), ...near.slice(1), ...shallow.slice(1)];
      const flat = (points) => points.map(([r, z]) => new Vector3(r, z, 0));
      const strokes = [{ points: flat(outline), px: 2 }, ...rays.flat().map((dash) => ({ points: flat(dash), px: 1.3 }))];
      add(face, pathsOf(strokes.map((one) => ({ tone: tones.zone_line, ...one }))), stroke, 6);
    }
  }

  /** Puts it at `at`, with `levels` [level, inner, outer, dashed] where it meets the height of mouths. */
  function put(at, levels) {
    group.position.copy(at);
    uniforms.centre.value.copy(at);
    clear(lines);
    clear(rings);
    const { far, near, shallow, steep } = profile;
    const circles = [far[0], near[0], near.at(-1)].map(([radius, z]) => ({ points: circle(radius, z), px: radius === far[0][0] ? 1.6 : 1.3 }));
    for (let y = look.table_m + look.level_rings_m; y < at.y; y += look.level_rings_m) {
      for (const [side, alpha, tone] of [[shallow, 0.35, tones.zone], [steep, 0.5, tones.zone_inner]]) {
        const radius = radiusAt(side, y - at.y);
        if (radius > 0.02) circles.push({ points: circle(radius, y - at.y), px: 1, alpha, tone });
      }
    }
    add(lines, pathsOf(circles.map((one) => ({ tone: tones.zone_line, ...one }))), cutStroke, 6);
    rings.position.set(at.x, 0, at.z);
    for (const [level, inner, outer, stands] of levels ?? []) {
      const flat = new RingGeometry(Math.max(inner, 0.001), outer, AROUND, 1).rotateX(-Math.PI / 2).translate(0, level, 0);
      toned(flat, tones.zone, [stands ? 0.04 : 0.08, 0, 0]);
      add(rings, flat, plane, 4);
      const round = [outer, inner].filter((radius) => radius > 0.005).map((radius) => circle(radius, level));
      const paths = stands ? round.flatMap((points) => points.flatMap((_, i) => (i % 4 === 0 && i + 2 < points.length ? [points.slice(i, i + 3)] : []))) : round;
      add(rings, pathsOf(paths.flatMap((points) => [{ points, px: 3.8, tone: tones.zone_line }, { points, px: 1.8, tone: new Color("#ffffff"), lift: 0.0004 }])), stroke, 7);
    }
  }

  const eye = new Vector2();
  /** Opens it towards the eye at `from`; `way` is how much of it there is to see: "open", "half" (a section), "lines" or "rings"; `unfolded` (0 to 1) how far it is open. */
  function face(from, elevation, way, unfolded = 1) {
    eye.set(from.x - group.position.x, from.z - group.position.z);
    if (eye.lengthSq() < 1e-9) eye.set(0, 1);
    eye.normalize();
    const t = Math.min(Math.max((elevation - CLOSES_DEG[0]) / (CLOSES_DEG[1] - CLOSES_DEG[0]), 0), 1);
    const half = ((way === "half" ? 90 : look.open_deg * unfolded * (1 - t * t * (3 - 2 * t))) * Math.PI) / 180;
    uniforms.open.value.copy(eye);
    uniforms.closed.value = Math.cos(half);
    uniforms.facing.value = Math.atan2(eye.y, eye.x);
    uniforms.half_open.value = half;
    const toward = Math.atan2(-eye.y, eye.x);
    faces.forEach((part, i) => {
      part.rotation.y = toward + (i ? half : -half);
      part.visible = way !== "rings" && half > 0.02;
      part.children.forEach((mesh) => (mesh.visible = mesh.material === stroke || way !== "lines"));
    });
    shells.visible = way === "open" || way === "half";
    // without a graphics card no film is drawn over people at all
    for (const mesh of [...shells.children, ...faces.flatMap((part) => part.children)]) if (mesh.material.stencilFunc === EqualStencilFunc) mesh.visible &&= !look.slow;
    lines.visible = way !== "rings";
    plane.uniforms.weight.value = way === "rings" ? 3 : 1;
  }

  return {
    group,
    rings,
    shape,
    put,
    face,
    set strength(value) {
      uniforms.strength.value = value;
    },
  };
}

/** The four sides of a section by name, with points close enough together for films that fade, and how near it begins. */
function profileOf([far, steep, near, shallow]) {
  const fine = (side, count = ROWS) => {
    if (side.length > 2) return side;
    const [[a, b], [c, d]] = [side[0], side.at(-1)];
    return Array.from({ length: count + 1 }, (_, i) => [a + ((c - a) * i) / count, b + ((d - b) * i) / count]);
  };
  const length = ([r, z]) => Math.hypot(r, z);
  return { far, steep: fine(steep), near, shallow: fine(shallow), edge_m: length(near[0]) / length(far[0]) };
}

const radiusAt = (side, z) => {
  for (let i = 1; i < side.length; i++) {
    const [[r, y], [s, x]] = [side[i - 1], side[i]];
    if ((y - z) * (x - z) <= 0 && y !== x) return r + ((s - r) * (z - y)) / (x - y);
  }
  return 0;
};

function circle(radius, y) {
  return Array.from({ length: AROUND + 1 }, (_, i) => {
    const turn = (i / AROUND) * 2 * Math.PI;
    return new Vector3(radius * Math.cos(turn), y, radius * Math.sin(turn));
  });
}

function dashed([[a, b], [c, d]], step) {
  const count = Math.max(1, Math.round(Math.hypot(c - a, d - b) / step / 2));
  return Array.from({ length: count }, (_, i) => [i / count, (i + 0.5) / count].map((t) => [a + (c - a) * t, b + (d - b) * t]));
}

function toned(geometry, tone, strengths) {
  const count = geometry.attributes.position.count;
  const filled = (values) => new Float32BufferAttribute(Array.from({ length: count }, () => values).flat(), 3);
  geometry.setAttribute("tone", filled(tone.toArray()));
  geometry.setAttribute("strengths", filled(strengths));
  return geometry;
}

/** A side swept about the vertical, with the normals that it has exactly: radius, height and share of the way round. */
function sweep(side, tone, strengths) {
  const [positions, normals, index] = [[], [], []];
  for (let j = 0; j <= AROUND; j++) {
    side.forEach(([r, z], i) => {
      const [before, after] = [side[Math.max(i - 1, 0)], side[Math.min(i + 1, side.length - 1)]];
      const [dr, dz] = [after[0] - before[0], after[1] - before[1]];
      const length = Math.hypot(dr, dz) || 1;
      positions.push(r, z, j / AROUND);
      normals.push(-dz / length, dr / length, 0);
      if (j && i) {
        const [a, b] = [j * side.length + i, (j - 1) * side.length + i];
        index.push(a - 1, a, b, a - 1, b, b - 1);
      }
    });
  }
  const made = new BufferGeometry().setAttribute("position", new Float32BufferAttribute(positions, 3));
  made.setAttribute("normal", new Float32BufferAttribute(normals, 3));
  made.setIndex(index);
  return toned(made, tone, strengths);
}

/** One face of the cut: the section as a flat net, so that it can fade along and down. */
function section({ far, edge_m }, tone, strengths) {
  const [positions, index, steps] = [[], [], ROWS];
  far.forEach(([r, z], i) => {
    for (let k = 0; k <= steps; k++) {
      const t = edge_m + ((1 - edge_m) * k) / steps;
      positions.push(r * t, z * t, 0);
      if (i && k) {
        const [a, b] = [i * (steps + 1) + k, (i - 1) * (steps + 1) + k];
        index.push(a - 1, a, b, a - 1, b, b - 1);
      }
    }
  });
  const made = new BufferGeometry().setAttribute("position", new Float32BufferAttribute(positions, 3));
  made.setAttribute("normal", new Float32BufferAttribute(positions.flatMap((_, i) => (i % 3 ? [] : [0, 0, 1])), 3));
  made.setIndex(index);
  return toned(made, tone, strengths);
}

/** Several geometries of the same attributes as one: one draw instead of many. */
function joined(some) {
  const whole = new BufferGeometry();
  for (const name of Object.keys(some[0].attributes)) {
    whole.setAttribute(name, new Float32BufferAttribute(some.flatMap((one) => [...one.attributes[name].array]), 3));
  }
  let start = 0;
  const index = some.flatMap((one) => {
    const shifted = [...one.index.array].map((i) => i + start);
    start += one.attributes.position.count;
    return shifted;
  });
  return whole.setIndex(index);
}
