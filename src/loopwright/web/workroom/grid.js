// The size table as a sheet of cells: walk, mark a block, type over, copy, paste, fill, back to the grade.

export class Grid {
  constructor(room) {
    this.room = room;
    this.anchor = null;
    this.dragging = false;
    const at = (kind, act) =>
      room.listen(kind, (event) => {
        const cell = event.target.closest?.("table[role=grid] [role=gridcell]");
        if (cell) act(cell, event);
      });
    at("mousedown", (cell, event) => this.press(cell, event));
    at("mouseover", (cell) => this.dragging && this.mark(cell));
    at("dblclick", (cell) => this.begin(cell));
    at("keydown", (cell, event) => this.key(cell, event));
    at("copy", (cell, event) => this.copy(event));
    at("paste", (cell, event) => this.paste(cell, event));
    at("cut", (cell, event) => {
      this.copy(event);
      this.clear();
    });
    room.listen("mouseup", () => (this.dragging = false));
    room.listen("focusout", (event) => event.target.matches?.("td.editing > input") && this.done(event.target, true));
  }

  get grid() {
    return document.querySelector("table[role=grid]");
  }

  get canEdit() {
    return this.grid?.getAttribute("aria-readonly") !== "true";
  }

  cell(row, column) {
    return this.grid.querySelector(`[data-row="${row}"][data-column="${column}"]`);
  }

  press(cell, event) {
    if (cell.matches(".editing")) return;
    event.preventDefault();
    this.go(cell, event.shiftKey);
    this.dragging = true;
  }

  go(cell, block = false) {
    if (!cell) return;
    for (const each of this.grid.querySelectorAll('[tabindex="0"]')) each.tabIndex = -1;
    cell.tabIndex = 0;
    cell.focus();
    if (!block || !this.anchor) this.anchor = place(cell);
    this.mark(cell);
  }

  mark(cell) {
    this.head = place(cell);
    const { top, bottom, left, right } = this.block;
    for (const each of this.grid.querySelectorAll("[role=gridcell]")) {
      const { row, column } = place(each);
      const inside = row >= top && row <= bottom && column >= left && column <= right;
      const many = top !== bottom || left !== right;
      if (inside && many) each.setAttribute("aria-selected", "true");
      else each.removeAttribute("aria-selected");
    }
  }

  get block() {
    const from = this.anchor ?? place(document.activeElement);
    const to = this.head ?? from;
    return {
      top: Math.min(from.row, to.row),
      bottom: Math.max(from.row, to.row),
      left: Math.min(from.column, to.column),
      right: Math.max(from.column, to.column),
    };
  }

  *cells() {
    const { top, bottom, left, right } = this.block;
    for (let row = top; row <= bottom; row++)
      for (let column = left; column <= right; column++) {
        const cell = this.cell(row, column);
        if (cell) yield cell;
      }
  }

  key(cell, event) {
    if (cell.matches(".editing")) {
      this.typing(cell, event);
      return;
    }
    const step = { ArrowUp: [-1, 0], ArrowDown: [1, 0], ArrowLeft: [0, -1], ArrowRight: [0, 1] }[event.key];
    const control = event.ctrlKey || event.metaKey;
    if (step) {
      event.preventDefault();
      const from = event.shiftKey ? (this.head ?? place(cell)) : place(cell);
      const to = this.cell(from.row + step[0], from.column + step[1]);
      if (event.shiftKey && to) this.mark(to);
      else this.go(to);
    } else if (event.key === "Home" || event.key === "End") {
      event.preventDefault();
      const row = [...cell.parentElement.querySelectorAll("[role=gridcell]")];
      this.go(event.key === "Home" ? row[0] : row.at(-1), event.shiftKey);
    } else if (event.key === "F2" || event.key === "Enter") {
      event.preventDefault();
      this.begin(cell);
    } else if (event.key === "Delete" || event.key === "Backspace") {
      event.preventDefault();
      this.clear();
    } else if (control && event.key.toLowerCase() === "d") {
      event.preventDefault();
      this.fill("down");
    } else if (control && event.key.toLowerCase() === "r") {
      event.preventDefault();
      this.fill("right");
    } else if (control && event.key.toLowerCase() === "a") {
      event.preventDefault();
      this.anchor = { row: 0, column: 0 };
      const all = [...this.grid.querySelectorAll("[role=gridcell]")];
      this.mark(all.at(-1));
    } else if (event.key === "Escape") {
      this.anchor = place(cell);
      this.mark(cell);
    } else if (event.key.length === 1 && !control && !event.altKey) {
      event.preventDefault();
      this.begin(cell, event.key);
    }
  }

  begin(cell, text) {
    if (!this.canEdit) return;
    cell.dataset.before = cell.textContent;
    cell.dataset.base = this.room.sender.version;
    cell.classList.add("editing");
    full(cell);
    const field = document.createElement("input");
    field.value = text ?? cell.textContent;
    field.setAttribute("aria-label", cell.title || "cell");
    cell.replaceChildren(field);
    field.focus();
    if (text === undefined) field.select();
  }

