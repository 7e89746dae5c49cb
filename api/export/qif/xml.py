"""Elements of QIF: namespace, lists that count themselves, ids in a fixed order, safe text."""

import re
from collections.abc import Iterable
from decimal import Decimal
from typing import Any

NAMESPACE = "http://qifstandards.org/xsd/qif3"
# lxml's own types do not fit the trees that are built and walked here.
Element = Any

# What XML 1.0 cannot hold at all (section 2.2); it becomes the sign for "not a letter".
_NO_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


class Ids:
    """Gives out ids 1, 2, 3 …"""

    def __init__(self) -> None:
        self.last = 0

    def next(self) -> str:
        """The next one."""
        self.last += 1
        return str(self.last)


def tag(name: str) -> str:
    """The name in QIF's namespace."""
    return f"{{{NAMESPACE}}}{name}"


def root(name: str, **attributes: str) -> Element:
    """The outermost element."""
    from lxml import etree

    spaces: dict[Any, str] = {None: NAMESPACE}
    return etree.Element(tag(name), attributes, nsmap=spaces)


def put(parent: Element, name: str, text: str | None = None, /, **attributes: str) -> Element:
    """A new element at the end of `parent`."""
    from lxml import etree

    made = etree.SubElement(parent, f"{{{NAMESPACE}}}{name}", attributes)
    if text is not None:
        made.text = safe(text)
    return made


def put_if(parent: Element, name: str, text: str | None) -> None:
    """The same, where there is something to say."""
    if text is not None and text.strip():
        put(parent, name, text)


def put_ids(parent: Element, name: str, ids: Iterable[str]) -> None:
    """A counted list of references; nothing for none."""
    found = list(ids)
    if found:
        holder = put(parent, name, n=str(len(found)))
        for each in found:
            put(holder, "Id", each)


def put_attributes(parent: Element, said: dict[str, str | Decimal | None]) -> None:
    """QIF's own place for what its elements have no name for; None is left out."""
    given = {name: cell for name, cell in said.items() if cell is not None}
    if not given:
        return
    holder = put(parent, "Attributes", n=str(len(given)))
    for name, cell in given.items():
        if isinstance(cell, Decimal):
            put(holder, "AttributeD1", name=name, value=plain(cell))
        else:
            put(holder, "AttributeStr", name=name, value=safe(cell))


def plain(value: Decimal) -> str:
    """A decimal as it stands in the record: no exponent, every digit."""
    return format(value, "f")


def safe(text: str) -> str:
    """Text that XML can hold."""
    return _NO_XML.sub("\ufffd", text)
