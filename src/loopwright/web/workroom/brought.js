// A table that a person brings, pasted or as a file: read by the workroom, shown, and taken only when the person says so.
// What kind of table it is, where it goes and what is said beside it stand in the classes built on this one.
// What was pasted and what came of it are kept in the browser until it is taken or left: a page that loads itself again,
// after the line was down, shows them again.

import { sentence } from "./brief.js";
import { send } from "./send.js";

export class Brought {
  // `place` holds the form and what was read; `take` and `leave` are its two answers; `table` is what it is called.
  constructor(room, { place, form, take, leave, table }) {
    this.room = room;
    this.place = place;
    this.table = table;
    this.asked = 0;
    this.at("submit", form, (found, event) => {
      event.preventDefault();
      this.read(found);
    });
    this.at("change", "input[type=file]", (field) => {
      if (!field.files.length) return;
      field.form.elements.text.value = "";
      this.read(field.form);
    });
    this.at("input", "textarea", (field) => {
      field.form.elements.file.value = "";
      this.keep(field.form);
    });
    this.at("click", take, () => this.take());
    this.at("click", leave, () => this.leave());
    this.restore();
  }

  at(kind, selector, act) {
    this.room.listen(kind, (event) => {
      const found = event.target.closest?.(`${this.place} ${selector}`);
      if (found) act(found, event);
    });
  }

  get box() {
    return document.querySelector(this.place);
  }

  get store() {
    return `loopwright-brought-${this.room.item}${this.place}`;
  }

  keep(form) {
    const typed = [...form.elements].filter((each) => each.name && each.type !== "file").map((each) => [each.name, each.value]);
    try {
      sessionStorage.setItem(this.store, JSON.stringify({ typed, brought: this.brought ?? null }));
    } catch (full) {
      if (full.name !== "QuotaExceededError") throw full;
      sessionStorage.removeItem(this.store); // a table beyond what the browser keeps stays on this page alone
    }
  }

  restore() {
    const kept = JSON.parse(sessionStorage.getItem(this.store) ?? "null");
    const form = this.box?.querySelector("form");
    if (!kept || !form) return;
    for (const [name, value] of kept.typed) form.elements[name].value = value;
    this.box.open = true;
    if (kept.brought) this.show(form, kept.brought, { focus: false });
  }

  given(form) {
    const { text, file } = form.elements;
    return file.files.length > 0 || text.value.trim() !== "";
  }

  async read(form) {
    const { text, file } = form.elements;
    const chosen = file.files[0];
    if (!this.given(form)) {
      this.refuse(form, "There is nothing to read yet. Paste a table or choose a file.");
      return;
    }
    const said = this.said(form);
    if (!said) return;
    const most = Number(file.dataset.most);
    if (chosen?.size > most) {
      this.refuse(form, `${chosen.name} has ${(chosen.size / 1e6).toFixed(1)} MB; ${this.table} has at most ${most / 1e6} MB.`);
      return;
    }
    const asked = (this.asked += 1);
    form.setAttribute("aria-busy", "true");
    const doors = this.doors(form);
    const reading = chosen ? upload(doors.file, chosen, said) : send(doors.text, { text: text.value, ...said });
    const answer = await reading.catch(() => null);
    if (asked !== this.asked) return;
    form.removeAttribute("aria-busy");
    if (answer?.status === 200) this.show(form, answer.body);
    else if (answer?.body?.problem) this.refuse(form, sentence(answer.body.problem));
    else this.refuse(form, "The workroom does not answer. What you pasted is still here.");
  }

  refuse(form, words) {
    this.brought = null;
    this.box.querySelector(".brought").replaceChildren();
    form.querySelector(".why-not").textContent = words;
    this.keep(form);
  }

  show(form, brought, { focus = true } = {}) {
    this.brought = brought;
    form.querySelector(".why-not").textContent = "";
    const place = this.box.querySelector(".brought");
    place.innerHTML = this.html(brought);
    if (focus) place.querySelector("h3").focus();
    this.keep(form);
  }

  take() {
    const { edits, version, label } = this.brought;
    this.room.sender.edit(edits, { base: version, label });
    this.leave();
  }

  leave() {
    this.asked += 1;
    this.brought = null;
    this.box.querySelector(".brought").replaceChildren();
    this.box.querySelector("form").reset();
    sessionStorage.removeItem(this.store);
    this.box.open = false;
    this.box.querySelector("summary").focus();
  }
}

// The unit that a person chose; the table says its own otherwise.
export const unitOf = (form) => (form.elements.unit.value ? { unit: form.elements.unit.value } : {});

async function upload(door, file, said) {
  const asked = new URLSearchParams({ name: file.name.slice(-200), ...said });
  const response = await fetch(`${door}?${asked}`, {
    method: "POST",
    headers: { "content-type": "application/octet-stream" },
    body: file,
  });
  return { status: response.status, body: await response.json().catch(() => null) };
}
