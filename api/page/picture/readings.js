// The readings a picture is drawn from, by gauge, and which of them were taken while nothing moved.
const REST_S = 0.6; // a hand that pauses this long leaves the picture still
const REST_STEPS = 3; // within so many steps of its display a gauge trembles by itself
const GAP_S = 0.2; // a silence takes no more room than this
const KEPT_MAX = 6000;

export class Readings {
  constructor() {
    this.byGauge = new Map();
  }

  // fresh: [[t_s, value]]; step: the last digit of the gauge.
  add(name, fresh, step) {
    const kept = this.byGauge.get(name) ?? [];
    for (const [t, value] of fresh) {
      const last = kept.at(-1);
      if (last && t <= last.t) continue;
      kept.push({ t, value, ...this.#moving(kept, t, value, step) });
    }
    if (kept.length > KEPT_MAX) kept.splice(0, kept.length - KEPT_MAX / 2);
    this.byGauge.set(name, kept);
  }

  // Those from `since` to `until`, both in; all that are kept without.
  of(name, since = null, until = null) {
    const kept = this.byGauge.get(name) ?? [];
    return kept.slice(since === null ? 0 : firstFrom(kept, since), until === null ? kept.length : firstFrom(kept, until + 1e-6));
  }

  // moved_s: time since the first reading with the rests left out.
  #moving(kept, t, value, step) {
    const last = kept.at(-1);
    if (!last) return { moved: 0, rests: false };
    let low = value;
    let high = value;
    let at = kept.length - 1;
    for (; at >= 0 && t - kept[at].t <= REST_S; at -= 1) {
      low = Math.min(low, kept[at].value);
      high = Math.max(high, kept[at].value);
    }
    const rests = at >= 0 && high - low <= REST_STEPS * step;
    return { moved: last.moved + (rests ? 0 : Math.min(t - last.t, GAP_S)), rests };
  }
}

// The place of the first reading at or after t.
export function firstFrom(kept, t) {
  let [low, high] = [0, kept.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (kept[middle].t < t) low = middle + 1;
    else high = middle;
  }
  return low;
}
