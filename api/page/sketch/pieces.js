// The pieces that sketches are put together from: parts as they lie on the bench, gauges on them.
// Lengths are those of a sheet 320 wide and 200 high. A part is steel, a casting is cut and dark,
// a gauge is blue, and a ring stands where it touches.
import { svg } from "../marks.js";

export const SHEET = { width: 320, height: 200 };

const at = (x, y, turn = 0) => `translate(${x} ${y}) rotate(${turn})`;
const shape = (name, d, more = {}) => svg("path", { class: name, d, ...more });

export function group(x, y, turn, ...children) {
  return svg("g", { transform: at(x, y, turn) }, ...children);
}

export const part = (d, more) => shape("sk-part", d, more);
export const cut = (d, more) => shape("sk-cut", d, more);
export const gauge = (d, more) => shape("sk-gauge", d, more);
export const line = (d, more) => shape("sk-line", d, more);

// Where the spindle, the stylus or the eye goes.
export const touch = (x, y) => svg("circle", { class: "sk-touch", cx: x, cy: y, r: 9 });

// A valve along x, its tip at 0, the top of its head at 200. Turned by -90 it stands head up.
export const VALVE = { length: 200, stem: 7, head: 40, rim: 192, face: 182 };
export function valve(x, y, turn = 0) {
  const half = (side) => `L10 ${side * 6}L10 ${side * 4.5}L16 ${side * 4.5}L16 ${side * 7}L140 ${side * 7}`
    + `Q170 ${side * 9} 182 ${side * 30}L192 ${side * 40}L200 ${side * 40}`;
  const other = `L200 -40L192 -40L182 -30Q170 -9 140 -7L16 -7L16 -4.5L10 -4.5L10 -6L0 -6Z`;
  return group(x, y, turn, part(`M0 6${half(1)}${other}`));
}

// A block with a vee that a stem lies in, seen from the side; its vee at (x, y).
export function vblock(x, y) {
  return svg("g", {}, cut(`M${x - 15} ${y + 4}h30v52h-30z`), line(`M${x - 15} ${y + 22}h30`));
}

// What everything stands on.
export function plate(y, from = 8, to = 312) {
  return svg("g", {}, cut(`M${from} ${y}H${to}V${y + 12}H${from}Z`));
}

// A gauge with a plunger that ends at (x, y), coming from the side that `turn` says (0: above).
export function plunger(x, y, turn = 0, reach = 26) {
  return svg("g", {}, group(
    x, y, turn,
    gauge(`M-3.5 0L0 -0L3.5 0V${-reach}H-3.5Z`),
    gauge(`M-7 ${-reach}h14v-22h-14z`),
    gauge(`M-19 ${-reach - 22}h38v-30q0 -8 -8 -8h-22q-8 0 -8 8z`),
    line(`M19 ${-reach - 42}q16 0 16 -14`),
  ), touch(x, y));
}

// A gauge with a lever; its ball at (x, y), its body on the side that `turn` says.
export function lever(x, y, turn = 0) {
  return svg("g", {}, group(
    x, y, turn,
    line("M0 0L-8 -34", { "stroke-width": 4 }),
    svg("circle", { class: "sk-gauge", cx: 0, cy: 0, r: 4 }),
    gauge("M-22 -34h26q6 0 6 6v-32q0 -6 -6 -6h-26q-6 0 -6 6v20q0 6 6 6z"),
    line("M-28 -56q-14 0 -14 -12"),
  ), touch(x, y));
}

// Two faces that close on a part from above and below at x; half: half the size between them.
export function micrometer(x, y, half) {
  return svg("g", {},
    gauge(`M${x - 6} ${y - half}h12v-16h-12z`),
    gauge(`M${x - 6} ${y + half}h12v10h-12z`),
    gauge(`M${x - 9} ${y - half - 16}h18v-34h-18z`),
    line(`M${x - 6} ${y + half + 8}H${x - 34}Q${x - 52} ${y + half + 8} ${x - 52} ${y}V${y - half - 12}Q${x - 52} ${y - half - 24} ${x - 9} ${y - half - 24}`, { "stroke-width": 7 }),
    touch(x, y - half), touch(x, y + half));
}

