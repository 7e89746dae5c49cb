// What every picture is drawn with: a canvas in its true pixels, and the colours of the page.
const COLOURS = ["ink", "soft", "line", "hair", "blue", "paper", "steel", "mark"];

export class Pen {
  // again: draws once more, after the canvas took another size or the page another light.
  constructor(canvas, again) {
    this.canvas = canvas;
    this.to = canvas.getContext("2d");
    new ResizeObserver(() => this.#fit() && again()).observe(canvas);
    addEventListener("benchtally.light", () => {
      this.#ink();
      again();
    });
    this.#fit();
    this.#ink();
  }

  #fit() {
    const { width, height } = this.canvas.getBoundingClientRect();
    if (width === this.width && height === this.height && devicePixelRatio === this.dot) return false;
    [this.width, this.height, this.dot] = [width, height, devicePixelRatio];
    this.canvas.width = Math.round(width * this.dot);
    this.canvas.height = Math.round(height * this.dot);
    return true;
  }

  #ink() {
    const style = getComputedStyle(this.canvas);
    this.colour = Object.fromEntries(COLOURS.map((each) => [each, style.getPropertyValue(`--${each}`)]));
  }

  clear() {
    this.to.setTransform(this.dot, 0, 0, this.dot, 0, 0);
    this.to.clearRect(0, 0, this.width, this.height);
    this.to.lineJoin = this.to.lineCap = "round";
  }

  // points: [[x, y]]; dash: lengths of a broken line.
  line(points, colour, width = 2, dash = []) {
    if (points.length < 2) return;
    const { to } = this;
    to.strokeStyle = this.colour[colour];
    to.lineWidth = width;
    to.setLineDash(dash);
    to.beginPath();
    for (const [x, y] of points) to.lineTo(x, y);
    to.stroke();
  }

  ring(x, y, radius, colour, width = 2, from = 0, to = 2 * Math.PI) {
    this.to.strokeStyle = this.colour[colour];
    this.to.lineWidth = width;
    this.to.setLineDash([]);
    this.to.beginPath();
    this.to.arc(x, y, radius, from, to);
    this.to.stroke();
  }

  disc(x, y, radius, colour, filled = true) {
    this.to.beginPath();
    this.to.arc(x, y, radius, 0, 2 * Math.PI);
    this.to.fillStyle = this.colour[filled ? colour : "paper"];
    this.to.fill();
    if (filled) return;
    this.ring(x, y, radius, colour, 2);
  }

  box(x, y, width, height, colour) {
    this.to.fillStyle = this.colour[colour];
    this.to.fillRect(x, y, width, height);
  }

  text(words, x, y, { colour = "soft", size = 14, align = "left" } = {}) {
    this.to.fillStyle = this.colour[colour];
    this.to.font = `${size}px system-ui, "DejaVu Sans", sans-serif`;
    this.to.textAlign = align;
    this.to.fillText(words, x, y);
  }
}

// A round length near the asked one, and the digits it needs: 0.001, 0.002, 0.005, 0.01 …
export function roundStep(about) {
  const ten = 10 ** Math.floor(Math.log10(Math.max(about, 1e-6)));
  return ten * ([1, 2, 5].findLast((each) => each * ten <= about) ?? 1);
}

export const digitsOf = (step) => Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
