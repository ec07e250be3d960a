// Yarns as tubes on the graphics card: rings square to the yarn, carried along without turning about it; the lie of
// the plies, the light from the upper left and the cut are the shader's. Lengths in mm.

const PLY_LENGTH = 3.6; // of one turn of the plies, in diameters; as in draw/tubes.py

export function tubesOf(THREE, cloth, sides) {
  const ring = sides + 1; // the last vertex of a ring lies on the first, with the angle of a whole turn
  const vertices = ring * cloth.lines.reduce((sum, line) => sum + line.count, 0);
  const geometry = new THREE.BufferGeometry();
  for (const [name, size] of [["position", 3], ["normal", 3], ["ply", 2], ["yarn", 1], ["lift", 1]])
    geometry.setAttribute(name, new THREE.BufferAttribute(new Float32Array(size * vertices), size));
  geometry.setIndex(new THREE.BufferAttribute(indices(cloth, sides), 1));
  plies(geometry, cloth, sides);
  const mesh = new THREE.Mesh(geometry, material(THREE, cloth.plies));
  mesh.frustumCulled = false;
  return mesh;
}

function indices(cloth, sides) {
  const ring = sides + 1;
  const found = new Uint32Array(6 * sides * cloth.lines.reduce((sum, line) => sum + line.count - 1, 0));
  let at = 0;
  for (const line of cloth.lines)
    for (let node = line.first; node < line.first + line.count - 1; node++)
      for (let side = 0; side < sides; side++) {
        const a = node * ring + side;
        found.set([a, a + 1, a + ring, a + 1, a + ring + 1, a + ring], at);
        at += 6;
      }
  return found;
}

// What stays whatever the cloth does: where a vertex stands on its yarn, and how near the face its yarn lies at rest.
function plies(geometry, cloth, sides) {
  const { ply, yarn, lift } = geometry.attributes;
  const rest = cloth.states[0].points;
  const half = (cloth.depth * cloth.diameter_mm) / 2;
  for (const line of cloth.lines) {
    let turns = 0;
    for (let node = line.first; node < line.first + line.count; node++) {
      if (node > line.first) turns += apart(rest, node - 1, node) / (PLY_LENGTH * line.diameter);
      for (let side = 0; side <= sides; side++) {
        const vertex = node * (sides + 1) + side;
        ply.setXY(vertex, (2 * Math.PI * side) / sides, turns);
        yarn.setX(vertex, line.yarn);
        lift.setX(vertex, rest[3 * node + 2] / half);
      }
    }
  }
}

function apart(points, a, b) {
  return Math.hypot(...[0, 1, 2].map((axis) => points[3 * b + axis] - points[3 * a + axis]));
}

// Bring the tubes to new centre lines.
export function follow(mesh, cloth, points, sides) {
  const { position, normal } = mesh.geometry.attributes;
  const turn = Array.from({ length: sides + 1 }, (_, side) => (2 * Math.PI * side) / sides);
  const [cosine, sine] = [turn.map(Math.cos), turn.map(Math.sin)];
  for (const line of cloth.lines) followLine(line, points, position.array, normal.array, cosine, sine);
  position.needsUpdate = normal.needsUpdate = true;
}

function followLine(line, points, position, normal, cosine, sine) {
  const last = line.first + line.count - 1;
  const ring = cosine.length;
  const radius = line.diameter / 2;
  const before = [0, 0, 0];
  const t = [0, 0, 0];
  const n = [0, 0, 0];
  for (let node = line.first; node <= last; node++) {
    const [a, b] = [3 * Math.max(node - 1, line.first), 3 * Math.min(node + 1, last)];
    for (let axis = 0; axis < 3; axis++) {
      before[axis] = t[axis];
      t[axis] = points[b + axis] - points[a + axis];
    }
    scale(t);
    if (node === line.first) begin(n, t);
    else carry(n, before, t);
    const [x, y, z] = [t[1] * n[2] - t[2] * n[1], t[2] * n[0] - t[0] * n[2], t[0] * n[1] - t[1] * n[0]];
    for (let side = 0; side < ring; side++) {
      const to = 3 * (node * ring + side);
      const [c, s] = [cosine[side], sine[side]];
      normal[to] = c * n[0] + s * x;
      normal[to + 1] = c * n[1] + s * y;
      normal[to + 2] = c * n[2] + s * z;
      for (let axis = 0; axis < 3; axis++) position[to + axis] = points[3 * node + axis] + radius * normal[to + axis];
    }
  }
}

function begin(n, t) {
  const away = Math.abs(t[2]) < 0.9 ? 2 : 0;
  for (let axis = 0; axis < 3; axis++) n[axis] = (axis === away ? 1 : 0) - t[away] * t[axis];
  scale(n);
}

// The shortest turn that takes the tangent from `before` to `t`.
function carry(n, before, t) {
  const share = dot(n, t) / (1 + dot(before, t));
  for (let axis = 0; axis < 3; axis++) n[axis] -= share * (before[axis] + t[axis]);
  scale(n);
}

const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];

function scale(a) {
  const length = Math.sqrt(dot(a, a)) || 1;
  for (let axis = 0; axis < 3; axis++) a[axis] /= length;
}

const VERTEX = `
attribute vec2 ply; attribute float yarn; attribute float lift;
varying vec3 vNormal; varying vec2 vPly; varying float vYarn, vLift, vHeight;
void main() {
  vNormal = normalMatrix * normal; vPly = ply; vYarn = yarn; vLift = lift; vHeight = position.y;
  gl_Position = projectionMatrix * modelViewMatrix * vec4(position, 1.0);
}`;

const FRAGMENT = `
const vec3 CUT_FACE = vec3(0.827, 0.855, 0.847);
uniform float cut, folds, way, front, fade;
varying vec3 vNormal; varying vec2 vPly; varying float vYarn, vLift, vHeight;
void main() {
  if (vHeight < cut) discard;
  if (!gl_FrontFacing) { gl_FragColor = vec4(CUT_FACE * pow(0.72, vYarn), 1.0); return; }
  vec3 n = normalize(vNormal);
  float light = 0.62 + 0.50 * max(dot(n, normalize(vec3(-0.48, 0.62, 0.62))), 0.0);
  float rim = 0.45 + 0.55 * smoothstep(0.0, 0.45, n.z);
  float fold = folds * (vPly.x - way * 6.2831853 * vPly.y);
  float fine = 1.0 - smoothstep(0.5, 2.2, folds * 6.2831853 * fwidth(vPly.y)); // seen small, plies blend
  float groove = fine * (0.5 - 0.5 * cos(fold));
  float shade = 0.88 * pow(0.62, vYarn) * light * rim * (1.0 - (folds > 1.5 ? 0.38 : 0.0) * groove * groove);
  shade *= 0.80 + 0.24 * vLift * front;
  bool whole = cut < -1.0e8;
  if (!whole) shade *= 0.62; // so that cut faces stand out
  float behind = whole ? 0.0 : clamp((vHeight - cut) * fade, 0.0, 0.6);
  gl_FragColor = vec4(mix(vec3(min(shade, 1.0)), vec3(0.984, 0.984, 0.976), behind), 1.0);
}`;

function material(THREE, plies) {
  return new THREE.ShaderMaterial({
    vertexShader: VERTEX,
    fragmentShader: FRAGMENT,
    side: THREE.DoubleSide,
    uniforms: {
      cut: { value: -1e9 },
      folds: { value: plies.count },
      way: { value: plies.twist === "Z" ? 1 : -1 },
      front: { value: 1 },
      fade: { value: 0 },
    },
  });
}
