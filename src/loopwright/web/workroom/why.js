// Why a figure is what it is: in the margin, level with the figure and joined to it by the thread.

export class Why {
  constructor(room) {
    this.room = room;
    this.figure = null;
    this.card = null;
    room.listen("click", (event) => {
      const figure = event.target.closest?.("button.fig");
      if (figure) this.press(figure);
      else if (event.target.closest?.(".why .leave")) this.close();
    });
    addEventListener("resize", () => this.level());
  }

  async press(figure) {
    if (this.figure === figure) {
      this.close();
      return;
    }
    const inside = this.card?.contains(figure);
    const response = await fetch(this.room.whyAddress(figure.dataset.why)).catch(() => null);
    if (!response?.ok) {
      this.room.say("The reason cannot be fetched just now.");
      return;
    }
    const html = await response.text();
    if (!inside) this.open(figure);
    this.write(html);
  }

  open(figure) {
    this.close(false);
    this.figure = figure;
    figure.setAttribute("aria-expanded", "true");
    const place = figure.closest("section, .lede-box") ?? figure.closest("[data-part]");
    this.card = document.createElement("div");
    this.card.className = "why";
    this.card.dataset.own = "";
    this.card.tabIndex = -1;
    place.append(this.card);
  }

  write(html) {
    this.fill(html);
    this.card.setAttribute("role", "region");
    this.card.setAttribute("aria-label", this.card.querySelector("h3")?.textContent ?? "Why");
    this.level();
    this.card.focus({ preventScroll: true });
    this.keepInView();
  }

  // A reason that rises from the foot of the window leaves its figure in view above it.
  keepInView() {
    const card = this.card.getBoundingClientRect();
    const figure = this.figure.getBoundingClientRect();
    if (getComputedStyle(this.card).position !== "fixed") return;
    if (figure.bottom > card.top || figure.top < 0) scrollBy(0, figure.bottom - card.top + 8);
  }

  // A reason beside the lede stands right under the name of the page, so its headings rank one higher there.
  fill(html) {
    this.card.innerHTML = `<button type="button" class="leave">close <kbd>Esc</kbd></button>${html}`;
    if (!this.card.closest(".lede-box")) return;
    for (const heading of this.card.querySelectorAll("h3, h4"))
      heading.setAttribute("aria-level", Number(heading.nodeName[1]) - 1);
  }

  level() {
    if (!this.card || !this.figure) return;
    const place = this.card.parentElement.getBoundingClientRect();
    const figure = this.figure.getBoundingClientRect();
    this.card.style.setProperty("--level", `${Math.max(0, figure.bottom - place.top - 2)}px`);
    this.card.style.setProperty("--reach", `${Math.max(0, place.right - figure.right)}px`);
  }

  close(back = true) {
    if (!this.figure) return false;
    const figure = this.figure;
    figure.setAttribute("aria-expanded", "false");
    this.card.remove();
    this.figure = this.card = null;
    if (back && figure.isConnected) figure.focus({ preventScroll: true });
    return true;
  }

  // The study is new: the reason that is open tells the new numbers.
  async refresh() {
    if (!this.figure) return;
    if (!this.figure.isConnected) {
      this.close(false);
      return;
    }
    const { figure, card } = this;
    const response = await fetch(this.room.whyAddress(figure.dataset.why)).catch(() => null);
    if (!response?.ok || this.card !== card) return;
    const focus = card.contains(document.activeElement);
    this.fill(await response.text());
    if (focus) card.focus({ preventScroll: true });
    this.level();
  }
}
