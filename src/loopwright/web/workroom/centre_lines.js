// Centre lines of yarns as they arrive from the server; the format is written down in draw/centre_lines.py.
// Out: lines {first, count, diameter, yarn} over points, and for each state all points of the piece (Float32Array, mm),
// its middle at 0.

const FORMAT = "loopwright centre lines 1";

export function decode(buffer) {
  const length = new DataView(buffer).getUint32(0, true);
  const header = JSON.parse(new TextDecoder().decode(new Uint8Array(buffer, 4, length)));
  if (header.format !== FORMAT) throw new Error(`not ${FORMAT}`);
  const floats = new Float32Array(buffer, 4 + length);
  const states = header.states.map((state) => ({ ...state, points: pointsOf(state, header, floats) }));
  return { ...header, lines: linesOf(header), states };
}

function linesOf(header) {
  const letters = [...new Set(header.strands.map((strand) => strand.yarn))].sort();
  const lines = [];
  let first = 0;
  for (const strand of header.strands) {
    const count = header.across * strand.points + 1;
    for (let row = 0; row < header.along; row++, first += count)
      lines.push({ first, count, diameter: strand.diameter * header.diameter_mm, yarn: letters.indexOf(strand.yarn) });
  }
  return lines;
}

function pointsOf(state, header, floats) {
  const total = header.along * header.strands.reduce((sum, each) => sum + header.across * each.points + 1, 0);
  const points = new Float32Array(3 * total);
  if (state.kind === "piece") points.set(floats.subarray(state.offset, state.offset + 3 * total));
  else layOut(state, header, floats, points);
  for (let at = 0; at < points.length; at++) points[at] *= header.diameter_mm;
  return points;
}

function layOut(state, header, floats, points) {
  let from = state.offset;
  let to = 0;
  const [midX, midY] = middle(state, header, floats);
  for (const strand of header.strands) {
    for (let row = 0; row < header.along; row++) {
      for (let at = 0; at <= header.across * strand.points; at++, to += 3) {
        const node = from + 3 * (at % strand.points);
        const repeat = Math.floor(at / strand.points);
        points[to] = floats[node] + repeat * state.width + row * state.shear - midX;
        points[to + 1] = floats[node + 1] + row * state.height - midY;
        points[to + 2] = floats[node + 2];
      }
    }
    from += 3 * strand.points;
  }
}

// The middle of the box about the first repeat, carried to the middle of the piece.
function middle(state, header, floats) {
  const nodes = header.strands.reduce((sum, each) => sum + each.points, 0);
  const low = [Infinity, Infinity];
  const high = [-Infinity, -Infinity];
  for (let node = 0; node < nodes; node++)
    for (const axis of [0, 1]) {
      const value = floats[state.offset + 3 * node + axis];
      low[axis] = Math.min(low[axis], value);
      high[axis] = Math.max(high[axis], value);
    }
  const rows = header.along - 1;
  const more = [(header.across - 1) * state.width + rows * state.shear, rows * state.height];
  return [0, 1].map((axis) => (low[axis] + high[axis] + more[axis]) / 2);
}

// The cloth held at a strain along one axis ("strain_width", "strain_length"): between the two states about it.
export function held(cloth, axis, strain, into) {
  const other = axis === "strain_width" ? "strain_length" : "strain_width";
  const row = strainsOf(cloth, axis, other);
  const above = Math.max(1, row.findIndex((state) => state[axis] >= strain));
  const [low, high] = [row[above - 1] ?? row[0], row[above] ?? row[0]];
  const span = high[axis] - low[axis];
  mix(low.points, high.points, span ? (strain - low[axis]) / span : 0, into);
}

// States along one axis, the slackest first.
export function strainsOf(cloth, axis, other = axis === "strain_width" ? "strain_length" : "strain_width") {
  const flat = cloth.states.filter((state) => state.kind === "repeat" && state[other] === 0);
  return flat.sort((a, b) => a[axis] - b[axis]);
}

export function mix(low, high, part, into) {
  for (let at = 0; at < into.length; at++) into[at] = low[at] + (high[at] - low[at]) * part;
}

// Height (mm), within one repeat about the middle, at which a cut meets the least yarn: the legs of the loops.
export function leastYarn(cloth, points) {
  const height = cloth.states[0].height * cloth.diameter_mm;
  let best = [Infinity, 0];
  for (let step = 0; step < 48; step++) {
    const level = (step / 48 - 0.5) * height;
    let met = 0;
    for (let at = 1; at < points.length; at += 3) {
      const apart = (points[at] - level) / height;
      if (Math.abs(apart - Math.round(apart)) * height < 0.5 * cloth.diameter_mm) met++;
    }
    if (met < best[0]) best = [met, level];
  }
  return best[1];
}
