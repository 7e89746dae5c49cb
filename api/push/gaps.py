"""How long to wait before the next try: longer each time, and never all at the same moment."""

from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Gaps:
    """Gaps that double from first_s to most_s. chance: a number from 0 to 1, asked each time.

    Each gap lies between its half and its whole, so that a hundred benches that lost a receiver
    together do not come back together.
    """

    first_s: float
    most_s: float
    chance: Callable[[], float]

    def after(self, tries: int) -> float:
        """The gap in seconds after so many tries that failed, 1 or more."""
        # 2 ** 40 of the shortest gap lies behind every longest one.
        whole_s = min(self.most_s, self.first_s * 2.0 ** min(tries - 1, 40))
        return whole_s * (0.5 + 0.5 * self.chance())
