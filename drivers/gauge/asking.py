"""`Asking`: when a gauge is asked, and which answers count. Pure; times are handed in.

An answer counts when it comes within its time after a request, and not more of it than one request
makes. One that comes late would be taken for the answer to the next request, and with it the
number of another moment or another channel. So after a request that was not answered in time
nothing is believed until a trial request was answered in time and silence followed. That holds for
answers that come up to one timeout too late; what is slower still, nobody can tell apart.
"""

from enum import Enum, auto
from math import inf

TRIES_MAX = 3  # of a request on demand; then whoever asked is told
SETTLE_S = 0.3  # after opening; longer than any pause inside a message


class _Phase(Enum):
    IDLE = auto()
    OPEN = auto()  # asked, the answer may come
    TRIAL = auto()  # asked, to see whether question and answer are in step
    QUIET = auto()  # the trial was answered: nothing more may come


class Asking:
    """period_s: between two requests, None for only on demand. timeout_s: an answer's time.

    answers: readings that one request makes. unanswered, unasked: requests without an answer, and
    readings that nobody had asked for; they only grow.
    """

    def __init__(self, period_s: float | None, timeout_s: float, answers: int = 1) -> None:
        self.unanswered = 0
        self.unasked = 0
        self._period_s = period_s
        self._timeout_s = timeout_s
        self._answers = answers
        self._phase = _Phase.IDLE
        self._asked_t_s = -inf
        self._not_before_s = -inf
        self._quiet_from_s = -inf
        self._missing = 0
        self._in_step = True
        self._tries_left = 0
        self._got = False

    @property
    def in_step(self) -> bool:
        """Whether answers are believed."""
        return self._in_step

    @property
    def wanted(self) -> bool:
        """Whether a request on demand is still without its answer."""
        return self._tries_left > 0

    def want(self) -> None:
        """Ask on demand, as soon as it can be."""
        self._tries_left = TRIES_MAX
        self._got = False

    @property
    def longest_s(self) -> float:
        """After this time a request on demand is given up, whatever happens."""
        return SETTLE_S + 3 * (TRIES_MAX + 1) * self._timeout_s

    def give_up(self) -> bool:
        """End a request on demand; whether its answer came."""
        self._tries_left = 0
        return self._got

    def wait_s(self, t_s: float) -> float:
        """How long nothing has to be done; 0 means: ask now."""
        self._pass(t_s)
        if self._phase in (_Phase.OPEN, _Phase.TRIAL):
            return max(self._asked_t_s + self._timeout_s - t_s, 0.001)
        if self._phase is _Phase.QUIET:
            return max(self._quiet_until_s() - t_s, 0.001)
        if self.wanted:
            due_t_s = self._not_before_s
        elif self._period_s is None:
            return inf
        else:
            next_t_s = self._asked_t_s + self._period_s if self._in_step else -inf
            due_t_s = max(next_t_s, self._not_before_s)
        return max(due_t_s - t_s, 0.0)

    def asked(self, t_s: float) -> None:
        """A request goes out now."""
        self._asked_t_s = t_s
        self._missing = self._answers
        self._phase = _Phase.OPEN if self._in_step else _Phase.TRIAL

    def heard(self, t_s: float, count: int) -> int:
        """So many readings came: how many of them, from the first on, count."""
        self._pass(t_s)
        self._quiet_from_s = t_s
        phase, taken = self._phase, 0
        if phase in (_Phase.OPEN, _Phase.TRIAL):
            taken = min(count, self._missing)
            self._missing -= taken
            if not self._missing:
                self._phase = _Phase.IDLE if phase is _Phase.OPEN else _Phase.QUIET
        if count > taken:
            # More than was asked for: whose answer the next one will be is not sure any more.
            self.unasked += count - taken
            self._in_step = False
        if phase is not _Phase.OPEN:
            return 0
        if not self._missing and self._tries_left:
            self._tries_left = 0
            self._got = True
        return taken

    def restart(self, t_s: float) -> None:
        """The port was opened anew: nothing that was asked before will be answered."""
        self._phase = _Phase.IDLE
        self._asked_t_s = -inf
        self._not_before_s = t_s + SETTLE_S
        self._in_step = True

    def _pass(self, t_s: float) -> None:
        if self._phase is _Phase.QUIET and t_s >= self._quiet_until_s():
            self._phase = _Phase.IDLE
            self._in_step = True
        elif (
            self._phase in (_Phase.OPEN, _Phase.TRIAL) and t_s >= self._asked_t_s + self._timeout_s
        ):
            self.unanswered += 1
            self._tries_left = max(self._tries_left - 1, 0)
            self._phase = _Phase.IDLE
            self._in_step = False

    def _quiet_until_s(self) -> float:
        """What answered the trial may itself have been late, and the trial's own answer, too."""
        return max(self._quiet_from_s, self._asked_t_s + self._timeout_s) + self._timeout_s
