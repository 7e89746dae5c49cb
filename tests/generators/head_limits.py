"""What an invented engine maker, or the published guide values, allow of a head; for the tests.

Imports nothing of the product: every limit is written here once and handed over as a plan, or, for
a head without a maker's figures, left out of the plan and copied here from the published table of
guide values. Lengths in mm, loads in N; an inch plan's limits lie on whole tenths of a thousandth.
"""

from dataclasses import dataclass, replace

MM_PER_INCH = 25.4
SOURCE = "invented maker's figure"


@dataclass(frozen=True)
class Size:
    """What a characteristic may be, and the gauge it is measured with.

    usual: the end that a good part is never near by nature (a runout is not below 0). error:
    half-width of what the gauge is off, of the value where error_share is given.
    """

    part: str
    lower: float | None
    upper: float | None
    usual: float
    step: float
    error: float = 0.0
    error_share: float = 0.0
    unit: str = "mm"
    far: float = 0.3  # how far beyond its limit a fault may lie, as a share of the limit
    kind: str = ""  # of tool, where a person reads it


SIZES = {
    "head.height": Size("head", 119.6, None, 120.05, 0.01, 0.01, far=0.004, kind="height gauge"),
    "guide.protrusion": Size("guide", 11.7, 12.3, 12.0, 0.01, 0.01, far=0.06, kind="depth gauge"),
    "guide.rocking": Size("guide", None, 0.35, 0.0, 0.001, 0.002, far=2.0, kind="indicator"),
    "valve.stem_runout": Size("valve", None, 0.03, 0.0, 0.001, 0.001, far=8.0, kind="indicator"),
    "valve.face_runout": Size("valve", None, 0.05, 0.0, 0.001, 0.001, far=4.0, kind="indicator"),
    "valve.margin": Size("valve", 0.75, None, 1.6, 0.01, 0.02, kind="caliper"),
    "valve.length": Size("valve", 104.25, None, 104.6, 0.01, 0.02, far=0.01, kind="height gauge"),
    "seat.runout": Size("seat", None, 0.05, 0.0, 0.001, 0.001, far=4.0, kind="indicator"),
    "seat.width": Size("seat", 1.0, 2.0, 1.5, 0.05, 0.03, kind="loupe"),
    "valve.recess": Size("valve", 0.6, 1.4, 1.0, 0.01, 0.01, kind="depth gauge"),
    "spring.free_length": Size("spring", 45.6, None, 47.0, 0.01, 0.03, far=0.1, kind="caliper"),
    "spring.squareness": Size("spring", None, 1.6, 0.0, 0.01, 0.02, kind="feeler leaves"),
    "spring.bow": Size("spring", None, 1.5, 0.0, 0.01, 0.02, kind="feeler leaves"),
    "spring.fitted_height": Size(
        "spring", 37.5, 38.5, 38.0, 0.01, 0.05, far=0.04, kind="height micrometer"
    ),
    "spring.coil_gap": Size("spring", 1.0, None, 3.0, 0.01, 0.02, kind="feeler leaves"),
    "seat.leak": Size("seat", None, 0.2, 0.0, 0.001, 0.0, 0.10, "mbar.l/s", far=3.0),
}
LOADS = {"38.0": ("fitted", 260.0, 0.95), "29.0": ("open", 520.0, 0.90)}
FLATNESS_LINES = ("lengthwise, left", "lengthwise, right", "across", "diagonal")
FLATNESS = Size(
    "head", None, 0.10, 0.0, 0.01, 0.01, far=2.0, kind="straight edge and feeler leaves"
)
# What a tool that a person reads may be off, and the step it is read to.
READ = {
    "outside micrometer": (0.001, 0.004),
    "bore gauge": (0.001, 0.005),
    "indicator": (0.01, 0.01),
    "depth gauge": (0.01, 0.03),
    "height gauge": (0.02, 0.04),
    "caliper": (0.02, 0.03),
    "loupe": (0.05, 0.05),
    "feeler leaves": (0.01, 0.008),
    "straight edge and feeler leaves": (0.01, 0.015),
    "height micrometer": (0.05, 0.1),
}
# Recesses of an engine with deep valves, of one with flush ones, and of one with proud ones.
RECESSES = ((0.6, 1.4), (-0.3, 0.3), (-1.2, -0.4))
# The published guide values that depend on stem and side: stems below; most clearance worn, least
# of a new pair, least margin, each for intake and exhaust.
BY_STEM = (
    (6.2, (0.08, 0.11), (0.020, 0.040), (0.5, 0.7)),
    (7.5, (0.10, 0.13), (0.020, 0.045), (0.5, 0.7)),
    (9.0, (0.12, 0.15), (0.030, 0.055), (0.8, 0.8)),
    (13.0, (0.15, 0.15), (0.030, 0.045), (1.5, 1.5)),
)
NEW_MARGIN_MM, NEW_LENGTH_MM, NEW_FREE_MM, NEW_FITTED_MM = 1.5, 104.5, 47.0, 38.0
GUIDED = (
    *("valve.stem_runout", "valve.face_runout", "seat.runout", "seat.width", "valve.margin"),
    *("valve.length", "spring.free_length", "spring.squareness", "spring.fitted_height"),
    "spring.bow",
)
GUIDED_WIDTH_MM = {"I": (1.0, 2.0), "E": (1.2, 2.5)}
SQUARE_OF_FREE = 0.0349  # tan 2°


