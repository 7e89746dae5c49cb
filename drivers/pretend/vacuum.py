"""A port pumped down and shut off, and the vacuum it loses. Invented physics.

The gas flows in, in proportion to the pressure difference; what is left of it was cooled by the
pumping and warms up while it is watched. Positions are mbar below ambient.
"""

import numpy as np

from drivers.pretend.motion import Floats, eased

AMBIENT_MBAR = 990.0
ROOM_K = 293.0


class PumpedPort:
    """Pumped to `start_mbar` below ambient, shut off and watched.

    leak_mbar_l_s: at the start; volume_l: under test. truth_mm is the leak, in mbar·l/s.
    """

    def __init__(
        self,
        leak_mbar_l_s: float,
        volume_l: float,
        rng: np.random.Generator,
        *,
        start_mbar: float = 400.0,
        watched_s: float = 75.0,
    ) -> None:
        self.truth_mm = leak_mbar_l_s
        self._start_mbar = start_mbar
        self._decay_s = start_mbar * volume_l / leak_mbar_l_s
        self._pump_s = float(rng.uniform(1.5, 3.0))
        self._cooled_k = float(rng.uniform(0.2, 0.7))
        self._warming_s = float(rng.uniform(3.0, 5.0))
        self.duration_s = self._pump_s + watched_s

    def at(self, t_s: Floats, from_mm: float) -> Floats:
        """See `Motion`."""
        since_s = np.maximum(t_s - self._pump_s, 0.0)
        below = self._start_mbar * np.exp(-since_s / self._decay_s)
        left = 0.7 * np.exp(-since_s / self._warming_s) + 0.3 * np.exp(
            -4 * since_s / self._warming_s
        )
        below = below - (AMBIENT_MBAR - below) * self._cooled_k / ROOM_K * (1 - left)
        share = eased(t_s / self._pump_s)
        position: Floats = from_mm * (1 - share) + below * share
        return position
