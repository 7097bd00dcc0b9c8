// Lettered balloons beside the parts that a step is about, and the order of work at its screws; none covers another.

const RADIUS = 11;
const DISC = 8.5;
const COARSE = 3;
const MOST = 9;
const SPACE = "http://www.w3.org/2000/svg";

/** The groups of equal names that get a balloon, what arrives first: [{name, pieces}]. */
export function groups(view, names, noted) {
  const found = new Map();
  const shown = new Map(view.shown.map((line) => [line[0], line[1]]));
  const arriving = view.shown.filter((line) => line[1] === 1).map((line) => line[0]);
  for (const piece of [...view.about, ...arriving, ...noted]) {
    if (!shown.has(piece)) continue;
    const name = names[piece];
    if (!found.has(name)) found.set(name, new Set());
    found.get(name).add(piece);
  }
  return [...found].map(([name, pieces]) => {
    for (const [piece] of view.shown) if (names[piece] === name) pieces.add(piece);
    return { name, pieces };
  });
}

/** The best place on each group's visible area [CSS pixel], or null where it can't be seen. */
export function anchors(list, labels, scaled, discs) {
  const pitch = Math.max(1, Math.round(COARSE * scaled));
  const wide = Math.floor(labels.width / pitch);
  const high = Math.floor(labels.height / pitch);
  const owner = new Map();
  list.forEach((group, place) => group.pieces.forEach((piece) => owner.set(piece, place)));
  const cell = new Int16Array(wide * high).fill(-1);
  const any = new Uint8Array(wide * high);
  const half = pitch >> 1;
  for (let y = 0; y < high; y++)
    for (let x = 0; x < wide; x++) {
      const piece = labels.piece[(y * pitch + half) * labels.width + x * pitch + half];
      any[y * wide + x] = piece >= 0 ? 1 : 0;
      cell[y * wide + x] = owner.get(piece) ?? -1;
    }
  const reach = Math.ceil(((DISC + 5) * scaled) / pitch);
  for (const disc of discs) {
    const [u, v] = [Math.floor((disc.x * scaled) / pitch), Math.floor((disc.y * scaled) / pitch)];
    for (let y = Math.max(0, v - reach); y <= Math.min(high - 1, v + reach); y++)
      for (let x = Math.max(0, u - reach); x <= Math.min(wide - 1, u + reach); x++)
        if (Math.hypot(x - u, y - v) <= reach) cell[y * wide + x] = -1;
  }
  const deep = new Float32Array(wide * high);
  const same = (i, j) => (cell[i] === cell[j] ? deep[j] : 0);
  for (let y = 0; y < high; y++)
    for (let x = 0; x < wide; x++) {
      const i = y * wide + x;
      if (cell[i] >= 0) deep[i] = 1 + Math.min(x ? same(i, i - 1) : 0, y ? same(i, i - wide) : 0);
    }
  const best = list.map(() => null);
  for (let y = high - 1; y >= 0; y--)
    for (let x = wide - 1; x >= 0; x--) {
      const i = y * wide + x;
      if (cell[i] < 0) continue;
      deep[i] = Math.min(deep[i], 1 + Math.min(x < wide - 1 ? same(i, i + 1) : 0, y < high - 1 ? same(i, i + wide) : 0));
      const now = best[cell[i]];
      if (!now || deep[i] > now.deep) best[cell[i]] = { deep: deep[i], x: ((x + 0.5) * pitch) / scaled, y: ((y + 0.5) * pitch) / scaled };
    }
  return { best, covered: (x, y) => any[Math.min(high - 1, Math.max(0, Math.floor((y * scaled) / pitch))) * wide + Math.min(wide - 1, Math.max(0, Math.floor((x * scaled) / pitch)))] === 1 };
}

/** Lay balloons round their anchors, clear of each other, of the discs, of `keys` (left, top, right, bottom) and, where there is room, of the parts. */
export function arrange(anchors_, covered, size, discs, keys) {
  const [width, height] = size;
  const taken = discs.map(({ x, y }) => [x, y, DISC]);
  const lines = [];
  return anchors_.map((anchor) => {
    if (!anchor) return null;
    let best = null;
    for (const far of [24, 36, 52, 72, 96, 128, 168])
      for (let k = 0; k < 16; k++) {
        const x = anchor.x + far * Math.cos((Math.PI * k) / 8);
        const y = anchor.y - far * Math.sin((Math.PI * k) / 8);
        if (x < RADIUS + 2 || y < RADIUS + 2 || x > width - RADIUS - 2 || y > height - RADIUS - 2) continue;
        if (taken.some(([u, v, r]) => Math.hypot(u - x, v - y) < RADIUS + r + 3)) continue;
        if (keys.some(([l, t, r, b]) => x > l - RADIUS - 2 && x < r + RADIUS + 2 && y > t - RADIUS - 2 && y < b + RADIUS + 2)) continue;
        let cost = far;
        for (const [u, v] of [[0, 0], [-RADIUS, 0], [RADIUS, 0], [0, -RADIUS], [0, RADIUS]]) cost += covered(x + u, y + v) ? 9 : 0;
        for (const line of lines) cost += crossing(line, [anchor.x, anchor.y, x, y]) ? 200 : 0;
        for (const [u, v, r] of taken) cost += between([anchor.x, anchor.y, x, y], u, v) < r + 2 ? 120 : 0;
        for (const other of anchors_) if (other && other !== anchor && Math.hypot(other.x - x, other.y - y) < RADIUS + 4) cost += 60;
        if (!best || cost < best.cost) best = { cost, x, y, anchor };
      }
    if (!best) return null;
    taken.push([best.x, best.y, RADIUS]);
    lines.push([anchor.x, anchor.y, best.x, best.y]);
    return best;
  });
}