class Limits:
    """The limits of one head. guided: the maker's are not known, where there are guide values.
    inch: the plan is in inches. read: measured with tools that a person reads."""

    def __init__(self, chance, stem_mm, *, guided, inch, read):
        self.stem_mm, self.guided, self.inch, self.read = stem_mm, guided, inch, read
        self._recess = chance.choice(RECESSES)
        row = next(row for row in BY_STEM if stem_mm < row[0])
        ends = row[1:3] if guided else ((0.100, 0.130), (0.020, 0.040))
        self.most_mm, self.least_mm = (
            dict(zip("IE", self.on_grid(*each), strict=True)) for each in ends
        )
        self._margin = dict(zip("IE", row[3], strict=True))

    def on_grid(self, *ends):
        """As they are, or on the grid of an inch plan."""
        if not self.inch or self.guided:
            return ends
        return tuple(None if e is None else round(e / MM_PER_INCH, 4) * MM_PER_INCH for e in ends)

    def size(self, name, side="I"):
        """What is allowed of that characteristic at that side, and how it is measured."""
        size = FLATNESS if name == "head.flatness" else SIZES[name]
        lower, upper = self._ends(name, side, size)
        lower, upper = self.on_grid(lower, upper)
        if name == "valve.recess":
            size = replace(size, usual=(lower + upper) / 2)
        if self.read and size.kind:
            step, error = READ[size.kind]
            size = replace(size, step=step, error=error)
        return replace(size, lower=lower, upper=upper)

    def _ends(self, name, side, size):
        if name == "valve.recess":
            return self._recess
        if not self.guided:
            return size.lower, size.upper
        match name:
            case "seat.width":
                return GUIDED_WIDTH_MM[side]
            case "valve.margin":
                return max(self._margin[side], NEW_MARGIN_MM / 2), None
            case "valve.length":
                return NEW_LENGTH_MM - 0.25, None
            case "spring.free_length":
                return NEW_FREE_MM * 0.97, None
            case "spring.squareness":
                return None, SQUARE_OF_FREE * NEW_FREE_MM
            case "spring.fitted_height":
                return NEW_FITTED_MM - 0.5, NEW_FITTED_MM + 0.5
        return size.lower, size.upper

    def diameters(self):
        """Step and error of micrometer and bore gauge."""
        if self.read:
            return READ["outside micrometer"], READ["bore gauge"]
        return (0.001, 0.001), (0.001, 0.001)

    def said(self, lower=None, upper=None):
        """A limit as it stands in a plan."""
        unit, by = ("_in", MM_PER_INCH) if self.inch else ("", 1.0)
        ends = {"lower": lower, "upper": upper}
        found = {f"{n}{unit}": f"{end / by:.4f}" for n, end in ends.items() if end is not None}
        return {**found, "kind": "maker", "source": SOURCE}

    def step(self, name):
        """The step of a plan for one characteristic, with the limits that are the maker's."""
        step = {"characteristic": name}
        new = {
            "valve.margin": NEW_MARGIN_MM,
            "valve.length": NEW_LENGTH_MM,
            "spring.free_length": NEW_FREE_MM,
            "spring.fitted_height": NEW_FITTED_MM,
        }
        if self.guided and name in GUIDED:
            known = {"nominal_mm": f"{new[name]}", "window_mm": "20"} if name in new else {}
            return step | known
        size = self.size(name)
        step["limit"] = self.said(size.lower, size.upper)
        if name == "seat.leak":
            step |= {"limit": {**step["limit"], "upper": f"{size.upper}"}, "volume_l": "0.25"}
            step["limit"].pop("upper_in", None)
        return step
