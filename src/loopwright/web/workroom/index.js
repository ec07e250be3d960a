// One page of the workroom: what it listens to, what it says, and how it stands with the shelf.

import { Bench } from "./bench.js";
import { Brief, find, sentence } from "./brief.js";
import { Bring } from "./bring.js";
import { Fetched } from "./fetched.js";
import { Grid, hollow, pastedWords } from "./grid.js";
import { HandOver } from "./hand_over.js";
import { Keys } from "./keys.js";
import { Loop } from "./loop.js";
import { Marks } from "./marks.js";
import { Narrow } from "./narrow.js";
import { Next } from "./next.js";
import { Notation } from "./notation.js";
import { Photos } from "./photo.js";
import { Pieces } from "./pieces.js";
import { Sender, send } from "./send.js";
import { ShelfDoor } from "./shelf.js";
import { Why } from "./why.js";
import { Zoom } from "./zoom.js";

export { adopt } from "./morph.js";

export function begin(page, emit) {
  return new Room(page, emit);
}

class Room {
  constructor(page, emit) {
    this.page = page;
    this.emit = emit;
    this.item = page.item ?? null;
    this.whyFront = page.why ?? `/api/items/${this.item}/why/`;
    this.stop = new AbortController();
    this.sender = this.item ? new Sender(this.item, page.version, (what, detail) => this.hear(what, detail)) : null;
    this.why = new Why(this);
    this.keys = new Keys(this);
    this.narrow = new Narrow(this);
    this.marks = new Marks(this);
    this.shelf = new ShelfDoor(this);
    this.fetched = new Fetched(this);
    if (this.item) {
      this.brief = new Brief(this);
      this.grid = new Grid(this);
      this.bring = new Bring(this);
      this.zoom = new Zoom(this);
      this.notation = new Notation(this);
      this.bench = new Bench(this);
      this.photos = new Photos(this);
      this.next = new Next(this);
      this.pieces = new Pieces(this);
      this.handOver = new HandOver(this);
      this.listen("part", (event) => this.part(event.detail));
      this.listen("click", (event) => {
        const size = event.target.closest?.("[data-size]");
        if (size) this.emit("size", { size: size.dataset.size });
      });
      this.saved({ at: page.at, version: page.version, undo: page.undo, redo: page.redo });
    }
    this.loop = page.loop === undefined ? null : new Loop(this, page.loop);
    this.marks.ready();
    for (const each of document.querySelectorAll("[data-part]")) this.part({ name: each.dataset.part, first: true });
    this.zoom?.ready();
    if (location.hash) document.querySelector(location.hash)?.focus();
    document.documentElement.dataset.ready = "";
  }

  whyAddress(key) {
    return this.whyFront + encodeURIComponent(key);
  }

  leave() {
    this.stop.abort();
  }

  listen(kind, act) {
    document.addEventListener(kind, act, { signal: this.stop.signal });
  }

  part({ name }) {
    if (name === "brief" || name === "title") this.brief?.mark();
    if (name === "measure") this.bench?.part();
    if (name === "photo") this.photos?.part();
    if (name === "next") this.next?.part();
    if (name === "pack") this.handOver?.part();
    if (name === "lede" || name === "foot") this.fresh();
  }

  fresh() {
    document.body.classList.remove("busy");
    clearTimeout(this.refreshing);
    this.refreshing = setTimeout(() => this.why.refresh(), 30);
  }

  // from the server, after a new study
  state(state) {
    this.sender?.seen(state.version);
    this.saved(state);
    this.bench?.arrived();
    this.photos?.arrived();
    this.handOver?.arrived();
    document.documentElement.dataset.shown = state.version;
    document.body.classList.remove("busy");
  }

  busy() {
    document.body.classList.add("busy");
  }

  hear(what, detail) {
    const acts = {
      waiting: () => {},
      saved: () => this.stored(detail),
      refused: () => this.refused(detail),
      clash: () => this.clash(detail),
      lost: () => this.lost(detail),
      found: () => this.say("Connected again; everything that waited is saved."),
    };
    acts[what]();
  }

  stored(answer) {
    if (answer.door === "readings") this.bench.saved(answer, answer.asked);
    this.saved({ at: answer.changed_at, version: answer.version, undo: answer.undo, redo: answer.redo });
    document.documentElement.dataset.saved = answer.version;
    if (!answer.label) {
      document.body.classList.remove("busy");
      return;
    }
    const steps = answer.steps.length === 1 ? answer.steps[0] : null;
    const one = steps && answer.label.startsWith(steps.label) && `${steps.label}: ${steps.before || "left out"} → ${steps.after || "left out"}.`;
    const words = answer.door ? `${answer.label}.` : answer.pasted ? pastedWords(answer.edits.length, answer.pasted) : (one || `${answer.label}.`);
    const merged = answer.merged ? " Changes of another window were kept beside it." : "";
    this.say(words + merged, { words: "Undo", act: () => this.undo("undo") });
  }

