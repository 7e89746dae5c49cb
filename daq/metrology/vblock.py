"""What a part in a V-block shows of its own lobes: transfer factors from rigid geometry.

A profile r = R + a cos(n angle) with small a rests on two faces and is turned. To first order each
face is touched where its normal meets the profile, so the centre moves along the bisector by
(h1 + h2) / (2 sin(half angle)) and across it by (h2 - h1) / (2 cos(half angle)), with h1 and h2
the profile under the faces. The reading is the profile under the tip plus that motion; its peak to
valley is |factor| 2a. On the bisector that gives 1 + cos(n (90 deg + half)) / sin(half), as in
J. Japan Society of Precision Engineering vol. 43, no. 514, p. 1167 (abstract).
"""

import cmath
import math
from dataclasses import dataclass
from enum import StrEnum

# A factor smaller than this shows nothing: the lobes are hidden.
HIDDEN = 1e-9


class Tip(StrEnum):
    """Where the indicator touches: over the V (summit), or from inside the V below (rider)."""

    SUMMIT = "summit"
    RIDER = "rider"


def factor(lobes: int, v_angle_deg: float, beta_deg: float = 0.0, tip: Tip = Tip.SUMMIT) -> complex:
    """Reading for one mm of amplitude; its modulus is what matters, real on the bisector.

    v_angle_deg: between the faces, above 0 and below 180. beta_deg: between the measuring
    direction and the bisector. A rider reads positive as the part rises out of the V, its phase
    counted from the tip. Raises ValueError for an angle no V-block has.
    """
    if not 0.0 < v_angle_deg < 180.0:
        raise ValueError(f"A V-block of {v_angle_deg:g} deg cannot be; give 60 to 120 deg.")
    half, beta = math.radians(v_angle_deg / 2.0), math.radians(beta_deg)
    beta += math.pi if tip is Tip.RIDER else 0.0
    touch = math.pi / 2.0 + half
    first, second = cmath.exp(1j * lobes * touch), cmath.exp(-1j * lobes * touch)
    along = (first + second) / (2.0 * math.sin(half))
    across = (second - first) / (2.0 * math.cos(half))
    shown = cmath.exp(1j * lobes * beta) + along * math.cos(beta) + across * math.sin(beta)
    return -shown * cmath.exp(-1j * lobes * math.pi) if tip is Tip.RIDER else shown


def two_point(lobes: int) -> float:
    """Factor of a diameter measured between two points: even lobes show twice, odd ones not."""
    return 2.0 if lobes % 2 == 0 else 0.0


def axis_motion(lobes: int, v_angle_deg: float) -> float:
    """Motion of the axis along the bisector for one mm of lobes on the supported section.

    A round section elsewhere on the same part then shows a false runout of 2 a |this|.
    """
    return factor(lobes, v_angle_deg).real - 1.0


def hidden_lobes(v_angle_deg: float, lobes_max: int = 30) -> tuple[int, ...]:
    """Numbers of lobes that the V on the bisector cannot see, up to lobes_max."""
    counts = range(1, lobes_max + 1)
    return tuple(n for n in counts if abs(factor(n, v_angle_deg)) < HIDDEN)


@dataclass(frozen=True, slots=True)
class Blindness:
    """What one V-block hides and fakes: lobes not seen, and false runout per mm of lobe height."""

    v_angle_deg: float
    hidden: tuple[int, ...]
    false_runout: dict[int, float]

    @property
    def sentence(self) -> str:
        """For a person: what not to conclude from a small figure, or from a large one."""
        usual = [n for n in self.hidden if n > 1]
        lost = ", ".join(str(n) for n in usual) if usual else "no"
        worst = max(self.false_runout, key=lambda n: self.false_runout[n])
        return (
            f"A {self.v_angle_deg:g} deg V-block hides {lost} lobes (of 2 to 10) on the section "
            f"it carries, and lobes there show as false runout elsewhere: {worst} lobes "
            f"{self.false_runout[worst]:.1f} times their height."
        )


def blindness(v_angle_deg: float) -> Blindness:
    """Hidden lobes from 1 to 10 and the factor of false runout for 2 to 7 lobes."""
    return Blindness(
        v_angle_deg,
        hidden_lobes(v_angle_deg, 10),
        {n: abs(axis_motion(n, v_angle_deg)) for n in range(2, 8)},
    )