function between([ax, ay, bx, by], x, y) {
  const t = Math.max(0, Math.min(1, ((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / ((bx - ax) ** 2 + (by - ay) ** 2)));
  return Math.hypot(ax + t * (bx - ax) - x, ay + t * (by - ay) - y);
}

function crossing([ax, ay, bx, by], [cx, cy, dx, dy]) {
  const side = (px, py, qx, qy, rx, ry) => Math.sign((qx - px) * (ry - py) - (qy - py) * (rx - px));
  return side(ax, ay, bx, by, cx, cy) !== side(ax, ay, bx, by, dx, dy) && side(cx, cy, dx, dy, ax, ay) !== side(cx, cy, dx, dy, bx, by);
}

/** Move discs off each other, as little as they must. */
export function apart(discs, size) {
  const now = discs.map((disc, k) => ({ ...disc, px: disc.x, py: disc.y, x: disc.x + 0.01 * Math.cos(2.4 * k), y: disc.y + 0.01 * Math.sin(2.4 * k) }));
  const mx = now.reduce((sum, disc) => sum + disc.x, 0) / now.length;
  const my = now.reduce((sum, disc) => sum + disc.y, 0) / now.length;
  const need = 2 * DISC + 2;
  for (let round = 0; round < 160; round++) {
    let still = true;
    for (const a of now)
      for (const b of now) {
        if (a === b) continue;
        const far = Math.hypot(a.x - b.x, a.y - b.y);
        if (far >= need) continue;
        still = false;
        const push = (need - far) * 0.28;
        const out = Math.hypot(a.px - mx, a.py - my) || 1;
        a.x += (push * (a.x - b.x)) / (far || 1) + (0.15 * push * (a.px - mx)) / out;
        a.y += (push * (a.y - b.y)) / (far || 1) + (0.15 * push * (a.py - my)) / out;
      }
    for (const a of now) {
      a.x = Math.min(size[0] - DISC - 1, Math.max(DISC + 1, a.x));
      a.y = Math.min(size[1] - DISC - 1, Math.max(DISC + 1, a.y));
    }
    if (still) break;
  }
  return now;
}

const LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ";

/** The letter of a group's balloon. */
export function letter(place) {
  return LETTERS[place] ?? "";
}

/** How many groups get a balloon at most. */
export { MOST };

/** Draw trails, order of work and balloons into an SVG. */
export function draw(svg, size, trails, discs, balloons) {
  svg.setAttribute("viewBox", `0 0 ${size[0]} ${size[1]}`);
  svg.replaceChildren();
  const add = (name, attributes, text) => {
    const item = document.createElementNS(SPACE, name);
    for (const [key, value] of Object.entries(attributes)) item.setAttribute(key, typeof value === "number" ? value.toFixed(1) : value);
    if (text !== undefined) item.textContent = text;
    svg.append(item);
    return item;
  };
  for (const points of trails) add("polyline", { class: "trail", points: points.map((spot) => spot.map((v) => v.toFixed(1)).join(",")).join(" ") });
  for (const { px, py, x, y } of discs) if (Math.hypot(px - x, py - y) > DISC) add("line", { class: "lead", x1: px, y1: py, x2: x, y2: y });
  for (const { text, x, y } of discs) {
    add("circle", { class: "turn", cx: x, cy: y, r: DISC });
    add("text", { class: "turn", x, y: y + 4, "text-anchor": "middle", "font-size": text.length > 1 ? 10.5 : 12 }, text);
  }
  for (const { x, y, anchor } of balloons) {
    const far = Math.hypot(x - anchor.x, y - anchor.y);
    const end = [x + ((anchor.x - x) * RADIUS) / far, y + ((anchor.y - y) * RADIUS) / far];
    add("line", { class: "halo", x1: anchor.x, y1: anchor.y, x2: end[0], y2: end[1] });
    add("line", { class: "lead", x1: anchor.x, y1: anchor.y, x2: end[0], y2: end[1] });
    add("circle", { class: "dot", cx: anchor.x, cy: anchor.y, r: 2.8 });
  }
  for (const { x, y, text } of balloons) {
    add("circle", { class: "balloon", cx: x, cy: y, r: RADIUS });
    add("text", { class: "balloon", x, y: y + 5, "text-anchor": "middle", "font-size": 14 }, text);
  }
}
