// Handing over: a pack is issued, its pages are turned, issues are compared, questions asked and answered. What was
// issued is asked for once the section comes near the window, and again when the style has a new version. What is typed
// stays in the browser until it is sent, so that a page that loads itself again shows it again.

import { sentence } from "./brief.js";
import { choicesOf } from "./fetched.js";
import { adopt } from "./morph.js";
import { send } from "./send.js";

const NEAR = "600px";
const CHOICES = "pack-choices"; // paper and language
const KEPT = [".issuing", ".asking"];

export class HandOver {
  constructor(room) {
    this.room = room;
    this.last = 0; // number of the newest issue that this page showed
    this.near = false;
    this.asked = 0;
    this.page = 1;
    this.turned = 0;
    const at = (kind, selector, act) =>
      room.listen(kind, (event) => {
        const found = event.target.closest?.(selector);
        if (found) act(found, event);
      });
    at("submit", ".issuing, .asking, .answering, .differing", (form, event) => {
      event.preventDefault();
      const acts = { issuing: () => this.issue(form), asking: () => this.ask(form), answering: () => this.answer(form), differing: () => this.compare(form) };
      acts[form.classList[0]]();
    });
    at("input", KEPT.join(), (form) => this.keep(form));
    at("click", "[data-all-the-same]", (button) => this.issue(button.closest("form"), true));
    at("click", "[data-leave-issue]", (button) => this.refuse(button.closest("form"), ""));
    at("click", "[data-fold-differences]", (button) => {
      button.closest(".differences").replaceChildren();
      document.querySelector(".differing select").focus();
    });
    at("click", "[data-leaf]", (button) => this.turn(this.page + Number(button.dataset.leaf)));
    at("change", `.${CHOICES} select`, () => this.chosen());
    document.addEventListener("toggle", (event) => event.target.matches?.(".pages-of[open]") && this.turn(this.page), { capture: true, signal: room.stop.signal });
  }

  get box() {
    return document.querySelector(".handed");
  }

  get store() {
    return `loopwright-handing-${this.room.item}`;
  }

  part() {
    if (!this.box || this.watched === this.box) return;
    this.watched = this.box;
    this.choose();
    this.restore(".issuing");
    const watch = new IntersectionObserver(
      (entries) => {
        if (!entries.some((each) => each.isIntersecting)) return;
        watch.disconnect();
        this.near = true;
        this.list();
      },
      { rootMargin: NEAR },
    );
    watch.observe(this.box);
  }

  // the style has a new version
  arrived() {
    if (!this.near) return;
    this.list();
    if (document.querySelector(".pages-of[open]")) this.turn(this.page);
  }

  // paper and language as they were chosen last, for whatever style
  choose() {
    for (const [name, value] of new URLSearchParams(localStorage.getItem(CHOICES) ?? "")) {
      const field = document.querySelector(`.${CHOICES} select[name="${CSS.escape(name)}"]`);
      if (field && [...field.options].some((option) => option.value === value)) field.value = value;
    }
  }

  chosen() {
    localStorage.setItem(CHOICES, choicesOf(CHOICES));
    if (document.querySelector(".pages-of[open]")) this.turn(1);
  }

  async list() {
    const { box } = this;
    if (!box) return;
    const asked = (this.asked += 1);
    const answer = await fetch(box.dataset.issues).catch(() => null);
    const body = await answer?.json().catch(() => null);
    if (asked !== this.asked || !box.isConnected) return;
    if (!answer?.ok) {
      if (body?.problem) adopt(box, `<p class="line"></p>`, "handed");
      if (body?.problem) box.querySelector("p").textContent = sentence(body.problem);
      return;
    }
    this.last = body.issues[0]?.number ?? 0;
    const before = box.querySelector("form.asking") !== null;
    adopt(box, body.html, "handed");
    this.numbers(body.issues);
    if (!before) this.restore(".asking");
    this.names(body.issues[0]?.recipients ?? []);
    box.dataset.ready = this.last;
  }

  // the forms stay as they are filled in, so their issues are renewed by hand
  numbers(issues) {
    for (const select of this.box.querySelectorAll(".asking select[name=issue]")) {
      const chosen = select.form.elements.text.value ? select.value : ""; // an empty question is about the newest
      select.replaceChildren(...issues.map(({ number }) => new Option(`issue ${number}`, number)));
      if (issues.some(({ number }) => String(number) === chosen)) select.value = chosen;
    }
  }

  // for whom it was last time, until the person says otherwise
  names(recipients) {
    const field = document.querySelector(".issuing input[name=recipients]");
    if (field && !field.value && !JSON.parse(sessionStorage.getItem(this.store) ?? "{}")[".issuing"]) field.value = recipients.join("; ");
  }

  keep(form) {
    const all = JSON.parse(sessionStorage.getItem(this.store) ?? "{}");
    all[`.${form.classList[0]}`] = [...form.elements].filter((each) => each.matches("input:not([type=checkbox]), textarea")).map((each) => [each.name, each.value]);
    sessionStorage.setItem(this.store, JSON.stringify(all));
  }

  restore(selector) {
    const typed = JSON.parse(sessionStorage.getItem(this.store) ?? "{}")[selector];
    const form = document.querySelector(selector);
    if (!typed || !form) return;
    for (const [name, value] of typed) form.elements[name].value = value;
    form.closest("details").open = true;
  }

