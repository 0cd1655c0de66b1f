// The empty room: a floor with its shadows painted on once, walls that vanish when they stand between
// the eye and the room, and the cut through the walls. Painting the shadows costs a millisecond at the
// start; a shadow map would cost 40 in every frame that a processor without a graphics card draws.
import { BackSide, BufferGeometry, CanvasTexture, Color, DoubleSide, Float32BufferAttribute, FrontSide, Group, Mesh, MeshBasicMaterial, MeshLambertMaterial, PlaneGeometry, Shape, ShapeGeometry, SRGBColorSpace } from "three";

const WALL_M = 0.1;
const FLOOR = "#f0ece5";
const WALL_LOW = new Color("#e6e1d9");
const WALL_HIGH = new Color("#fbfaf7");
const CUT = "#b9b3a9";

const signedArea = (outline) =>
  outline.reduce((sum, [x, y], i) => {
    const [u, v] = outline[(i + 1) % outline.length];
    return sum + (x * v - u * y) / 2;
  }, 0);

/** The outline anticlockwise, and the same pushed outwards by a wall's thickness. */
function wallLines(outline_m) {
  const inner = signedArea(outline_m) > 0 ? outline_m : [...outline_m].reverse();
  const outer = inner.map(([x, y], i) => {
    const [px, py] = inner[(i + inner.length - 1) % inner.length];
    const [nx, ny] = inner[(i + 1) % inner.length];
    const unit = (u, v) => [u / Math.hypot(u, v), v / Math.hypot(u, v)];
    const [ax, ay] = unit(x - px, y - py);
    const [bx, by] = unit(nx - x, ny - y);
    // outwards of an anticlockwise edge (u, v) is (v, -u); at a corner along the sum of both
    const spread = Math.max(1 + ax * bx + ay * by, 0.3);
    return [x + ((ay + by) / spread) * WALL_M, y - ((ax + bx) / spread) * WALL_M];
  });
  return { inner, outer };
}

function quads(list) {
  const positions = [];
  const colours = [];
  const index = [];
  for (const { corners, tints } of list) {
    const first = positions.length / 3;
    corners.forEach(([x, y, z], i) => {
      positions.push(x, z, -y);
      if (tints) colours.push(...tints[i].toArray());
    });
    index.push(first, first + 1, first + 2, first, first + 2, first + 3);
  }
  const geometry = new BufferGeometry().setAttribute("position", new Float32BufferAttribute(positions, 3));
  if (colours.length) geometry.setAttribute("color", new Float32BufferAttribute(colours, 3));
  geometry.setIndex(index);
  geometry.computeVertexNormals();
  return geometry;
}

function bounds(outline) {
  const xs = outline.map((p) => p[0]);
  const ys = outline.map((p) => p[1]);
  return { x: Math.min(...xs), y: Math.min(...ys), w: Math.max(...xs) - Math.min(...xs), d: Math.max(...ys) - Math.min(...ys) };
}

/** The floor's picture: corners darken, and what stands on it throws a soft shadow straight down. */
function paintFloor(outline, shadows) {
  const box = bounds(outline);
  const perM = 900 / Math.max(box.w, box.d);
  const canvas = document.createElement("canvas");
  canvas.width = Math.ceil(box.w * perM);
  canvas.height = Math.ceil(box.d * perM);
  const pen = canvas.getContext("2d");
  pen.fillStyle = FLOOR;
  pen.fillRect(0, 0, canvas.width, canvas.height);
  const path = (points) => {
    pen.beginPath();
    points.forEach(([x, y]) => pen.lineTo((x - box.x) * perM, canvas.height - (y - box.y) * perM));
    pen.closePath();
  };
  // the shape itself is drawn far off the canvas, only its shadow lands on it: a blur every browser has
  const FAR = 20000;
  const soft = (draw, blur_m, colour) => {
    pen.save();
    pen.shadowColor = colour;
    pen.shadowBlur = blur_m * perM * 2;
    pen.shadowOffsetX = FAR;
    pen.translate(-FAR, 0);
    draw();
    pen.restore();
  };
  soft(() => { path(outline); pen.lineWidth = 0.12 * perM; pen.stroke(); }, 0.3, "rgba(90,78,62,.34)");
  soft(() => { path(outline); pen.lineWidth = 0.04 * perM; pen.stroke(); }, 0.06, "rgba(90,78,62,.3)");
  for (const { outline_m, height_m } of shadows) {
    soft(() => { path(outline_m); pen.fill(); }, 0.1 + 0.28 * height_m, "rgba(66,58,48,.30)");
    soft(() => { path(outline_m); pen.fill(); }, 0.05 + 0.1 * height_m, "rgba(66,58,48,.14)");
  }
  const texture = new CanvasTexture(canvas);
  texture.colorSpace = SRGBColorSpace;
  texture.anisotropy = 4;
  return { texture, box };
}

