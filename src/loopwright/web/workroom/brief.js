// The brief: every field saves when it is left or Enter is pressed; a refused one keeps what was typed and says why.

export class Brief {
  constructor(room) {
    this.room = room;
    this.first = new Map(); // what each field held when this window opened
    this.base = new Map(); // version looked at when typing began
    this.on("focusin", (field) => {
      field.dataset.seen ??= held(field);
      this.base.set(field.dataset.path, room.sender.version);
    });
    this.on("change", (field) => this.commit(field));
    this.on("keydown", (field, event) => this.key(field, event));
  }

  on(kind, act) {
    this.room.listen(kind, (event) => {
      const field = event.target.closest?.("input[data-path], textarea[data-path], select[data-path]");
      if (field) act(field, event);
    });
  }

  key(field, event) {
    if (event.key === "Enter" && (field.nodeName !== "TEXTAREA" || event.ctrlKey || field.matches(".name"))) {
      event.preventDefault();
      this.commit(field);
      this.onwards(field);
    } else if (event.key === "Escape") {
      field.value = field.dataset.seen ?? "";
      this.accept(field);
      event.stopPropagation();
    }
  }

  onwards(field) {
    const all = [...document.querySelectorAll(".brief [data-path]")];
    all[all.indexOf(field) + 1]?.focus();
  }

  commit(field) {
    if (held(field) === (field.dataset.seen ?? "") && !field.closest(".refused")) return;
    this.accept(field);
    field.dataset.seen = held(field);
    const base = this.base.get(field.dataset.path);
    this.room.sender.edit([{ path: JSON.parse(field.dataset.path), typed: held(field) }], { base });
    this.base.set(field.dataset.path, undefined);
  }

  refuse(path, problem) {
    const field = find(path);
    if (!field) return false;
    const row = field.closest(".field") ?? field.parentElement;
    this.accept(field);
    row.classList.add("refused");
    field.setAttribute("aria-invalid", "true");
    const said = document.createElement("p");
    said.dataset.own = "";
    said.className = "why-not";
    said.textContent = sentence(problem);
    said.id = `not-${Math.random().toString(36).slice(2)}`;
    field.setAttribute("aria-describedby", said.id);
    row.after(said);
    return true;
  }

  accept(field) {
    const row = field.closest(".field") ?? field.parentElement;
    row.classList.remove("refused");
    field.removeAttribute("aria-invalid");
    if (row.nextElementSibling?.matches(".why-not")) row.nextElementSibling.remove();
  }

  // A bar at the edge and "was …" for what changed while this window is open.
  mark() {
    for (const field of document.querySelectorAll(".brief .field [data-path]")) {
      const path = field.dataset.path;
      const now = field.dataset.seen ?? held(field);
      field.dataset.seen ??= now;
      if (!this.first.has(path)) this.first.set(path, now);
      const was = this.first.get(path);
      const row = field.closest(".field");
      if (was === now) row.removeAttribute("data-was");
      else row.dataset.was = was === "" ? "was left out" : `was ${was.replaceAll("\n", ", ")}`;
    }
  }
}

export const held = (field) => field.value ?? "";

export function find(path) {
  const wanted = JSON.stringify(path);
  return [...document.querySelectorAll("[data-path]")].find(
    (each) => JSON.stringify(JSON.parse(each.dataset.path)) === wanted,
  );
}

export function sentence(problem) {
  const parts = [problem.what];
  if (problem.limit) parts.push(`Limit: ${problem.limit}.`);
  if (problem.tries?.length) parts.push(`Try: ${problem.tries.join("; ")}.`);
  return parts.join(" ");
}
