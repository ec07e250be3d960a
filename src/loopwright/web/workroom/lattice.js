// A picture with its stitches drawn over it: white lines in a dark casing, every tenth heavy, four handles, the lean.
// Corners are px of the upright picture: lower left of the cloth, lower right, upper right, upper left.

const SVG = "http://www.w3.org/2000/svg";
const NAMES = ["lower left", "lower right", "upper right", "upper left"];
const IDLE_MS = 700;

export class Lattice {
  constructor(place, address, moved) {
    this.moved = moved;
    this.size = null;
    this.corners = null;
    this.told = null;
    this.near = false;
    this.svg = node("svg", { class: "lattice", role: "group", "aria-label": "The picture with its stitches drawn over it" });
    this.image = node("image", { href: address, x: 0, y: 0, preserveAspectRatio: "none" });
    this.over = node("g", {});
    this.svg.append(this.image, this.over);
    place.prepend(this.svg);
    const look = new Image();
    look.onload = () => {
      if (!this.size) this.frame([look.naturalWidth, look.naturalHeight]);
    };
    look.onerror = () => {
      const gone = document.createElement("p");
      gone.className = "said";
      gone.textContent = "The file of this picture is not beside this shelf.";
      this.svg.replaceWith(gone);
    };
    look.src = address;
    this.svg.addEventListener("pointerdown", (event) => this.grip(event));
    this.svg.addEventListener("keydown", (event) => this.key(event));
  }

  // Width and height of the picture itself; the copy on show may be smaller.
  frame([width, height]) {
    if (this.size?.[0] === width && this.size?.[1] === height) return;
    this.size = [width, height];
    this.image.setAttribute("width", width);
    this.image.setAttribute("height", height);
    this.view();
  }

  view() {
    if (!this.size) return;
    let box = [0, 0, ...this.size];
    if (this.near && this.corners) {
      const xs = this.corners.map(([x]) => x);
      const ys = this.corners.map(([, y]) => y);
      const wide = Math.max(...xs) - Math.min(...xs);
      const high = Math.max(...ys) - Math.min(...ys);
      const room = 0.25 * Math.max(wide, high);
      box = [Math.min(...xs) - room, Math.min(...ys) - room, wide + 2 * room, high + 2 * room];
    }
    this.svg.setAttribute("viewBox", box.join(" "));
    this.svg.style.aspectRatio = `${box[2]} / ${box[3]}`;
    this.box = box;
    this.draw();
  }

  closer() {
    this.near = !this.near;
    this.view();
    return this.near;
  }

  show(told) {
    this.told = told;
    if (told.size_px) this.frame(told.size_px);
    this.corners = told.corners.map((each) => [...each]);
    this.is_draft = false;
    this.draw();
  }

  quiet() {
    this.told = null;
    this.draw();
  }

  // A patch for the person to pull round stitches: where the last one was, else in the middle.
  mark() {
    const [width, height] = this.size ?? [100, 100];
    const side = Math.min(width, height) / 12;
    const [x, y] = [width / 2, height / 2];
    this.corners ??= [[x - side, y + side], [x + side, y + side], [x + side, y - side], [x - side, y - side]];
    this.told = { stitches: [1, 1], lean: "", wales: "", courses: "", may: true };
    this.is_draft = true;
    this.draw();
  }

  // px of the picture to one px of the window
  get scale() {
    const across = this.svg.getScreenCTM()?.a;
    return across > 0 ? 1 / across : (this.box?.[2] ?? 760) / 760;
  }

  draw() {
    this.over.replaceChildren();
    if (!this.told || !this.corners || !this.size) return;
    const s = this.scale;
    const map = through(this.corners);
    const [wales, courses] = this.told.stitches.length === 2 ? this.told.stitches : [1, 1];
    for (let at = 0; at <= wales; at += 1) this.line(map(at / wales, 0), map(at / wales, 1), weight(at, wales), s);
    for (let at = 0; at <= courses; at += 1) this.line(map(0, at / courses), map(1, at / courses), weight(at, courses), s);
    this.lean(map, s);
    if (this.told.wales) this.label(this.told.wales, middle(map(0.5, 0), 0, 20 * s), s);
    if (this.told.courses) this.label(this.told.courses, middle(map(1, 0.5), 46 * s, 0), s);
    if (this.told.may) this.corners.forEach((corner, at) => this.handle(corner, at, s));
  }

  line([x1, y1], [x2, y2], wide, s) {
    const at = { x1, y1, x2, y2 };
    const dash = this.is_draft ? { "stroke-dasharray": `${6 * s} ${4 * s}` } : {};
    this.over.append(node("line", { ...at, stroke: "#172024", "stroke-opacity": 0.55, "stroke-width": (wide + 1.4) * s, ...dash }));
    this.over.append(node("line", { ...at, stroke: "#fff", "stroke-width": wide * s, ...dash }));
  }

