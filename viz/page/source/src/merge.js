// Many small props, few big draws. A draw call costs a processor without a graphics card about as much
// as a thousand triangles, so what is always shown or hidden together is drawn as one thing, with its
// colours on its points. The light stands still and so does the room, so the light is worked out once, at the points,
// not in every pixel of every frame.
import { AlwaysStencilFunc, BufferAttribute, BufferGeometry, Color, Float32BufferAttribute, LineBasicMaterial, LineSegments, Mesh, MeshBasicMaterial, ReplaceStencilOp, ShaderMaterial, Vector3, Vector4 } from "three";

const SUN = new Vector3(-0.55, 0.78, 0.3).normalize();
const FILL = new Vector3(0.75, 0.25, -0.6).normalize();
const RIM = 0.35;
const CHAIR_PARTS = new Set(["chair", "base"]);

/** How much light a surface gets that looks along `way` at height `y`: a bright sky, a soft sun, a floor that gives some back. */
function light(way, y) {
  const sky = 0.5 + 0.5 * way.y;
  const low = Math.min(Math.max(y / 0.6, 0), 1);
  return (0.86 * (0.6 + 0.36 * sky) * (0.8 + 0.2 * low) + 0.36 * Math.max(way.dot(SUN), 0) + 0.06 * Math.max(way.dot(FILL), 0));
}

// Where a surface turns away from the eye it is darker: an inked edge that costs no pixel.
const vertexShader = /* glsl */ `
attribute vec4 color;
attribute float bright;
uniform float rim;
varying vec3 shade;
varying vec3 place;
varying float level;
void main() {
  vec4 world = modelMatrix * vec4(position, 1.0);
  vec3 way = normalize(mat3(modelMatrix) * normal);
  float turned = 1.0 - abs(dot(way, normalize(cameraPosition - world.xyz)));
  shade = color.rgb * bright * (1.0 - rim * turned * turned * turned);
  place = world.xyz;
  level = way.y;
  gl_Position = projectionMatrix * viewMatrix * world;
}`;
const plainFragment = /* glsl */ `
varying vec3 shade;
void main() {
  gl_FragColor = vec4(shade, 1.0);
  #include <colorspace_fragment>
}`;
// What lies in the listening zone is tinted, what is in its hollow stays as it is, with a lit edge between.
const tintedFragment = (count) => /* glsl */ `
uniform vec3 centres[${count}];
uniform vec4 sides[${count}];
uniform vec3 zone;
uniform float tinted;
varying vec3 shade;
varying vec3 place;
varying float level;
void main() {
  vec3 seen = shade;
  if (tinted > 0.0 && level > 0.5) {
    float inside = 0.0;
    float edge = 0.0;
    for (int i = 0; i < ${count}; i++) {
      vec3 away = place - centres[i];
      float drop = -away.y;
      if (drop <= 0.0) continue;
      float range = length(away.xz);
      float outer = min(drop / max(sides[i].x, 1e-4), sqrt(max(sides[i].w * sides[i].w - drop * drop, 0.0)));
      float inner = max(drop / sides[i].y, sqrt(max(sides[i].z * sides[i].z - drop * drop, 0.0)));
      if (outer <= inner) continue;
      float px = max(fwidth(range), 1e-4);
      inside = max(inside, smoothstep(-px, px, min(range - inner, outer - range)));
      float off = min(abs(range - inner), abs(range - outer));
      edge = max(edge, 1.0 - smoothstep(0.010, 0.010 + max(px, 0.006), off));
    }
    seen *= mix(vec3(1.0), vec3(0.56, 0.72, 1.22), 0.7 * inside * tinted);
    seen = mix(seen, zone, 0.9 * edge * tinted);
  }
  gl_FragColor = vec4(seen, 1.0);
  #include <colorspace_fragment>
}`;

/** The looks of a room's things: plain, of people (who leave their mark for films to spare them), and of tables. */
export function createLooks(arrays, zone) {
  const make = (rim, more = {}) => new ShaderMaterial({ uniforms: { rim: { value: rim }, ...more.uniforms }, vertexShader, fragmentShader: more.fragmentShader ?? plainFragment, ...more.options });
  const flat = new Map();
  const count = Math.max(arrays, 1);
  const tables = make(RIM, {
    uniforms: {
      centres: { value: Array.from({ length: count }, () => new Vector3(0, -1, 0)) },
      sides: { value: Array.from({ length: count }, () => new Vector4(1, 1, 0, 0)) },
      zone: { value: new Color(zone) },
      tinted: { value: 1 },
    },
    fragmentShader: tintedFragment(count),
  });
  return {
    tables,
    shell: make(0),
    things: make(RIM),
    people: make(RIM, { options: { stencilWrite: true, stencilRef: 1, stencilFunc: AlwaysStencilFunc, stencilZPass: ReplaceStencilOp } }),
    flat(stroke, clear) {
      const key = `${stroke} ${clear}`;
      if (!flat.has(key)) flat.set(key, new (stroke ? LineBasicMaterial : MeshBasicMaterial)({ vertexColors: true, transparent: clear, depthWrite: !clear }));
      return flat.get(key);
    },
  };
}

