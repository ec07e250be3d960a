// Which swatch to knit next: asked for, waited for, given up. On a style it is for that style; on a swatch the person
// names the style that it is for. A question that was not answered yet is asked again when the page loads itself again,
// after the line was down.

import { sentence } from "./brief.js";
import { send } from "./send.js";

const ASK_MS = 700;

export class Next {
  constructor(room) {
    this.room = room;
    this.asked = 0;
    room.listen("submit", (event) => {
      if (!event.target.matches?.(".next-form")) return;
      event.preventDefault();
      this.ask();
    });
    room.listen("click", (event) => event.target.closest?.("[data-next-stop]") && this.stop());
    room.listen("keydown", (event) => {
      if (event.key === "Escape" && this.box?.querySelector("[data-next-stop]")) this.stop();
    });
  }

  get form() {
    return document.querySelector(".next-form");
  }

  get box() {
    return document.querySelector(".next-found");
  }

  get store() {
    return `loopwright-next-${this.room.item}`;
  }

  async part() {
    await this.styles();
    const kept = JSON.parse(sessionStorage.getItem(this.store) ?? "null");
    if (!kept || !this.form || this.asked) return;
    this.form.elements.wanted.value = kept.wanted;
    if (this.form.elements.style) this.form.elements.style.value = kept.style;
    this.ask();
  }

  // The styles of the shelf, for a page that is of none.
  async styles() {
    const choice = this.form?.elements.style;
    if (!choice || choice.options.length) return;
    const answer = await fetch("/api/items?kind=style").catch(() => null);
    const styles = (await answer?.json().catch(() => null)) ?? [];
    if (choice.options.length) return;
    for (const { id, name, number } of Array.isArray(styles) ? styles : []) choice.add(new Option([number, name || "Unnamed style"].filter(Boolean).join(" · "), id));
    if (choice.options.length) return;
    this.form.querySelector("button").disabled = true;
    this.refuse("There is no style on the shelf yet; what a swatch makes surer is worked out for one.");
  }

  refuse(words) {
    this.form.querySelector(".why-not").textContent = words;
  }

  async ask() {
    const { form, room } = this;
    const style = form.dataset.style || form.elements.style?.value;
    if (!style) return;
    const asked = (this.asked += 1);
    this.waits = { style, wanted: form.elements.wanted.value };
    sessionStorage.setItem(this.store, JSON.stringify(this.waits));
    this.refuse("");
    const query = new URLSearchParams({ wanted: this.waits.wanted, window: room.sender.window });
    while (asked === this.asked) {
      const answer = await fetch(`/api/items/${style}/next?${query}`).catch(() => null);
      const body = await answer?.json().catch(() => null);
      if (asked !== this.asked) return;
      if (!answer?.ok) {
        if (answer) sessionStorage.removeItem(this.store);
        this.box.replaceChildren();
        this.refuse(body?.problem ? sentence(body.problem) : "The workroom does not answer. Ask again.");
        return;
      }
      if (!["waiting", "working"].includes(body.state)) {
        this.told(body);
        return;
      }
      this.working(body);
      await new Promise((done) => setTimeout(done, ASK_MS));
    }
  }

  working({ state, share, seconds }) {
    let place = this.box.querySelector(".working");
    if (!place) {
      place = document.createElement("div");
      place.className = "working";
      place.innerHTML = '<p class="line" role="status"></p><div class="progress"><i></i></div><button type="button" class="button" data-next-stop>Stop</button>';
      this.box.replaceChildren(place);
    }
    const done = Math.round(100 * share);
    place.querySelector(".line").textContent = state === "waiting" ? "Waiting for other work to be finished." : `Trying swatches: ${done} %, ${Math.round(seconds)} s so far.`;
    place.querySelector("i").style.width = `${Math.max(2, done)}%`;
  }

  told({ state, problem, html }) {
    sessionStorage.removeItem(this.store);
    if (html) {
      this.box.innerHTML = html;
      this.box.querySelector(".said").focus({ preventScroll: true });
      return;
    }
    this.box.replaceChildren();
    if (problem) this.refuse(sentence(problem));
    else this.refuse(state === "failed" ? "The work broke off; that is our fault and stands in the log." : "Stopped; nothing was worked out.");
  }

  async stop() {
    const { style, wanted } = this.waits;
    this.asked += 1;
    await send(`/api/items/${style}/next/stop`, { wanted, window: this.room.sender.window }).catch(() => null);
    this.told({ state: "stopped" });
    this.form.querySelector("button").focus();
  }
}
