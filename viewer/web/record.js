// The record: each step's form from its top, from an entry's "Strike" to the reason, with one key from anywhere to the reading of this step.
(() => {
  "use strict";
  new MutationObserver(([{ target }]) => {
    target.scrollTop = 0;
  }).observe(document, { subtree: true, attributeFilter: ["data-step"] });
  document.addEventListener("click", (event) => {
    if (!event.target.closest(".record [data-strike]")) return;
    const folded = document.getElementById("record_striking");
    folded.open = true;
    requestAnimationFrame(() => {
      folded.scrollIntoView({ block: "nearest" });
      document.getElementById("record_why").focus();
    });
  });
  window.addEventListener("keydown", (event) => {
    if (event.key.toLowerCase() !== "r" || event.altKey || event.ctrlKey || event.metaKey) return;
    if (event.target.matches("input:not([type]), input[type=text], select, textarea")) return;
    const box = document.getElementById("record_0");
    if (!box) return;
    event.preventDefault();
    box.focus();
  });
})();
