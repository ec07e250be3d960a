// Pictures of a sitting: brought, read, looked at with the stitches drawn over them, corrected, and kept when they sit.
// Everything said about a picture stands in `told`; asking again with another word drops what was asked before.

import { sentence } from "./brief.js";
import { Lattice } from "./lattice.js";
import { send } from "./send.js";

const ASK_MS = 600;

export class Photos {
  constructor(room) {
    this.room = room;
    this.photo = ""; // the one on show
    this.reading = null; // what was read last, provisional
    this.asked = 0;
    this.bringing = 0;
    room.listen("change", (event) => this.change(event));
    room.listen("click", (event) => this.click(event));
    room.listen("keydown", (event) => this.key(event));
    room.listen("submit", (event) => event.target.matches?.(".photo-form") && event.preventDefault());
    for (const kind of ["dragover", "dragleave", "drop"]) room.listen(kind, (event) => this.drop(kind, event));
    addEventListener("resize", () => this.lattice?.draw());
  }

  get box() {
    return document.querySelector(".pictures");
  }

  get form() {
    return document.querySelector(".photo-form");
  }

  get stage() {
    return document.querySelector(".photo-stage");
  }

  get sitting() {
    return this.box?.dataset.sitting ?? "";
  }

  get all() {
    return JSON.parse(this.box?.dataset.photos ?? "[]");
  }

  get record() {
    return this.all.find((each) => each.photo === this.photo);
  }

  get door() {
    return `/api/items/${this.room.item}/photos`;
  }

  get store() {
    return `loopwright-told-${this.room.item}-${this.photo}`;
  }

  // What is said of the picture on show: kept in the browser, so that loading the page again asks the same.
  get told() {
    const kept = sessionStorage.getItem(this.store);
    return kept ? JSON.parse(kept) : { reference: this.record?.reference || "none", ...(this.record?.side && this.record.confirmed ? { side: this.record.side } : {}) };
  }

  set told(told) {
    sessionStorage.setItem(this.store, JSON.stringify(told));
  }

  part() {
    if (!this.box) return;
    this.size();
    const known = this.all;
    if (!known.some((each) => each.photo === this.photo) || this.shown !== this.sitting) {
      this.shown = this.sitting;
      this.look(known.at(-1)?.photo ?? "");
    } else {
      this.picks();
      const now = this.record;
      if (JSON.stringify(now) !== this.drawn) this.look(this.photo);
    }
    this.arrived();
  }

  picks() {
    const place = document.querySelector(".photo-picks");
    const known = this.all;
    place.replaceChildren(
      ...(known.length < 2
        ? []
        : known.map((each, at) => {
            const button = made("button", "size", `picture ${at + 1}${each.confirmed ? "" : ", not yet read in"}`);
            button.type = "button";
            button.dataset.look = each.photo;
            button.setAttribute("aria-pressed", String(each.photo === this.photo));
            return button;
          })),
    );
  }

  look(photo) {
    this.photo = photo;
    this.asked += 1;
    this.reading = null;
    this.lattice = null;
    this.drawn = JSON.stringify(this.record);
    this.picks();
    const { stage, record } = this;
    stage.replaceChildren();
    if (!record) return;
    this.say();
    this.lattice = new Lattice(stage, `${this.door}/${photo}`, (corners) => this.moved(corners));
    const under = made("div", "photo-under");
    stage.append(under);
    if (record.confirmed) this.kept(record);
    else this.read();
  }

  // The form says what the picture on show was told.
  say() {
    const { form, told } = this;
    if (!form) return;
    const [kind, size] = told.reference.split(":");
    form.elements.reference.value = kind;
    form.elements.wales.value = told.wales ?? "upright";
    form.elements.side.value = told.side ?? "";
    this.size(size);
  }

  size(value) {
    const { form } = this;
    if (!form) return;
    const asks = JSON.parse(form.dataset.asks)[form.elements.reference.value];
    const place = form.querySelector(".size-of");
    place.hidden = !asks;
    if (!asks) return;
    place.querySelector("span").textContent = asks[1];
    if (value !== undefined) form.elements.size.value = value;
    else if (form.elements.size.value === "") form.elements.size.value = asks[0];
  }

