// Garments that came back: a table of pieces read against the style, looked at, and kept with it only when the person
// says so.

import { sentence } from "./brief.js";
import { send } from "./send.js";

export class Pieces {
  constructor(room) {
    this.room = room;
    this.asked = 0;
    const at = (kind, selector, act) =>
      room.listen(kind, (event) => {
        const found = event.target.closest?.(`.pieces ${selector}`);
        if (found) act(found, event);
      });
    at("submit", "form", (form, event) => {
      event.preventDefault();
      this.read(form);
    });
    at("change", "input[type=file]", (field) => {
      if (!field.files.length) return;
      field.form.elements.text.value = "";
      this.read(field.form);
    });
    at("input", "textarea", (field) => (field.form.elements.file.value = ""));
    at("click", "[data-keep-pieces]", () => this.keep());
    at("click", "[data-leave-pieces]", () => this.leave());
  }

  get box() {
    return document.querySelector(".pieces");
  }

  async read(form) {
    const { text, file, unit, lot } = form.elements;
    const chosen = file.files[0];
    if (!chosen && !text.value.trim()) {
      this.refuse(form, "There is nothing to read yet. Paste a table or choose a file.");
      return;
    }
    const pieces = lot.value.trim();
    if (pieces && !/^[1-9]\d{0,6}$/.test(pieces)) {
      this.refuse(form, `“${pieces}” is no number of pieces. Try: 640.`);
      lot.focus();
      return;
    }
    const most = Number(file.dataset.most);
    if (chosen?.size > most) {
      this.refuse(form, `${chosen.name} has ${(chosen.size / 1e6).toFixed(1)} MB; a table of pieces has at most ${most / 1e6} MB.`);
      return;
    }
    const asked = (this.asked += 1);
    form.setAttribute("aria-busy", "true");
    const said = { ...(unit.value ? { unit: unit.value } : {}), ...(pieces ? { lot: Number(pieces) } : {}) };
    const reading = chosen ? upload(form.dataset.pieces, chosen, said) : send(form.dataset.pieces, { text: text.value, ...said });
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
    place.innerHTML = brought.section;
    place.querySelector("h3").focus();
  }

  keep() {
    const { edits, version, label } = this.brought;
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

async function upload(door, file, said) {
  const asked = new URLSearchParams({ name: file.name.slice(-200), ...said });
  const response = await fetch(`${door}-file?${asked}`, {
    method: "POST",
    headers: { "content-type": "application/octet-stream" },
    body: file,
  });
  return { status: response.status, body: await response.json().catch(() => null) };
}
