// A file that takes a while to make and may be refused: fetched by the page, kept by the browser, or the reason said.

import { sentence } from "./brief.js";

// what was chosen in the fields of a group, as the query of a door
export function choicesOf(group) {
  const fields = document.querySelectorAll(`.${group} select`);
  return new URLSearchParams([...fields].map((field) => [field.name, field.value]));
}

export class Fetched {
  constructor(room) {
    this.room = room;
    room.listen("click", (event) => {
      const button = event.target.closest?.("[data-fetch]");
      if (button && !button.hasAttribute("aria-busy")) this.fetch(button);
    });
  }

  async fetch(button) {
    const { fetch: at, name, chosen } = button.dataset;
    const door = chosen ? `${at}?${choicesOf(chosen)}` : at;
    button.setAttribute("aria-busy", "true");
    this.room.say(`${name} is being made.`);
    const answer = await fetch(door).catch(() => null);
    const file = answer?.ok ? await answer.blob().catch(() => null) : null;
    button.removeAttribute("aria-busy");
    if (file) {
      const link = Object.assign(document.createElement("a"), { href: URL.createObjectURL(file), download: name });
      link.click();
      setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
      this.room.say(`${name} is made.`);
      return;
    }
    const problem = (await answer?.json().catch(() => null))?.problem;
    this.room.say(problem ? sentence(problem) : "The workroom does not answer. Ask again.");
  }
}