  // What the form says; null while a size is missing, with the reason beside it.
  said() {
    const { reference, size, wales, side } = this.form.elements;
    const asks = JSON.parse(this.form.dataset.asks)[reference.value];
    const number = Number(size.value.trim().replace(",", "."));
    if (asks && !(number >= asks[2] && number <= asks[3])) {
      this.refuse(`${asks[1]}: a number from ${asks[2]} to ${asks[3]} is wanted${size.value ? `, “${size.value}” is none` : ""}.`);
      size.focus();
      return null;
    }
    this.refuse("");
    return { reference: asks ? `${reference.value}:${number}` : reference.value, wales: wales.value, ...(side.value ? { side: side.value } : {}) };
  }

  refuse(words) {
    const said = this.form?.querySelector(".why-not");
    if (said) said.textContent = words;
  }

  change(event) {
    const field = event.target;
    if (!field.closest?.(".photo-form")) return;
    if (field.type === "file") {
      if (field.files.length) this.bring(field.files[0]);
      field.value = "";
      return;
    }
    if (field.name === "reference") {
      this.form.elements.size.value = "";
      this.size();
      if (!this.form.elements.size.value && !this.form.querySelector(".size-of").hidden) {
        this.form.elements.size.focus();
        return;
      }
    }
    const told = this.record && this.said();
    if (told) this.again(told);
  }

  drop(kind, event) {
    const box = event.target.closest?.(".pictures");
    if (!box || !this.form || !event.dataTransfer?.types.includes("Files")) return;
    event.preventDefault();
    box.classList.toggle("over", kind === "dragover");
    if (kind === "drop" && event.dataTransfer.files.length) this.bring(event.dataTransfer.files[0]);
  }

  async bring(file) {
    const told = this.said();
    if (!told) return;
    const most = Number(this.form.dataset.most);
    if (file.size > most) {
      this.refuse(`${file.name} has ${(file.size / 1e6).toFixed(0)} MB; a picture has at most ${most / 1e6} MB.`);
      return;
    }
    const bringing = (this.bringing += 1); // the last picture brought is the one to look at
    this.form.setAttribute("aria-busy", "true");
    this.refuse("");
    this.room.say(`Bringing ${file.name} …`);
    const query = new URLSearchParams({ sitting: this.sitting, reference: told.reference, ...(told.side ? { side: told.side } : {}) });
    const answer = await fetch(`${this.door}?${query}`, {
      method: "POST",
      headers: { "content-type": "application/octet-stream" },
      body: file,
    }).catch(() => null);
    const text = await answer?.text().catch(() => "");
    this.form?.removeAttribute("aria-busy");
    let body = null;
    try {
      body = JSON.parse(text);
    } catch {
      body = null;
    }
    if (answer?.status !== 201) {
      this.room.quiet();
      this.refuse(body?.problem ? sentence(body.problem) : text || "The workroom does not answer. Bring the picture again.");
      return;
    }
    sessionStorage.setItem(`loopwright-told-${this.room.item}-${body.photo}`, JSON.stringify(told));
    this.room.stored({ ...body, door: "photos", edits: [] });
    if (bringing !== this.bringing) return;
    this.wanted = body.photo;
    this.arrived();
  }

  // The picture that was brought stands in the sitting now.
  arrived() {
    if (!this.wanted || !this.all.some((each) => each.photo === this.wanted)) return;
    const photo = this.wanted;
    this.wanted = null;
    this.look(photo);
  }

  again(told) {
    this.told = told;
    this.read();
  }

  async read() {
    const asked = (this.asked += 1);
    const { told, photo } = this;
    this.reading = null;
    this.lattice?.quiet();
    while (asked === this.asked && this.photo === photo) {
      const query = new URLSearchParams({ told: JSON.stringify(told), window: this.window });
      const answer = await fetch(`${this.door}/${photo}/reading?${query}`).catch(() => null);
      const body = await answer?.json().catch(() => null);
      if (asked !== this.asked) return;
      if (!answer?.ok) {
        this.under([made("p", "said", body?.problem ? sentence(body.problem) : "The workroom does not answer.")]);
        if (answer) return;
      } else if (!["waiting", "working"].includes(body.state)) {
        this.told_of(body);
        return;
      } else this.working(body);
      await new Promise((done) => setTimeout(done, ASK_MS));
    }
  }

