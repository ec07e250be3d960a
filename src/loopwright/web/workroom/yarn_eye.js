// From where the cloth is seen: camera, hand, keys. Views that name the same link share camera and scale.

const TURN = Math.PI / 30; // of one press of an arrow key
const [LEAST, MOST] = [0.3, 12]; // size against the whole piece
const AWAY = 100;
const EYES = {
  // y is up in the picture but for the section, where the face is
  face: [0, 0, 1],
  back: [0, 0, -1],
  section: [0, -1, 1e-4],
  lying: [-0.16, -0.76, 0.63],
};
const SIZES = { face: 1, back: 1, section: 2, lying: 0.92 };
const WALES = 12; // that the face shows at first, at most; a larger piece is seen whole as it lies
const links = new Map();

export class Eye {
  constructor({ THREE, OrbitControls }, canvas, { link, ask }) {
    Object.assign(this, { THREE, link, ask });
    this.camera = new THREE.OrthographicCamera(-1, 1, 1, -1, -1000, 1000);
    this.controls = new OrbitControls(this.camera, canvas);
    this.controls.enableZoom = false; // the wheel scrolls the page until the picture has the focus
    this.controls.addEventListener("change", () => this.quiet || this.turned());
    if (!links.has(link)) links.set(link, new Set());
    if (link) links.get(link).add(this);
  }

  peers() {
    return this.link ? [...links.get(this.link)] : [this];
  }

  // How far toward the viewer of the face we stand, 1 to −1.
  get front() {
    return this.camera.position.clone().sub(this.controls.target).normalize().z;
  }

  // The whole piece of the largest of the linked cloths; `extent` (mm) and `wales` are ours.
  fit(width, height, extent, wales) {
    Object.assign(this, { extent, wales });
    const room = this.peers().map(({ extent: each }) => (each ? Math.max(each[1], (each[0] * height) / width) : 0));
    const half = 0.54 * Math.max(...room);
    const across = (half * width) / height;
    Object.assign(this.camera, { left: -across, right: across, top: half, bottom: -half });
    this.camera.updateProjectionMatrix();
    this.ask();
  }

  look(view) {
    const wales = Math.max(WALES, ...this.peers().map((peer) => peer.wales ?? 0));
    const near = view === "lying" ? 1 : wales / WALES;
    const position = this.camera.position.clone().set(...EYES[view]).setLength(AWAY);
    this.stand(position, this.controls.target.set(0, 0, 0), near * SIZES[view]);
  }

  stand(position, target, zoom) {
    this.camera.position.copy(position);
    this.controls.target.copy(target);
    this.camera.zoom = zoom;
    this.camera.updateProjectionMatrix();
    this.quiet = true; // this is no turn of the hand
    this.controls.update();
    this.quiet = false;
    this.ask();
  }

  // The others follow.
  turned() {
    for (const peer of this.peers())
      if (peer !== this) peer.stand(this.camera.position, this.controls.target, this.camera.zoom);
    this.ask();
  }

  // Whether a key was ours.
  key(key) {
    const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[key];
    if (way) this.turn(way[0] * TURN, way[1] * TURN);
    else if (key === "+" || key === "=") this.size(1.15);
    else if (key === "-") this.size(1 / 1.15);
    else return false;
    return true;
  }

  turn(across, up) {
    const away = this.camera.position.clone().sub(this.controls.target);
    const round = new this.THREE.Spherical().setFromVector3(away);
    round.theta -= across;
    round.phi = Math.min(Math.max(round.phi + up, 1e-3), Math.PI - 1e-3);
    away.setFromSpherical(round).add(this.controls.target);
    this.stand(away, this.controls.target, this.camera.zoom);
    this.turned();
  }

  size(times) {
    const zoom = Math.min(Math.max(this.camera.zoom * times, LEAST), MOST);
    this.stand(this.camera.position, this.controls.target, zoom);
    this.turned();
  }

  leave() {
    links.get(this.link)?.delete(this);
    this.controls.dispose();
  }
}
