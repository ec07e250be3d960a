// Where there is no room beside the study: the brief opens as a page; the foot of the window marks where you are.

const NARROW = matchMedia("(max-width: 719px)");

export class Narrow {
  constructor(room) {
    this.room = room;
    room.listen("click", (event) => {
      const way = event.target.closest?.("[data-brief]")?.dataset.brief;
      if (way === "open") this.open();
      else if (way === "close") this.close();
    });
    room.listen("part", () => {
      this.here();
      this.wide();
    });
    NARROW.addEventListener("change", () => NARROW.matches || this.close(false), { signal: room.stop.signal });
    addEventListener("scroll", () => this.here(), { passive: true, signal: room.stop.signal });
    document.querySelector(".ways [aria-current]")?.scrollIntoView({ block: "nearest", inline: "center" });
    this.here();
    this.wide();
  }

  get door() {
    return document.querySelector('[data-brief="open"]');
  }

  get isOpen() {
    return document.documentElement.dataset.page === "brief";
  }

  // Shows the brief as a page where it is folded.
  open() {
    if (!NARROW.matches || !this.door) return;
    document.documentElement.dataset.page = "brief";
    this.door.setAttribute("aria-expanded", "true");
    document.querySelector(".study").inert = true;
    document.querySelector('[data-brief="close"]').focus();
  }

  close(back = true) {
    if (!this.isOpen) return false;
    delete document.documentElement.dataset.page;
    document.querySelector(".study").inert = false;
    this.door?.setAttribute("aria-expanded", "false");
    if (back) this.door?.focus();
    return true;
  }

  // A drawing that is wider than the window scrolls by itself, with the keys too.
  wide() {
    for (const figure of document.querySelectorAll("figure.picture:not([tabindex])")) {
      if (figure.scrollWidth <= figure.clientWidth) continue;
      figure.tabIndex = 0;
      figure.setAttribute("role", "group");
      figure.setAttribute("aria-label", figure.querySelector("title")?.textContent ?? "Drawing");
    }
  }

  // The destination at the foot whose section is being read.
  here() {
    if (!NARROW.matches) return;
    const links = [...document.querySelectorAll(".contents a")];
    const above = links.filter((link) => {
      const heading = document.querySelector(link.hash);
      return heading && link.offsetParent && heading.getBoundingClientRect().top < innerHeight / 2;
    });
    for (const link of links) {
      if (link === above.at(-1)) link.setAttribute("aria-current", "location");
      else link.removeAttribute("aria-current");
    }
  }
}
