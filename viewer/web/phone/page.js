// The page: which step is shown, what is set, what stands on the screen. Every text comes finished from the file; nothing is computed here.
/*! The picture is drawn with three.js.

The MIT License

Copyright © 2010-2026 three.js authors

Permission is hereby granted, free of charge, to any person obtaining a copy
of this software and associated documentation files (the "Software"), to deal
in the Software without restriction, including without limitation the rights
to use, copy, modify, merge, publish, distribute, sublicense, and/or sell
copies of the Software, and to permit persons to whom the Software is
furnished to do so, subject to the following conditions:

The above copyright notice and this permission notice shall be included in
all copies or substantial portions of the Software.

THE SOFTWARE IS PROVIDED "AS IS", WITHOUT WARRANTY OF ANY KIND, EXPRESS OR
IMPLIED, INCLUDING BUT NOT LIMITED TO THE WARRANTIES OF MERCHANTABILITY,
FITNESS FOR A PARTICULAR PURPOSE AND NONINFRINGEMENT. IN NO EVENT SHALL THE
AUTHORS OR COPYRIGHT HOLDERS BE LIABLE FOR ANY CLAIM, DAMAGES OR OTHER
LIABILITY, WHETHER IN AN ACTION OF CONTRACT, TORT OR OTHERWISE, ARISING FROM,
OUT OF OR IN CONNECTION WITH THE SOFTWARE OR THE USE OR OTHER DEALINGS IN
THE SOFTWARE.
*/

import * as balloons from "./balloons.js";
import { ask, live } from "./live.js";
import { Picture } from "./picture.js";
import { bodies, bytes } from "./unpack.js";

const SETTLE = 140;
const $ = (name) => document.getElementById(name);
const state = { step: -1, point: "", units: "mm", language: "", pull: 1, ticks: new Map(), open: new Map() };
let file, words, picture;
let resting = 0;
let asked = false;

function make(tag, kind, ...inside) {
  const item = document.createElement(tag);
  if (kind) item.className = kind;
  item.append(...inside);
  return item;
}

/** A text of the file, kept apart from the direction of what stands around it. */
function said(tag, kind, text) {
  const item = make(tag, kind, text);
  item.dir = "auto";
  return item;
}

function fill(pattern, values) {
  return pattern.replace(/\{(\w+)\}/g, (whole, name) => values[name] ?? whole);
}

// -- what the present step shows ---------------------------------------------------------------------------------------

function view() {
  return file.scene.views[state.step + 1];
}

function shows(point = state.point) {
  const told = words.told[state.units][state.step];
  return { ...told[""], ...told[point] };
}

function text(place) {
  return words.texts[place];
}

function moves(kind) {
  return Object.keys(words.told[state.units][state.step]).some((point) => point && (point.startsWith("heater ") ? "heater" : "gasket") === kind);
}

function pointed() {
  return words.grid[state.units].find(([point]) => point === state.point)?.[1] ?? "";
}

// -- the texts ---------------------------------------------------------------------------------------------------------

function say() {
  document.documentElement.lang = words.page.lang;
  document.title = file.machine;
  $("machine").textContent = file.machine;
  for (const item of document.querySelectorAll("[data-word]")) item.textContent = words.page[item.dataset.word];
  for (const item of document.querySelectorAll("[data-hint]")) {
    item.title = words.page[item.dataset.hint];
    item.setAttribute("aria-label", words.page[item.dataset.hint]);
  }
  $("always").replaceChildren(...words.notes.map((note) => said("li", "", note)));
  list();
}

function list() {
  const whole = choose(-1, words.page.whole);
  const phases = words.phases.map(([title, numbers]) => {
    const steps = make("ol", "");
    for (const number of numbers) steps.append(make("li", "", choose(number - 1, words.steps[number - 1].title, number)));
    return make("section", "", said("h3", "", title), steps);
  });
  $("list").replaceChildren(whole, ...phases);
}

function choose(step, title, number = "") {
  const done = state.ticks.get(step)?.done ? make("span", "tick", "✓") : make("span", "tick");
  const button = make("button", "", make("span", "number", String(number)), said("span", "title", title), done);
  button.type = "button";
  button.dataset.step = step < 0 ? "" : words.steps[step].id;
  if (step === state.step) button.setAttribute("aria-current", "step");
  button.addEventListener("click", () => {
    $("steps").close();
    go(step);
  });
  return button;
}

