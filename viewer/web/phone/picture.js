// The picture of one step: parts where the packed frame puts them, drawn in flat light with ink lines; turned, shifted and enlarged by hand.

import {
  BufferAttribute, BufferGeometry, DepthTexture, DoubleSide, FrontSide, GLSL3, InstancedBufferAttribute, InstancedMesh, Matrix4, Mesh, NearestFilter,
  PerspectiveCamera, RawShaderMaterial, Scene, UnsignedIntType, Vector2, Vector3, Vector4, WebGLRenderTarget, WebGLRenderer,
} from "three";
import { INK_FRAGMENT, INK_VERTEX, LIGHTS, PART_FRAGMENT, PART_VERTEX } from "./shaders.js";

const MOST_PIXELS = 2.2e6;
const MOVING_PIXELS = 2.5e5;
const STEEPEST = 1.53;
const MARGIN = 26;
const MOST_FILL = 1.9;

export class Picture {
  constructor(canvas, model, bodies, colours) {
    this.canvas = canvas;
    this.model = model;
    this.colours = colours;
    this.renderer = new WebGLRenderer({ canvas, antialias: false, alpha: false, powerPreference: "low-power" });
    this.renderer.autoClear = false;
    this.camera = new PerspectiveCamera();
    this.scene = new Scene();
    this.scene.matrixWorldAutoUpdate = false;
    this.pull = 1;
    this.cutting = false;
    this.chosen = new Set();
    this.heat = new Map();
    this.own();
    this.materials();
    this.meshes = bodies.map((body, number) => this.mesh(body, number));
    this.target = null;
    this.labels = null;
  }

  /** Back to the step's own view. */
  own() {
    this.hand = { turn: 0, tilt: 0, zoom: 1, x: 0, y: 0 };
  }

  materials() {
    const shared = {
      lights: { value: LIGHTS.map(([x, y, z, w]) => new Vector4(...new Vector3(x, y, z).normalize().toArray(), w)) },
      plane: { value: new Vector4() }, eye: { value: new Vector3() }, whole: { value: new Matrix4() }, pitch: { value: 8 }, pale: { value: new Vector3() },
    };
    const part = (defines, side) =>
      new RawShaderMaterial({ glslVersion: GLSL3, vertexShader: PART_VERTEX, fragmentShader: PART_FRAGMENT, uniforms: shared, defines, side });
    this.uniforms = shared;
    this.uncut = part({}, FrontSide);
    this.cut = part({ CUTTING: "" }, DoubleSide);
    const value = (start) => ({ value: start });
    this.ink = new RawShaderMaterial({
      glslVersion: GLSL3, vertexShader: INK_VERTEX, fragmentShader: INK_FRAGMENT, depthTest: false, depthWrite: false,
      uniforms: {
        seen: value(null), labels: value(null), depths: value(null), size: value(new Vector2()), fine: value(1), reach: value(2), clip: value(new Vector2()),
        spread: value(0), ground: value(new Vector3()), ink: value(new Vector3()), rim: value(new Vector3()), arriving: value(new Vector3()),
        chosen: value(new Vector3()), dim: value(1),
      },
    });
    const sheet = new BufferGeometry();
    sheet.setAttribute("position", new BufferAttribute(new Float32Array([-1, -1, 0, 3, -1, 0, -1, 3, 0]), 3));
    this.sheet = new Scene();
    const mesh = new Mesh(sheet, this.ink);
    mesh.frustumCulled = false;
    this.sheet.add(mesh);
  }

