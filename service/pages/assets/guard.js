// A word before a form is left that was filled in and not sent.
"use strict";
document.querySelector(".errors[tabindex]")?.focus();
for (const form of document.querySelectorAll("[data-guard-plain]")) {
  const words = () => new URLSearchParams(new FormData(form)).toString();
  const kept = words();
  let sending = false;
  form.addEventListener("submit", () => { sending = true; });
  addEventListener("beforeunload", (event) => { if (!sending && words() !== kept) event.preventDefault(); });
}