function card() {
  const step = state.step < 0 ? null : words.steps[state.step];
  const page = words.page;
  $("place").textContent = step ? `${step.phase} · ${fill(page.step, { number: state.step + 1, count: words.steps.length })}` : page.whole;
  $("count").textContent = step ? `${state.step + 1} / ${words.steps.length}` : page.steps;
  $("title").textContent = step ? step.title : page.whole;
  $("act").textContent = step ? step.act : page.whole_hint;
  $("previous").disabled = state.step < 0;
  $("next").disabled = state.step === words.steps.length - 1;
  const block = (kind, heading, ...inside) => make("section", kind, make("h3", "", heading), ...inside);
  const lines = (all) => make("ul", "", ...all.map((line) => said("li", "", line)));
  const found = [];
  if (step) {
    if (step.hold) found.push(block("hold", page.hold, said("p", "", step.hold), tick("held", page.held)));
    if (step.cautions.length) found.push(block("cautions", page.cautions, lines(step.cautions)));
    found.push(block("why", page.why, said("p", "", step.reason)));
  }
  $("words").replaceChildren(...found);
  const after = [];
  if (step) {
    if (step.method) after.push(block("how", page.how, said("p", "", step.method)));
    if (step.tools.length) after.push(block("tools", page.tools, lines(step.tools)));
    after.push(make("section", "ticks", tick("done", page.done), said("p", "small", page.ticks)));
  }
  $("rest").replaceChildren(...after);
}

function tick(kind, label) {
  const box = document.createElement("input");
  box.type = "checkbox";
  box.dataset.tick = kind;
  box.checked = Boolean(state.ticks.get(state.step)?.[kind]);
  const step = state.step;
  box.addEventListener("change", () => {
    state.ticks.set(step, { ...state.ticks.get(step), [kind]: box.checked });
    list();
  });
  return make("label", "check", box, said("span", "", label));
}

function note([sentence, figure, limit, verdict, source, piece]) {
  const [mark, word] = words.verdicts[verdict];
  return row({ text: text(sentence), short: text(figure), limit: text(limit), verdict, mark, word, source: text(source), piece });
}

function row({ text: sentence, short, limit, verdict, mark, word, source, piece }) {
  const chip = make("span", `verdict ${verdict || "none"}`, make("b", "mark", mark), make("span", "word", word));
  const item = make("li", `note ${verdict || "none"}`, make("div", "head", said("span", "figure", short), chip), said("p", "sentence", sentence));
  if (limit) item.append(make("p", "small", `${words.page.limit}: `, said("span", "limit", limit)));
  if (source) item.append(make("p", "small", `${words.page.source}: `, said("span", "source", source)));
  if (piece >= 0) item.dataset.piece = piece;
  return item;
}

function numbers() {
  const page = words.page;
  const inside = state.step >= 0;
  $("numbers").hidden = !inside;
  $("first").replaceChildren();
  $("figures").replaceChildren();
  if (!inside) return;
  const shown = shows();
  $("first").replaceChildren(...shown.first.map((place) => said("li", words.rows[place][3], text(words.rows[place][0]))));
  $("notes").replaceChildren(...shown.rows.map((place) => note(words.rows[place])));
  $("no-numbers").hidden = shown.rows.length > 0;
  const heated = moves("heater");
  const packed = moves("gasket");
  $("grid").hidden = !heated && !packed;
  const name = pointed();
  const counts = state.point in words.told[state.units][state.step];
  $("point").textContent = name && counts ? fill(page.rest, { point: name }) : words.base;
  $("back").hidden = !name || !counts;
  $("back").textContent = fill(page.back, { base: words.base });
  $("picture-kept").hidden = !name || !counts || state.point.startsWith("heater ");
  heater(heated);
  gaskets(packed);
  $("figures").replaceChildren(...shown.figures.map(([caption, drawing]) => figure(text(caption), text(drawing))));
}