  mesh(body, number) {
    const geometry = new BufferGeometry();
    geometry.setAttribute("position", new BufferAttribute(body.place, 4));
    geometry.setAttribute("normal", new BufferAttribute(body.normal, 4, true));
    geometry.setIndex(new BufferAttribute(body.index, 1));
    const most = this.model.pieces.reduce((sum, [, instances]) => sum + instances.filter(([which]) => which === number).length, 0);
    geometry.setAttribute("tint", new InstancedBufferAttribute(new Uint8Array(4 * most), 4, true));
    geometry.setAttribute("mark", new InstancedBufferAttribute(new Float32Array(4 * most), 4));
    const mesh = new InstancedMesh(geometry, this.uncut, most);
    mesh.frustumCulled = false;
    mesh.count = 0;
    mesh.size = [0, 1, 2].map((axis) => body.place.reduce((most, value, place) => (place % 4 === axis && value > most ? value : most), 0));
    mesh.own = new Matrix4().makeTranslation(...body.low).scale(new Vector3(body.step, body.step, body.step));
    this.scene.add(mesh);
    return mesh;
  }

  /** Show a view of the model. */
  show(view) {
    if (this.view !== view) {
      this.filled = null;
      this.view = view;
      const pull = this.pull;
      this.pull = 1;
      this.boxes = this.poses().flatMap(({ piece, pose }) =>
        this.model.pieces[piece][1].map(([body, ...own]) => ({
          size: this.meshes[body].size, full: pose.clone().multiply(matrix(own)).multiply(this.meshes[body].own),
        })),
      );
      this.pull = pull;
    }
    this.place();
  }

  /** Where every piece of the view stands now: its seat, and its stated shift scaled by how far all is pulled apart. */
  poses() {
    const turn = this.model.turns[this.view.turn];
    const bench = new Matrix4().set(turn[0], turn[1], turn[2], 0, turn[3], turn[4], turn[5], 0, turn[6], turn[7], turn[8], 0, 0, 0, 0, 1);
    const seated = this.view.shown.some((line) => line[1] !== 2);
    return this.view.shown
      .filter((line) => this.pull > 0 || line[1] !== 2 || !seated)
      .map(([piece, state, x, y, z, trimmed, gone]) => {
        const pose = new Matrix4().makeTranslation(x * this.pull, y * this.pull, z * this.pull).multiply(bench).multiply(matrix(this.model.pieces[piece][2]));
        return { piece, state, trimmed, gone, pose };
      });
  }

  place() {
    for (const mesh of this.meshes) mesh.count = 0;
    let low = new Vector3(Infinity, Infinity, Infinity);
    let high = low.clone().negate();
    const corner = new Vector3();
    for (const { piece, state, trimmed, gone, pose } of this.poses()) {
      const [role, instances] = this.model.pieces[piece];
      const tint = this.heat.get(piece) ?? this.colours.role[role];
      const bits = [0, 1, 2][state] + (this.chosen.has(piece) ? 8 : 0);
      instances.forEach(([body, ...own], index) => {
        if (this.cutting && gone.includes(index)) return;
        const mesh = this.meshes[body];
        const full = pose.clone().multiply(matrix(own)).multiply(mesh.own);
        mesh.setMatrixAt(mesh.count, full);
        mesh.geometry.attributes.tint.setXYZ(mesh.count, ...tint.map((part) => part / 255));
        mesh.geometry.attributes.mark.setXYZW(mesh.count, piece + 1, bits, trimmed, 0);
        mesh.count++;
        const [x, y, z] = mesh.size;
        for (let k = 0; k < 8; k++) {
          corner.set(k & 1 ? x : 0, k & 2 ? y : 0, k & 4 ? z : 0).applyMatrix4(full);
          low.min(corner);
          high.max(corner);
        }
      });
    }
    this.middle = low.clone().add(high).multiplyScalar(0.5);
    this.radius = high.distanceTo(low) / 2;
    for (const mesh of this.meshes) {
      mesh.visible = mesh.count > 0;
      mesh.material = this.cutting ? this.cut : this.uncut;
      mesh.instanceMatrix.needsUpdate = mesh.geometry.attributes.tint.needsUpdate = mesh.geometry.attributes.mark.needsUpdate = true;
    }
  }

