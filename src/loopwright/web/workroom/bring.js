// A buyer's table brought into the size table: read, shown cell by cell, and saved only when the person takes it.

import { sentence } from "./brief.js";
import { send } from "./send.js";

export class Bring {
  constructor(room) {
    this.room = room;
    this.asked = 0;
    const at = (kind, selector, act) =>
      room.listen(kind, (event) => {
        const found = event.target.closest?.(`.bring ${selector}`);
        if (found) act(found, event);
      });
    at("submit", "form[data-table]", (form, event) => {
      event.preventDefault();
      this.read(form);
    });
    at("change", "input[type=file]", (field) => {
      if (!field.files.length) return;
      field.form.elements.text.value = "";
      this.read(field.form);
    });
    at("input", "textarea", (field) => (field.form.elements.file.value = ""));
    at("change", "select", (field) => this.given(field.form) && this.read(field.form));
    at("click", "[data-take]", () => this.take());
    at("click", "[data-leave]", () => this.leave());
  }

  get box() {
    return document.querySelector(".bring");
  }

  given(form) {
    const { text, file } = form.elements;
    return file.files.length > 0 || text.value.trim() !== "";
  }

  async read(form) {
    const { text, file, unit } = form.elements;
    const chosen = file.files[0];
    if (!this.given(form)) {
      this.refuse(form, "There is nothing to read yet. Paste a table or choose a file.");
      return;
    }
    const most = Number(file.dataset.most);
    if (chosen?.size > most) {
      this.refuse(form, `${chosen.name} has ${(chosen.size / 1e6).toFixed(1)} MB; a size table has at most ${most / 1e6} MB.`);
      return;
    }
    const asked = (this.asked += 1);
    form.setAttribute("aria-busy", "true");
    const door = form.dataset.table;
    const reading = chosen ? upload(door, chosen, unit.value) : paste(door, text.value, unit.value);
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
  }

  show(form, brought) {
    this.brought = brought;
    form.querySelector(".why-not").textContent = "";
    const place = this.box.querySelector(".brought");
    place.innerHTML = brought.preview;
    place.querySelector("h3").focus();
  }

  take() {
    const { edits, version, label } = this.brought;
    this.room.grid.allFull();
    this.room.sender.edit(edits, { base: version, label });
    this.leave();
  }

  leave() {
    this.asked += 1;
    this.brought = null;
    this.box.querySelector(".brought").replaceChildren();
    this.box.querySelector("form").reset();
    this.box.open = false;
    this.box.querySelector("summary").focus();
  }
}

const paste = (door, text, unit) => send(`${door}size-table`, { text, unit: unit || null });

async function upload(door, file, unit) {
  const asked = new URLSearchParams({ name: file.name.slice(-200), ...(unit ? { unit } : {}) });
  const response = await fetch(`${door}size-file?${asked}`, {
    method: "POST",
    headers: { "content-type": "application/octet-stream" },
    body: file,
  });
  return { status: response.status, body: await response.json().catch(() => null) };
}
