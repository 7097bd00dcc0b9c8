// For a talk: keys and clickers, swipes on the words, plots laid large over the picture.
(() => {
  "use strict";
  const FAR = 1e6; // steps: further than any job goes
  const SWIPE = 60; // CSS pixels aside, and at most half as many up or down
  const STEP = { ArrowLeft: -1, ArrowUp: -1, PageUp: -1, ArrowRight: 1, ArrowDown: 1, PageDown: 1, " ": 1, Home: -FAR, End: FAR };
  const trigger = (name, values) => window.trame && window.trame.trigger(name, values);
  const talking = () => Boolean(document.querySelector(".page.talk"));

  const close = () => {
    const large = document.querySelectorAll(".plot.large");
    large.forEach((plot) => plot.classList.remove("large"));
    return large.length > 0;
  };

  // -- all of the words in sight: smaller type in projector mode, then a second page of the same step, and a sign where more lies below
  const LEAST = 0.88; // of the projector's type size: what is smaller is not read from the back
  const parts = () => Array.from(document.querySelectorAll(".card, .numbers"));
  const below = (part) => part.scrollHeight - part.scrollTop - part.clientHeight > 3;
  const sign = () => {
    for (const part of parts()) part.toggleAttribute("data-more", below(part));
  };
  let shown = "";
  const fit = () => {
    const step = document.querySelector(".card .place")?.textContent ?? "";
    for (const part of parts()) {
      if (step !== shown) part.scrollTop = 0;
      part.removeAttribute("data-more");
      part.style.fontSize = "";
      for (let size = 0.98; talking() && below(part) && !part.scrollTop && size >= LEAST; size -= 0.02) part.style.fontSize = `${size}em`;
    }
    shown = step;
    sign();
  };
  let due = 0;
  const later = () => {
    cancelAnimationFrame(due);
    due = requestAnimationFrame(fit);
  };
  new MutationObserver((changes) => {
    if (changes.some(({ target }) => !target.parentElement?.closest(".stage"))) later();
  }).observe(document, { subtree: true, childList: true, characterData: true });
  new MutationObserver(later).observe(document, { subtree: true, attributeFilter: ["class"] });
  window.addEventListener("resize", later);
  document.addEventListener("scroll", sign, { capture: true, passive: true });

  /** One page on (1) or back (-1) in what the step says; false where there is none: then the step changes. */
  const turn = (by) => {
    if (!talking() || Math.abs(by) !== 1) return false;
    const rest = parts().filter((part) => (by > 0 ? below(part) : part.scrollTop > 0));
    for (const part of rest) part.scrollTop += by * 0.85 * part.clientHeight;
    return rest.length > 0;
  };
  const walk = (by) => {
    if (!turn(by)) trigger("step_by", [by]);
  };
  document.addEventListener("click", (event) => {
    const by = Number(event.target.closest(".talk-buttons [data-by]")?.dataset.by);
    if (by) walk(by);
  });

  window.addEventListener("keydown", (event) => {
    if (event.altKey || event.ctrlKey || event.metaKey) return;
    const typed = event.target.matches("input:not([type]), input[type=text], select, textarea");
    if (event.key === "Escape") {
      if (!close() && talking()) trigger("project", [false]);
      return;
    }
    if (event.key.toLowerCase() === "p" && !typed) {
      trigger("project", []);
      return;
    }
    const by = STEP[event.key] * (event.key === " " && event.shiftKey ? -1 : 1);
    if (!by) return;
    if (!event.key.startsWith("Page")) {
      // A text, a slider, a list that scrolls or a button keeps its own keys; the page keys of a clicker always change the step.
      if (typed) return;
      const slider = event.target.matches("input[type=range], input[type=radio]");
      if (slider && event.key !== " ") return;
      if (event.key === " " && event.target.matches("button, input, summary")) return;
      if (event.key === "ArrowUp" || event.key === "ArrowDown") if (!talking()) return;
    }
    event.preventDefault();
    walk(by);
  });

  document.addEventListener("click", (event) => {
    const button = event.target.closest(".plot .enlarge");
    if (!button) return;
    const plot = button.closest(".plot");
    const large = !plot.classList.contains("large");
    close();
    plot.classList.toggle("large", large);
  });

  let began = null;
  document.addEventListener("touchstart", (event) => {
    const words = event.target.closest(".card, .numbers, .left, .talk-buttons");
    const own = event.target.closest("input, textarea, select, .plot.large");
    const one = event.touches.length === 1;
    began = one && words && !own ? { x: event.touches[0].clientX, y: event.touches[0].clientY } : null;
  }, { passive: true });
  document.addEventListener("touchend", (event) => {
    if (!began || event.touches.length) return;
    const end = event.changedTouches[0];
    const aside = end.clientX - began.x;
    const level = Math.abs(end.clientY - began.y) <= Math.abs(aside) / 2;
    began = null;
    if (Math.abs(aside) >= SWIPE && level) walk(aside < 0 ? 1 : -1);
  }, { passive: true });
})();
