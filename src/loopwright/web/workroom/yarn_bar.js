// What stands under the yarn view: buttons for its views, and how far the cloth is stretched.

const VIEWS = [
  ["face", "Face", "F"],
  ["back", "Back", "B"],
  ["section", "Section", "S"],
  ["lying", "As it lies", "L"],
];
const AXES = [
  ["strain_width", "Stretched across"],
  ["strain_length", "Stretched along"],
];

export function bar(view) {
  const made = document.createElement("div");
  made.className = "bar";
  for (const [name, words, key] of VIEWS) {
    if (name === "lying" && !view.lying) continue;
    const button = document.createElement("button");
    Object.assign(button, { type: "button", className: "quiet" });
    button.dataset.view = name;
    button.setAttribute("aria-keyshortcuts", key);
    const cap = document.createElement("kbd");
    cap.textContent = key;
    button.append(words, cap);
    button.addEventListener("click", () => view.look(name));
    made.append(button);
  }
  return made;
}

// Say which view is on.
export function press(view) {
  view.root.querySelectorAll("[data-view]").forEach((button) => {
    if (button.matches("button")) button.setAttribute("aria-pressed", String(button.dataset.view === view.view));
  });
}

export function sliders(view, strainsOf) {
  const made = document.createElement("div");
  made.className = "sliders";
  for (const [axis, words] of AXES) {
    const most = strainsOf(view.cloth, axis).at(-1)[axis];
    if (most > 0) made.append(slider(view, axis, words, most));
  }
  return made;
}

function slider(view, axis, words, most) {
  const label = document.createElement("label");
  const input = document.createElement("input");
  const told = document.createElement("output");
  Object.assign(input, { type: "range", min: 0, max: 100 * most, step: most, value: 0, name: axis });
  told.textContent = "0 %";
  input.addEventListener("input", () => {
    const others = [...label.parentElement.querySelectorAll("input")].filter((each) => each !== input);
    for (const each of others) {
      each.value = 0;
      each.nextElementSibling.textContent = "0 %";
    }
    told.textContent = `${Math.round(input.valueAsNumber)} %`;
    view.hold(axis, input.valueAsNumber / 100);
  });
  label.append(words, input, told);
  return label;
}

export function sentence(words) {
  const made = document.createElement("p");
  made.className = "says";
  made.textContent = words;
  return made;
}
