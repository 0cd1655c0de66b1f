// Many small props, few big draws. A draw call costs a processor without a graphics card about as much
// as a thousand triangles, so what is always shown or hidden together is drawn as one thing, with its
// colours on its points. The light stands still and so does the room, so the light is in those colours
// too: worked out once, not in every pixel of every frame.
import { BufferAttribute, BufferGeometry, Float32BufferAttribute, LineBasicMaterial, LineSegments, Mesh, MeshBasicMaterial, Vector3 } from "three";

const SUN = new Vector3(-0.42, 0.8, 0.52).normalize();
const FILL = new Vector3(0.75, 0.25, -0.6).normalize();

/** How much light a surface gets that looks along `way` at height `y`: a bright sky, a soft sun, a floor that gives some back. */
function light(way, y) {
  const sky = 0.5 + 0.5 * way.y;
  const low = Math.min(Math.max(y / 0.5, 0), 1);
  return (0.6 + 0.17 * sky + 0.24 * Math.max(way.dot(SUN), 0) + 0.1 * Math.max(way.dot(FILL), 0)) * (0.86 + 0.14 * low);
}

const looks = new Map();
function look(stroke, clear) {
  const key = `${stroke} ${clear}`;
  if (!looks.has(key)) {
    const options = { vertexColors: true, transparent: clear, depthWrite: !clear };
    looks.set(key, new (stroke ? LineBasicMaterial : MeshBasicMaterial)(options));
  }
  return looks.get(key);
}

/** Mesh and stroke parts of loaded nodes -> one object for each kind of look there is among them. */
export function merged(nodes) {
  const piles = new Map();
  for (const node of nodes) {
    node.updateMatrixWorld(true);
    node.traverse((part) => {
      if (!part.isMesh && !part.isLine) return;
      const fading = !!part.geometry.attributes.color;
      const clear = part.material.opacity < 1 || fading;
      const key = `${!!part.isLine} ${clear} ${!fading}`;
      if (!piles.has(key)) piles.set(key, { stroke: !!part.isLine, clear, lit: !fading, parts: [] });
      piles.get(key).parts.push(part);
    });
  }
  return [...piles.values()].map((pile) => {
    const object = new (pile.stroke ? LineSegments : Mesh)(joined(pile), look(pile.stroke, pile.clear));
    if (!pile.lit) object.renderOrder = -1;
    return object;
  });
}

function joined({ parts, stroke, lit }) {
  let points = 0;
  let corners = 0;
  for (const { geometry } of parts) {
    points += geometry.attributes.position.count;
    corners += geometry.index.count;
  }
  const position = new Float32Array(points * 3);
  const colour = new Float32Array(points * 4);
  const index = new Uint32Array(corners);
  const v = new Vector3();
  let at = 0;
  let corner = 0;
  for (const { geometry, matrixWorld, material } of parts) {
    const { position: places, normal: ways, color: fade } = geometry.attributes;
    for (let i = 0; i < places.count; i++) {
      const k = at + i;
      v.fromBufferAttribute(places, i).applyMatrix4(matrixWorld).toArray(position, k * 3);
      const bright = !stroke && lit ? light(v.fromBufferAttribute(ways, i).transformDirection(matrixWorld), position[k * 3 + 1]) : 1;
      for (const [j, part] of material.color.toArray().entries()) colour[k * 4 + j] = Math.min(part * bright, 1);
      colour[k * 4 + 3] = material.opacity * (fade ? fade.getW(i) : 1);
    }
    for (let i = 0; i < geometry.index.count; i++) index[corner++] = at + geometry.index.getX(i);
    at += places.count;
  }
  const whole = new BufferGeometry();
  whole.setAttribute("position", new Float32BufferAttribute(position, 3));
  whole.setAttribute("color", new Float32BufferAttribute(colour, 4));
  whole.setIndex(new BufferAttribute(index, 1));
  return whole;
}
