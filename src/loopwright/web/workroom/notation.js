// The needle notation, drawn: feeds from the bottom, two beds each, transfers and racking between them.

const NAMES = { K: "knit", T: "tuck", M: "miss", "-": "out of action" };
const SHOWN_PLACES = 12;

export class Notation {
  constructor(room) {
    this.room = room;
    this.brush = null;
    this.at = { row: 0, place: 0 };
    room.listen("part", () => this.ready());
    const inside = (kind, act) =>
      room.listen(kind, (event) => {
        if (event.target.closest?.("[data-notation]")) act(event);
      });
    inside("click", (event) => this.click(event));
    inside("keydown", (event) => this.key(event));
    inside("change", (event) => this.field(event));
    inside("copy", (event) => this.copy(event));
    inside("paste", (event) => this.paste(event));
    this.ready();
  }

  get box() {
    return document.querySelector("[data-notation]");
  }

  ready() {
    const box = this.box;
    if (!box) return;
    const held = JSON.parse(box.dataset.notation);
    const lines = JSON.stringify(held.lines);
    if (box.querySelector(".beds") && lines === this.last) return;
    this.last = lines;
    this.gating = held.gating;
    this.signs = held.signs;
    this.steps = structuredClone(held.steps);
    this.draw();
  }

  get needles() {
    return (this.steps.find((step) => step.kind === "feed") ?? { front: "K" }).front.length;
  }

  // Rows from the bottom: (step, bed) of every row a cursor can stand on.
  get rows() {
    return this.steps.flatMap((step, index) =>
      step.kind === "feed"
        ? [
            { index, bed: "front" },
            { index, bed: "back" },
          ]
        : [{ index, bed: step.kind }],
    );
  }

  draw() {
    const box = this.box;
    let own = box.querySelector("[data-own]");
    if (!own) {
      own = document.createElement("div");
      own.dataset.own = "";
      box.append(own);
    }
    const focused = box.contains(document.activeElement) && document.activeElement.matches(".beds");
    const columns = Math.max(this.needles, Math.min(SHOWN_PLACES, this.needles * Math.ceil(8 / this.needles)));
    const steps = [...this.steps.keys()].reverse().map((index) => this.step(index, columns));
    own.innerHTML = `${this.palette()}<div class="beds" tabindex="0" role="application" aria-label="Needle notation, ${this.needles} needles. Arrows walk; K T M write; Ins adds a feed." aria-describedby="notation-says">${steps.join("")}${this.foot(columns)}</div><p class="says" id="notation-says" aria-live="polite">${this.words()}</p>`;
    if (focused) own.querySelector(".beds").focus();
  }

  palette() {
    const brush = ([sign, name]) =>
      `<button type="button" class="brush" data-brush="${sign}" aria-pressed="${this.brush === sign}"><kbd>${sign === "-" ? "." : sign}</kbd>${this.glyph(sign, false)} ${name}</button>`;
    const act = (what, words, key) =>
      `<button type="button" class="quiet" data-act="${what}">${words}${key ? ` <kbd>${key}</kbd>` : ""}</button>`;
    return `<p class="palette">${Object.entries(NAMES).map(brush).join("")}</p><p class="palette">${act("feed", "new feed", "Ins")}${act("gone", "take out", "Del")}${act("wider", "needle more", "&gt;")}${act("narrower", "needle less", "&lt;")}${act("move", "transfer", "X")}${act("rack", "racking", "R")}</p>`;
  }

  glyph(sign, back) {
    return `<svg viewBox="0 0 26 24" width="26" height="24" aria-hidden="true">${this.signs[back ? "back" : "front"][sign] ?? ""}</svg>`;
  }

