// Numbers of one step: what is set stays in this page; the server is only asked and keeps nothing. Strings are shown as they come.
(() => {
  "use strict";
  const form = document.getElementById("asked");
  const rows = document.querySelector("tbody");
  const fault = document.querySelector(".fault");
  const marks = document.querySelector("table").dataset;
  let asked = 0;

  const cell = (row, name, text) => {
    const made = row.insertCell();
    made.className = name;
    made.textContent = text;
  };

  const ask = async () => {
    const mine = (asked += 1);
    const query = new URLSearchParams();
    for (const [name, value] of new FormData(form)) {
      if (!value.trim()) continue;
      if (form.elements[name].dataset?.gasket === undefined) query.append(name, value);
      else query.append("gasket", name + "=" + value);
    }
    let report = null, line = "";
    try {
      const answer = await fetch("numbers?" + query, { cache: "no-store" });
      if (answer.ok) report = await answer.json();
      else line = await answer.text();
    } catch (error) {
      line = String(error.message);
    }
    if (mine !== asked) return;
    fault.hidden = !line;
    fault.textContent = line;
    if (!report) return;
    rows.replaceChildren();
    for (const note of report.steps[0].callouts) {
      const row = rows.insertRow();
      row.className = note.verdict || "none";
      row.dataset.key = note.key;
      cell(row, "figure", note.short);
      cell(row, "verdict", marks[note.verdict || "none"]);
      cell(row, "text", note.text);
      cell(row, "limit", [note.limit, note.source].filter(Boolean).join(" · "));
    }
    document.querySelector(".none").hidden = report.steps[0].callouts.length > 0;
    const units = form.querySelector(`[name=units][value=${report.units}]`);
    if (units) units.checked = true;
    document.body.dataset.step = report.steps[0].id;
  };

  form.addEventListener("change", ask);
  form.addEventListener("submit", (event) => { event.preventDefault(); ask(); });
  form.addEventListener("click", (event) => {
    const by = Number(event.target.dataset?.by);
    if (!by) return;
    const list = form.elements.step;
    list.selectedIndex = Math.min(Math.max(list.selectedIndex + by, 0), list.length - 1);
    ask();
  });
  ask();
})();
