// Drawings that answer: hover, press or walk along the marks of a panel or the stretches of a stroke timeline.

export class Marks {
  constructor(room) {
    room.listen("pointerover", (event) => this.show(event.target.closest?.("[data-says]")));
    room.listen("click", (event) => this.show(event.target.closest?.("[data-says]"), true));
    room.listen("keydown", (event) => this.walk(event));
    room.listen("part", () => this.ready());
  }

  ready() {
    for (const figure of document.querySelectorAll("figure.picture:not([data-says-ready])")) {
      if (!figure.querySelector("[data-says]")) continue;
      figure.dataset.saysReady = "";
      figure.tabIndex = 0;
      figure.setAttribute("role", "group");
      const title = figure.querySelector("title")?.textContent ?? "Drawing";
      figure.setAttribute("aria-label", `${title}. Left and right arrows walk along its marks.`);
      const line = document.createElement("p");
      line.className = "says";
      line.dataset.own = "";
      line.setAttribute("aria-live", "polite");
      line.textContent = "Point at a mark, or focus the drawing and use the arrow keys: it says what is done there.";
      figure.append(line);
    }
  }

  show(mark, pin = false) {
    if (!mark) return;
    const figure = mark.closest("figure.picture");
    if (!figure) return;
    for (const each of figure.querySelectorAll(".on")) each.classList.remove("on");
    mark.classList.add("on");
    const line = figure.querySelector(".says");
    if (line) line.textContent = mark.dataset.says;
    if (pin) this.at = mark;
  }

  walk(event) {
    if (!["ArrowLeft", "ArrowRight"].includes(event.key) || !event.target.matches?.("figure.picture")) return;
    const marks = [...event.target.querySelectorAll("[data-says]")];
    if (!marks.length) return;
    event.preventDefault();
    const now = marks.findIndex((mark) => mark.matches(".on"));
    const next = event.key === "ArrowRight" ? now + 1 : now < 0 ? marks.length - 1 : now - 1;
    this.show(marks[(next + marks.length) % marks.length], true);
  }
}