  forget(selector) {
    const all = JSON.parse(sessionStorage.getItem(this.store) ?? "{}");
    delete all[selector];
    sessionStorage.setItem(this.store, JSON.stringify(all));
  }

  refuse(form, words) {
    form.querySelector(".why-not").textContent = words;
  }

  async sent(form, door, asked) {
    this.refuse(form, "");
    form.setAttribute("aria-busy", "true");
    for (const each of form.querySelectorAll("button")) each.disabled = true;
    const answer = await send(door, asked).catch(() => null);
    form.removeAttribute("aria-busy");
    for (const each of form.querySelectorAll("button")) each.disabled = false;
    if (answer && answer.status < 300) return answer.body;
    if (!answer) this.refuse(form, "The workroom does not answer. What you typed is still here.");
    else this.refuse(form, answer.body?.problem ? sentence(answer.body.problem) : "This could not be done. What you typed is still here.");
    return null;
  }

  async issue(form, confirmed = false) {
    const { recipients, note } = form.elements;
    const formats = [...form.querySelectorAll("input[name=formats]:checked")].map((each) => each.value);
    if (!formats.length) {
      this.refuse(form, "No file is taken. Take at least one.");
      return;
    }
    if (!this.near) await this.list();
    const names = recipients.value.split(";").map((each) => each.trim()).filter(Boolean);
    const body = await this.sent(form, form.dataset.issue, { after: this.last, ...Object.fromEntries(choicesOf(CHOICES)), formats, recipients: names, note: note.value, confirmed });
    if (!body) {
      this.list();
      return;
    }
    if (body.issued === null) {
      this.confirm(form, body.says);
      return;
    }
    note.value = "";
    this.forget(".issuing");
    form.closest("details").open = false;
    this.near = true;
    this.room.say(body.says);
    await this.list();
  }

  // nothing differs: the person says whether it is issued all the same
  confirm(form, says) {
    const place = form.querySelector(".why-not");
    place.textContent = `${says} `;
    for (const [words, name] of [["Issue it all the same", "allTheSame"], ["Leave it", "leaveIssue"]]) {
      const button = Object.assign(document.createElement("button"), { type: "button", className: "button", textContent: words });
      button.dataset[name] = "";
      place.append(button);
    }
    place.querySelector("button").focus();
  }

  async ask(form) {
    const { issue, place, text, by } = form.elements;
    const body = await this.sent(form, `${form.dataset.ask}/${issue.value}/questions`, { place: place.value, text: text.value, by: by.value });
    if (!body) return;
    text.value = "";
    this.forget(".asking");
    form.closest("details").open = false;
    this.room.say(`The question about issue ${body.issue} is kept.`);
    await this.list();
  }

  async answer(form) {
    const body = await this.sent(form, form.dataset.answer, { text: form.elements.text.value });
    if (!body) return;
    this.room.say("The answer is kept.");
    await this.list();
  }

  async compare(form) {
    const { first, second } = form.elements;
    const place = this.box.querySelector(".differences");
    const query = new URLSearchParams({ first: first.value, ...(second.value ? { second: second.value } : {}) });
    const answer = await fetch(`${form.dataset.differences}?${query}`).catch(() => null);
    const body = await answer?.json().catch(() => null);
    if (!answer?.ok) {
      this.room.say(body?.problem ? sentence(body.problem) : "The workroom does not answer. Ask again.");
      return;
    }
    place.innerHTML = body.html;
    place.querySelector("h3").focus();
  }

  async turn(wanted) {
    const place = document.querySelector(".leafing");
    let picture = place.querySelector("img");
    const said = place.querySelector("[role=status]");
    const turned = (this.turned += 1);
    place.setAttribute("aria-busy", "true");
    if (!picture) said.textContent = "The pages are being set.";
    const query = new URLSearchParams([...choicesOf(CHOICES), ["page", Math.max(1, wanted)]]);
    let answer = await fetch(`${place.dataset.pages}?${query}`).catch(() => null);
    if (answer?.status === 422 && wanted > 1) {
      query.set("page", 1); // the pack has become shorter
      answer = await fetch(`${place.dataset.pages}?${query}`).catch(() => null);
    }
    const file = answer?.ok ? await answer.blob().catch(() => null) : null;
    const problem = answer && !answer.ok ? (await answer.json().catch(() => null))?.problem : null;
    if (turned !== this.turned) return;
    place.removeAttribute("aria-busy");
    if (!file) {
      said.textContent = problem ? sentence(problem) : "The workroom does not answer. Turn again.";
      return;
    }
    this.page = Number(query.get("page"));
    const pages = Number(answer.headers.get("x-pages"));
    if (picture) URL.revokeObjectURL(picture.src);
    else place.append((picture = document.createElement("img")));
    picture.src = URL.createObjectURL(file);
    picture.alt = `Page ${this.page} of ${pages} of the factory pack`;
    said.textContent = `page ${this.page} of ${pages}`;
    const [back, forward] = place.querySelectorAll("[data-leaf]");
    back.disabled = this.page <= 1;
    forward.disabled = this.page >= pages;
  }
}
