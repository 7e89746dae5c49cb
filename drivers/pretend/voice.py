"""Put positions into the bytes a gauge of some profile would send."""

from decimal import Decimal

import numpy as np

from drivers.pretend.motion import Floats
from drivers.profile import CANONICAL, Profile, SourceUnit


class Voice:
    """Speaks as `profile` describes. Pure.

    step: of the display, in the unit it shows, as decimal text ("0.001"). unit_word: appended
    when given, and then its unit is shown, else the profile's. channel: put in front if given.
    """

    def __init__(
        self, profile: Profile, step: str, *, unit_word: str = "", channel: str = ""
    ) -> None:
        unit: SourceUnit = profile.unit_of(unit_word)
        self._step = float(step)
        self._mm_per_step = float(Decimal(step) * CANONICAL[unit][1])
        self._decimals = max(0, -int(Decimal(step).as_tuple().exponent))
        line = profile.line
        self._before = f"{line.prefix}{channel}{line.after_channel if channel else ''}"
        self._after = f" {unit_word}\r\n" if unit_word else "\r\n"
        self._decimal = line.decimal

    @property
    def step(self) -> float:
        """The display's step in the canonical unit."""
        return self._mm_per_step

    def lines(self, positions: Floats) -> list[bytes]:
        """One line of bytes for each position, given in the canonical unit."""
        shown = np.rint(positions / self._mm_per_step) * self._step + 0.0
        width = self._decimals + 5  # sign, three digits, point
        return [
            f"{self._before}{number:+0{width}.{self._decimals}f}{self._after}".replace(
                ".", self._decimal
            ).encode("ascii")
            for number in shown.tolist()
        ]