/** A drawing that the file brings: parsed as markup of its own, never run. */
function figure(caption, drawing) {
  const image = new DOMParser().parseFromString(drawing, "text/html").querySelector("svg");
  const [first, ...others] = caption.split("\n");
  const item = make("figure", "", said("figcaption", "", first));
  if (image) item.append(make("div", "paper", document.importNode(image, true)));
  for (const line of others) item.append(said("p", "small", line));
  return item;
}

function heater(shown) {
  $("heater-row").hidden = !shown;
  if (!shown) return;
  const points = words.grid[state.units].filter(([point]) => point.startsWith("heater "));
  const slider = $("heater");
  slider.max = points.length - 1;
  const now = points.findIndex(([point]) => point === state.point);
  slider.value = now >= 0 ? now : points.findIndex(([point]) => point === words.nearest);
  $("heater-name").textContent = now >= 0 ? points[now][1] : words.base;
  slider.setAttribute("aria-valuetext", $("heater-name").textContent);
}

function gaskets(shown) {
  $("gasket-row").hidden = !shown;
  if (!shown) return;
  const first = make("option", "", words.base);
  first.value = "";
  const told = words.told[state.units][state.step];
  const options = words.grid[state.units].filter(([point]) => !point.startsWith("heater ")).map(([point, name]) => {
    const item = make("option", "", name);
    item.value = point;
    return item;
  });
  $("gasket").replaceChildren(first, ...options);
  $("gasket").value = state.point.startsWith("heater ") ? "" : state.point;
  const silent = state.point && !state.point.startsWith("heater ") && !(state.point in told);
  $("silent").hidden = !silent;
}

// -- the picture -------------------------------------------------------------------------------------------------------

function dark() {
  const set = document.documentElement.dataset.theme;
  return set ? set === "dark" : window.matchMedia("(prefers-color-scheme: dark)").matches;
}

function colours() {
  const one = (code) => [1, 3, 5].map((at) => parseInt(code.slice(at, at + 2), 16) / 255);
  const chosen = file.colours[dark() ? "dark" : "light"];
  const found = Object.fromEntries(Object.entries(chosen).map(([name, code]) => [name, typeof code === "string" ? one(code) : code]));
  found.role = Object.fromEntries(Object.entries(file.colours.role).map(([role, code]) => [role, one(code).map((part) => part * 255)]));
  return found;
}

function draw(moving = false) {
  if (!picture) return;
  clearTimeout(resting);
  if (moving) resting = setTimeout(() => draw(), SETTLE);
  document.body.dataset.drawn = "";
  if (asked && moving) return;
  asked = true;
  requestAnimationFrame(() => {
    if (!asked) return;
    asked = false;
    const { clientWidth, clientHeight } = $("stage");
    if (!clientWidth || !clientHeight) return;
    picture.draw(clientWidth, clientHeight, moving);
    marks(true);
    if (moving) return;
    const step = state.step;
    picture.read().then((whole) => {
      if (!whole || step !== state.step) return;
      marks(false);
      document.body.dataset.drawn = step < 0 ? "whole" : words.steps[step].id;
    });
  });
}

let named = [];

/** Rectangles of the keys that lie over the drawing: left, top, right, bottom. */
function overDrawing() {
  const { left, top } = $("stage").getBoundingClientRect();
  return [...$("stage").querySelectorAll("button")].map((key) => key.getBoundingClientRect()).map((k) => [k.left - left, k.top - top, k.right - left, k.bottom - top]);
}

function marks(moving) {
  const size = picture.drawn;
  const now = view();
  const along = (seat, far) => seat.map((value, axis) => value + picture.pull * (far[axis] - value));
  const trails = now.trails.map((points) => points.map((point) => picture.spot(along(points[points.length - 1], point))));
  let discs = now.order.map(([mark, far, seat]) => {
    const [x, y] = picture.spot(along(seat, far));
    return { text: mark, x, y };
  });
  discs = balloons.apart(discs.filter(({ x, y }) => x > 0 && y > 0 && x < size[0] && y < size[1]), size);
  let shown = [];
  if (!moving) {
    const lettered = named.slice(0, balloons.MOST);
    const { best, covered } = balloons.anchors(lettered, picture.labels, picture.scaled, discs);
    shown = balloons.arrange(best, covered, size, discs, overDrawing()).map((spot, place) => spot && { ...spot, text: balloons.letter(place) }).filter(Boolean);
  }
  balloons.draw($("overlay"), size, picture.pull > 0 ? trails : [], discs, shown);
}

