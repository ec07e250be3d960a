// The loop page: sliders ask for figures while they move, for pictures when they rest; the address says the setting.
// One answer is under way at a time and the last setting wins; old figures stay until the new ones are there.

import { adopt } from "./morph.js";
import { LoopWork } from "./loop_work.js";

const SLOW_MS = 100; // longer than this and the old figures lose their line
const REST_MS = 160; // still so long: pictures and remedies follow
const SECOND = "b_";
const LYING = "A free piece of it as it will lie";
const LETTERS = { yarn: true, structure: true, zone: true };

export class Loop {
  constructor(room, query) {
    this.room = room;
    this.query = query;
    this.done = [];
    this.undone = [];
    this.work = new LoopWork(room, () => this.ask(this.query, { record: false }));
    room.listen("input", (event) => this.input(event.target));
    room.listen("change", (event) => this.change(event.target));
    room.listen("keydown", (event) => this.key(event));
    room.listen("click", (event) => this.click(event.target));
    this.rest();
  }

  field(name, kind = "") {
    return document.querySelector(`${kind}[data-loop="${name}"]`);
  }

  // The setting that the fields say; a slider that nobody moved leaves its value to the program.
  said() {
    const query = new URLSearchParams();
    for (const field of document.querySelectorAll("select[data-loop], input[data-loop]:not([inputmode])")) {
      const isRange = field.type === "range";
      if (isRange ? field.dataset.set : field.value.trim()) query.set(field.dataset.loop, field.value.trim());
    }
    return query.toString();
  }

  input(field) {
    if (!field.matches?.('input[type=range][data-loop]')) return;
    field.dataset.set = "yes";
    field.dataset.seen = ""; // being moved: an older answer does not pull it back
    const typed = document.querySelector(`input[inputmode][data-loop="${field.dataset.loop}"]`);
    typed.value = field.valueAsNumber.toFixed(Number(field.dataset.decimals));
    this.ask(this.said());
  }

  change(field) {
    if (!field.matches?.("[data-loop]")) return;
    if (field.type === "range") {
      field.dataset.seen = field.value;
      return;
    }
    if (field.inputMode === "decimal") this.typed(field);
    else this.chosen(field);
  }

  typed(field) {
    const number = Number(field.value.replace(",", ".").replace("−", "-"));
    const range = this.field(field.dataset.loop, "input[type=range]");
    if (!field.value.trim() || !Number.isFinite(number)) {
      this.refuse(field.dataset.loop, `“${field.value}” is no number.`);
      field.value = range.valueAsNumber.toFixed(Number(range.dataset.decimals));
      return;
    }
    range.dataset.set = "yes";
    range.value = number;
    field.dataset.seen = field.value;
    const query = new URLSearchParams(this.said());
    query.set(field.dataset.loop, String(number));
    this.ask(query.toString());
  }

  // Another structure or yarn has another usual loop; a structure of the library has no zone.
  chosen(field) {
    const front = field.dataset.loop.startsWith(SECOND) ? SECOND : "";
    const query = new URLSearchParams(this.said());
    query.delete(`${front}loop_mm`);
    if (field.dataset.loop.endsWith("structure")) query.delete(`${front}zone`);
    this.ask(query.toString());
  }

  key(event) {
    if (event.key === "Enter" && event.target.matches?.("input[data-loop]")) event.target.blur();
  }

  click(target) {
    const back = target.closest?.("[data-loop-back]")?.dataset.loopBack;
    const beside = target.closest?.("[data-loop-beside]")?.dataset.loopBeside;
    if (!back && !beside) return;
    const query = new URLSearchParams(this.said());
    if (back) query.delete(back);
    if (beside) for (const name of [...query.keys()]) if (name.startsWith(SECOND)) query.delete(name);
    if (beside && beside !== "off") {
      query.set("b_structure", beside);
      const { loopYarn } = target.closest("[data-loop-beside]").dataset;
      if (loopYarn) query.set("b_yarn", loopYarn);
    }
    this.ask(query.toString());
  }

  // Undo and redo of settings.
  step(way) {
    const [from, to] = way === "undo" ? [this.done, this.undone] : [this.undone, this.done];
    if (!from.length) return;
    to.push(this.query);
    this.ask(from.pop(), { record: false });
  }

  ask(query, { record = true } = {}) {
    if (record && query !== this.query && Date.now() - (this.recorded ?? 0) > 700) {
      this.done.push(this.query);
      this.undone = [];
    }
    if (record) this.recorded = Date.now();
    this.query = query;
    this.wanted = query;
    if (!this.asking) this.send();
  }

  async send() {
    this.asking = true;
    const slow = setTimeout(() => this.room.busy(), SLOW_MS);
    while (this.wanted !== undefined) {
      const query = this.wanted;
      this.wanted = undefined;
      const answer = await fetch(`/api/loop/answer?${query}`).catch(() => null);
      const body = await answer?.json().catch(() => null);
      if (this.wanted !== undefined) continue;
      if (answer?.ok) this.show(body);
      else this.refused(body?.problem);
    }
    clearTimeout(slow);
    document.body.classList.remove("busy");
    this.asking = false;
  }

  show({ parts, views, query }) {
    this.query = query;
    history.replaceState(history.state, "", `/loop?${query}`);
    this.room.whyFront = `/api/loop/why?${query}&key=`;
    for (const said of document.querySelectorAll("[data-loop-refusal]")) said.textContent = "";
    for (const [name, html] of Object.entries(parts)) {
      const part = document.querySelector(`[data-part="${name}"]`);
      if (part && part.dataset.shown !== html) adopt(part, html, name);
    }
    this.room.fresh();
    if (!parts.figures) this.help("");
    this.views = views;
    clearTimeout(this.resting);
    this.resting = setTimeout(() => this.rest(), REST_MS);
    document.documentElement.dataset.loop = query;
  }

  // Nobody moves a slider: what takes longer follows.
  async rest() {
    const { query } = this;
    if (this.views) this.draw();
    this.work.look();
    const section = document.querySelector('[data-part="help"]');
    section?.classList.add("old");
    const answer = await fetch(`/api/loop/help?${query}`).catch(() => null);
    if (!answer?.ok || query !== this.query) return;
    this.help(await answer.text());
  }

  help(html) {
    const section = document.querySelector('[data-part="help"]');
    if (!section) return;
    section.classList.remove("old");
    adopt(section, html, "help");
  }

  draw() {
    const lying = document.querySelector("figure.lying");
    lying.hidden = this.views.length !== 1;
    if (!lying.hidden) Object.assign(lying.firstElementChild, { src: this.views[0].lying, alt: LYING });
    for (const place of document.querySelectorAll("[data-loop-view]")) {
      const view = this.views[Number(place.dataset.loopView)];
      place.hidden = !view;
      if (!view || place.dataset.url === view.url) continue;
      place.dataset.url = view.url;
      place.querySelector(".yarn-view").dispatchEvent(new CustomEvent("cloth", { detail: view }));
    }
  }

  refused(problem) {
    const words = problem ? `${problem.what} ${problem.tries?.length ? `Try: ${problem.tries.join("; ")}.` : ""}` : "The workroom does not answer.";
    const name = problem?.where?.split(".").at(-1) ?? "";
    this.refuse(LETTERS[name.replace(SECOND, "")] ? name : "", words);
  }

  refuse(name, words) {
    const said = document.querySelector(`[data-loop-refusal="${name.startsWith(SECOND) ? SECOND : ""}"]`);
    if (said) said.textContent = words;
    else this.room.say(words);
  }
}
