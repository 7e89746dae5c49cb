// The last seconds of the gauge in use, on a canvas.
const SHOWN_S = 12;
const RANGE_MM_MIN = 0.01; // a still gauge shall look still, not like noise drawn large

export class Trace {
  constructor(canvas) {
    this.canvas = canvas;
    this.points = new Map();
    new ResizeObserver(() => this.fit()).observe(canvas);
    this.fit();
  }

  fit() {
    const { width, height } = this.canvas.getBoundingClientRect();
    this.canvas.width = Math.round(width * devicePixelRatio);
    this.canvas.height = Math.round(height * devicePixelRatio);
  }

  add(trace) {
    for (const [name, fresh] of Object.entries(trace)) {
      const kept = this.points.get(name) ?? [];
      const last = kept.at(-1)?.[0] ?? -Infinity;
      kept.push(...fresh.filter(([t]) => t > last));
      const from = (kept.at(-1)?.[0] ?? 0) - SHOWN_S;
      while (kept.length && kept[0][0] < from) kept.shift();
      this.points.set(name, kept);
    }
  }

  draw(name, faint) {
    const { canvas } = this;
    const pen = canvas.getContext("2d");
    const style = getComputedStyle(canvas);
    const css = (name) => style.getPropertyValue(name);
    pen.clearRect(0, 0, canvas.width, canvas.height);
    const points = this.points.get(name) ?? [];
    if (points.length < 2) return;
    const values = points.map(([, value]) => value);
    let low = Math.min(...values);
    let high = Math.max(...values);
    const spare = Math.max(RANGE_MM_MIN - (high - low), (high - low) * 0.16) / 2;
    low -= spare;
    high += spare;
    const end = points.at(-1)[0];
    const x = (t) => canvas.width * (1 - (end - t) / SHOWN_S);
    const y = (value) => canvas.height * (1 - (value - low) / (high - low));
    pen.lineWidth = 2.5 * devicePixelRatio;
    pen.lineJoin = "round";
    pen.strokeStyle = css(faint ? "--line" : "--blue");
    pen.beginPath();
    for (const [t, value] of points) pen.lineTo(x(t), y(value));
    pen.stroke();
    pen.fillStyle = css("--soft");
    pen.font = `${13 * devicePixelRatio}px system-ui, sans-serif`;
    pen.fillText(high.toFixed(3), 6 * devicePixelRatio, 16 * devicePixelRatio);
    pen.fillText(low.toFixed(3), 6 * devicePixelRatio, canvas.height - 6 * devicePixelRatio);
  }
}