function parts() {
  const noted = state.step < 0 ? [] : shows("").rows.map((place) => words.rows[place][5]).filter((piece) => piece >= 0);
  named = state.step < 0 ? [] : balloons.groups(view(), words.parts, noted);
  $("parts").hidden = !named.length;
  $("part-list").replaceChildren(...named.map((group, place) => {
    const mark = make("span", "balloon", place < balloons.MOST ? balloons.letter(place) : "·");
    const button = make("button", "", mark, said("span", "", group.name));
    button.type = "button";
    button.setAttribute("aria-pressed", String(picture ? [...group.pieces].some((piece) => picture.chosen.has(piece)) : false));
    button.addEventListener("click", () => pick(button.getAttribute("aria-pressed") === "true" ? -1 : [...group.pieces][0]));
    return make("li", "", button);
  }));
  const now = view();
  $("key-arriving").hidden = !now.shown.some((line) => line[1] === 1);
  $("key-pale").hidden = !now.shown.some((line) => line[1] === 2);
  $("key-order").hidden = !now.order.length;
  $("key-nothing").hidden = !(state.step >= 0 && now.shown.length === file.scene.views[0].shown.length && !now.about.length);
}

/** Choose a part: its name is shown and all of that name are outlined; -1 lets go. */
function pick(piece) {
  if (!picture) return;
  const name = piece >= 0 ? words.parts[piece] : "";
  picture.chosen = new Set(name ? view().shown.map((line) => line[0]).filter((other) => words.parts[other] === name) : []);
  $("name").textContent = name;
  $("name").hidden = !name;
  picture.place();
  parts();
  draw();
}

function stageView() {
  if (!picture) return;
  const shown = state.step < 0 ? { heat: [] } : shows();
  picture.heat = new Map();
  if (shown.heat.length) {
    const code = shown.heat[0];
    const tint = [1, 3, 5].map((at) => parseInt(code.slice(at, at + 2), 16));
    for (const piece of shown.heat[1]) picture.heat.set(piece, tint);
  }
  picture.pull = state.pull;
  picture.colours = colours();
  picture.show(view());
}

// -- what a person does ------------------------------------------------------------------------------------------------

function go(step) {
  const next = Math.max(-1, Math.min(words.steps.length - 1, step));
  state.step = next;
  $("name").hidden = true;
  if (picture) {
    picture.chosen = new Set();
    picture.cutting = view().cutting;
    picture.own();
  }
  $("cut").checked = view().cutting;
  refresh();
  list();
  $("text").scrollTop = 0;
  if ($("stage").getBoundingClientRect().top < 0 || window.scrollY > 0) window.scrollTo(0, 0);
  $("spoken").textContent = `${$("place").textContent}: ${$("title").textContent}`;
}

function refresh() {
  card();
  numbers();
  stageView();
  parts();
  draw();
}

function set(point) {
  state.point = point;
  numbers();
  stageView();
  draw(true);
}

