/* Names while they are typed: a list below the box, walked with the arrow keys.
   Without this script the form works as it stands. */
"use strict";
for (const box of document.querySelectorAll("input[data-suggest]")) {
  const list = document.createElement("ul");
  list.id = box.id + "-list";
  list.className = "suggestions";
  list.setAttribute("role", "listbox");
  list.setAttribute("aria-label", "Names");
  list.hidden = true;
  box.closest(".row").append(list);
  box.setAttribute("role", "combobox");
  box.setAttribute("aria-autocomplete", "list");
  box.setAttribute("aria-expanded", "false");
  box.setAttribute("aria-controls", list.id);
  let at = -1, timer = 0, asked = 0;

  const close = () => {
    list.hidden = true;
    at = -1;
    box.setAttribute("aria-expanded", "false");
    box.removeAttribute("aria-activedescendant");
  };
  const mark = (next) => {
    const items = [...list.children];
    if (!items.length) return;
    at = (next + items.length) % items.length;
    items.forEach((item, i) => item.setAttribute("aria-selected", String(i === at)));
    box.setAttribute("aria-activedescendant", items[at].id);
    items[at].scrollIntoView({ block: "nearest" });
  };
  const take = (item) => {
    box.value = item.dataset.name;
    close();
    box.form.requestSubmit();
  };
  const show = (found) => {
    list.replaceChildren(...found.map((one, i) => {
      const item = document.createElement("li");
      const name = document.createElement("b");
      const means = document.createElement("span");
      name.textContent = one.name;
      means.textContent = one.means;
      item.append(name, " ", means);
      item.id = list.id + "-" + i;
      item.dataset.name = one.name;
      item.setAttribute("role", "option");
      item.setAttribute("aria-selected", "false");
      item.addEventListener("mousedown", (event) => { event.preventDefault(); take(item); });
      return item;
    }));
    at = -1;
    list.hidden = !found.length;
    box.setAttribute("aria-expanded", String(!list.hidden));
  };
  box.addEventListener("input", () => {
    clearTimeout(timer);
    const typed = box.value.trim();
    const turn = ++asked;
    if (typed.length < 2) { close(); return; }
    timer = setTimeout(async () => {
      try {
        const reply = await fetch("/suggest?q=" + encodeURIComponent(typed));
        if (reply.ok && turn === asked) show(await reply.json());
      } catch { close(); }
    }, 120);
  });
  box.addEventListener("keydown", (event) => {
    if (list.hidden) return;
    if (event.key === "ArrowDown") { event.preventDefault(); mark(at + 1); }
    if (event.key === "ArrowUp") { event.preventDefault(); mark(at < 0 ? -1 : at - 1); }
    if (event.key === "Escape") close();
    if (event.key === "Enter" && at >= 0) { event.preventDefault(); take(list.children[at]); }
  });
  box.addEventListener("blur", close);
}