  look(width, height) {
    const aspect = width / height;
    const kept = this.view.cameras.filter((camera) => camera[0] <= aspect).pop() ?? this.view.cameras[0];
    const [made, position, focus, up, angle] = kept;
    const { turn, tilt, zoom, x, y } = this.hand;
    const eye = new Vector3(...position);
    const middle = new Vector3(...focus);
    const away = eye.clone().sub(middle);
    const level = Math.asin(away.z / away.length());
    const steep = Math.max(-STEEPEST, Math.min(STEEPEST, level + tilt));
    const round = Math.atan2(away.y, away.x) + turn;
    const over = turn || tilt ? new Vector3(0, 0, 1) : new Vector3(...up);
    if (turn || tilt) away.set(Math.cos(steep) * Math.cos(round), Math.cos(steep) * Math.sin(round), Math.sin(steep)).multiplyScalar(away.length());
    const camera = this.camera;
    camera.up.copy(over);
    camera.position.copy(middle).add(away);
    camera.lookAt(middle);
    const half = Math.tan((angle * Math.PI) / 360) / zoom * Math.max(1, made / aspect);
    const wide = half * away.length();
    camera.updateMatrix();
    const by = this.filled?.fill[0] ?? 1;
    const right = new Vector3().setFromMatrixColumn(camera.matrix, 0).multiplyScalar((-x * wide * 2) / by);
    const above = new Vector3().setFromMatrixColumn(camera.matrix, 1).multiplyScalar((y * wide * 2) / by);
    camera.position.add(right).add(above);
    camera.fov = (Math.atan(half) * 360) / Math.PI;
    camera.aspect = aspect;
    const distance = camera.position.distanceTo(this.middle);
    camera.near = Math.max(distance - this.radius * 1.02, distance / 50);
    camera.far = distance + this.radius * 1.02;
    camera.updateProjectionMatrix();
    camera.updateMatrixWorld();
    const key = `${width}x${height}`;
    if (this.filled?.key !== key) this.filled = { key, fill: this.fill(width, height, made) };
    const [larger, across, along] = this.filled.fill;
    const cells = camera.projectionMatrix.elements;
    cells[0] *= larger;
    cells[5] *= larger;
    cells[8] -= across;
    cells[9] -= along;
    camera.projectionMatrixInverse.copy(camera.projectionMatrix).invert();
    this.spread = (2 * half) / (height * larger);
  }

  /** Enlarge and shift so that all that the camera takes in fills the picture; one that was moved in close stays close. */
  fill(width, height, made) {
    const camera = this.camera;
    const low = [Infinity, Infinity];
    const high = [-Infinity, -Infinity];
    const corner = new Vector3();
    for (const box of this.boxes) {
      for (let k = 0; k < 8; k++) {
        corner.set(k & 1 ? box.size[0] : 0, k & 2 ? box.size[1] : 0, k & 4 ? box.size[2] : 0).applyMatrix4(box.full).project(camera);
        low[0] = Math.min(low[0], corner.x);
        low[1] = Math.min(low[1], corner.y);
        high[0] = Math.max(high[0], corner.x);
        high[1] = Math.max(high[1], corner.y);
      }
    }
    const near = Math.max(1, (made * height) / width);
    if (low[0] < -1.02 || high[0] > 1.02 || low[1] * near < -1.02 || high[1] * near > 1.02) return [1, 0, 0];
    const free = [1 - (2 * MARGIN) / width, 1 - (2 * MARGIN) / height];
    const by = Math.min((2 * free[0]) / (high[0] - low[0]), (2 * free[1]) / (high[1] - low[1]), MOST_FILL);
    return [by, (-by * (low[0] + high[0])) / 2, (-by * (low[1] + high[1])) / 2];
  }