function listen() {
  $("previous").addEventListener("click", () => go(state.step - 1));
  $("next").addEventListener("click", () => go(state.step + 1));
  $("count").addEventListener("click", () => {
    $("steps").showModal();
    $("list").querySelector("[aria-current]")?.scrollIntoView({ block: "center" });
    $("list").querySelector("[aria-current]")?.focus();
  });
  $("set").addEventListener("click", () => $("settings").showModal());
  for (const button of document.querySelectorAll("dialog .close")) button.addEventListener("click", () => button.closest("dialog").close());
  for (const dialog of document.querySelectorAll("dialog"))
    dialog.addEventListener("click", (event) => event.target === dialog && dialog.close());
  $("pull").addEventListener("input", () => {
    state.pull = Number($("pull").value);
    if (!picture) return;
    picture.pull = state.pull;
    picture.place();
    draw(true);
  });
  $("cut").addEventListener("change", () => {
    if (!picture) return;
    picture.cutting = $("cut").checked;
    picture.place();
    draw();
  });
  $("own").addEventListener("click", () => {
    picture?.own();
    draw();
  });
  for (const [name, by] of [["nearer", 1.25], ["farther", 0.8]]) $(name).addEventListener("click", () => zoom(by));
  $("heater").addEventListener("input", () => set(words.grid[state.units].filter(([point]) => point.startsWith("heater "))[$("heater").value][0]));
  $("gasket").addEventListener("change", () => set($("gasket").value));
  $("back").addEventListener("click", () => set(""));
  for (const input of document.querySelectorAll("[name=units]"))
    input.addEventListener("change", () => {
      state.units = input.value;
      refresh();
    });
  $("language").addEventListener("change", () => speak($("language").value));
  for (const input of document.querySelectorAll("[name=theme]"))
    input.addEventListener("change", () => {
      if (input.value) document.documentElement.dataset.theme = input.value;
      else delete document.documentElement.dataset.theme;
      stageView();
      draw();
    });
  let size = 100;
  for (const [name, by] of [["smaller", -15], ["larger", 15]])
    $(name).addEventListener("click", () => {
      size = Math.max(70, Math.min(250, size + by));
      document.documentElement.style.fontSize = `${size}%`;
      draw();
    });
  window.matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => {
    stageView();
    draw();
  });
  document.addEventListener("keydown", keys);
  new ResizeObserver(() => draw()).observe($("stage"));
  swipe($("text"));
  hand($("stage"));
}

function keys(event) {
  if (event.ctrlKey || event.metaKey || event.altKey || document.querySelector("dialog[open]")) return;
  const typing = event.target.matches("input[type=range], input[type=radio], input:not([type]), input[type=text], select");
  const turned = { ArrowLeft: [-0.12, 0], ArrowRight: [0.12, 0], ArrowUp: [0, 0.08], ArrowDown: [0, -0.08] }[event.key];
  if (event.shiftKey && turned && !typing && picture) {
    picture.hand.turn += turned[0];
    picture.hand.tilt += turned[1];
    draw(true);
  } else if (!typing && (event.key === "ArrowRight" || event.key === "PageDown")) go(state.step + 1);
  else if (!typing && (event.key === "ArrowLeft" || event.key === "PageUp")) go(state.step - 1);
  else if (!typing && (event.key === "+" || event.key === "-")) zoom(event.key === "+" ? 1.25 : 0.8);
  else if (event.key === "Escape") pick(-1);
  else return;
  event.preventDefault();
}

function zoom(by) {
  if (!picture) return;
  picture.hand.zoom = Math.max(0.4, Math.min(14, picture.hand.zoom * by));
  draw(true);
}

/** A quick stroke sideways over the text turns to the next or the previous step. */
function swipe(area) {
  let start = null;
  area.addEventListener("touchstart", (event) => {
    const touch = event.touches[0];
    start = event.touches.length > 1 || event.target.closest("input, select") ? null : [touch.clientX, touch.clientY, event.timeStamp];
  }, { passive: true });
  area.addEventListener("touchend", (event) => {
    if (!start) return;
    const touch = event.changedTouches[0];
    const [x, y] = [touch.clientX - start[0], touch.clientY - start[1]];
    if (Math.abs(x) > 60 && Math.abs(x) > 2 * Math.abs(y) && event.timeStamp - start[2] < 700) go(state.step + (x < 0 ? 1 : -1));
    start = null;
  }, { passive: true });
}

