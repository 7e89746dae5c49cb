"""The unit of a chosen column, where nothing on the line names one."""

from collections.abc import Iterable
from decimal import Decimal

from drivers.find.placing.group import Column, nines

DECIMALS_OF_MM_MIN, DECIMALS_OF_MM_MAX = 2, 3
WHOLE_DIGITS_OF_MM = 3
VALUE_OF_MM = 10
VALUE_OF_UM = 1000
ASSUMED_MM = "the unit is not said: taken for millimetres"


def may_be_mm(columns: Iterable[Column]) -> bool:
    """Whether a number without a unit may be taken for millimetres, as is usual.

    With one decimal, or beyond a metre, it may be micrometres. With four decimals or more it may
    as well be inches (0.0001 in is the common step there), so only a display with room for
    hundreds, or a value that no inch indicator reaches, is taken.
    """
    for column in columns:
        if column.decimals < DECIMALS_OF_MM_MIN or _largest(column) >= VALUE_OF_UM:
            return False
        if column.decimals <= DECIMALS_OF_MM_MAX:
            continue
        if column.decimals > DECIMALS_OF_MM_MAX + 1:
            return False
        wholes = [text.strip("+- ").partition(column.decimal)[0] for text in column.texts]
        wide = all(len(whole) >= WHOLE_DIGITS_OF_MM for whole in wholes)
        if not wide and _largest(column) < VALUE_OF_MM:
            return False
    return True


def _largest(column: Column) -> Decimal:
    """The largest value but for those that are nothing but nines, which mean over range."""
    over = set(nines(column))
    pairs = zip(column.texts, column.values, strict=True)
    return max((abs(v) for text, v in pairs if text not in over), default=Decimal(0))
