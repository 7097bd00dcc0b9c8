// Questions for trainees: a choice is judged and counted here, in this page alone; the server only hears that one was made.
(() => {
  "use strict";
  let right = 0, asked = 0;

  const count = () => {
    for (const place of document.querySelectorAll(".ask .count")) place.textContent = `${right} / ${asked}`;
  };

  const choose = (choice) => {
    const panel = choice.closest(".asked");
    const answer = panel.querySelector(".answer");
    if (!answer.hidden) return;
    const good = choice.dataset.right !== undefined;
    asked += 1;
    right += good ? 1 : 0;
    choice.classList.add(good ? "good" : "bad");
    panel.querySelector(".choice[data-right]").classList.add("good");
    panel.querySelectorAll(".choice").forEach((other) => other.setAttribute("aria-disabled", "true"));
    const because = choice.parentElement.querySelector(".because");
    if (!good && because) because.hidden = false;
    answer.hidden = false;
    answer.querySelector(good ? ".is-right" : ".not-right").hidden = false;
    count();
    answer.scrollIntoView({ block: "nearest" });
    window.trame?.trigger("ask_answered", []);
  };

  document.addEventListener("click", (event) => {
    const choice = event.target.closest(".ask .choice");
    if (choice) choose(choice);
  });
  window.addEventListener("keydown", (event) => {
    if (!/^[1-9]$/.test(event.key) || event.ctrlKey || event.altKey || event.metaKey) return;
    if (event.target.matches("input, textarea, select") || !document.querySelector(".page.asking")) return;
    const choice = document.querySelectorAll(".ask .choice")[Number(event.key) - 1];
    if (choice) choose(choice);
  });
  new MutationObserver(count).observe(document, { subtree: true, attributeFilter: ["class"] });
})();