/** One finger turns, two shift and enlarge, a tap names a part. */
function hand(area) {
  const down = new Map();
  let moved = 0;
  area.addEventListener("pointerdown", (event) => {
    if (event.target.closest("button, input, label")) return;
    area.setPointerCapture(event.pointerId);
    down.set(event.pointerId, [event.clientX, event.clientY]);
    if (down.size === 1) moved = 0;
  });
  area.addEventListener("pointermove", (event) => {
    const before = down.get(event.pointerId);
    if (!before || !picture) return;
    const [x, y] = [event.clientX - before[0], event.clientY - before[1]];
    const others = [...down].filter(([key]) => key !== event.pointerId).map(([, spot]) => spot);
    moved += Math.hypot(x, y);
    const high = area.clientHeight;
    const by = picture.hand;
    if (others.length || event.shiftKey || event.buttons === 2) {
      const share = others.length ? 0.5 : 1;
      by.x += (share * x) / high;
      by.y += (share * y) / high;
      if (others.length) {
        const [u, v] = others[0];
        by.zoom = Math.max(0.4, Math.min(14, by.zoom * (Math.hypot(event.clientX - u, event.clientY - v) / Math.max(1, Math.hypot(before[0] - u, before[1] - v)))));
      }
    } else if (moved > 6) {
      by.turn -= (x / high) * 3;
      by.tilt += (y / high) * 2.4;
    }
    down.set(event.pointerId, [event.clientX, event.clientY]);
    if (moved > 6) draw(true);
  });
  const up = (event) => {
    if (!down.delete(event.pointerId) || !picture) return;
    if (event.type === "pointerup" && moved <= 6 && !down.size) {
      const box = area.getBoundingClientRect();
      pick(picture.at(event.clientX - box.left, event.clientY - box.top));
    } else draw();
  };
  area.addEventListener("pointerup", up);
  area.addEventListener("pointercancel", up);
  area.addEventListener("contextmenu", (event) => event.preventDefault());
  area.addEventListener("wheel", (event) => {
    event.preventDefault();
    zoom(Math.exp(-event.deltaY / 500));
  }, { passive: false });
}

function speak(language) {
  state.language = language;
  words = file.words[language];
  say();
  refresh();
}

function exact() {
  const address = live();
  $("exact").hidden = !address;
  if (!address) return;
  const gasket = $("live-gasket");
  const names = new Map(words.grid.mm.filter(([point]) => !point.startsWith("heater ")).map(([point]) => [point.slice(0, point.lastIndexOf(" ")), point]));
  gasket.replaceChildren(...["", ...names.keys()].map((name) => {
    const item = make("option", "", name || "–");
    item.value = name;
    return item;
  }));
  $("exact").addEventListener("submit", async (event) => {
    event.preventDefault();
    if (state.step < 0) return;
    const step = words.steps[state.step].id;
    try {
      const report = await ask(address, {
        step, units: state.units, language: state.language, heater: $("live-heater").value, gasket: gasket.value && $("live-thickness").value ? `${gasket.value}=${$("live-thickness").value}` : "",
      });
      const told = report.steps.find((one) => one.id === step);
      $("live-notes").replaceChildren(...told.callouts.map((one) => row({ ...one, mark: words.verdicts[one.verdict][0], word: words.verdicts[one.verdict][1], piece: -1 })));
      $("live-fault").textContent = "";
    } catch (fault) {
      $("live-notes").replaceChildren();
      $("live-fault").textContent = fill(words.page.live_fault, { fault: fault.message });
    }
  });
}

async function start() {
  try {
    file = JSON.parse(new TextDecoder().decode(await bytes("packed-words")));
  } catch {
    $("act").textContent = document.body.dataset.unable;
    return;
  }
  state.units = file.units;
  const languages = Object.keys(file.words);
  const wanted = navigator.languages?.map((name) => name.split("-")[0]).find((name) => languages.includes(name)) ?? languages[0];
  state.language = wanted;
  words = file.words[wanted];
  state.step = file.opens;
  $("language").replaceChildren(...languages.map((name) => {
    const item = make("option", "", file.words[name].page.language);
    item.value = name;
    return item;
  }));
  $("language").value = wanted;
  $("language-row").hidden = languages.length < 2;
  for (const input of document.querySelectorAll("[name=units]")) input.checked = input.value === state.units;
  say();
  listen();
  exact();
  go(state.step);
  await new Promise((done) => requestAnimationFrame(() => setTimeout(done)));
  try {
    const found = bodies(file.scene.bodies, await bytes("packed-bodies"));
    picture = new Picture($("canvas"), file.scene, found, colours());
    picture.cutting = $("cut").checked;
    stageView();
    parts();
    $("busy").hidden = true;
    draw(true);
  } catch (fault) {
    picture = null;
    $("busy").textContent = words.page.no_drawing;
    document.body.dataset.drawn = "none";
    console.warn(fault);
  }
}

start();
