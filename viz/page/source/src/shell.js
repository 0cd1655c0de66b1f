// What the page adds to the stage's room: the soft shadow of the whole model on the paper, painted once
// (a shadow map would cost 40 ms in every frame that a processor without a graphics card draws), and
// the veil that turns a plan into a ceiling plan.
import { CanvasTexture, DoubleSide, Group, Mesh, MeshBasicMaterial, PlaneGeometry, Shape, ShapeGeometry } from "three";

function paintPaper() {
  const canvas = document.createElement("canvas");
  canvas.width = canvas.height = 128;
  const pen = canvas.getContext("2d");
  const edge = 42;
  // the square itself is drawn off the canvas, only its shadow lands on it: a blur every browser has
  pen.shadowColor = "rgba(70,62,52,.55)";
  pen.shadowBlur = 16;
  pen.shadowOffsetX = 1000;
  pen.fillRect(edge - 1000, edge, 128 - 2 * edge, 128 - 2 * edge);
  return { texture: new CanvasTexture(canvas), share: (128 - 2 * edge) / 128 };
}

/** A group with the paper's shadow and the veil, for a room's outline and slab. */
export function createShell(outline_m, slab_m) {
  const group = new Group();
  const xs = outline_m.map((p) => p[0]);
  const ys = outline_m.map((p) => p[1]);
  const [x, y] = [Math.min(...xs), Math.min(...ys)];
  const [w, d] = [Math.max(...xs) - x, Math.max(...ys) - y];
  const paper = paintPaper();
  const sheet = new Mesh(
    new PlaneGeometry(w / paper.share, d / paper.share).rotateX(-Math.PI / 2),
    new MeshBasicMaterial({ map: paper.texture, transparent: true, depthWrite: false, opacity: 0.5 }),
  );
  sheet.position.set(x + w / 2, -slab_m - 0.02, -(y + d / 2));
  sheet.renderOrder = -2;
  group.add(sheet);

  const shape = new Shape();
  outline_m.forEach(([u, v], i) => (i ? shape.lineTo(u, v) : shape.moveTo(u, v)));
  const veil = new Mesh(
    new ShapeGeometry(shape).rotateX(-Math.PI / 2),
    new MeshBasicMaterial({ color: "#fbfaf8", transparent: true, opacity: 0, depthWrite: false, side: DoubleSide }),
  );
  veil.renderOrder = 8;
  veil.visible = false;
  group.add(veil);
  return { group, veil };
}
