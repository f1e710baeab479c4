// Shows a part's packed mesh on a page and lets it be turned: by dragging, by keys, by buttons.
//
// A page brings <div class="model"> with a still picture, or words in its place, and buttons that
// are hidden; the part's own script, read before this one, has put its mesh into
// self.ventModel. Without WebGL 2 or without the mesh the page stays as it is.

import {
  BufferAttribute,
  BufferGeometry,
  Color,
  DirectionalLight,
  EdgesGeometry,
  Group,
  HemisphereLight,
  LineBasicMaterial,
  LineSegments,
  Mesh,
  MeshStandardMaterial,
  PerspectiveCamera,
  Scene,
  Spherical,
  Vector3,
  WebGLRenderer,
} from "three";
import { OrbitControls } from "three/addons/controls/OrbitControls.js";
import { toCreasedNormals } from "three/addons/utils/BufferGeometryUtils.js";

const FIRST = new Vector3(0.55, 0.42, 1.0); // towards the viewer, as in the still picture
const OPENING_DEG = 26;
const CREASE = Math.PI / 6;
const TURN = Math.PI / 12; // one press of a key

// Corners in mm (x, y, z one after the other) and corners of triangles.
export async function unpack(model) {
  const packed = Uint8Array.from(atob(model.data), (letter) => letter.charCodeAt(0));
  const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("deflate"));
  const bytes = new Uint8Array(await new Response(stream).arrayBuffer());
  let at = 0;
  // Numbers of one column: low bytes, then the higher ones; each is a step from the one before it,
  // small steps up and down as small numbers.
  const column = (count, width) => {
    const values = new Uint32Array(count);
    let before = 0;
    for (let i = 0; i < count; i += 1) {
      let folded = 0;
      for (let byte = 0; byte < width; byte += 1) {
        folded += bytes[at + byte * count + i] * 256 ** byte;
      }
      before += folded % 2 ? -(folded + 1) / 2 : folded / 2;
      values[i] = before &= width === 2 ? 0xffff : 0xffffffff;
    }
    at += count * width;
    return values;
  };
  const positions = new Float32Array(3 * model.vertices);
  for (let axis = 0; axis < 3; axis += 1) {
    const steps = column(model.vertices, 2);
    for (let i = 0; i < model.vertices; i += 1) {
      positions[3 * i + axis] = model.low_mm[axis] + model.step_mm * steps[i];
    }
  }
  return { positions, triangles: column(3 * model.triangles, model.index_bytes) };
}

function group(mesh, colour) {
  const geometry = new BufferGeometry();
  geometry.setAttribute("position", new BufferAttribute(mesh.positions, 3));
  geometry.setIndex(new BufferAttribute(mesh.triangles, 1));
  geometry.computeBoundingSphere();
  const face = new Color(colour);
  const faces = new MeshStandardMaterial({
    color: face,
    roughness: 0.62,
    metalness: 0,
    polygonOffset: true,
    polygonOffsetFactor: 1,
    polygonOffsetUnits: 1,
  });
  const pale = face.getHSL({}).l < 0.35;
  const lines = new LineBasicMaterial({
    color: pale ? 0xdfe5e8 : 0x2b3338,
    transparent: true,
    opacity: pale ? 0.4 : 0.45,
  });
  const shown = new Group();
  shown.add(new Mesh(toCreasedNormals(geometry, CREASE), faces));
  shown.add(new LineSegments(new EdgesGeometry(geometry, 28), lines));
  return { shown, sphere: geometry.boundingSphere };
}