  step(index, columns) {
    const step = this.steps[index];
    if (step.kind === "rack") return this.between(index, `racking ${step.offset > 0 ? "+" : ""}${step.offset}: the back bed stands ${Math.abs(step.offset)} needle${Math.abs(step.offset) === 1 ? "" : "s"} to the ${step.offset < 0 ? "left" : "right"}`, "rack", columns);
    if (step.kind === "move") return this.between(index, step.from_front ? "transfer, front to back" : "transfer, back to front", "move", columns);
    const number = this.steps.slice(0, index + 1).filter((each) => each.kind === "feed").length;
    const bed = (name) =>
      `<div class="bed ${name}${name === "back" && this.gating === "rib" ? " half" : ""}"><b>${name === "back" ? "B" : "F"}</b>${this.cells(index, name, columns)}</div>`;
    return `<div class="feed"><div class="label"><strong>Feed ${number}</strong><label>yarn <input data-yarn="${index}" value="${step.yarn}" size="2" maxlength="12" aria-label="Yarn of feed ${number}"></label></div><div>${bed("back")}${bed("front")}</div></div>`;
  }

  between(index, words, bed, columns) {
    return `<div class="feed between"><div class="label">between</div><div><span class="note">${words}</span>${bed === "move" ? `<div class="bed"><b></b>${this.cells(index, bed, columns)}</div>` : `<div class="bed"><b></b>${this.cell(index, bed, 0, 0, "±")}</div>`}</div></div>`;
  }

  cells(index, bed, columns) {
    const step = this.steps[index];
    const signs = bed === "move" ? step.needles : step[bed];
    let made = "";
    for (let column = 0; column < columns; column++) made += this.cell(index, bed, column, column % signs.length, signs[column % signs.length]);
    return made;
  }

  cell(index, bed, column, place, sign) {
    const row = this.rows.findIndex((each) => each.index === index && each.bed === bed);
    const here = row === this.at.row && column === this.at.place;
    const faint = column >= this.needles ? " faint" : "";
    const block = this.inBlock(row, column) ? " block" : "";
    const inner = bed === "move" ? (sign === "X" ? "⇅" : "·") : bed === "rack" ? "±" : this.glyph(sign, bed === "back");
    return `<span class="cell${here ? " here" : ""}${faint}${block}" data-row="${row}" data-place="${column}">${inner}</span>`;
  }

  inBlock(row, place) {
    if (!this.anchor) return false;
    const [a, b] = [this.anchor, this.at];
    const within = (value, one, other) => value >= Math.min(one, other) && value <= Math.max(one, other);
    return within(row, a.row, b.row) && within(place, a.place, b.place);
  }

  foot(columns) {
    return `<p class="line">repeat: ${this.needles} needle${this.needles === 1 ? "" : "s"} of each bed, ${this.steps.filter((step) => step.kind === "feed").length} feeds${columns > this.needles ? "; the pale needles repeat it" : ""}. ${this.gating === "rib" ? "Rib gating: back needles stand between front needles." : "Interlock gating: needles stand opposite each other."}</p>`;
  }

  words() {
    const here = this.rows[this.at.row];
    if (!here) return "";
    const step = this.steps[here.index];
    const number = this.steps.slice(0, here.index + 1).filter((each) => each.kind === "feed").length;
    if (step.kind === "rack") return `Racking after feed ${number}: ${step.offset}. R one more, Shift R one less.`;
    if (step.kind === "move") return `Transfer after feed ${number}, needle ${this.at.place + 1}: ${step.needles[this.at.place] === "X" ? "moved" : "stays"}. X changes it, D turns the direction.`;
    return `Feed ${number}, ${here.bed} bed, needle ${this.at.place + 1}: ${NAMES[step[here.bed][this.at.place]]}.`;
  }

  click(event) {
    const brush = event.target.closest("[data-brush]");
    const act = event.target.closest("[data-act]");
    const cell = event.target.closest(".cell");
    if (brush) {
      this.brush = this.brush === brush.dataset.brush ? null : brush.dataset.brush;
      this.draw();
      this.box.querySelector(`[data-brush="${brush.dataset.brush}"]`).focus();
    } else if (act) {
      this.act(act.dataset.act);
    } else if (cell && Number(cell.dataset.place) < Math.max(1, this.needles)) {
      this.at = { row: Number(cell.dataset.row), place: Number(cell.dataset.place) };
      this.anchor = null;
      const bed = this.rows[this.at.row].bed;
      if (bed === "move") this.toggle();
      else if (this.brush && bed !== "rack") this.write(this.brush, false);
      else this.draw();
      this.box.querySelector(".beds").focus();
    }
  }