  /** Draw at a size [CSS pixel]; at rest fine enough for clean lines, while moving coarser. */
  draw(width, height, moving) {
    const ratio = Math.min(window.devicePixelRatio || 1, 3);
    let scale = Math.min(ratio, Math.sqrt(MOST_PIXELS / (width * height)));
    if (moving) scale = Math.min(scale, Math.sqrt(MOVING_PIXELS / (width * height)));
    const fine = !moving && scale < 1.9 && width * height * scale * scale * 4 <= MOST_PIXELS * 1.5 ? 2 : 1;
    const across = Math.max(2, Math.round(width * scale));
    const down = Math.max(2, Math.round(height * scale));
    this.renderer.setPixelRatio(1);
    this.renderer.setSize(across, down, false);
    const size = [across * fine, down * fine];
    if (!this.target || this.target.width !== size[0] || this.target.height !== size[1]) {
      this.target?.dispose();
      this.target = new WebGLRenderTarget(...size, { count: 2, minFilter: NearestFilter, magFilter: NearestFilter, generateMipmaps: false });
      this.target.depthTexture = new DepthTexture(...size, UnsignedIntType);
    }
    this.look(width, height);
    const pixel = scale * fine;
    const { camera, uniforms, ink, view, colours } = this;
    uniforms.plane.value.set(...view.cut[1], new Vector3(...view.cut[1]).dot(new Vector3(...view.cut[0])));
    uniforms.eye.value.copy(camera.position);
    uniforms.whole.value.multiplyMatrices(camera.projectionMatrix, camera.matrixWorldInverse);
    uniforms.pitch.value = 6 * pixel;
    uniforms.pale.value.set(...colours.pale);
    this.renderer.setRenderTarget(this.target);
    this.renderer.setClearColor(0x000000, 0);
    this.renderer.clear();
    this.renderer.render(this.scene, camera);
    const set = ink.uniforms;
    [set.seen.value, set.labels.value] = this.target.textures;
    set.depths.value = this.target.depthTexture;
    set.size.value.set(...size);
    set.fine.value = fine;
    set.reach.value = Math.max(1, 2.1 * pixel);
    set.clip.value.set(camera.near, camera.far);
    set.spread.value = this.spread / pixel;
    for (const name of ["ground", "ink", "rim", "arriving", "chosen"]) set[name].value.set(...colours[name]);
    set.dim.value = colours.dim;
    this.renderer.setRenderTarget(null);
    this.renderer.render(this.sheet, camera);
    this.scaled = pixel;
    this.drawn = [width, height];
  }

  /** Read back which piece each pixel shows. False when another picture was drawn meanwhile. */
  async read() {
    const ticket = (this.ticket = {});
    const { width, height } = this.target;
    const raw = new Uint8Array(4 * width * height);
    await this.renderer.readRenderTargetPixelsAsync(this.target, 0, 0, width, height, raw, undefined, 1);
    if (ticket !== this.ticket) return false;
    const piece = new Int16Array(width * height);
    for (let y = 0; y < height; y++) {
      const from = (height - 1 - y) * width;
      for (let x = 0; x < width; x++) piece[y * width + x] = raw[4 * (from + x)] + 256 * raw[4 * (from + x) + 1] - 1;
    }
    this.labels = { width, height, piece };
    return true;
  }

  /** Which piece is seen at a point [CSS pixel], -1 on the ground; a finger's breadth about it counts. */
  at(x, y, finger = 9) {
    if (!this.labels) return -1;
    const { width, height, piece } = this.labels;
    for (let r = 0; r <= finger; r += 1.5) {
      const tries = r ? 16 : 1;
      for (let k = 0; k < tries; k++) {
        const u = Math.round((x + r * Math.cos((2 * Math.PI * k) / tries)) * this.scaled);
        const v = Math.round((y + r * Math.sin((2 * Math.PI * k) / tries)) * this.scaled);
        if (u < 0 || v < 0 || u >= width || v >= height) continue;
        if (piece[v * width + u] >= 0) return piece[v * width + u];
      }
    }
    return -1;
  }

  /** Where a point of the drawing [mm] falls in the picture [CSS pixel]. */
  spot(point) {
    const [width, height] = this.drawn;
    const place = new Vector3(...point).project(this.camera);
    return [((place.x + 1) / 2) * width, ((1 - place.y) / 2) * height];
  }
}

function matrix(twelve) {
  return new Matrix4().set(...twelve, 0, 0, 0, 1);
}
