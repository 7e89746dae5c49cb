"""`UnitWatch`: is a number in the unit that it is taken for?

Where a gauge says its unit, a switch is followed and noted. Where it does not, the switch between
millimetres and inches shows itself: the number of decimals changes and the value jumps by 25.4,
while nobody can have moved the spindle to just there. From then on the numbers are doubted, never
converted by guess, until the gauge shows its old form again or is opened anew.
"""

from itertools import pairwise

from drivers.profile import SourceUnit

# Below so many of its last digits a value is too small for its ratio to tell anything.
TELLING_STEPS = 50
_INCH = 25.4
_SWITCHED = {SourceUnit.MM: SourceUnit.INCH, SourceUnit.INCH: SourceUnit.MM}


class UnitWatch:
    """Of one gauge.

    spoken: the unit of its last number. switches: how often it changed, by what it says. doubted:
    its numbers look like this unit without saying so, None while all is well.
    """

    def __init__(self) -> None:
        self.spoken: SourceUnit | None = None
        self.before: SourceUnit | None = None
        self.switches = 0
        self.doubted: SourceUnit | None = None
        self._last = ""
        self._form_decimals: int | None = None

    def restart(self) -> None:
        """The port was opened anew, and somebody had the gauge in hand."""
        self.doubted = None
        self._last = ""

    def switched(self, unit: SourceUnit) -> bool:
        """Take the unit of the next number; whether it is another than before."""
        before, self.spoken = self.spoken, unit
        if before is None or before == unit:
            return False
        self.before = before
        self.switches += 1
        self._last = ""
        return True

    def doubts(self, unit: SourceUnit, numbers: list[str]) -> bool:
        """Look at numbers that came without a unit and are taken for `unit`: are they doubted?

        Where the form changes inside, all of them are: which of them came first is not worth a
        wrong one.
        """
        last, self._last = self._last, numbers[-1]
        if last:
            self._look(unit, last, numbers[0])
        if _decimals(numbers[0]) != _decimals(numbers[-1]):
            for before, after in pairwise(numbers):
                self._look(unit, before, after)
        return self.doubted is not None

    def _look(self, unit: SourceUnit, before: str, after: str) -> None:
        were, are = _decimals(before), _decimals(after)
        if self.doubted is not None:
            if are == self._form_decimals:
                self.doubted = None
        elif were != are and unit in _SWITCHED and _is_switch(unit, before, after):
            self.doubted = _SWITCHED[unit]
            self._form_decimals = were


def _decimals(number: str) -> int:
    return len(number.partition(".")[2])


def _is_switch(unit: SourceUnit, before: str, after: str) -> bool:
    """Whether the spindle stood still while mm became in (or in became mm)."""
    steps = [10.0 ** -_decimals(number) for number in (before, after)]
    values = [float(number) for number in (before, after)]
    if any(abs(v) < TELLING_STEPS * s for v, s in zip(values, steps, strict=True)):
        return False
    if unit is SourceUnit.INCH:
        steps.reverse()
        values.reverse()
    in_mm, in_inch = values
    return abs(in_inch * _INCH - in_mm) <= steps[0] + _INCH * steps[1]
