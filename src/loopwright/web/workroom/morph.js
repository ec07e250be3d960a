// Makes a piece of the page equal to new HTML with as few touches as can be: what did not change keeps its focus,
// its place and what a person is typing in it.

export function adopt(root, html, name) {
  root.dataset.part = name;
  const wanted = document.createElement("div");
  wanted.innerHTML = html ?? "";
  const first = !root.hasChildNodes();
  children(root, wanted);
  root.dispatchEvent(new CustomEvent("part", { bubbles: true, detail: { name, first } }));
}

function children(have, want) {
  let old = have.firstChild;
  let fresh = want.firstChild;
  while (fresh) {
    const after = fresh.nextSibling;
    if (!old) {
      have.append(fresh);
    } else if (alike(old, fresh)) {
      const next = old.nextSibling;
      node(old, fresh);
      old = next;
    } else {
      const next = old.nextSibling;
      if (old.nodeType === 1 && old.dataset.own !== undefined) {
        old = next; // put there by the page itself: a reason, a complaint
        continue;
      }
      have.replaceChild(fresh, old);
      old = next;
    }
    fresh = after;
  }
  while (old) {
    const next = old.nextSibling;
    if (old.nodeType !== 1 || old.dataset.own === undefined) old.remove();
    old = next;
  }
}

function alike(one, other) {
  if (one.nodeType !== other.nodeType || one.nodeName !== other.nodeName) return false;
  if (one.nodeType !== 1) return true;
  if (one.dataset.own !== undefined) return false;
  return key(one) === key(other);
}

const key = (element) => element.id || element.dataset.field || element.dataset.path || element.dataset.key || "";

function node(old, fresh) {
  if (old.nodeType !== 1) {
    if (old.data !== fresh.data) old.data = fresh.data;
    return;
  }
  if (old.nodeName === "svg" || old.nodeName === "SVG") {
    if (old.outerHTML !== fresh.outerHTML) old.replaceWith(fresh);
    return;
  }
  if (old.matches("td.editing")) {
    old.dataset.before = fresh.textContent; // what it goes back to; what is being typed stays
    return;
  }
  if (old.dataset.keep !== undefined && fresh.dataset.keep !== undefined) return; // filled in by the person, no part of the study
  const was = old.matches("button.fig") ? old.textContent : null;
  attributes(old, fresh);
  if (old.matches("input, textarea, select")) {
    field(old, fresh);
    return;
  }
  children(old, fresh);
  if (was !== null && was !== old.textContent) note(old, was);
}

const KEPT = new Set(["open", "aria-expanded", "tabindex", "aria-selected", "data-was", "data-hollow"]);

function attributes(old, fresh) {
  for (const { name, value } of [...fresh.attributes]) {
    if (KEPT.has(name) && old.hasAttribute(name)) continue;
    if (old.getAttribute(name) !== value) old.setAttribute(name, value);
  }
  for (const { name } of [...old.attributes]) {
    if (fresh.hasAttribute(name) || KEPT.has(name) || name.startsWith("data-v-")) continue;
    if (name === "aria-description" && old.dataset.hollow !== undefined) continue;
    old.removeAttribute(name);
  }
}

function field(old, fresh) {
  if (old.nodeName === "SELECT") {
    if (old.innerHTML !== fresh.innerHTML) old.innerHTML = fresh.innerHTML;
    old.value = fresh.value;
    return;
  }
  const text = fresh.nodeName === "TEXTAREA" ? fresh.textContent : (fresh.getAttribute("value") ?? "");
  const typing = document.activeElement === old && old.value !== old.dataset.seen;
  if (!typing && !old.closest(".refused")) old.value = text;
  old.dataset.seen = text;
}

function note(figure, was) {
  figure.classList.add("changed");
  figure.setAttribute("aria-description", `was ${was}`);
  clearTimeout(figure.fading);
  figure.fading = setTimeout(() => figure.classList.remove("changed"), 1500);
}