const ROUNDED = new Set(["people", "arrays", "tables"]);
const partOf = ({ id, about }) => (about && id.startsWith(`${about}/`) ? id.slice(about.length + 1) : id);

/** Which of the looks a part of a layer has. */
function lookOf(looks, layer, part, stroke, clear) {
  if (stroke || clear) return looks.flat(stroke, clear);
  if (layer === "tables") return looks.tables;
  if (layer === "people" && !CHAIR_PARTS.has(part)) return looks.people;
  return ROUNDED.has(layer) ? looks.things : looks.shell;
}

/** Mesh and stroke parts of loaded nodes -> one object for each kind of look there is among them. */
export function merged(nodes, looks) {
  const piles = new Map();
  for (const node of nodes) {
    node.updateMatrixWorld(true);
    const part = partOf(node.userData);
    node.traverse((one) => {
      if (!one.isMesh && !one.isLine) return;
      const fading = !!one.geometry.attributes.color;
      const clear = one.material.opacity < 1 || fading;
      const material = lookOf(looks, node.userData.layer, part, !!one.isLine, clear);
      const key = `${material.uuid} ${fading}`;
      if (!piles.has(key)) piles.set(key, { material, stroke: !!one.isLine, lit: !fading, parts: [] });
      piles.get(key).parts.push({ name: part, about: node.userData.about ?? "", part: one });
    });
  }
  return [...piles.values()].map((pile) => {
    const object = new (pile.stroke ? LineSegments : Mesh)(joined(pile), pile.material);
    if (!pile.lit) object.renderOrder = -1;
    return object;
  });
}

function joined({ parts, stroke, lit }) {
  let points = 0;
  let corners = 0;
  for (const { part } of parts) {
    points += part.geometry.attributes.position.count;
    corners += part.geometry.index.count;
  }
  const position = new Float32Array(points * 3);
  const normal = new Int8Array(points * 4);
  const colour = new Float32Array(points * 4);
  const bright = new Float32Array(points);
  const index = new Uint32Array(corners);
  const runs = [];
  const v = new Vector3();
  let at = 0;
  let corner = 0;
  for (const { name, about, part } of parts) {
    const { geometry, matrixWorld, material } = part;
    const { position: places, normal: ways, color: fade } = geometry.attributes;
    for (let i = 0; i < places.count; i++) {
      const k = at + i;
      v.fromBufferAttribute(places, i).applyMatrix4(matrixWorld).toArray(position, k * 3);
      bright[k] = 1;
      if (!stroke && lit) {
        v.fromBufferAttribute(ways, i).transformDirection(matrixWorld);
        for (const [j, way] of v.toArray().entries()) normal[k * 4 + j] = Math.round(127 * way);
        bright[k] = light(v, position[k * 3 + 1]);
      }
      for (const [j, tone] of material.color.toArray().entries()) colour[k * 4 + j] = tone;
      colour[k * 4 + 3] = material.opacity * (fade ? fade.getW(i) : 1);
    }
    for (let i = 0; i < geometry.index.count; i++) index[corner++] = at + geometry.index.getX(i);
    runs.push({ name, about, from: at, to: at + places.count });
    at += places.count;
  }
  const whole = new BufferGeometry();
  whole.setAttribute("position", new Float32BufferAttribute(position, 3));
  whole.setAttribute("color", new Float32BufferAttribute(colour, 4));
  if (!stroke && lit) {
    whole.setAttribute("normal", new BufferAttribute(normal, 4, true));
    whole.setAttribute("bright", new Float32BufferAttribute(bright, 1));
  }
  whole.setIndex(new BufferAttribute(index, 1));
  whole.userData.runs = runs;
  return whole;
}

/** Paints the parts of a merged object anew: `colours` by the parts' names. */
export function repaint(object, about, colours) {
  const colour = object.geometry.attributes.color;
  for (const { name, about: whose, from, to } of object.geometry.userData.runs) {
    if (whose !== about || !colours[name]) continue;
    const { r, g, b } = colours[name];
    for (let i = from; i < to; i++) colour.setXYZ(i, r, g, b);
    colour.needsUpdate = true;
  }
}
