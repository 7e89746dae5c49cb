"""What the head itself needs, and what is put right at assembly."""

from daq.head.deciding.here import Found, Here
from daq.head.deciding.judged import Judged
from daq.head.deciding.outcome import Act, Verdict


def clean(_here: Here, _found: Judged) -> Found:
    """Everything is clean before anything is measured (TM 5-3810-306-34)."""
    return Found(
        Verdict.REWORK,
        "wash and dry it, let it come to the temperature of the gauges, look again",
        Act(part="head", what="cleaned"),
    )


def cracks(_here: Here, _found: Judged) -> Found:
    """Welded by a specialist, or another head; which cracks may stay is the maker's word."""
    return Found(
        Verdict.REWORK,
        "weld by a specialist, or replace the head; which cracks may stay is the engine maker's "
        "word",
        Act(part="head", what="welded"),
    )


def flatness(here: Here, found: Judged) -> Found:
    """Skim, within the least height (TM 5-3810-306-34); recess is measured again after it."""
    height = here.smallest("head.height")
    skimmed = Act(part="head", what="skimmed")
    takes_mm = found.value or 0.0
    again = "then measure flatness, height and every recess again"
    if height is None or height.limits is None or height.limits.lower is None:
        return Found(
            Verdict.REWORK,
            f"skim the face, {takes_mm:.2f} mm or more, once its height and the engine maker's "
            f"least are known; {again}",
            skimmed,
        )
    room_mm = (height.value or 0.0) - 2 * (height.u or 0.0) - float(height.limits.lower)
    if room_mm < takes_mm:
        return Found(
            Verdict.REPLACE,
            f"replace the head: skimming takes {takes_mm:.2f} mm or more, and its height leaves "
            f"{max(room_mm, 0.0):.2f} mm",
        )
    return Found(
        Verdict.REWORK,
        f"skim the face, {takes_mm:.2f} mm or more; its height leaves {room_mm:.2f} mm; {again}",
        skimmed,
    )


def height(_here: Here, _found: Judged) -> Found:
    """Below the least height nothing brings it back."""
    return Found(Verdict.REPLACE, "replace the head; it was skimmed below its least height")


def assembled(_here: Here, found: Judged) -> Found:
    """Whatever was not right at assembly is put right there."""
    return Found(
        Verdict.REWORK,
        f"put it right and look again: {found.about.where}",
        Act(part="assembly", what="taken apart"),
    )


WHEN_OUT = {
    "head.clean": clean,
    "head.cracks": cracks,
    "head.flatness": flatness,
    "head.height": height,
    "spring.washer": assembled,
    "seal.fitted": assembled,
    "stem.oiled": assembled,
    "cotter.new": assembled,
    "cotter.seated": assembled,
}
