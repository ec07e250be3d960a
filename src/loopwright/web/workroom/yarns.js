// The cloth at yarn level, to be turned and stretched: face, back, section, and as it lies. Draws only when something
// has changed. Without WebGL the still picture shows. Camera and links are `yarn_eye.js`, buttons `yarn_bar.js`.

import { decode, held, leastYarn, mix, strainsOf } from "./centre_lines.js";
import { follow, tubesOf } from "./tubes.js";
import { bar, press, sentence, sliders } from "./yarn_bar.js";
import { Eye } from "./yarn_eye.js";

const MORPH_MS = 450;
const MANY_POINTS = 24000; // from here on rings have fewer sides
const NO_CUT = -1e9;
const PAPER = 0xfbfbf9;
const KEYS = { f: "face", b: "back", s: "section", l: "lying" };

export class YarnView {
  constructor(root, { url, still, label, link }) {
    Object.assign(this, { root, still, label, link });
    this.stretch = { strain_width: 0, strain_length: 0 };
    this.laid = 0; // 1 when the piece lies
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
    this.renderer = new this.THREE.WebGLRenderer({ antialias: true, alpha: false });
    this.renderer.setClearColor(PAPER, 1);
    this.renderer.setPixelRatio(Math.min(devicePixelRatio || 1, 2));
    this.scene = new this.THREE.Scene();
    this.eye = new Eye(three, this.renderer.domElement, { link: this.link, ask: () => this.ask() });
    this.eye.view = this;
    this.setStage();
    await this.load(url);
  }

  setStage() {
    const { stage, eye } = this;
    stage.addEventListener("keydown", (event) => this.key(event));
    stage.addEventListener("focusin", () => (eye.controls.enableZoom = true));
    stage.addEventListener("focusout", () => (eye.controls.enableZoom = false));
    stage.addEventListener("pointerdown", () => stage.focus({ preventScroll: true }));
    this.sizes = new ResizeObserver(() => this.resize());
    this.sizes.observe(stage);
  }

  // The stage as a picture that can be turned; a still that stood there goes.
  dress() {
    const { stage } = this;
    const canvas = this.renderer.domElement;
    if (canvas.parentElement === stage) return;
    this.root.querySelectorAll(".says").forEach((each) => each.remove());
    canvas.setAttribute("aria-hidden", "true");
    canvas.style.touchAction = "pan-y"; // a finger along the page still scrolls it
    stage.className = "stage";
    stage.replaceChildren(canvas);
    stage.tabIndex = 0;
    stage.setAttribute("role", "img");
    stage.setAttribute("aria-label", `${this.label} Arrows turn it, F B S L change the view, plus and minus the size.`);
  }

  // Another cloth under the same camera.
  change({ url, still, label }) {
    Object.assign(this, { still, label });
    if (this.renderer) this.load(url);
    else this.showStill(this.said);
  }

  async load(url) {
    this.url = url;
    if (!this.renderer || !url) return;
    const answer = await fetch(url).catch(() => null);
    const buffer = answer?.ok ? await answer.arrayBuffer() : null;
    if (this.gone || this.url !== url) return; // the last one asked for wins
    if (buffer) this.show(decode(buffer));
    else this.showStill("The yarns did not arrive; the picture stands still.");
  }

  show(cloth) {
    const first = !this.cloth;
    this.drop();
    this.dress();
    this.cloth = cloth;
    const rest = cloth.states[0].points;
    this.points = new Float32Array(rest);
    this.flat = new Float32Array(rest);
    this.stretch = { strain_width: 0, strain_length: 0 };
    this.sides = rest.length / 3 > MANY_POINTS ? 6 : 10;
    this.mesh = tubesOf(this.THREE, cloth, this.sides);
    this.mesh.material.uniforms.fade.value = 0.5 / (cloth.states[0].height * cloth.diameter_mm);
    this.scene.add(this.mesh);
    this.lying = cloth.states.find((state) => state.kind === "piece");
    if (this.view === "lying" && !this.lying) this.view = "face";
    this.laid = this.view === "lying" ? 1 : 0;
    this.root.querySelectorAll(".bar, .sliders").forEach((each) => each.remove());
    this.root.append(bar(this), sliders(this, strainsOf));
    this.extent = extentOf(rest);
    this.eye.peers().forEach((peer) => peer.view.resize());
    if (first) this.eye.peers().forEach((peer) => peer.look(this.view));
    press(this);
    this.moved();
    this.cut();
  }

  resize() {
    const { clientWidth: width, clientHeight: height } = this.stage;
    if (!width || !height || !this.extent) return;
    this.renderer.setSize(width, height, false);
    this.eye.fit(width, height, this.extent, this.cloth.across * this.cloth.wales);
  }

  // Another side, in every view of the link.
  look(view) {
    if (view === "lying" && !this.lying) return;
    for (const { view: each } of this.eye.peers()) if (each.mesh) each.turnTo(view);
  }

  turnTo(view) {
    if (view === "lying" && !this.lying) return;
    this.view = view;
    this.eye.look(view);
    press(this);
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
    if (from === wanted) return;
    const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
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

  // Hold the cloth at a strain; it can be held one way at a time, and not while it lies.
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
    const view = KEYS[event.key.toLowerCase()];
    if (view) this.look(view);
    else if (!this.eye.key(event.key)) return;
    event.preventDefault();
    event.stopPropagation();
  }

  ask() {
    this.asked ??= requestAnimationFrame(() => {
      this.asked = undefined;
      if (this.gone || !this.mesh) return;
      this.mesh.material.uniforms.front.value = this.eye.front;
      this.renderer.render(this.scene, this.eye.camera);
      this.stage.dataset.drawn = String(++this.drawn);
      this.stage.dataset.view = this.view;
      this.stage.dataset.laid = String(this.laid);
    });
  }

  showStill(words) {
    this.said = words;
    const picture = document.createElement("img");
    Object.assign(picture, { src: this.still, alt: this.label });
    this.stage.className = "stage still";
    for (const name of ["tabindex", "role", "aria-label"]) this.stage.removeAttribute(name);
    this.stage.replaceChildren(picture);
    this.root.querySelectorAll(".bar, .sliders, .says").forEach((each) => each.remove());
    this.root.append(sentence(words));
  }

  drop() {
    if (!this.mesh) return;
    this.scene.remove(this.mesh);
    this.mesh.geometry.dispose();
    this.mesh.material.dispose();
    this.mesh = undefined;
  }

  leave() {
    this.gone = true;
    this.sizes?.disconnect();
    this.eye?.leave();
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