// Two jaws that close along x, tips at (from, y) and (to, y), body above.
export function jaws(from, to, y, body) {
  return svg("g", {},
    gauge(`M${from - 16} ${body}H${from}V${y}L${from - 7} ${y}Z`),
    gauge(`M${to + 16} ${body}H${to}V${y}L${to + 7} ${y}Z`),
    gauge(`M${from - 30} ${body - 16}H${to + 40}v16H${from - 30}Z`),
    touch(from, y - 10), touch(to, y - 10));
}

// Thin leaves pushed into a gap at (x, y) from the right.
export function leaves(x, y, turn = 0) {
  return svg("g", {}, group(x, y, turn,
    gauge("M0 -2.5H62V2.5H0Z"), gauge("M50 -4L88 -14L90 -8L62 3Z"),
    gauge("M62 -7h26q10 0 10 7t-10 7h-26z")), touch(x, y));
}

// A spring from (x, y) down; lean: how far its top stands off, bow: how far its middle does.
export function spring(x, y, width, height, { coils = 6, lean = 0, bow = 0 } = {}) {
  const step = height / coils;
  const off = (down) => lean * (1 - down / height) + bow * Math.sin((Math.PI * down) / height);
  const made = svg("g", {});
  for (let i = 0; i < coils; i += 1) {
    const [a, b] = [y + i * step, y + (i + 1) * step];
    const mid = (a + b) / 2;
    made.append(shape("sk-wire", `M${x + off(a - y)} ${a + 4}L${x + width + off(mid - y)} ${mid + 1}`));
    if (i < coils - 1) made.append(shape("sk-wire thin", `M${x + width + off(mid - y)} ${mid + 1}L${x + off(b - y)} ${b + 4}`));
  }
  const flat = (top) => shape("sk-wire", `M${x + off(top - y)} ${top}H${x + width + off(top - y)}`);
  made.append(flat(y + 2), flat(y + height - 3));
  return made;
}

// A guide cut along its bore, standing; bore is its full width, the wall on either side of it.
export function guide(x, top, bottom, bore = 22, wall = 13) {
  const side = (from) => cut(`M${from} ${top}h${wall}V${bottom}h${-wall}z`);
  return svg("g", {}, side(x - bore / 2 - wall), side(x + bore / 2));
}

// The casting round a port, cut through a valve's middle: its face up at y, the seat in it.
// open: half the width of the chamber; seat: where the seat's cone begins and ends, half widths.
export function casting(x, y, depth = 90) {
  const side = (s) => cut(`M${x + s * 150} ${y}H${x + s * 47}L${x + s * 42} ${y + 2}V${y + 10}L${x + s * 30} ${y + 22}V${y + 40}`
    + `Q${x + s * 30} ${y + 62} ${x + s * 60} ${y + 66}H${x + s * 150}Z`);
  const ring = (s) => part(`M${x + s * 58} ${y + 2}H${x + s * 42}V${y + 10}L${x + s * 30} ${y + 22}V${y + 32}H${x + s * 58}Z`);
  return svg("g", {}, side(-1), side(1), ring(-1), ring(1),
    cut(`M${x - 24} ${y + 62}h14V${y + depth}h-14z`), cut(`M${x + 10} ${y + 62}h14V${y + depth}h-14z`));
}

// An arrow along a path; it says how something is moved.
export function motion(d, [x, y, turn], both = null) {
  const head = (hx, hy, way) => group(hx, hy, way, shape("sk-head", "M0 0L-11 -6V6Z"));
  return svg("g", {}, shape("sk-motion", d), head(x, y, turn), ...(both ? [head(...both)] : []));
}

// A part that is looked at.
export function eye(x, y) {
  return svg("g", {},
    gauge(`M${x - 26} ${y}Q${x} ${y - 24} ${x + 26} ${y}Q${x} ${y + 24} ${x - 26} ${y}Z`),
    svg("circle", { class: "sk-pupil", cx: x, cy: y, r: 8 }));
}

// A line of sight from an eye to what is looked at.
export const sight = (x1, y1, x2, y2) => svg("g", {}, shape("sk-sight", `M${x1} ${y1}L${x2} ${y2}`), touch(x2, y2));
