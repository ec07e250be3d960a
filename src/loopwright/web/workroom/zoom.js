// The stroke timeline closer: drag over seconds, or use the buttons; the picture is drawn anew by the server.

export class Zoom {
  constructor(room) {
    this.room = room;
    this.from = 0;
    this.until = null;
    room.listen("part", (event) => event.detail.name === "minutes" && this.ready());
    room.listen("pointerdown", (event) => this.press(event));
    room.listen("pointerup", (event) => this.release(event));
    room.listen("click", (event) => {
      const way = event.target.closest?.("[data-zoom]")?.dataset.zoom;
      if (way) this.move(way);
    });
  }

  get figure() {
    return document.querySelector("figure.strokes");
  }

  ready() {
    const figure = this.figure;
    if (!figure) return;
    if (!figure.querySelector(".zoom")) {
      const bar = document.createElement("p");
      bar.className = "zoom";
      bar.dataset.own = "";
      for (const [way, words] of [
        ["closer", "closer"],
        ["back", "earlier"],
        ["on", "later"],
        ["whole", "whole"],
      ]) {
        const button = document.createElement("button");
        button.type = "button";
        button.className = "quiet";
        button.dataset.zoom = way;
        button.textContent = words;
        bar.append(button);
      }
      figure.prepend(bar);
    }
    if (this.until !== null) this.draw();
  }

  get longest() {
    return Number(this.figure?.querySelector("svg")?.dataset.longest ?? 0);
  }

  move(way) {
    const whole = this.longest || this.until || 600;
    const until = this.until ?? whole;
    const width = until - this.from;
    if (way === "whole") [this.from, this.until] = [0, null];
    else if (way === "closer") [this.from, this.until] = [this.from + width / 4, until - width / 4];
    else {
      const step = (way === "on" ? 1 : -1) * (width / 2);
      this.from = Math.max(0, Math.min(this.from + step, whole - width));
      this.until = this.from + width;
    }
    this.draw();
  }

  press(event) {
    const svg = event.target.closest?.("figure.strokes svg");
    this.down = svg && event.button === 0 ? { x: event.clientX, svg } : null;
  }

  release(event) {
    const down = this.down;
    this.down = null;
    if (!down || Math.abs(event.clientX - down.x) < 12) return;
    const { axisLeft, pxPerS, startS } = down.svg.dataset;
    const box = down.svg.getBoundingClientRect();
    const scale = down.svg.viewBox.baseVal.width / box.width;
    const second = (x) => Number(startS ?? 0) + ((x - box.left) * scale - Number(axisLeft)) / Number(pxPerS);
    const [from, until] = [second(down.x), second(event.clientX)].sort((a, b) => a - b);
    if (!(until - from > 1)) return;
    this.from = Math.max(0, from);
    this.until = until;
    this.draw();
  }

  async draw() {
    const size = document.querySelector(".pick [aria-pressed=true]")?.dataset.size ?? "";
    const words = new URLSearchParams({ size, start_s: this.from });
    if (this.until !== null) words.set("end_s", this.until);
    const response = await fetch(`/api/items/${this.room.item}/strokes?${words}`).catch(() => null);
    if (!response?.ok || !this.figure) return;
    const fresh = document.createElement("div");
    fresh.innerHTML = await response.text();
    this.figure.querySelector("svg")?.replaceWith(fresh.firstElementChild);
  }
}
