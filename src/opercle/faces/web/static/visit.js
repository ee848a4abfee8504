/* How far a file is; the page is asked again when it is settled, and kept while it is open. */
"use strict";
{
  const visit = document.getElementById("visit");
  const under = ["waiting", "running"].includes(visit.dataset.how);
  const ask = async () => {
    let told = null;
    try {
      const reply = await fetch(visit.dataset.state);
      if (reply.ok) told = await reply.json();
      if (reply.status === 404) { if (under) location.reload(); return; }
    } catch { /* asked again below */ }
    if (told && under) {
      if (!["waiting", "running"].includes(told.how)) { location.reload(); return; }
      const share = document.getElementById("share");
      const stage = told.how === "waiting" ? "Waiting for its turn."
        : told.stage.charAt(0).toUpperCase() + told.stage.slice(1) + " …";
      const line = document.getElementById("stage");
      if (line.textContent !== stage) line.textContent = stage;
      if (told.share === null) share.removeAttribute("value"); else share.value = told.share;
      document.getElementById("told").textContent =
        told.share === null ? "" : Math.floor(told.share * 100) + "%";
    }
    setTimeout(ask, under ? 500 : 60000);
  };
  setTimeout(ask, under ? 300 : 60000);
}
