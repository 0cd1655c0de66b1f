// Shows and orders rows that are there already; without it every room stands in the page.
"use strict";
(() => {
  const table = document.querySelector("table.rooms"), tools = document.getElementById("tools");
  const rooms = [...table.tBodies], find = document.getElementById("find"), storey = document.getElementById("storey");
  const buttons = [...tools.querySelectorAll("button")];
  let state = "";
  const show = () => {
    const words = find.value.toLowerCase().split(/\s+/).filter(Boolean);
    let any = false;
    for (const room of rooms) {
      const fits = (!state || room.dataset.state === state) && (!storey || !storey.value || room.dataset.storey === storey.value)
        && words.every((word) => room.dataset.find.includes(word));
      room.hidden = !fits;
      any ||= fits;
    }
    document.getElementById("nothing").hidden = any;
  };
  for (const button of buttons) button.addEventListener("click", () => {
    state = button.dataset.state;
    for (const one of buttons) one.setAttribute("aria-pressed", String(one === button));
    show();
  });
  find.addEventListener("input", show);
  if (storey) storey.addEventListener("change", show);
  tools.addEventListener("submit", (event) => event.preventDefault());
  const order = new Intl.Collator(document.documentElement.lang, { numeric: true });
  const heads = [...table.tHead.rows[0].cells];
  heads.forEach((head, column) => {
    const button = document.createElement("button");
    button.textContent = head.textContent;
    button.type = "button";
    head.replaceChildren(button);
    button.addEventListener("click", () => {
      const down = head.getAttribute("aria-sort") === "ascending";
      for (const one of heads) one.removeAttribute("aria-sort");
      head.setAttribute("aria-sort", down ? "descending" : "ascending");
      const key = (room) => { const cell = room.rows[0].cells[column]; return cell.dataset.sort ?? cell.textContent.trim(); };
      rooms.sort((a, b) => (down ? -1 : 1) * order.compare(key(a), key(b)));
      table.append(...rooms);
    });
  });
  tools.hidden = false;
})();
