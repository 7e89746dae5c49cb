// How far a part is drawn from where its limit lies. Drawn much larger than it is, and never so
// that a value beyond a limit stands on this side of it: on the limit the drawing is exact.
const BEYOND = 0.7; // what is far out is drawn this much farther than its limit, and no more
const NEAR_SHARE = 0.004;
const NEAR_LEAST = 0.02;

const squash = (x) => (Math.abs(x) <= 1 ? x : Math.sign(x) * (1 + BEYOND * Math.tanh((Math.abs(x) - 1) / BEYOND)));

// What counts from nothing, as a gap or a wobble: the larger limit stands `px` away from nothing.
export function fromZero({ lower, upper }, px) {
  const most = Math.max(Math.abs(lower ?? 0), Math.abs(upper ?? 0)) || NEAR_LEAST;
  return (value) => px * squash(value / most);
}

// A size near its limits: they stand `px` from the middle; one alone stands in the middle.
export function nearLimits({ lower, upper }, px) {
  if (lower !== null && upper !== null && upper > lower) {
    return (value) => px * squash((value - (lower + upper) / 2) / ((upper - lower) / 2));
  }
  const limit = lower ?? upper;
  const reach = Math.max(NEAR_SHARE * Math.abs(limit), NEAR_LEAST);
  return (value) => px * squash((value - limit) / reach);
}