  // The dashed perpendicular to the courses and the thread along the wale, from the lower left corner.
  lean(map, s) {
    if (!this.told.lean) return;
    const [from, right, up] = [map(0, 0), map(1, 0), map(0, 1)];
    const course = [right[0] - from[0], right[1] - from[1]];
    const wale = [up[0] - from[0], up[1] - from[1]];
    const along = (wale[0] * course[0] + wale[1] * course[1]) / (course[0] ** 2 + course[1] ** 2);
    const end = [from[0] + wale[0] - along * course[0], from[1] + wale[1] - along * course[1]];
    const reach = (point) => [from[0] + 1.08 * (point[0] - from[0]), from[1] + 1.08 * (point[1] - from[1])];
    const draw = (to, stroke, wide, dash) => {
      const [x2, y2] = reach(to);
      const at = { x1: from[0], y1: from[1], x2, y2 };
      this.over.append(node("line", { ...at, stroke: "#fff", "stroke-width": (wide + 2) * s, ...dash }));
      this.over.append(node("line", { ...at, stroke, "stroke-width": wide * s, ...dash }));
    };
    draw(end, "#172024", 1.4, { "stroke-dasharray": `${5 * s} ${4 * s}` });
    draw(up, "#A3195B", 2, {});
    this.label(this.told.lean, middle(reach(end), 0, -14 * s), s);
  }

  label(words, [x, y], s) {
    const wide = (7 * words.length + 16) * s;
    const [left, top, width, height] = this.box;
    const cx = Math.min(Math.max(x, left + wide / 2), left + width - wide / 2);
    const cy = Math.min(Math.max(y, top + 11 * s), top + height - 11 * s);
    this.over.append(node("rect", { x: cx - wide / 2, y: cy - 11 * s, width: wide, height: 22 * s, fill: "#172024" }));
    const text = node("text", { x: cx, y: cy + 4.5 * s, fill: "#FBFBF9", "font-size": 13 * s, "font-weight": 600, "text-anchor": "middle" });
    text.textContent = words;
    this.over.append(text);
  }

  handle([x, y], at, s) {
    const group = node("g", { tabindex: 0, role: "button", "data-corner": at, "aria-label": `Corner ${NAMES[at]}: arrow keys move it` });
    group.append(node("rect", { x: x - 14 * s, y: y - 14 * s, width: 28 * s, height: 28 * s, fill: "transparent" }));
    group.append(node("rect", { x: x - 5 * s, y: y - 5 * s, width: 10 * s, height: 10 * s, fill: "#fff", stroke: "#172024", "stroke-width": 1.6 * s }));
    this.over.append(group);
  }

  grip(event) {
    const handle = event.target.closest?.("[data-corner]");
    if (!handle) return;
    event.preventDefault();
    const at = Number(handle.dataset.corner);
    handle.focus();
    const move = (on) => this.put(at, this.point(on));
    const stop = new AbortController();
    addEventListener("pointermove", move, { signal: stop.signal });
    const end = () => {
      stop.abort();
      this.settle(0);
    };
    addEventListener("pointerup", end, { signal: stop.signal });
    addEventListener("pointercancel", end, { signal: stop.signal });
  }

  point(event) {
    const { x, y } = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.svg.getScreenCTM().inverse());
    return [x, y];
  }

  put(at, point) {
    this.corners[at] = point;
    this.is_draft = true;
    this.draw();
    this.over.querySelector(`[data-corner="${at}"]`)?.focus();
  }

  key(event) {
    const handle = event.target.closest?.("[data-corner]");
    const steps = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    if (!handle || !steps) return;
    event.preventDefault();
    const at = Number(handle.dataset.corner);
    const far = (event.shiftKey ? 10 : 1) * this.scale;
    const [x, y] = this.corners[at];
    this.put(at, [x + steps[0] * far, y + steps[1] * far]);
    this.settle(IDLE_MS);
  }

  settle(after) {
    clearTimeout(this.waiting);
    this.waiting = setTimeout(() => this.is_draft && this.moved(this.corners), after);
  }
}

const weight = (at, of) => (at % 10 === 0 || at === of ? 1.8 : 0.8);
const middle = ([x, y], right, down) => [x + right, y + down];

// The projective map of the unit square onto four corners.
function through([a, b, c, d]) {
  const [dx1, dy1, dx2, dy2] = [b[0] - c[0], b[1] - c[1], d[0] - c[0], d[1] - c[1]];
  const [sx, sy] = [a[0] - b[0] + c[0] - d[0], a[1] - b[1] + c[1] - d[1]];
  const whole = dx1 * dy2 - dx2 * dy1 || 1e-9;
  const g = (sx * dy2 - dx2 * sy) / whole;
  const h = (dx1 * sy - sx * dy1) / whole;
  const [p, q, r, t] = [b[0] - a[0] + g * b[0], d[0] - a[0] + h * d[0], b[1] - a[1] + g * b[1], d[1] - a[1] + h * d[1]];
  return (u, v) => {
    const w = g * u + h * v + 1;
    return [(p * u + q * v + a[0]) / w, (r * u + t * v + a[1]) / w];
  };
}

function node(name, attributes) {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  return made;
}
