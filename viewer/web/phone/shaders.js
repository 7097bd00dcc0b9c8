// The drawing's two passes: parts in flat light with a label for each pixel, then ink lines where labels or depth change.

export const LIGHTS = [[-1.0, 1.4, 1.6, 0.6], [1.6, 0.2, 0.8, 0.3], [0.0, 0.0, 1.0, 0.22]];

export const PART_VERTEX = `precision highp float;
in vec3 position; in vec3 normal; in mat4 instanceMatrix; in vec4 tint; in vec4 mark;
uniform mat4 viewMatrix; uniform mat4 projectionMatrix;
out vec3 facing; out vec3 at; flat out vec3 colour; flat out vec4 tag;
void main() {
  vec4 place = instanceMatrix * vec4(position, 1.0);
  at = place.xyz; colour = tint.rgb; tag = mark;
  facing = mat3(viewMatrix) * (mat3(instanceMatrix) * normal);
  gl_Position = projectionMatrix * viewMatrix * place;
}`;

// A cut face is seen where the first surface behind the plane is met from inside. It is taken CLOSER [mm] to the eye than it is: parts
// that touch or sit tight overlap by less, and the outer one must win.
// mark: x number of the piece, y state bits (1 arriving, 2 waiting, 8 chosen), z whether the plane cuts it.
export const PART_FRAGMENT = `precision highp float;
#define CLOSER 0.15
in vec3 facing; in vec3 at; flat in vec3 colour; flat in vec4 tag;
layout(location = 0) out vec4 seen; layout(location = 1) out vec4 label;
uniform vec4 lights[3]; uniform vec4 plane; uniform vec3 eye; uniform mat4 whole; uniform float pitch; uniform vec3 pale;
void main() {
  float bits = tag.y;
  vec3 base = bits == 2.0 || bits == 10.0 ? mix(colour, pale, 0.7) : colour;
  bool flatly = base != colour;
  bool face = false;
#ifdef CUTTING
  gl_FragDepth = gl_FragCoord.z;
  if (tag.z > 0.5) {
    if (dot(plane.xyz, at) > plane.w) discard;
    if (!gl_FrontFacing) {
      if (dot(plane.xyz, eye) <= plane.w) discard;
      vec4 spot = whole * vec4(at + normalize(eye - at) * CLOSER, 1.0);
      gl_FragDepth = spot.z / spot.w * 0.5 + 0.5;
      face = true;
    }
  } else if (!gl_FrontFacing) discard;
#endif
  if (face) {
    float way = mod(tag.x, 2.0) < 0.5 ? 1.0 : -1.0;
    float line = mod(gl_FragCoord.x + way * gl_FragCoord.y, pitch);
    seen = vec4(line < 0.24 * pitch ? base * 0.78 : mix(base, vec3(1.0), 0.6), 1.0);
    bits += 4.0;
  } else {
    vec3 n = normalize(facing);
    float light = 0.0;
    for (int i = 0; i < 3; i++) light += lights[i].w * max(0.0, dot(n, lights[i].xyz));
    seen = vec4(min(base * (flatly ? 0.78 + 0.26 * light : 0.35 + 0.75 * light), 1.0), 1.0);
  }
  label = vec4(mod(tag.x, 256.0), floor(tag.x / 256.0), bits, 255.0) / 255.0;
}`;

export const INK_VERTEX = `precision highp float;
in vec3 position;
void main() { gl_Position = vec4(position.xy, 0.0, 1.0); }`;

// fine: how many pixels of the drawing go to one of the picture, along and across. reach: width of an outline [drawing pixel].
export const INK_FRAGMENT = `precision highp float; precision highp int; precision highp sampler2D;
uniform sampler2D seen; uniform sampler2D labels; uniform sampler2D depths;
uniform ivec2 size; uniform int fine; uniform float reach; uniform vec2 clip; uniform float spread;
uniform vec3 ground; uniform vec3 ink; uniform vec3 rim; uniform vec3 arriving; uniform vec3 chosen; uniform float dim;
out vec4 shown;
ivec2 inside(ivec2 p) { return clamp(p, ivec2(0), size - 1); }
vec4 label(ivec2 p) { return texelFetch(labels, inside(p), 0); }
float depth(ivec2 p) { return texelFetch(depths, inside(p), 0).r; }
bool bit(float bits, float which) { return mod(floor(bits / which), 2.0) > 0.5; }
void main() {
  vec3 sum = vec3(0.0);
  ivec2 corner = ivec2(gl_FragCoord.xy) * fine;
  for (int j = 0; j < 2; j++) for (int i = 0; i < 2; i++) {
    if (i >= fine || j >= fine) continue;
    ivec2 p = corner + ivec2(i, j);
    vec4 own = label(p);
    float bits = floor(own.b * 255.0 + 0.5);
    bool empty = own.a < 0.5;
    vec3 colour = empty ? ground : texelFetch(seen, p, 0).rgb * dim;
    bool edge = false; bool border = empty;
    float here = depth(p); float bend = -4.0 * here;
    for (int k = 0; k < 4; k++) {
      ivec2 to = p + ivec2(k == 0 ? 1 : k == 1 ? -1 : 0, k == 2 ? 1 : k == 3 ? -1 : 0);
      vec4 next = label(to);
      bend += depth(to);
      if (next != own && (k == 0 || k == 2 || fine > 1 || reach > 2.5)) { edge = true; if (next.a < 0.5) border = true; }
    }
    if (!empty && !edge && !bit(bits, 4.0)) {
      float far = clip.x * clip.y / (clip.y - here * (clip.y - clip.x));
      float scale = far * far * (clip.y - clip.x) / (clip.x * clip.y);
      edge = bend * scale > max(1.6, 2.2 * spread * far);
    }
    if (edge) colour = border ? rim : mix(colour, ink, bit(bits, 2.0) ? 0.45 : 1.0);
    bool near = false; bool held = false;
    for (int k = 0; k < 12; k++) {
      float a = 0.5236 * float(k);
      float bent = floor(label(p + ivec2(round(reach * vec2(cos(a), sin(a))))).b * 255.0 + 0.5);
      near = near || bit(bent, 1.0);
      held = held || bit(bent, 8.0);
    }
    if (near && !bit(bits, 1.0)) colour = arriving;
    if (held && !bit(bits, 8.0)) colour = chosen;
    sum += colour;
  }
  shown = vec4(sum / float(fine * fine), 1.0);
}`;
