// Keys of every page. Single letters work outside fields only, and can be switched off.

const PLACES = { s: "/", y: "/shelf/yarn", m: "/shelf/machine", u: "/shelf/structure", l: "/loop", r: "/shelf/rates", z: "/shelf/sizes", w: "/shelf/swatch", h: "/help" };

const LIST = [
  ["?", "this list"],
  ["1 … 9", "go to a section"],
  ["B", "go to the brief"],
  ["[ ]", "size before, size after"],
  ["Enter", "on a figure: its why"],
  ["Esc", "close, stop, leave the cell"],
  ["Ctrl Z, Ctrl Shift Z", "undo, redo"],
  ["C", "compare versions"],
  ["S", "swatches"],
  ["/", "find on the shelf"],
  ["N", "new on this page"],
  ["G then S Y M U L R Z W H", "season, yarns, machines, structures, the loop, rates, sizes, swatches, help"],
  ["Arrows, Tab, Enter", "walk a table or a grid"],
  ["F2", "edit the cell"],
  ["Shift + arrows", "mark a block"],
  ["Ctrl C, Ctrl V", "copy, paste the block"],
  ["Ctrl D, Ctrl R", "fill down, fill right"],
  ["Del", "back to the graded value"],
  ["K T M .", "in the notation: knit, tuck, miss, out of action"],
];

const OFF = "loopwright-letters-off";

const isTyped = (field) => field.matches("input, textarea") && field.value !== (field.dataset.seen ?? "");

export class Keys {
  constructor(room) {
    this.room = room;
    this.going = 0;
    room.listen("keydown", (event) => this.key(event));
  }

  key(event) {
    const control = event.ctrlKey || event.metaKey;
    const field = event.target.closest?.("input, textarea, select, [role=gridcell], [data-notation]");
    if (event.key === "Escape") {
      if (field?.matches("td.editing input") || (field?.dataset.path && isTyped(field))) return; // leaves the typing first
      if (!this.room.why.close() && !this.room.narrow.close()) this.room.quiet();
      return;
    }
    if (control && event.key.toLowerCase() === "z" && !field?.matches("input, textarea")) {
      event.preventDefault();
      this.room.undo(event.shiftKey ? "redo" : "undo");
      return;
    }
    if (control || event.altKey || field?.matches("input, textarea, select, [data-notation]")) return;
    if (event.key === "?") return this.list();
    if (localStorage.getItem(OFF)) return;
    if (field?.matches("[role=gridcell]")) return;
    this.letter(event);
  }

  letter(event) {
    const key = event.key.toLowerCase();
    if (Date.now() < this.going) {
      this.going = 0;
      if (PLACES[key]) location.assign(PLACES[key]);
      return;
    }
    if (/^[1-9]$/.test(key)) this.section(key);
    else if (key === "g") this.going = Date.now() + 1500;
    else if (key === "b") this.brief();
    else if (key === "[" || key === "]") this.size(key === "]" ? 1 : -1);
    else if (key === "c") document.querySelector("[data-compare]")?.click();
    else if (key === "s") location.assign("/shelf/swatch");
    else if (key === "n") document.querySelector("[data-new]")?.click();
    else if (key === "/") this.find();
    else return;
    event.preventDefault();
  }

  brief() {
    this.room.narrow.open();
    const all = [...document.querySelectorAll(".brief :is(input, textarea, a):not(.mark a)")];
    all.find((each) => each.checkVisibility())?.focus();
  }

  find() {
    const field = document.querySelector("#find");
    if (field) {
      this.room.narrow.open();
      field.focus();
    } else location.assign("/#find");
  }

  section(number) {
    const section = document.querySelector(`section[data-number="${number}"]`);
    if (!section) return;
    section.scrollIntoView();
    const heading = section.querySelector("h2");
    heading.tabIndex = -1;
    heading.focus({ preventScroll: true });
  }

  size(step) {
    const all = [...(document.querySelector(".pick")?.querySelectorAll("[data-size]") ?? [])];
    const now = all.findIndex((each) => each.getAttribute("aria-pressed") === "true");
    all[now + step]?.click();
  }

  list() {
    const old = document.querySelector("dialog.keys");
    if (old) {
      old.close();
      return;
    }
    const dialog = document.createElement("dialog");
    dialog.className = "keys";
    dialog.setAttribute("aria-label", "Keys");
    const rows = LIST.map(([keys, words]) => `<div><dt><kbd>${keys}</kbd></dt><dd>${words}</dd></div>`).join("");
    const checked = localStorage.getItem(OFF) ? "" : "checked";
    dialog.innerHTML =
      `<h2>Keys</h2><dl>${rows}</dl><label><input type="checkbox" ${checked}> single letters work outside fields</label>` +
      `<p><button type="button" class="button">Close</button></p>`;
    dialog.querySelector("input").addEventListener("change", (event) => {
      if (event.target.checked) localStorage.removeItem(OFF);
      else localStorage.setItem(OFF, "1");
    });
    dialog.querySelector("button").addEventListener("click", () => dialog.close());
    dialog.addEventListener("close", () => dialog.remove());
    document.body.append(dialog);
    dialog.showModal();
  }
}
