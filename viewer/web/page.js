// The live page's own script: takes the single seat, then loads the page; keeps the current step in sight.
(() => {
  "use strict";
  const page = document.currentScript.dataset;

  const name = () => {
    const known = sessionStorage.getItem("page");
    if (known) return known;
    const fresh = Array.from(crypto.getRandomValues(new Uint32Array(4)), (n) => n.toString(16)).join("");
    sessionStorage.setItem("page", fresh);
    return fresh;
  };

  const begin = async () => {
    // On a reload the server may not yet have seen the old page go: ask for a while before giving up.
    for (let attempt = 0; attempt < 8; attempt += 1) {
      const answer = await (await fetch("seat?page=" + name())).json();
      if (answer.free) {
        // Name the socket, or the client would first ask for a session launcher that there is not.
        history.replaceState(null, "", "?sessionURL=" + new URL("ws", location.href).href.replace(/^http/, "ws"));
        const client = document.createElement("script");
        client.type = "module";
        client.src = page.client;
        document.head.append(client);
        return;
      }
      await new Promise((done) => setTimeout(done, 250));
    }
    document.querySelector(".notice-page").textContent = page.taken;
  };

  // The list grows and shrinks with the figures below it: keep the step in sight then too.
  const list = new ResizeObserver(() => document.querySelector(".steps [aria-current=step]")?.scrollIntoView({ block: "nearest" }));
  new MutationObserver((changes) => {
    for (const { target } of changes) {
      if (target.getAttribute("aria-current") !== "step") continue;
      target.scrollIntoView({ block: "nearest" });
      list.observe(target.closest(".steps"));
    }
  }).observe(document, { subtree: true, attributeFilter: ["aria-current"] });

  begin();
})();
