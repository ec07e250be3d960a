// Things of the shelf: take one into the style, add a yarn or a zone, new, copy, archive, import, restore.

import { sentence } from "./brief.js";
import { send } from "./send.js";

export class ShelfDoor {
  constructor(room) {
    this.room = room;
    room.listen("click", (event) => {
      const button = event.target.closest?.("[data-do]");
      if (button) this.act(button);
    });
    room.listen("change", (event) => {
      if (event.target.matches?.("input[type=file][data-bring]")) this.bring(event.target);
    });
    room.listen("submit", (event) => {
      if (!event.target.matches?.("form[data-form]")) return;
      event.preventDefault();
      this.submit(event.target);
    });
  }

  act(button) {
    const value = button.dataset.value ?? "";
    const acts = {
      take: () => this.offer(button, value),
      "add-yarn": () => this.addYarn(),
      "add-zone": () => this.room.sender.edit([{ path: ["zones", value, "structure"], typed: "plain" }]),
      undo: () => this.room.undo("undo"),
      redo: () => this.room.undo("redo"),
      post: () => this.post(button, value),
      restore: () => this.restore(Number(value)),
      file: () => document.querySelector(`input[data-bring="${value}"]`)?.click(),
    };
    acts[button.dataset.do]?.();
  }

  addYarn() {
    const keys = new Set(
      [...document.querySelectorAll('[data-field^="yarns."]')].map((each) => each.dataset.field.split(".")[1]),
    );
    let number = keys.size + 1;
    while (keys.has(`yarn_${number}`)) number += 1;
    const count = prompt("Count and fibre of the new yarn, for instance 2/30 Nm merino", "2/30 Nm merino");
    if (count) this.room.sender.edit([{ path: ["yarns", `yarn_${number}`, "count"], typed: count }]);
  }

  // A list of what the shelf has, under the button that asked; choosing one copies its part into the style.
  async offer(button, value) {
    const open = button.parentElement.querySelector(".shelf-list");
    if (open) {
      open.remove();
      return;
    }
    const [kind, target] = value.split(" ");
    const lines = await (await fetch(`/api/items?kind=${kind}`)).json();
    const list = document.createElement("ul");
    list.className = "shelf-list";
    list.dataset.own = "";
    for (const line of lines) {
      const item = document.createElement("li");
      const take = document.createElement("button");
      take.type = "button";
      take.textContent = line.name;
      const detail = document.createElement("span");
      detail.textContent = ` ${line.detail}`;
      item.append(take, detail);
      take.addEventListener("click", () => this.take(line.id, kind, target.split("."), list));
      list.append(item);
    }
    if (!lines.length) {
      const none = document.createElement("li");
      none.textContent = "Nothing of this kind is on the shelf yet.";
      list.append(none);
    }
    button.after(list);
    list.querySelector("button")?.focus();
  }

  async take(id, kind, target, list) {
    const item = await (await fetch(`/api/items/${id}`)).json();
    const edits = taken(item, kind, target);
    list.remove();
    this.room.sender.edit(edits, { label: `${item.name} taken from the shelf` });
  }

  async post(button, url) {
    button.disabled = true;
    const body = button.dataset.body ? JSON.parse(button.dataset.body) : {};
    const answer = await send(url, body).catch(() => null);
    button.disabled = false;
    if (!answer || answer.status >= 400) {
      this.room.say(answer?.body?.problem?.what ?? "The workroom does not answer.");
      return;
    }
    const go = button.dataset.go;
    if (go === "new") location.assign(`/items/${answer.body.id}`);
    else if (go) location.assign(go);
    else location.reload();
  }

  async restore(version) {
    const answer = await this.room.sender.step("restore", { version });
    if (answer?.status === 200) location.assign(`/items/${this.room.item}`);
    else this.room.say(answer?.body?.problem?.what ?? "The workroom does not answer.");
  }

  async bring(field) {
    const file = field.files[0];
    if (!file) return;
    const most = Number(field.dataset.most);
    if (file.size > most) {
      this.room.say(`${file.name} has ${(file.size / 1e6).toFixed(1)} MB; at most ${most / 1e6} MB can be read here.`);
      return;
    }
    this.room.say(`Reading ${file.name} …`);
    const response = await fetch(field.dataset.url, {
      method: "POST",
      headers: { "content-type": "application/octet-stream" },
      body: file,
    }).catch(() => null);
    field.value = "";
    const body = await response?.json().catch(() => null);
    if (!response?.ok) {
      const problem = body?.problem;
      this.room.say(problem ? `${problem.where}: ${problem.what}` : "The workroom does not answer.");
      return;
    }
    if (Array.isArray(body) && body.length === 1) location.assign(`/items/${body[0].id}`);
    else location.reload();
  }

  async submit(form) {
    const asked = Object.fromEntries(new FormData(form));
    const answer = await send(form.action, asked).catch(() => null);
    if (answer?.status === 201) {
      location.assign(`/items/${answer.body.id}`);
      return;
    }
    const said = form.querySelector(".why-not");
    const problem = answer?.body?.problem;
    said.textContent = problem ? `${problem.where}: ${sentence(problem)}` : "The workroom does not answer.";
  }
}

// The edits that put a thing of the shelf into a style.
function taken(item, kind, target) {
  const document = item.document;
  if (kind === "yarn") {
    const [yarn] = Object.values(document.yarns);
    return [{ path: target, value: yarn }];
  }
  if (kind === "structure") {
    const [key, structure] = Object.entries(document.structures)[0];
    return [
      { path: ["structures", key], value: structure },
      { path: [...target, "structure"], value: key },
    ];
  }
  if (kind === "swatch" && document.swatches) {
    const [{ yarn, ...swatch }] = Object.values(document.swatches); // it is of the yarn of its zone now
    const key = `swatch-${item.id}`; // a name of its own in the style
    const edits = [
      { path: ["swatches", key], value: swatch },
      { path: [...target, "swatch"], value: key },
      { path: [...target, "structure"], value: swatch.structure ?? "plain" },
    ];
    for (const [name, own] of Object.entries(document.structures ?? {}))
      edits.push({ path: ["structures", name], value: own });
    return edits;
  }
  if (kind === "swatch") {
    const { structure, swatch } = document.zones.body;
    const edits = [{ path: [...target, "swatch"], value: swatch }];
    if (structure) edits.push({ path: [...target, "structure"], value: structure });
    for (const [key, own] of Object.entries(document.structures ?? {}))
      edits.push({ path: ["structures", key], value: own });
    return edits;
  }
  if (kind === "rates") {
    const edits = [{ path: ["rates"], value: document.rates }];
    if (document.make_up_minutes) edits.push({ path: ["make_up_minutes"], value: document.make_up_minutes });
    return edits;
  }
  if (kind === "sizes") {
    return Object.entries(document.garment).map(([key, value]) => ({ path: ["garment", key], value }));
  }
  return [{ path: target, value: document[target[0]] }];
}