  // Of many cells sent together the door refused some: they wear a hollow corner, the others go on their way.
  partly({ edits, cells, base, label, pasted = { blank: 0, over: 0, refused: 0 } }) {
    const out = new Set(cells.map(({ path }) => JSON.stringify(path)));
    for (const { path, problem } of cells) {
      const cell = find(path);
      if (cell?.matches("td")) hollow(cell, sentence(problem));
    }
    const rest = edits.filter(({ path }) => !out.has(JSON.stringify(path)));
    const told = { ...pasted, refused: cells.length };
    if (rest.length) this.sender.edit(rest, { base, label, pasted: told });
    else this.say(pastedWords(0, told));
  }

  refused(sent) {
    const { problem, edits } = sent;
    if (sent.door) {
      this.bench.refused(sent.asked, problem);
      return;
    }
    if (sent.cells.length) {
      this.partly(sent);
      return;
    }
    const shown = edits.length === 1 && this.brief.refuse(edits[0].path, problem);
    for (const edit of edits) {
      const cell = find(edit.path);
      if (!cell?.matches("td")) continue;
      cell.textContent = cell.dataset.before ?? cell.textContent;
      hollow(cell, sentence(problem));
    }
    if (shown && !find(edits[0].path).matches("td")) return;
    this.say(`${problem.where ? `${problem.where}: ` : ""}${problem.what} ${problem.tries?.length ? `Try: ${problem.tries.join("; ")}.` : ""} The table keeps what it had.`);
  }

  clash({ conflicts, version, edits }) {
    document.querySelector(".clash")?.remove();
    const card = document.createElement("section");
    card.className = "clash";
    card.setAttribute("role", "alertdialog");
    card.setAttribute("aria-label", "Changed in two windows");
    for (const each of conflicts) {
      const time = new Date(each.at).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
      const rows = [
        [`there, version ${each.version}, by ${each.by}`, each.there || "left out"],
        ["here, not saved", each.here || "left out"],
      ];
      const said = document.createElement("p");
      said.className = "said";
      said.textContent = `${each.label} was changed in another window at ${time}.`;
      const list = document.createElement("dl");
      for (const [term, value] of rows) {
        const row = document.createElement("div");
        const name = document.createElement("dt");
        const held = document.createElement("dd");
        name.textContent = term;
        held.textContent = value;
        row.append(name, held);
        list.append(row);
      }
      card.append(said, list);
    }
    const keep = button(`Keep ${conflicts[0].here || "it left out"} here`, "button filled", () => {
      card.remove();
      this.sender.edit(edits, { base: version });
    });
    const take = button(`Take ${conflicts[0].there || "it left out"}`, "button", async () => {
      card.remove();
      for (const edit of edits) {
        const field = find(edit.path);
        if (field?.matches("input, textarea, select")) this.brief.accept(field);
        if (field) field.dataset.seen = undefined;
      }
      await send(`/api/items/${this.item}/set-aside`, { base_version: version, edits, window: this.sender.window });
      for (const each of conflicts) {
        const field = find(each.path);
        if (field?.matches("input, textarea, select")) field.value = field.dataset.seen = each.there;
        else if (field) field.textContent = each.there;
      }
    });
    const last = document.createElement("p");
    last.className = "line";
    last.textContent = "Both stay in the history either way.";
    card.append(keep, take, last);
    document.body.append(card);
    keep.focus();
  }

  lost({ since, waiting }) {
    const time = since.toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
    this.say(`Not connected since ${time}. You can read on; what you type waits here: ${waiting} change${waiting === 1 ? "" : "s"} so far.`);
  }

  async undo(way) {
    if (!this.sender) {
      this.loop?.step(way);
      return;
    }
    this.grid?.allFull();
    const answer = await this.sender.step(way);
    if (answer?.status === 200) {
      this.saved({ at: answer.body.changed_at, version: answer.body.version, undo: answer.body.undo, redo: answer.body.redo });
      const done = way === "undo" ? "Taken back" : "Done again";
      this.say(`${done}: ${answer.body.label}.`, way === "undo" ? { words: "Redo", act: () => this.undo("redo") } : undefined);
    } else {
      this.say(answer?.body?.problem?.what ?? "The workroom does not answer.");
    }
  }

  saved({ at, version, undo, redo }) {
    const line = document.querySelector(".saved");
    if (!line) return;
    const time = new Date(at).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
    line.querySelector(".time").textContent = `Saved ${time}`;
    line.querySelector(".version").textContent = `version ${version}`;
    for (const [way, label] of [["undo", undo], ["redo", redo]]) {
      const each = line.querySelector(`[data-do=${way}]`);
      if (!each) continue;
      each.disabled = !label;
      each.title = label ? `${way}: ${label}` : `nothing to ${way}`;
    }
  }

  // The message strip: stays until the next change.
  say(words, action) {
    let strip = document.querySelector(".strip");
    if (!strip) {
      strip = document.createElement("div");
      strip.className = "strip";
      strip.setAttribute("role", "status");
      document.body.append(strip);
    }
    const said = document.createElement("p");
    said.textContent = words;
    strip.replaceChildren(said);
    if (action) strip.append(button(action.words, "link", action.act));
    strip.append(button("close", "link", () => strip.remove()));
  }

  quiet() {
    document.querySelector(".strip")?.remove();
  }
}

function button(words, names, act) {
  const made = document.createElement("button");
  made.type = "button";
  made.className = names;
  made.textContent = words;
  made.addEventListener("click", act);
  return made;
}
