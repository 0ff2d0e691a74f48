// Opens the page anew while a document or price is on its way, unless somebody is typing.
"use strict";
if (document.querySelector("[data-coming]")) {
  let pause = 700;
  const look = () => {
    if (document.visibilityState === "visible" && !document.activeElement?.matches("input, textarea, select")) {
      fetch(location.href).then((answer) => answer.text()).then((text) => {
        const fresh = new DOMParser().parseFromString(text, "text/html");
        const [old, now] = [document, fresh].map((page) => page.querySelector("#content"));
        for (const part of old.querySelectorAll("[data-coming]")) {
          const place = [...part.parentElement.children].indexOf(part);
          const other = [...now.querySelectorAll(part.tagName)].find((one) => one.className === part.className && [...one.parentElement.children].indexOf(one) === place);
          if (other) part.replaceWith(document.adoptNode(other));
        }
        if (document.querySelector("[data-coming]")) setTimeout(look, pause = Math.min(pause * 1.3, 5000));
      }).catch(() => setTimeout(look, 5000));
    } else setTimeout(look, 1500);
  };
  setTimeout(look, pause);
}
