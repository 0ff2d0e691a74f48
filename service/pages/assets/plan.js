// Watches a plan that is being made, and opens it once it is there.
"use strict";
const watched = document.querySelector("[data-watch]");
if (watched) {
  const bar = watched.querySelector("progress");
  let pause = 250;
  const look = async () => {
    try {
      const answer = await fetch(watched.dataset.watch, { headers: { Accept: "application/json" } });
      if (answer.ok) {
        const standing = await answer.json();
        if (!["queued", "running"].includes(standing.state)) return location.reload();
        if (standing.progress) bar.value = standing.progress;
      }
    } catch { /* no network just now: look again later */ }
    pause = Math.min(pause * 1.4, 3000);
    setTimeout(look, pause);
  };
  setTimeout(look, pause);
}