async function mount(box, model) {
  const canvas = document.createElement("canvas");
  const context = canvas.getContext("webgl2", { antialias: true, alpha: true });
  if (!context) return;
  const mesh = await unpack(model);
  const renderer = new WebGLRenderer({ canvas, context, antialias: true, alpha: true });
  const scene = new Scene();
  const { shown, sphere } = group(mesh, model.colour);
  shown.position.copy(sphere.center).negate();
  scene.add(shown);
  const camera = new PerspectiveCamera(OPENING_DEG, 1, sphere.radius / 50, sphere.radius * 50);
  scene.add(new HemisphereLight(0xffffff, 0x9aa4aa, 1.9));
  const lamp = new DirectionalLight(0xffffff, 2.2);
  lamp.position.set(-0.6, 0.9, 0.7);
  camera.add(lamp); // the lamp stands above the viewer's left shoulder
  scene.add(camera);

  canvas.tabIndex = 0;
  canvas.setAttribute("role", "application");
  canvas.setAttribute("aria-label", box.dataset.label);
  canvas.setAttribute("aria-describedby", "model-keys");
  box.querySelector(".still").hidden = true;
  box.querySelector(".stage").append(canvas);

  const controls = new OrbitControls(camera, canvas);
  controls.enablePan = false;
  controls.enableZoom = false;
  let asked = false;
  const draw = () => {
    if (asked) return;
    asked = true;
    requestAnimationFrame(() => {
      asked = false;
      renderer.render(scene, camera);
    });
  };
  const far = () => {
    const slope = Math.tan((OPENING_DEG * Math.PI) / 360) * Math.min(1, camera.aspect);
    return (1.06 * sphere.radius) / Math.sin(Math.atan(slope));
  };
  const first = () => {
    camera.position.copy(FIRST).setLength(far());
    controls.minDistance = 0.15 * far();
    controls.maxDistance = 3 * far();
    controls.update();
    draw();
  };
  const turn = (aside, up, nearer = 1) => {
    const place = new Spherical().setFromVector3(camera.position);
    place.theta += aside * TURN;
    place.phi -= up * TURN;
    place.radius = Math.min(
      controls.maxDistance,
      Math.max(controls.minDistance, place.radius / nearer),
    );
    camera.position.setFromSpherical(place.makeSafe());
    controls.update();
    draw();
  };
  const moves = {
    ArrowLeft: () => turn(-1, 0),
    ArrowRight: () => turn(1, 0),
    ArrowUp: () => turn(0, 1),
    ArrowDown: () => turn(0, -1),
    "+": () => turn(0, 0, 1.25),
    "=": () => turn(0, 0, 1.25),
    "-": () => turn(0, 0, 0.8),
    Home: first,
  };
  const size = () => {
    const { clientWidth: width, clientHeight: height } = box.querySelector(".stage");
    if (!width || !height) return;
    const before = camera.position.length() / far();
    renderer.setPixelRatio(Math.min(self.devicePixelRatio || 1, 2));
    renderer.setSize(width, height, false);
    camera.aspect = width / height;
    camera.updateProjectionMatrix();
    if (before > 0) {
      camera.position.setLength(before * far());
      controls.minDistance = 0.15 * far();
      controls.maxDistance = 3 * far();
    }
    draw();
  };
  controls.addEventListener("change", draw);
  // The wheel scrolls the page until the model has been asked for.
  canvas.addEventListener("focus", () => (controls.enableZoom = true));
  canvas.addEventListener("blur", () => (controls.enableZoom = false));
  canvas.addEventListener("keydown", (event) => {
    const move = event.ctrlKey || event.altKey || event.metaKey ? null : moves[event.key];
    if (!move) return;
    event.preventDefault();
    move();
  });
  for (const button of box.querySelectorAll("button[data-move]")) {
    button.addEventListener("click", moves[button.dataset.move]);
  }
  canvas.addEventListener("webglcontextlost", () => {
    canvas.hidden = true;
    box.querySelector(".still").hidden = false;
  });
  canvas.addEventListener("webglcontextrestored", () => {
    canvas.hidden = false;
    box.querySelector(".still").hidden = true;
    draw();
  });
  new ResizeObserver(size).observe(box.querySelector(".stage"));
  size();
  first();
  for (const part of box.querySelectorAll("[data-live]")) part.hidden = false;
  renderer.render(scene, camera);
  box.dataset.ready = "yes";
}

const box = document.querySelector(".model");
if (box && self.ventModel && self.DecompressionStream) {
  mount(box, self.ventModel).catch((fault) => console.error("the model cannot be drawn:", fault));
}