  key(event) {
    if (!event.target.matches(".beds")) return;
    const control = event.ctrlKey || event.metaKey;
    const step = { ArrowUp: [1, 0], ArrowDown: [-1, 0], ArrowLeft: [0, -1], ArrowRight: [0, 1] }[event.key];
    const letter = event.key.toUpperCase();
    if (step) this.walk(step, event.shiftKey);
    else if (control) return;
    else if ("KTM".includes(letter) && letter.length === 1) this.write(letter);
    else if (event.key === ".") this.write("-");
    else if (letter === "X") this.act("move");
    else if (letter === "D") this.turn();
    else if (letter === "R") this.act(event.shiftKey ? "rack-less" : "rack");
    else if (event.key === "Insert" || (event.key === "Enter" && event.shiftKey)) this.act("feed");
    else if (event.key === "Delete") this.act("gone");
    else if (event.key === ">") this.act("wider");
    else if (event.key === "<") this.act("narrower");
    else return;
    event.preventDefault();
    event.stopPropagation();
  }

  walk([rows, places], block) {
    if (block) this.anchor ??= { ...this.at };
    else this.anchor = null;
    const row = this.at.row + rows;
    const place = this.at.place + places;
    if (row >= 0 && row < this.rows.length) this.at.row = row;
    if (place >= 0 && place < this.needles) this.at.place = place;
    this.draw();
  }

  // Writes a sign at the cursor, or over the whole block.
  write(sign, onwards = true) {
    const rows = this.anchor ? span(this.anchor.row, this.at.row) : [this.at.row];
    const places = this.anchor ? span(this.anchor.place, this.at.place) : [this.at.place];
    for (const row of rows) {
      const { index, bed } = this.rows[row];
      if (bed === "move" || bed === "rack") continue;
      const signs = [...this.steps[index][bed]];
      for (const place of places) signs[place] = sign;
      this.steps[index][bed] = signs.join("");
    }
    if (onwards && !this.anchor && this.at.place + 1 < this.needles) this.at.place += 1;
    this.save(NAMES[sign]);
  }

  toggle() {
    const { index } = this.rows[this.at.row];
    const marks = [...this.steps[index].needles];
    marks[this.at.place] = marks[this.at.place] === "X" ? "." : "X";
    this.steps[index].needles = marks.join("");
    this.save("transfer");
  }

  turn() {
    const { index, bed } = this.rows[this.at.row];
    if (bed !== "move") return;
    this.steps[index].from_front = !this.steps[index].from_front;
    this.save("transfer turned");
  }

  act(what) {
    const { index, bed } = this.rows[this.at.row] ?? { index: 0, bed: "front" };
    const acts = {
      feed: () => this.insert(index, { ...structuredClone(this.feedAt(index)) }, "new feed"),
      gone: () => this.takeOut(index),
      wider: () => this.widen(1),
      narrower: () => this.widen(-1),
      move: () => (bed === "move" ? this.toggle() : this.insert(index, this.transfer(bed), "transfer")),
      rack: () => this.rack(index, bed, 1),
      "rack-less": () => this.rack(index, bed, -1),
    };
    acts[what]();
    this.box.querySelector(".beds").focus();
  }

  feedAt(index) {
    return this.steps[index].kind === "feed" ? this.steps[index] : this.steps.find((step) => step.kind === "feed");
  }

  transfer(bed) {
    const needles = [...".".repeat(this.needles)];
    needles[this.at.place] = "X";
    return { kind: "move", from_front: bed !== "back", needles: needles.join("") };
  }

  rack(index, bed, by) {
    if (bed === "rack") {
      this.steps[index].offset += by;
      this.save("racking");
    } else this.insert(index, { kind: "rack", offset: by }, "racking");
  }

  insert(index, step, words) {
    this.steps.splice(index + 1, 0, step);
    this.at.row = this.rows.findIndex((each) => each.index === index + 1);
    this.save(words);
  }

