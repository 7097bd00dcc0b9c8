// What the file carries: text packed as base64 of gzip, bodies as viewer/phone_solids.py describes them.

const LEVELS = 65536;

/** The bytes of a packed block of the page. */
export async function bytes(id) {
  const block = document.getElementById(id);
  const text = block.textContent;
  block.remove();
  const packed = Uint8Array.fromBase64 ? Uint8Array.fromBase64(text) : Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
  const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"));
  return new Response(stream).arrayBuffer();
}

/** Bodies ready for drawing: places (4 x uint16 a corner), normals (4 x int8), triangles, and the head they came with. */
export function bodies(heads, buffer) {
  const corners = heads.reduce((sum, head) => sum + head[0], 0);
  const places = new Uint16Array(buffer, 0, 3 * corners);
  const normalsAt = padded(6 * corners);
  const normals = new Int8Array(buffer, normalsAt, 3 * corners);
  const codes = new Uint32Array(buffer, padded(normalsAt + 3 * corners));
  let corner = 0;
  let face = 0;
  return heads.map((head) => {
    const [count, triangles] = head;
    const place = new Uint16Array(4 * count);
    const normal = new Int8Array(4 * count);
    for (let axis = 0; axis < 3; axis++) {
      const from = 3 * corner + axis * count;
      for (let i = 0, now = 0; i < count; i++) {
        now = (now + places[from + i]) % LEVELS;
        place[4 * i + axis] = now;
        normal[4 * i + axis] = normals[from + i];
      }
    }
    const index = count < LEVELS ? new Uint16Array(3 * triangles) : new Uint32Array(3 * triangles);
    for (let i = 0, next = 0; i < 3 * triangles; i++) {
      const code = codes[face + i];
      index[i] = next - code;
      if (code === 0) next++;
    }
    corner += count;
    face += 3 * triangles;
    return { place, normal, index, low: head.slice(2, 5), step: head[5] };
  });
}

function padded(length) {
  return length + ((4 - (length % 4)) % 4);
}
