// The price follows the ticks. Every price was made by the service and stands on the page; nothing is reckoned here.
"use strict";
for (const form of document.querySelectorAll("form[data-choices]")) {
  form.classList.add("has-script");
  const boxes = [...form.querySelectorAll('input[name="chosen"]')];
  const told = form.querySelector("[data-told]");
  const show = (before = "") => {
    const chosen = boxes.filter((box) => box.checked).map((box) => box.value).join(",");
    for (const part of form.querySelectorAll("[data-for]")) part.hidden = part.dataset.for !== chosen;
    const now = form.querySelector(`[data-for="${CSS.escape(chosen)}"]`);
    form.elements.shown.value = chosen;
    form.querySelector("[data-words-here]").textContent = now.dataset.words;
    told.textContent = before + now.dataset.words;
  };
  for (const box of boxes) {
    box.addEventListener("change", () => {
      const excluded = box.dataset.excludes.split(" ");
      const gone = box.checked ? boxes.filter((other) => other.checked && excluded.includes(other.value)) : [];
      for (const other of gone) other.checked = false;
      show(gone.map((other) => `“${other.dataset.name}” does not go with it and is unticked. `).join(""));
    });
  }
  addEventListener("pageshow", () => show());
}