function paintPaper() {
  const canvas = document.createElement("canvas");
  canvas.width = canvas.height = 128;
  const pen = canvas.getContext("2d");
  const edge = 30;
  pen.shadowColor = "rgba(70,62,52,.55)";
  pen.shadowBlur = 26;
  pen.shadowOffsetX = 1000;
  pen.fillRect(edge - 1000, edge, 128 - 2 * edge, 128 - 2 * edge);
  return { texture: new CanvasTexture(canvas), share: (128 - 2 * edge) / 128 };
}

function plate(outline, { texture, box }, material) {
  const shape = new Shape();
  outline.forEach(([x, y], i) => (i ? shape.lineTo(x, y) : shape.moveTo(x, y)));
  const geometry = new ShapeGeometry(shape);
  if (texture) {
    const at = geometry.attributes.position;
    const uv = [];
    for (let i = 0; i < at.count; i++) uv.push((at.getX(i) - box.x) / box.w, (at.getY(i) - box.y) / box.d);
    geometry.setAttribute("uv", new Float32BufferAttribute(uv, 2));
  }
  geometry.rotateX(-Math.PI / 2);
  return new Mesh(geometry, material);
}

/** A group holding floor, walls and cut, and the veil that turns a plan into a ceiling plan. */
export function createShell(room, shadows) {
  const group = new Group();
  const { inner, outer } = wallLines(room.outline_m);
  const top = room.ceiling_m;
  const floor = paintFloor(inner, shadows);
  group.add(plate(inner, floor, new MeshBasicMaterial({ map: floor.texture, side: FrontSide })));

  const walls = inner.map(([x, y], i) => {
    const [u, v] = inner[(i + 1) % inner.length];
    // anticlockwise seen from inside, so the outside is culled
    return { corners: [[u, v, 0], [x, y, 0], [x, y, top], [u, v, top]], tints: [WALL_LOW, WALL_LOW, WALL_HIGH, WALL_HIGH] };
  });
  group.add(new Mesh(quads(walls), new MeshLambertMaterial({ vertexColors: true, side: BackSide })));

  const ring = (low, high, height) =>
    low.map((p, i) => {
      const j = (i + 1) % low.length;
      return { corners: [[...p, height], [...high[i], height], [...high[j], height], [...low[j], height]] };
    });
  group.add(new Mesh(quads(ring(inner, outer, top)), new MeshBasicMaterial({ color: CUT, side: DoubleSide })));
  group.add(new Mesh(quads(ring(inner, outer, 0)), new MeshBasicMaterial({ color: CUT, side: DoubleSide })));

  const paper = paintPaper();
  const { x, y, w, d } = bounds(outer);
  const sheet = new Mesh(
    new PlaneGeometry((w - 0.3) / paper.share, (d - 0.3) / paper.share).rotateX(-Math.PI / 2),
    new MeshBasicMaterial({ map: paper.texture, transparent: true, depthWrite: false, opacity: 0.55 }),
  );
  sheet.position.set(x + w / 2, -0.02, -(y + d / 2));
  sheet.renderOrder = -1;
  group.add(sheet);

  const veil = plate(inner, {}, new MeshBasicMaterial({ color: "#fbfaf8", transparent: true, opacity: 0, depthWrite: false, side: DoubleSide }));
  veil.renderOrder = 8;
  veil.visible = false;
  group.add(veil);
  return { group, veil };
}
