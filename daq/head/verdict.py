"""The head as a whole: as good as its worst part, and never better than what was proven."""

from collections.abc import Sequence

from daq.head.decide import Decision, Verdict

# What has to be done comes before what is not known; either stands before accept.
_WORST_FIRST = (Verdict.REPLACE, Verdict.REWORK, Verdict.NOT_MEASURED, Verdict.UNSURE)


def verdict_of(decisions: Sequence[Decision]) -> Verdict:
    """The worst decision of any part; a head of which nothing was decided is not measured."""
    if not decisions:
        return Verdict.NOT_MEASURED
    found = {each.decision for each in decisions}
    return next((verdict for verdict in _WORST_FIRST if verdict in found), Verdict.ACCEPT)
