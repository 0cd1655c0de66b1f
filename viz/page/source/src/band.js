// The band's solid: swept from the outline the page carries, cut off at the room's surfaces by the
// shader, so that moving the array moves the band and nothing has to be computed again.
import { BufferGeometry, Color, DoubleSide, Float32BufferAttribute, Group, LatheGeometry, LineLoop, Mesh, ShaderMaterial, Vector2 } from "three";

const AROUND = 96;

const vertexShader = /* glsl */ `
varying vec3 place;
varying vec3 away;
varying vec3 toEye;
void main() {
  vec4 world = modelMatrix * vec4(position, 1.0);
  place = world.xyz;
  away = normalize(mat3(modelMatrix) * normal);
  toEye = normalize(cameraPosition - world.xyz);
  gl_Position = projectionMatrix * viewMatrix * world;
}`;

const fragmentShader = (corners, line) => /* glsl */ `
uniform vec2 outline[${corners}];
uniform vec3 color;
uniform float ceiling;
uniform float mouth;
uniform float strength;
varying vec3 place;
varying vec3 away;
varying vec3 toEye;
bool inRoom(vec2 p) {
  bool inside = false;
  vec2 b = outline[${corners - 1}];
  for (int i = 0; i < ${corners}; i++) {
    vec2 a = outline[i];
    if ((a.y > p.y) != (b.y > p.y) && p.x < (b.x - a.x) * (p.y - a.y) / (b.y - a.y) + a.x) inside = !inside;
    b = a;
  }
  return inside;
}
void main() {
  if (place.y < 0.004 || place.y > ceiling - 0.004 || !inRoom(vec2(place.x, -place.z))) discard;
  ${
    line
      ? "float alpha = 0.55;"
      : `float grazing = 1.0 - abs(dot(normalize(away), normalize(toEye)));
  float alpha = 0.055 + 0.2 * grazing * grazing * grazing;
  float steps = abs(place.y - mouth) / max(fwidth(place.y), 1e-5);
  alpha = max(alpha, 0.75 * (1.0 - smoothstep(0.7, 1.6, steps)));`
  }
  gl_FragColor = vec4(color, alpha * strength);
  #include <colorspace_fragment>
}`;

/** What the shader needs to know of the room; shared by every band in it. */
export function createBandMaterials(room, mouth_m, colour) {
  const uniforms = {
    outline: { value: room.outline_m.map(([x, y]) => new Vector2(x, y)) },
    color: { value: new Color(colour) },
    ceiling: { value: room.ceiling_m },
    mouth: { value: mouth_m },
    strength: { value: 1 },
  };
  const make = (line) =>
    new ShaderMaterial({
      uniforms,
      vertexShader,
      fragmentShader: fragmentShader(room.outline_m.length, line),
      transparent: true,
      depthWrite: false,
      side: DoubleSide,
    });
  return { solid: make(false), line: make(true), uniforms };
}

/** A group, centred on the acoustic centre, that shows the solid whose sides are `sides` ([[r, z], ...] each). */
export function createBand(sides, materials) {
  const group = new Group();
  for (const side of sides) {
    const mesh = new Mesh(new LatheGeometry(side.map(([r, z]) => new Vector2(Math.max(r, 0), z)), AROUND), materials.solid);
    mesh.renderOrder = 5;
    group.add(mesh);
  }
  for (const [r, z] of sides.map((side) => side[0])) {
    if (r < 1e-6) continue;
    const ring = [];
    for (let i = 0; i < AROUND * 2; i++) {
      const turn = (i / (AROUND * 2)) * 2 * Math.PI;
      ring.push(r * Math.cos(turn), z, r * Math.sin(turn));
    }
    const geometry = new BufferGeometry().setAttribute("position", new Float32BufferAttribute(ring, 3));
    const line = new LineLoop(geometry, materials.line);
    line.renderOrder = 6;
    group.add(line);
  }
  return group;
}
