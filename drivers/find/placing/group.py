"""Messages of one shape, as a table: a column for each thing on the line."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from functools import cached_property

from drivers.find.placing.tokens import Kind, Token, tokens_of
from drivers.find.placing.words import length_unit

GROUP_SHARE_MIN = 0.15
NINES_MIN = 4
HEX_DIGITS = frozenset("0123456789ABCDEF")


@dataclass(frozen=True)
class Column:
    """One thing on the line, in every message of the group. gaps: the blanks before each."""

    kind: Kind
    texts: tuple[str, ...]
    gaps: tuple[str, ...]
    decimal: str

    @property
    def constant(self) -> bool:
        """Whether it is the same in every message."""
        return len(set(self.texts)) == 1

    @cached_property
    def values(self) -> tuple[Decimal, ...]:
        """The numbers of a number column."""
        return tuple(value_of(text, self.decimal) for text in self.texts)

    @cached_property
    def decimals(self) -> int:
        """The most decimals that were spoken.

        With an exponent those of the whole, without zeros at the end: so many digits are written
        there however coarse the gauge is.
        """
        if any("e" in text.lower() for text in self.texts):
            return max(_places(value.normalize()) for value in self.values)
        return max(_places(value) for value in self.values)

    @property
    def whole(self) -> bool:
        """Whether no number of it has a decimal character or an exponent."""
        return not any(self.decimal in text or "e" in text.lower() for text in self.texts)

    @property
    def signed(self) -> bool:
        """Whether a sign is spoken."""
        return any("+" in t or "-" in t for t in self.texts)

    def width(self) -> int | None:
        """Its width in characters where that never changes."""
        widths = {len(text) for text in self.texts}
        return widths.pop() if len(widths) == 1 else None


@dataclass(frozen=True)
class Group:
    """Messages of one shape. rows: which messages of the split they are."""

    rows: tuple[int, ...]
    columns: tuple[Column, ...]
    tail_gaps: tuple[str, ...]

    def picked(self, chosen: Sequence[int]) -> "Group":
        """Only the rows at these places of the group."""
        columns = tuple(
            Column(
                each.kind,
                tuple(each.texts[i] for i in chosen),
                tuple(each.gaps[i] for i in chosen),
                each.decimal,
            )
            for each in self.columns
        )
        return Group(
            tuple(self.rows[i] for i in chosen),
            columns,
            tuple(self.tail_gaps[i] for i in chosen),
        )


def _places(value: Decimal) -> int:
    return -min(0, int(value.as_tuple().exponent))


def value_of(text: str, decimal: str) -> Decimal:
    """The number a token shows, the sign before or behind it."""
    plain = text.replace(" ", "").replace(decimal, ".")
    if plain[-1] in "+-":
        plain = plain[-1] + plain[:-1]
    try:
        return Decimal(plain)
    except InvalidOperation:  # a lone point after digits, as in "5."
        return Decimal(plain + "0")


def groups_of(messages: Sequence[str], decimal: str) -> list[Group]:
    """Groups of messages with the same shape, the largest first; rare shapes are left out."""
    rows = [_cells(message, decimal) for message in messages]
    _settle_hex([cells for cells, _ in rows])
    by_shape: dict[tuple[str, ...], list[int]] = defaultdict(list)
    for index, (cells, _) in enumerate(rows):
        by_shape[_shape(cells)].append(index)
    least = max(1, GROUP_SHARE_MIN * len(messages))
    groups = []
    for indices in by_shape.values():
        if len(indices) < least:
            continue
        width = len(rows[indices[0]][0])
        columns = tuple(
            Column(
                rows[indices[0]][0][place][1].kind,
                tuple(rows[i][0][place][1].text for i in indices),
                tuple(rows[i][0][place][0] for i in indices),
                decimal,
            )
            for place in range(width)
        )
        groups.append(Group(tuple(indices), columns, tuple(rows[i][1] for i in indices)))
    groups = [part for group in groups for part in _by_word(group)]
    return sorted(groups, key=lambda group: -len(group.rows))


Cell = tuple[str, Token]


def _cells(message: str, decimal: str) -> tuple[list[Cell], str]:
    """The pieces of a message, each with the blanks before it, and the blanks at its end."""
    cells: list[Cell] = []
    gap = ""
    for token in tokens_of(message, decimal):
        if token.kind is Kind.GAP:
            gap += token.text
        else:
            cells.append((gap, token))
            gap = ""
    return cells, gap


def _shape(cells: Sequence[Cell]) -> tuple[str, ...]:
    return tuple(t.text if t.kind is Kind.MARK else str(t.kind) for _, t in cells)


def _settle_hex(rows: list[list[Cell]]) -> None:
    """A place that holds hexadecimal letters in some messages is hexadecimal in all."""
    shapes = {_shape(cells) for cells in rows}
    for cells in rows:
        shape = _shape(cells)
        for place, kind in enumerate(shape):
            if kind != Kind.NUMBER or not set(cells[place][1].text) <= HEX_DIGITS:
                continue
            other = (*shape[:place], str(Kind.HEX), *shape[place + 1 :])
            if other in shapes:
                gap, token = cells[place]
                cells[place] = (gap, Token(Kind.HEX, token.text))
                shape = other


def _by_word(group: Group) -> list[Group]:
    """Split where a word says what kind of number follows: each has its own decimals."""
    numbers = [c for c in group.columns if c.kind is Kind.NUMBER]
    for column in group.columns:
        if column.kind is not Kind.WORD or not 2 <= len(set(column.texts)) <= 4:
            continue
        if all(length_unit(word) for word in column.texts):
            continue  # the unit was switched: still the same line
        formats: dict[str, set[tuple[int, ...]]] = defaultdict(set)
        for row, word in enumerate(column.texts):
            formats[word].add(tuple(_decimals(c.texts[row], c.decimal) for c in numbers))
        kinds = list(formats.values())
        if all(len(kind) == 1 for kind in kinds) and len({min(kind) for kind in kinds}) > 1:
            words = list(formats)
            return [
                group.picked([i for i, text in enumerate(column.texts) if text == word])
                for word in words
            ]
    return [group]


def _decimals(text: str, decimal: str) -> int:
    return len(text.partition(decimal)[2])


def nines(column: Column) -> list[str]:
    """Texts of a number column that are nothing but nines: over range, not a number."""
    texts = []
    for text in dict.fromkeys(column.texts):
        digits = [c for c in text if c.isdigit()]
        significant = "".join(digits).lstrip("0")
        if len(significant) >= NINES_MIN and set(significant) == {"9"}:
            texts.append(text)
    return texts
