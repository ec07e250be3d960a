// The cloth at yarn level, to be turned and stretched: face, back, section, and as it lies. Draws only when something
// has changed. Views that name the same link share their camera and their scale. Without WebGL the still picture shows.

import { decode, held, leastYarn, mix, strainsOf } from "./centre_lines.js";
import { follow, tubesOf } from "./tubes.js";
import { bar, sentence, sliders } from "./yarn_bar.js";

const TURN = Math.PI / 30; // of one press of an arrow key
const MORPH_MS = 450;
const MANY_POINTS = 24000; // from here on rings have fewer sides
const NO_CUT = -1e9;
const EYES = {
  // from where the cloth is seen; y is up in the picture but for the section, where the face is
  face: [0, 0, 1],
  back: [0, 0, -1],
  section: [0, -1, 1e-4],
  lying: [-0.16, -0.76, 0.63],
};
const SIZES = { face: 1, back: 1, section: 2, lying: 0.92 };
const KEYS = { f: "face", b: "back", s: "section", l: "lying" };
const links = new Map();

export class YarnView {
  constructor(root, { url, still, label, link }) {
    Object.assign(this, { root, still, label, link });
    this.stretch = { strain_width: 0, strain_length: 0 };
    this.laid = 0;
    this.view = "face";
    this.drawn = 0;
    this.stage = document.createElement("div");
    this.stage.className = "stage";
    root.replaceChildren(this.stage);
    this.start(url);
  }

  async start(url) {
    if (!document.createElement("canvas").getContext("webgl2")) {
      this.showStill("This browser draws no 3D here; the picture stands still.");
      return;
    }
    const three = await import("nicegui-scene");
    if (this.gone) return;
    this.THREE = three.THREE;
    this.camera = new this.THREE.OrthographicCamera(-1, 1, 1, -1, -1000, 1000);
    this.renderer = new this.THREE.WebGLRenderer({ antialias: true, alpha: false });
    this.renderer.setClearColor(0xfbfbf9, 1);
    this.renderer.setPixelRatio(Math.min(devicePixelRatio || 1, 2));
    this.scene = new this.THREE.Scene();
    this.setStage(new three.OrbitControls(this.camera, this.renderer.domElement));
    await this.load(url);
  }

  setStage(controls) {
    const { stage } = this;
    this.controls = controls;
    controls.enableZoom = false; // the wheel scrolls the page until the picture has the focus
    controls.addEventListener("change", () => this.turned());
    this.renderer.domElement.setAttribute("aria-hidden", "true");
    stage.append(this.renderer.domElement);
    stage.tabIndex = 0;
    stage.setAttribute("role", "img");
    stage.setAttribute("aria-label", `${this.label} Arrows turn it, F B S L change the view, plus and minus the size.`);
    stage.addEventListener("keydown", (event) => this.key(event));
    stage.addEventListener("focusin", () => (controls.enableZoom = true));
    stage.addEventListener("focusout", () => (controls.enableZoom = false));
    stage.addEventListener("pointerdown", () => stage.focus({ preventScroll: true }));
    this.sizes = new ResizeObserver(() => this.resize());
    this.sizes.observe(stage);
    if (this.link) {
      if (!links.has(this.link)) links.set(this.link, new Set());
      links.get(this.link).add(this);
    }
  }

  async load(url) {
    this.url = url;
    const answer = await fetch(url).catch(() => null);
    const buffer = answer?.ok ? await answer.arrayBuffer() : null;
    if (this.gone || this.url !== url) return; // the last one asked for wins
    if (buffer) this.show(decode(buffer));
    else this.showStill("The yarns did not arrive; the picture stands still.");
  }

  show(cloth) {
    this.drop();
    this.cloth = cloth;
    const rest = cloth.states[0].points;
    this.points = new Float32Array(rest);
    this.flat = new Float32Array(rest);
    this.sides = rest.length / 3 > MANY_POINTS ? 6 : 10;
    this.mesh = tubesOf(this.THREE, cloth, this.sides);
    this.mesh.material.uniforms.fade.value = 0.5 / (cloth.states[0].height * cloth.diameter_mm);
    this.scene.add(this.mesh);
    this.lying = cloth.states.find((state) => state.kind === "piece");
    this.extent = extentOf(rest);
    this.root.querySelectorAll(".bar, .sliders").forEach((each) => each.remove());
    this.root.append(bar(this), sliders(this, strainsOf));
    this.moved();
    this.peers().forEach((peer) => peer.resize());
    this.look(this.view, { alone: true });
  }

  // Every view of the same link, this one too.
  peers() {
    return this.link ? [...links.get(this.link)].filter((each) => each.extent) : [this];
  }

  resize() {
    const { clientWidth: width, clientHeight: height } = this.stage;
    if (!width || !height || !this.renderer || !this.extent) return;
    this.renderer.setSize(width, height, false);
    const room = Math.max(...this.peers().map((each) => Math.max(each.extent[1], (each.extent[0] * height) / width)));
    const half = 0.54 * room;
    const across = (half * width) / height;
    Object.assign(this.camera, { left: -across, right: across, top: half, bottom: -half });
    this.camera.updateProjectionMatrix();
    this.ask();
  }

