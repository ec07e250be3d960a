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
    this.card.innerHTML = `<button type="button" class="leave">close <kbd>Esc</kbd></button>${html}`;
    this.card.setAttribute("role", "region");
    this.card.setAttribute("aria-label", this.card.querySelector("h3")?.textContent ?? "Why");
    this.level();
    this.card.focus({ preventScroll: true });
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
    card.innerHTML = `<button type="button" class="leave">close <kbd>Esc</kbd></button>${await response.text()}`;
    if (focus) card.focus({ preventScroll: true });
    this.level();
  }
}
