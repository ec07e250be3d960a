// Solving a structure that is not known yet: begin, say how far it is, stop. Asking again and again tells the program
// that this window still waits; when nobody does, it stops by itself.

import { send } from "./send.js";

const ASK_MS = 700;

export class LoopWork {
  constructor(room, arrived) {
    Object.assign(this, { room, arrived });
    this.window = crypto.randomUUID?.() ?? String(Math.random());
    this.waiting = new Map();
    room.listen("click", (event) => {
      const place = event.target.closest?.("[data-loop-work]");
      if (event.target.closest?.("[data-loop-begin]")) this.begin(place);
      else if (event.target.closest?.("[data-loop-stop]")) this.stop(place.dataset.loopWork);
    });
    room.listen("keydown", (event) => {
      if (event.key === "Escape") for (const query of this.waiting.keys()) this.stop(query);
    });
  }

  body(query) {
    const said = Object.fromEntries(new URLSearchParams(query));
    for (const name of ["loop_mm", "set_percent", "twist_per_m", "version"]) if (name in said) said[name] = Number(said[name]);
    return { ...said, window: this.window };
  }

  async begin(place) {
    const query = place.dataset.loopWork;
    const answer = await send("/api/loop/work", this.body(query)).catch(() => null);
    if (!answer || answer.status >= 400) {
      this.room.say(answer?.body?.problem?.what ?? "The workroom does not answer.");
      return;
    }
    this.told(query, answer.body);
    if (!this.waiting.has(query)) this.waiting.set(query, setInterval(() => this.ask(query), ASK_MS));
  }

  async ask(query) {
    const address = `/api/loop/work?${query}&window=${encodeURIComponent(this.window)}`;
    const answer = await fetch(address).catch(() => null);
    if (answer?.ok && this.waiting.has(query)) this.told(query, await answer.json());
  }

  async stop(query) {
    this.leave(query);
    const answer = await send("/api/loop/work/stop", this.body(query)).catch(() => null);
    if (answer?.status < 400) this.told(query, { ...answer.body, state: "stopped" });
  }

  leave(query) {
    clearInterval(this.waiting.get(query));
    this.waiting.delete(query);
  }

  told(query, { state, words, seconds }) {
    if (state === "done" || state === "none") {
      this.leave(query);
      this.arrived();
      return;
    }
    if (state !== "waiting" && state !== "working") this.leave(query);
    const place = document.querySelector(`[data-loop-work="${CSS.escape(query)}"]`);
    if (!place) return;
    let said = place.querySelector(".progress-said");
    if (!said) {
      said = document.createElement("div");
      said.className = "progress-said";
      said.dataset.own = "";
      said.setAttribute("role", "status");
      place.append(said);
    }
    const works = state === "waiting" || state === "working";
    place.classList.toggle("works", works);
    const line = document.createElement("p");
    line.className = "line";
    line.textContent = works
      ? `${words || "Waiting for another structure to be finished"}; ${seconds} s so far.`
      : `${words || "Stopped; nothing was kept."}`;
    const button = document.createElement("button");
    Object.assign(button, { type: "button", className: "button", textContent: "Stop" });
    button.dataset.loopStop = "";
    const kept = said.querySelector("[data-loop-stop]");
    said.replaceChildren(line, ...(works ? [kept ?? button] : []));
  }

  // The cloth on show is another one: those that wait in the background go on being asked for.
  look() {
    for (const query of this.waiting.keys()) this.ask(query);
  }
}