  get window() {
    return this.room.sender.window;
  }

  working({ state, share, seconds, size_px }) {
    if (size_px) this.lattice.frame(size_px);
    const line = made("p", "line", state === "waiting" ? "Waiting for another picture to be read." : `Reading the stitches: ${Math.round(100 * share)} %, ${Math.round(seconds)} s so far.`);
    line.setAttribute("role", "status");
    const bar = made("div", "progress");
    bar.append(made("i"));
    bar.firstChild.style.width = `${Math.max(2, 100 * share)}%`;
    const kept = this.stage.querySelector("[data-photo=stop]");
    this.under([line, bar, kept ?? this.button("Stop", "stop")]);
  }

  told_of({ state, read, refused, size_px }) {
    if (size_px) this.lattice.frame(size_px);
    if (read) this.sits(read);
    else if (refused) this.refused(refused);
    else {
      const words = state === "failed" ? "The reading broke off; that is our fault and stands in the log." : "Stopped; nothing was read.";
      this.under([made("p", "line", words), this.button("Read it again", "again"), ...this.leaving()]);
    }
  }

  sits(read) {
    const had = this.reading === null && this.stage.contains(document.activeElement);
    this.reading = read;
    this.lattice.show({ ...read, may: this.may });
    const words = made("p", "photo-said", read.said);
    words.setAttribute("role", "status");
    const notes = read.notes.map((each) => made("p", "line", each));
    if (!this.may) {
      this.under([words, ...notes]);
      return;
    }
    const ask = made("p", "asks", "Does each white square hold one stitch?");
    const yes = this.button("Yes, it sits", "yes", "filled");
    yes.append(" ", made("kbd", "", "Enter"));
    const acts = made("div", "acts");
    acts.append(yes, ...this.doubts());
    this.under([ask, acts, words, ...notes]);
    if (had || document.activeElement === document.body) yes.focus({ preventScroll: true });
  }

  doubts() {
    const pair = (words, act) => {
      const group = made("span", "pair", `${words} `);
      group.setAttribute("role", "group");
      group.setAttribute("aria-label", words);
      for (const way of ["wales", "courses"]) {
        const button = this.button(way, `${act}-${way}`);
        button.setAttribute("aria-label", `${words}: ${way}`);
        group.append(button);
      }
      return group;
    };
    return [pair("Twice as many", "twice"), pair("Half", "half"), this.button("Turn", "turn"), this.button("Mark one by hand", "mark"), this.button("Closer", "closer"), ...this.leaving()];
  }

  leaving() {
    return this.may ? [this.button("Take it out", "out", "link")] : [];
  }

  refused({ sentence: said, tries }) {
    const words = made("p", "said", `Not read. ${said}`);
    words.setAttribute("role", "alert");
    const parts = [words];
    if (tries.length) parts.push(made("p", "tries", `Try: ${tries.join("; ")}.`));
    const acts = made("div", "acts");
    if (this.may) acts.append(this.button("Mark one by hand", "mark"), ...this.leaving());
    this.under([...parts, acts]);
  }

  kept(record) {
    if (record.corners.length === 4)
      this.lattice.show({ corners: record.corners, stitches: record.stitches, lean: record.lean, wales: "", courses: "", may: false });
    const acts = made("div", "acts");
    if (this.may) acts.append(this.button("Read it again", "again"), this.button("Closer", "closer"), ...this.leaving());
    this.under([made("p", "photo-said", record.said), acts]);
  }

  get may() {
    return this.box.dataset.may === "edit";
  }

  under(parts) {
    this.stage.querySelector(".photo-under")?.replaceChildren(...parts);
  }

  button(words, act, more = "") {
    const button = made("button", more === "link" ? "link" : `button ${more}`, words);
    button.type = "button";
    button.dataset.photo = act;
    return button;
  }

  key(event) {
    if (event.key === "Escape" && this.stage?.querySelector("[data-photo=stop]")) {
      this.act("stop");
      return;
    }
    const free = !event.target.closest?.("input, textarea, select, button, a, summary, [role=gridcell], [data-corner]");
    if (event.key === "Enter" && free && this.stage?.querySelector("[data-photo=yes]")) {
      event.preventDefault();
      this.act("yes");
    }
  }