  look(view, { alone = false } = {}) {
    if (view === "lying" && !this.lying) return;
    for (const each of alone ? [this] : this.peers()) each.turnTo(view);
  }

  turnTo(view) {
    if (view === "lying" && !this.lying) return;
    this.view = view;
    this.camera.zoom = SIZES[view];
    this.camera.updateProjectionMatrix();
    this.controls.target.set(0, 0, 0);
    this.camera.position.set(...EYES[view]).setLength(100);
    this.quiet = true; // this is no turn of the hand
    this.controls.update();
    this.quiet = false;
    this.root.querySelectorAll("[data-view]").forEach((button) => {
      button.setAttribute("aria-pressed", String(button.dataset.view === view));
    });
    this.layDown(view === "lying" ? 1 : 0);
    this.cut();
    this.ask();
  }

  cut() {
    const level = this.view === "section" ? leastYarn(this.cloth, this.points) : NO_CUT;
    this.mesh.material.uniforms.cut.value = level;
  }

  layDown(wanted) {
    const from = this.laid;
    const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
    if (from === wanted) return;
    const begun = performance.now();
    const step = (now) => {
      if (this.gone || (this.view === "lying") !== (wanted === 1)) return;
      const part = still ? 1 : Math.min(Math.max(now - begun, 0) / MORPH_MS, 1);
      this.laid = from + (wanted - from) * part * part * (3 - 2 * part);
      this.moved();
      if (part < 1) requestAnimationFrame(step);
      else this.cut();
    };
    if (still) step(begun);
    else requestAnimationFrame(step);
  }

  // Hold the cloth at a strain; it can be held one way at a time.
  hold(axis, strain) {
    this.stretch = { strain_width: 0, strain_length: 0, [axis]: strain };
    if (this.view === "lying") this.look("face");
    this.moved();
    if (this.view === "section") this.cut();
  }

  moved() {
    const axis = this.stretch.strain_length ? "strain_length" : "strain_width";
    held(this.cloth, axis, this.stretch[axis], this.flat);
    if (this.laid) mix(this.flat, this.lying.points, this.laid, this.points);
    else this.points.set(this.flat);
    follow(this.mesh, this.cloth, this.points, this.sides);
    this.ask();
  }

  key(event) {
    if (event.ctrlKey || event.metaKey || event.altKey || !this.mesh) return;
    const turn = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    const view = KEYS[event.key.toLowerCase()];
    if (turn) this.turn(turn[0] * TURN, turn[1] * TURN);
    else if (view) this.look(view);
    else if (event.key === "+" || event.key === "=") this.size(1.15);
    else if (event.key === "-") this.size(1 / 1.15);
    else return;
    event.preventDefault();
    event.stopPropagation();
  }

  turn(across, up) {
    const away = this.camera.position.clone().sub(this.controls.target);
    const round = new this.THREE.Spherical().setFromVector3(away);
    round.theta -= across;
    round.phi = Math.min(Math.max(round.phi + up, 1e-3), Math.PI - 1e-3);
    this.camera.position.copy(this.controls.target).add(away.setFromSpherical(round));
    this.controls.update();
    this.turned();
  }

  size(times) {
    this.camera.zoom = Math.min(Math.max(this.camera.zoom * times, 0.3), 12);
    this.camera.updateProjectionMatrix();
    this.turned();
  }

  turned() {
    if (this.quiet || !this.mesh) return;
    for (const peer of this.peers()) {
      if (peer !== this) {
        peer.camera.position.copy(this.camera.position);
        peer.controls.target.copy(this.controls.target);
        peer.camera.zoom = this.camera.zoom;
        peer.camera.updateProjectionMatrix();
        peer.quiet = true;
        peer.controls.update();
        peer.quiet = false;
      }
      peer.ask();
    }
  }

  ask() {
    this.asked ??= requestAnimationFrame(() => {
      this.asked = undefined;
      if (this.gone || !this.mesh) return;
      const eye = this.camera.position.clone().sub(this.controls.target).normalize();
      this.mesh.material.uniforms.front.value = eye.z;
      this.renderer.render(this.scene, this.camera);
      this.stage.dataset.drawn = String(++this.drawn);
      this.stage.dataset.view = this.view;
      this.stage.dataset.laid = String(this.laid);
    });
  }

  showStill(words) {
    const picture = document.createElement("img");
    Object.assign(picture, { src: this.still, alt: this.label });
    this.stage.className = "stage still";
    this.stage.replaceChildren(picture);
    this.root.append(sentence(words));
  }

  drop() {
    if (!this.mesh) return;
    this.scene.remove(this.mesh);
    this.mesh.geometry.dispose();
    this.mesh.material.dispose();
  }

  leave() {
    this.gone = true;
    this.sizes?.disconnect();
    links.get(this.link)?.delete(this);
    this.controls?.dispose();
    this.drop();
    this.renderer?.dispose();
    this.renderer?.forceContextLoss();
  }
}

function extentOf(points) {
  const high = [0, 0];
  for (let at = 0; at < points.length; at += 3)
    for (const axis of [0, 1]) high[axis] = Math.max(high[axis], Math.abs(points[at + axis]));
  return [2 * high[0], 2 * high[1]];
}
