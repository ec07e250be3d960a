// The form for one hand on a ruler: one question at a time, Enter takes a reading, an empty Enter goes on. A reading is
// on its way to the shelf as soon as Enter is pressed; what is still being typed is kept in the browser.

import { sentence } from "./brief.js";
import { send } from "./send.js";

export class Bench {
  constructor(room) {
    this.room = room;
    this.place = "";
    this.number = null; // of the reading that is typed again; none: a new one
    this.showing = "";
    room.listen("submit", (event) => this.submit(event));
    room.listen("keydown", (event) => event.target.matches?.("#reading") && this.key(event));
    room.listen("input", (event) => event.target.matches?.("#reading") && this.draft(event.target.value));
    room.listen("click", (event) => this.click(event));
  }

  get box() {
    return document.querySelector(".measuring");
  }

  get field() {
    return document.querySelector("#reading");
  }

  get all() {
    return [...document.querySelectorAll(".places [data-place]")];
  }

  get line() {
    return this.all.find((each) => each.dataset.place === this.place);
  }

  get sitting() {
    return this.box?.dataset.sitting ?? "";
  }

  get store() {
    return `loopwright-typing-${this.room.item}-${this.sitting}-${this.place}`;
  }

  // The list of places came anew: another sitting begins at its first empty place.
  part() {
    if (!this.field) return;
    if (this.sitting !== this.showing || !this.line) {
      this.showing = this.sitting;
      const first = this.all.find((each) => !each.querySelector(".reading"));
      this.go((first ?? this.all[0]).dataset.place);
    } else this.show();
    this.arrived();
  }

  go(place, number = null) {
    this.place = place;
    this.number = number;
    this.refuse("");
    const kept = sessionStorage.getItem(this.store);
    const reading = number && this.line.querySelector(`[data-reading="${number}"]`)?.textContent;
    this.field.value = reading ?? kept ?? "";
    this.show();
    if (reading) this.field.select();
  }

  show() {
    const line = this.line;
    const many = line.querySelectorAll(".reading").length;
    const several = line.dataset.several !== undefined;
    const which = several ? `reading ${this.number ?? many + 1}` : many ? "typed again" : "";
    const label = document.querySelector(".question label");
    label.replaceChildren(line.querySelector(".ask").dataset.ask, ...(which ? [Object.assign(document.createElement("span"), { textContent: ` ${which}` })] : []));
    document.querySelector(".typing i").textContent = line.dataset.unit;
    const running = line.querySelector(".running");
    const said = [...running.children].map((each) => each.textContent).join("; ");
    document.querySelector("#reading-said").textContent = said || line.dataset.hint || "";
    for (const each of this.all) {
      if (each === line) each.setAttribute("aria-current", "step");
      else each.removeAttribute("aria-current");
    }
  }

  draft(value) {
    if (this.number) return;
    if (value) sessionStorage.setItem(this.store, value);
    else sessionStorage.removeItem(this.store);
  }

  key(event) {
    const field = event.target;
    const steps = { ArrowDown: 1, ArrowUp: -1 };
    if (event.key in steps) {
      event.preventDefault();
      this.step(steps[event.key]);
    } else if (event.key === "Enter") {
      event.preventDefault();
      this.take();
    } else if (event.key === "ArrowLeft" && !field.value) {
      const last = [...this.line.querySelectorAll(".reading")].pop();
      if (last) {
        event.preventDefault();
        this.go(this.place, Number(last.dataset.reading));
      }
    } else if (event.key === "Escape") {
      event.stopPropagation();
      if (this.number) this.go(this.place);
      else {
        if (field.value) this.refuse(`${field.value} waits here; Enter keeps it.`);
        document.querySelector("#h-measure")?.focus();
      }
    }
  }

  step(by) {
    const places = this.all;
    const at = places.indexOf(this.line) + by;
    if (places[at]) this.go(places[at].dataset.place);
  }

  take() {
    const typed = this.field.value.trim();
    if (!typed && !this.number) {
      this.step(1);
      return;
    }
    const { place, number } = this;
    const asked = { sitting: this.sitting, place, typed, number, key: `${this.room.sender.window}.${Math.random().toString(36).slice(2, 12)}` };
    this.draft("");
    this.number = null;
    this.field.value = "";
    this.refuse("");
    this.room.sender.through("readings", asked);
    if (this.line.dataset.several === undefined) this.step(1);
    else this.show();
  }

  // saved: the place as it now stands
  saved({ place }, asked) {
    if (asked.sitting !== this.sitting) return;
    const old = this.all.find((each) => each.dataset.place === asked.place);
    if (!old) return;
    const held = document.createElement("div");
    held.innerHTML = place;
    old.replaceWith(held.firstChild);
    this.show();
  }

  refused(asked, problem) {
    const words = `“${asked.typed}”: ${sentence(problem)}`;
    if (this.field && asked.sitting === this.sitting && !this.field.value) {
      this.go(asked.place, asked.number);
      this.field.value = asked.typed;
      this.draft(asked.typed);
      this.field.select();
      this.refuse(words);
    } else this.room.say(words);
  }

  refuse(words) {
    const said = document.querySelector("#reading-not");
    if (!said) return;
    said.textContent = words;
    if (words) this.field.setAttribute("aria-invalid", "true");
    else this.field.removeAttribute("aria-invalid");
  }

  click(event) {
    const line = event.target.closest?.(".places [data-place]");
    if (!line || !this.field) return;
    const reading = event.target.closest(".reading");
    if (!reading && !event.target.closest(".ask")) return;
    this.go(line.dataset.place, reading ? Number(reading.dataset.reading) : null);
    this.field.focus();
  }

  async submit(event) {
    if (event.target.matches?.(".question")) event.preventDefault();
    if (!event.target.matches?.("form[data-sitting-new]")) return;
    event.preventDefault();
    const { state, washes } = event.target.elements;
    const asked = { state: state.value, washes: Number(washes.value.trim() || 0) };
    const said = event.target.querySelector(".why-not");
    if (!Number.isInteger(asked.washes) || asked.washes < 0 || asked.washes > 200) {
      said.textContent = `“${washes.value}” is no number of washes. Try: 3.`;
      washes.focus();
      return;
    }
    const answer = await send(`/api/items/${this.room.item}/sittings`, asked).catch(() => null);
    if (answer?.status !== 201) {
      const problem = answer?.body?.problem;
      said.textContent = problem ? sentence(problem) : "The workroom does not answer.";
      return;
    }
    said.textContent = "";
    event.target.closest("details").open = false;
    this.room.stored({ ...answer.body, door: "sittings", edits: [] });
    this.wanted = answer.body.sitting;
    this.room.emit("size", { size: answer.body.sitting });
  }

  // A sitting that was just begun is typed into at once.
  arrived() {
    if (!this.wanted || this.sitting !== this.wanted) return;
    this.wanted = null;
    this.field?.focus();
  }
}
