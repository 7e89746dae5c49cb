// The picture of what the gauge in use sees: a turn from its tip, swings, a loss, or a strip.
import { drawFall } from "./picture/fall.js";
import { Pen } from "./picture/pen.js";
import { drawPolar } from "./picture/polar.js";
import { Readings } from "./picture/readings.js";
import { drawStrip } from "./picture/strip.js";
import { drawSwings } from "./picture/swing.js";
import { shownNumber, shownUnit } from "./length.js";
import { say } from "./words.js";

const SWINGS_ASKED = 4;
const ANGLES = { index: "angle_index", counted: "angle_counted", repeat: "angle_repeat" };

export class Trace {
  constructor(canvas, caption) {
    this.canvas = canvas;
    this.pen = new Pen(canvas, () => this.shown && this.#draw(...this.shown));
    this.caption = caption;
    this.readings = new Readings();
    this.latest = null; // what is to be drawn in the next frame of the screen
    this.shown = null; // what was drawn last
  }

  add(trace, gauges) {
    for (const [name, fresh] of Object.entries(trace)) {
      const decimals = gauges.find((each) => each.name === name)?.decimals ?? 3;
      this.readings.add(name, fresh, 10 ** -decimals);
    }
  }

  // Drawn once a frame of the screen, however many words of the bench come meanwhile.
  draw(bench, gauge) {
    if (!this.latest) requestAnimationFrame(() => this.#drawLatest());
    this.latest = [bench, gauge];
  }

  #drawLatest() {
    [this.shown, this.latest] = [this.latest, null];
    this.#draw(...this.shown);
  }

  // What was measured stands still while the part is taken out: later readings are not part of it.
  #draw(bench, gauge) {
    const { capture } = bench;
    const rests = bench.phase !== "capturing";
    const all = this.readings.of(bench.gauge, capture?.since_s ?? null, rests ? capture?.until_s ?? null : null);
    const about = { landmarks: capture?.landmarks ?? [], decimals: gauge?.decimals ?? 3, unit: shownUnit(gauge?.unit ?? ""), shown: (value, digits) => shownNumber(value.toFixed(digits), gauge?.unit), faint: !capture };
    this.pen.clear();
    const picture = pictureFor(bench);
    this.canvas.dataset.picture = picture;
    if (picture === "polar") drawPolar(this.pen, all, about);
    else if (picture === "swings") drawSwings(this.pen, all, about);
    else if (picture === "fall") drawFall(this.pen, all, about);
    else drawStrip(this.pen, all, { ...about, hold: bench.kind === "settle" ? capture?.share ?? null : null });
    this.#say(caption(bench, picture));
  }

  #say(words) {
    if (this.caption.textContent !== words) this.caption.textContent = words;
  }
}

// A circle only where the angle is known: a false one would look just as true.
function pictureFor({ kind, capture }) {
  if (!capture?.landmarks.length) return "strip";
  if (kind === "turn") return capture.angle ? "polar" : "strip";
  if (kind === "rock") return capture.landmarks.length > 1 ? "swings" : "strip";
  return kind === "decay" ? "fall" : "strip";
}

function caption({ kind, capture }, picture) {
  const landmarks = capture?.landmarks ?? [];
  if (picture === "polar") return say(ANGLES[capture.angle], { n: capture.turns?.toFixed(1) ?? "1" });
  if (picture === "swings") return say("swings_agree", { n: landmarks.filter(([, , , counts]) => counts).length, of: SWINGS_ASKED });
  if (picture === "fall") return say("fall_watched", { s: Math.floor(capture.until_s - landmarks[0][0]) });
  if (kind === "turn" && capture && capture.turns !== null) return say("angle_open");
  if (kind === "turn") return landmarks.length > 2 ? say("angle_none", { n: landmarks.length - 2 }) : say("angle_nothing");
  return kind === "settle" && capture?.share > 0 && !capture.done ? say("hold_still") : "";
}
