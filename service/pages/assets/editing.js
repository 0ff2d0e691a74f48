// Pages with rows: added and taken away without leaving the page, undo, a word before unsaved work is left; live drawings where there are any.
"use strict";
const editForm = document.querySelector("form[data-guard]");

if (editForm) {
  const undone = [];
  let kept = "", last = "", saving = false, drawing = 0;

  const snapshot = () => {
    for (const field of editForm.querySelectorAll("input, textarea, select")) {
      if (field.type === "checkbox") field.toggleAttribute("checked", field.checked);
      else if (field.tagName === "SELECT") for (const option of field.options) option.toggleAttribute("selected", option.selected);
      else if (field.tagName === "TEXTAREA") field.textContent = field.value;
      else field.setAttribute("value", field.value);
    }
    const copy = editForm.cloneNode(true);
    for (const drawn of copy.querySelectorAll("[data-drawing], [data-house]")) drawn.replaceChildren();
    for (const said of copy.querySelectorAll("[data-changed]")) said.textContent = "";
    for (const button of copy.querySelectorAll("[data-undo]")) button.disabled = false;
    return copy.innerHTML;
  };
  const words = () => new URLSearchParams(new FormData(editForm)).toString();
  const standing = () => {
    const changed = words() !== kept;
    editForm.querySelector("[data-changed]").textContent = changed ? "Not saved yet." : "";
    editForm.querySelector("[data-undo]").disabled = undone.length === 0;
    return changed;
  };
  const draw = () => {
    drawing = 0;
    for (const box of editForm.querySelectorAll("details[open] [data-drawing]")) drawSurface(box, editForm);
    for (const box of editForm.querySelectorAll("[data-house]")) drawHouse(box, editForm);
  };
  const drawSoon = () => { drawing ||= requestAnimationFrame(draw); };
  const remember = () => {
    const now = snapshot();
    if (now === last) return;
    undone.push(last);
    if (undone.length > 60) undone.shift();
    last = now;
    standing();
  };

  editForm.addEventListener("input", () => { drawSoon(); standing(); });
  editForm.addEventListener("change", async (event) => {
    drawSoon();
    if (event.target.name?.endsWith("/roof/form")) await change("unfold:");
    else remember();
  });
  editForm.addEventListener("toggle", drawSoon, true);
  editForm.addEventListener("submit", async (event) => {
    const action = event.submitter?.value ?? "plan";
    if (action === "save" || action === "plan") { saving = true; return; }
    event.preventDefault();
    await change(action);
  });
  editForm.addEventListener("click", (event) => {
    if (!event.target.closest("[data-undo]") || !undone.length) return;
    last = undone.pop();
    editForm.innerHTML = last;
    draw();
    standing();
    editForm.querySelector("[data-undo]").focus();
  });

  const standingValues = () => new Map([...editForm.querySelectorAll("[name]:not([type=hidden])")].map((field) => [field.name, field.type === "checkbox" ? field.checked : field.value]));

  // Where to go on once a button did its work: the row that moved up, else the button that adds one; the same button where it is still there.
  function besides(action) {
    const [, list, row] = /^remove:(.*)\/(\d+)$/.exec(action) ?? [];
    const moved = list === undefined ? null : [...editForm.querySelectorAll(`[name^="${CSS.escape(`${list}/${row}/`)}"]:not([type=hidden])`)].find((field) => field.offsetParent);
    const button = (value) => editForm.querySelector(`button[value="${CSS.escape(value)}"]`);
    return moved ?? button(list === undefined ? action : `add:${list}`);
  }

  async function change(action) {
    const body = new URLSearchParams(new FormData(editForm));
    body.set("do", action);
    const sent = standingValues();
    editForm.setAttribute("aria-busy", "true");
    let part = null;
    try {
      const answer = await fetch(editForm.action, { method: "POST", body, headers: { "X-Part": "form" } });
      if (answer.ok) part = await answer.text();
    } catch { /* no network just now */ }
    editForm.removeAttribute("aria-busy");
    if (part === null) {
      editForm.querySelector("[data-changed]").textContent = "That could not be done just now. What you typed is still here; try again.";
      return;
    }
    const typed = [...standingValues()].filter(([name, value]) => sent.get(name) !== value); // while the answer was on its way
    remember();
    const open = new Set([...editForm.querySelectorAll("details[open] > summary[id]")].map((summary) => summary.id));
    const focused = document.activeElement?.name;
    editForm.innerHTML = part;
    for (const [name, value] of typed) {
      const field = [...editForm.querySelectorAll(`[name="${CSS.escape(name)}"]`)].at(-1);
      if (field?.type === "checkbox") field.checked = value;
      else if (field) field.value = value;
    }
    for (const summary of editForm.querySelectorAll("details > summary[id]")) if (open.has(summary.id)) summary.parentElement.open = true;
    remember();
    draw();
    standing();
    const fresh = [...editForm.querySelectorAll("input:not([type=hidden]), select")].find((field) => field.name && !sent.has(field.name));
    if (/^(add|copy)/.test(action)) fresh?.focus();
    else if (focused === "do") besides(action)?.focus();
    else if (focused) [...editForm.querySelectorAll(`[name="${CSS.escape(focused)}"]`)].at(-1)?.focus();
  }

  addEventListener("beforeunload", (event) => {
    if (!saving && standing()) event.preventDefault();
  });
  document.getElementById("summary")?.focus();
  kept = document.getElementById("summary") ? "" : words();
  last = snapshot();
  draw();
  standing();
}