  click(event) {
    const look = event.target.closest?.("[data-look]");
    if (look) this.look(look.dataset.look);
    const button = event.target.closest?.("[data-photo]");
    if (button && this.box) this.act(button.dataset.photo);
  }

  act(name) {
    const [word, way] = name.split("-");
    const acts = {
      yes: () => this.yes(),
      twice: () => this.count(way, 2),
      half: () => this.count(way, 0.5),
      turn: () => this.turn(),
      mark: () => this.mark(),
      marked: () => this.marked(),
      closer: () => this.closer(),
      again: () => {
        this.marking = false;
        this.read();
      },
      stop: () => this.halt(),
      out: () => this.out(),
    };
    acts[word]?.();
  }

  closer() {
    const is = this.lattice.closer();
    const button = this.stage.querySelector("[data-photo=closer]");
    if (button) button.textContent = is ? "Whole picture" : "Closer";
  }

  // Twice or half as many stitches in the patch that is drawn.
  count(way, times) {
    const [wales, courses] = this.reading.stitches;
    const many = { wales, courses };
    many[way] *= times;
    this.again({ ...this.told, marked: { corners: this.reading.corners, ...many } });
  }

  turn() {
    const { marked: _, ...told } = this.told;
    this.again({ ...told, wales: told.wales === "level" ? "upright" : "level" });
    this.say();
  }

  // Corners that were dragged: the patch holds as many stitches as it was drawn with.
  moved(corners) {
    if (this.marking || !this.reading) return;
    const [wales, courses] = this.reading.stitches;
    this.again({ ...this.told, marked: { corners, wales, courses } });
  }

  mark() {
    this.asked += 1;
    this.marking = true;
    this.reading = null;
    this.lattice.mark();
    const line = made("p", "asks", "Drag the corners round whole stitches, and say how many they hold.");
    const form = made("p", "holds");
    for (const [name, words] of [["wales", "wales"], ["courses", "courses"]]) {
      const label = made("label", "", `${words} `);
      const field = made("input");
      Object.assign(field, { name, value: "1", inputMode: "numeric" });
      label.append(field);
      form.append(label);
    }
    const acts = made("div", "acts");
    acts.append(this.button("Read with these", "marked", "filled"), this.button("Closer", "closer"), this.button("Leave it", "again"));
    const not = made("p", "why-not");
    not.setAttribute("role", "alert");
    this.under([line, form, acts, not]);
    this.stage.querySelector("[data-corner]")?.focus();
  }

  marked() {
    const [wales, courses] = ["wales", "courses"].map((name) => Number(this.stage.querySelector(`.holds [name=${name}]`).value));
    if (![wales, courses].every((each) => Number.isInteger(each) && each >= 1 && each <= 200)) {
      this.stage.querySelector(".why-not").textContent = "Whole numbers of stitches, 1 to 200, are wanted.";
      return;
    }
    this.marking = false;
    this.again({ ...this.told, marked: { corners: this.lattice.corners, wales, courses } });
  }

  async halt() {
    const { told, photo } = this;
    this.asked += 1;
    await send(`${this.door}/${photo}/stop`, { told, window: this.window }).catch(() => null);
    this.told_of({ state: "stopped" });
  }

  async yes() {
    const asked = { told: this.told, sitting: this.sitting, window: this.window };
    const answer = await send(`${this.door}/${this.photo}/accept`, asked).catch(() => null);
    if (answer?.status !== 200) {
      this.room.say(answer?.body?.problem ? sentence(answer.body.problem) : "The workroom does not answer. The reading is still here.");
      return;
    }
    this.room.stored({ ...answer.body, door: "photos", edits: [] });
  }

  out() {
    const path = JSON.parse(document.querySelector('.brief [data-path*="sittings"]').dataset.path).slice(0, 3);
    this.room.sender.edit([{ path: [...path, this.sitting, "photos", this.photo], value: null }], { label: "Picture taken out" });
  }
}

function made(name, names = "", words = "") {
  const element = document.createElement(name);
  if (names) element.className = names;
  if (words) element.textContent = words;
  return element;
}