  takeOut(index) {
    const feeds = this.steps.filter((step) => step.kind === "feed").length;
    if (this.steps[index].kind === "feed" && feeds === 1) {
      this.room.say("A structure keeps at least one feed.");
      return;
    }
    this.steps.splice(index, 1);
    this.at.row = Math.min(this.at.row, this.rows.length - 1);
    this.save("taken out");
  }

  widen(by) {
    const change = (signs) => (by > 0 ? signs + signs.at(-1) : signs.slice(0, -1));
    if (by < 0 && this.needles === 1) {
      this.room.say("A repeat has at least one needle.");
      return;
    }
    for (const step of this.steps) {
      if (step.kind === "feed") [step.front, step.back] = [change(step.front), change(step.back)];
      if (step.kind === "move") step.needles = by > 0 ? `${step.needles}.` : step.needles.slice(0, -1);
    }
    this.at.place = Math.min(this.at.place, this.needles - 1);
    this.save(by > 0 ? "a needle more" : "a needle less");
  }

  field(event) {
    const index = event.target.dataset.yarn;
    if (index === undefined) return;
    const yarn = event.target.value.trim().toLowerCase().replace(/[^\p{L}\p{N}_-]/gu, "") || "a";
    this.steps[index].yarn = yarn;
    this.save(`yarn ${yarn}`);
  }

  copy(event) {
    if (!event.target.matches(".beds")) return;
    const from = this.anchor ?? this.at;
    const rows = span(from.row, this.at.row)
      .map((row) => this.rows[row])
      .filter(({ bed }) => bed === "front" || bed === "back");
    const places = span(from.place, this.at.place);
    const text = rows.map(({ index, bed }) => places.map((place) => this.steps[index][bed][place]).join("")).join("\n");
    event.clipboardData.setData("text/plain", text);
    event.preventDefault();
  }

  paste(event) {
    if (!event.target.matches(".beds")) return;
    event.preventDefault();
    const lines = event.clipboardData.getData("text/plain").toUpperCase().split(/\r?\n/).filter(Boolean);
    if (!lines.every((line) => /^[KTM.-]+$/.test(line))) {
      this.room.say("Only the signs K T M and . can be pasted into a notation.");
      return;
    }
    const rows = this.rows.slice(this.at.row).filter(({ bed }) => bed === "front" || bed === "back");
    lines.slice(0, rows.length).forEach((line, down) => {
      const { index, bed } = rows[down];
      const signs = [...this.steps[index][bed]];
      [...line.replaceAll(".", "-")].forEach((sign, right) => {
        if (this.at.place + right < signs.length) signs[this.at.place + right] = sign;
      });
      this.steps[index][bed] = signs.join("");
    });
    this.save("block pasted");
  }

  save(words) {
    if (this.box.getAttribute("aria-disabled") === "true") {
      this.room.say("You may look here, not change.");
      this.last = null;
      this.ready();
      return;
    }
    const lines = this.steps.map(line);
    this.last = JSON.stringify(lines);
    this.draw();
    const path = JSON.parse(this.box.dataset.at);
    this.room.sender.edit([{ path, value: lines }], { label: `notation: ${words}` });
  }
}

const span = (one, other) => {
  const [low, high] = one <= other ? [one, other] : [other, one];
  return Array.from({ length: high - low + 1 }, (_, step) => low + step);
};

// A step as its line of notation.
function line(step) {
  if (step.kind === "rack") return `rack:${step.offset > 0 ? "+" : ""}${step.offset}`;
  if (step.kind === "move") return `move ${step.from_front ? "F>B" : "B>F"}:${step.needles}`;
  const parts = [];
  if (/[^-]/.test(step.front)) parts.push(`F:${step.front}`);
  if (/[^-]/.test(step.back)) parts.push(`B:${step.back}`);
  if (!parts.length) parts.push(`F:${step.front}`);
  if (step.yarn !== "a") parts.push(`yarn:${step.yarn}`);
  if (step.role !== "knit") parts.push(`loop:${step.role}`);
  return parts.join(" ");
}