  typing(cell, event) {
    const moves = { Enter: [event.shiftKey ? -1 : 1, 0], Tab: [0, event.shiftKey ? -1 : 1] }[event.key];
    if (moves) {
      event.preventDefault();
      const { row, column } = place(cell);
      this.done(cell.firstChild, true);
      this.go(this.cell(row + moves[0], column + moves[1]) ?? this.cell(row, column));
    } else if (event.key === "Escape") {
      event.stopPropagation();
      this.done(cell.firstChild, false);
      this.go(cell);
    }
  }

  done(field, keep) {
    const cell = field.closest("td");
    if (!cell?.matches(".editing")) return;
    const text = field.value;
    const before = cell.dataset.before;
    cell.classList.remove("editing");
    cell.replaceChildren(before);
    if (!keep || text === before) return;
    cell.textContent = text;
    this.send([{ cell, typed: text }], Number(cell.dataset.base));
  }

  // The corners of an earlier paste are gone with the next change.
  allFull() {
    for (const cell of this.grid?.querySelectorAll("[data-hollow]") ?? []) full(cell);
  }

  send(changes, base, pasted) {
    const edits = changes.map(({ cell, typed }) => ({ path: JSON.parse(cell.dataset.path), typed }));
    if (edits.length) this.room.sender.edit(edits, { base, pasted });
  }

  clear() {
    if (!this.canEdit) return;
    this.send([...this.cells()].filter((cell) => cell.matches(".hand, .base")).map((cell) => ({ cell, typed: "" })));
  }

  fill(way) {
    if (!this.canEdit) return;
    const { top, left } = this.block;
    const changes = [...this.cells()].map((cell) => {
      const from = place(cell);
      const source = way === "down" ? this.cell(top, from.column) : this.cell(from.row, left);
      return { cell, typed: source.textContent };
    });
    this.send(changes.filter(({ cell, typed }) => cell.textContent !== typed));
  }

  copy(event) {
    if (event.target.nodeName === "INPUT") return;
    const { left, right } = this.block;
    const rows = new Map();
    for (const cell of this.cells()) {
      const { row } = place(cell);
      rows.set(row, [...(rows.get(row) ?? []), cell.textContent]);
    }
    event.clipboardData.setData("text/plain", [...rows.values()].map((row) => row.join("\t")).join("\n"));
    event.preventDefault();
    this.room.say(`${rows.size} by ${right - left + 1} cells copied.`);
  }

  paste(cell, event) {
    if (event.target.nodeName === "INPUT" || !this.canEdit) return;
    event.preventDefault();
    const lines = event.clipboardData.getData("text/plain").replace(/\r/g, "").replace(/\n$/, "").split("\n");
    const { top, left } = this.block;
    this.allFull();
    const changes = [];
    const pasted = { blank: 0, over: 0, refused: 0 };
    lines.forEach((line, down) =>
      line.split("\t").forEach((text, right) => {
        const target = this.cell(top + down, left + right);
        if (!target) pasted.over += 1;
        else if (!text.trim()) pasted.blank += 1;
        else changes.push({ cell: target, typed: text.trim() });
      }),
    );
    if (changes.length) this.send(changes, undefined, pasted);
    else this.room.say(pastedWords(0, pasted));
  }
}

// What became of a paste; the door has read every cell of it.
export function pastedWords(taken, { blank, over, refused }) {
  const many = (count, one, more) => (count === 1 ? one : more.replace("#", count));
  const words = [];
  if (taken) words.push(many(taken, "1 cell pasted.", "# cells pasted."));
  if (refused) words.push(many(refused, "1 could not be read and keeps what it had.", "# could not be read and keep what they had."));
  if (blank) words.push(many(blank, "1 was empty and was left alone.", "# were empty and were left alone."));
  if (over) words.push(many(over, "1 fell outside the table.", "# fell outside the table."));
  return words.join(" ") || "Nothing to paste.";
}

export function hollow(cell, words) {
  cell.dataset.hollow = "";
  cell.setAttribute("aria-description", words);
  list(cell);
}

function full(cell) {
  delete cell.dataset.hollow;
  cell.removeAttribute("aria-description");
  list(cell);
}

// Under the table, in words: what every hollow corner stands for.
function list(cell) {
  const box = cell.closest(".scroll");
  if (box.nextElementSibling?.matches(".hollow-cells")) box.nextElementSibling.remove();
  const cells = [...box.querySelectorAll("[data-hollow]")];
  if (!cells.length) return;
  const told = document.createElement("ul");
  told.className = "hollow-cells remarks";
  told.dataset.own = "";
  for (const each of cells) {
    const line = document.createElement("li");
    const where = document.createElement("b");
    where.textContent = each.title.split(":")[0] || `grade of ${each.parentElement.querySelector("[scope=row]").textContent}`;
    line.append(where, ` ${each.getAttribute("aria-description")} It keeps ${each.textContent || "nothing"}.`);
    told.append(line);
  }
  box.after(told);
}

const place = (cell) => ({ row: Number(cell.dataset.row), column: Number(cell.dataset.column) });
