// Opens the reason of a figure in the margin, gives the focus back on closing; 1-9 go to sections.
(() => {
  const margin = document.getElementById("margin");
  let open = null;
  const close = () => {
    if (!open) return;
    open.setAttribute("aria-expanded", "false");
    open.focus({ preventScroll: true });
    margin.replaceChildren();
    margin.classList.remove("shown");
    open = null;
  };
  const show = (button) => {
    const again = open === button;
    close();
    if (again) return;
    const article = document.getElementById("why-" + button.dataset.why).cloneNode(true);
    article.removeAttribute("id");
    const leave = document.createElement("button");
    leave.type = "button";
    leave.className = "leave";
    leave.textContent = "close";
    leave.addEventListener("click", close);
    article.prepend(leave);
    margin.replaceChildren(article);
    margin.classList.add("shown");
    const top = button.getBoundingClientRect().top + window.scrollY;
    margin.style.setProperty("--level", Math.max(0, top - 16) + "px");
    open = button;
    button.setAttribute("aria-expanded", "true");
    leave.focus({ preventScroll: true });
  };
  document.addEventListener("click", (event) => {
    const button = event.target.closest("button.fig");
    if (button) show(button);
  });
  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape") close();
    if (event.ctrlKey || event.metaKey || event.altKey || !/^[1-9]$/.test(event.key)) return;
    document.getElementById("s" + event.key)?.scrollIntoView();
  });
})();
