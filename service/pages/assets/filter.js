// A field that leaves of a long list what has its words; without a script it is not shown and the list stays whole.
"use strict";
const leave = (field) => {
  const list = document.getElementById(field.getAttribute("aria-controls"));
  const words = field.value.toLowerCase().split(/\s+/).filter(Boolean);
  let left = 0;
  for (const one of list.querySelectorAll("[data-found]")) {
    one.hidden = !words.every((word) => one.dataset.found.includes(word));
    if (!one.hidden) left += 1;
  }
  for (const group of list.querySelectorAll("[data-group]")) group.hidden = !group.querySelector("[data-found]:not([hidden])");
  const none = list.parentElement.querySelector("[data-none]");
  if (none) none.hidden = left > 0;
};
document.addEventListener("input", (event) => { if (event.target.matches("[data-filter]")) leave(event.target); });
document.addEventListener("keydown", (event) => { if (event.key === "Enter" && event.target.matches("[data-filter]")) event.preventDefault(); });
