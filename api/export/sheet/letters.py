"""Letters that can be printed: embedded fonts first, the system's where a name needs them.

PDF/A forbids a letter without a shape, so one that no font here has becomes a box, and the sheet
says how many did; every other format holds them all.
"""

import unicodedata
from collections.abc import Callable, Iterator
from functools import cache
from typing import Any

BOX = "□"
# Runs without a break that are longer than a narrow column get places to break at.
RUN_CHARS_MAX = 22
_BREAK = "\u200b"
_PLAIN = frozenset(map(chr, range(0x20, 0x7F)))
_LATIN_LAST = 0x17F
_OURS = frozenset("±−≤≥→✓✗·⊘↻○—╌°…" + BOX)


def attempts(said: dict[str, Any]) -> Iterator[tuple[dict[str, Any], Any]]:
    """`said` with every text printable, and the fonts to print it with.

    Letters one by one tell most, but a mark on a letter may ask for a shape that neither asks for
    alone. So there is a second try without marks, and a last one with our own signs and Latin.
    """
    odd = "".join(sorted({letter for text in _texts(said) for letter in text} - _PLAIN))
    fonts = _fonts(system=False)
    missing = _missing(odd, system=False)
    if missing:
        fonts = _fonts(system=True)
        missing = _missing(odd, system=True)
    yield _boxed(said, missing), fonts
    marks = "".join(each for each in odd if unicodedata.category(each).startswith("M"))
    yield _boxed(said, "".join({*missing, *marks})), fonts
    strange = "".join(each for each in odd if each not in _OURS and ord(each) > _LATIN_LAST)
    yield _boxed(said, strange), fonts


def _boxed(said: dict[str, Any], missing: str) -> dict[str, Any]:
    boxes = dict.fromkeys(map(ord, missing), BOX)
    changed: dict[str, Any] = _each(said, lambda text: breakable(text.translate(boxes)))
    changed["unprintable"] = sum(text.count(letter) for text in _texts(said) for letter in missing)
    return changed


def breakable(text: str) -> str:
    """Long runs with places to break at; pictures are left alone."""
    if len(text) <= RUN_CHARS_MAX or text.startswith("<svg"):
        return text
    return " ".join(_in_pieces(word) for word in text.split(" "))


def _in_pieces(word: str) -> str:
    return _BREAK.join(
        word[start : start + RUN_CHARS_MAX] for start in range(0, len(word), RUN_CHARS_MAX)
    )


@cache
def _fonts(*, system: bool) -> Any:
    import typst

    return typst.Fonts(include_system_fonts=system)


@cache
def _missing(letters: str, *, system: bool) -> str:
    """Those of `letters` that no font has a shape for."""
    if not letters or _has(letters, system=system):
        return ""
    if len(letters) == 1:
        return letters
    half = len(letters) // 2
    return _missing(letters[:half], system=system) + _missing(letters[half:], system=system)


def _has(letters: str, *, system: bool) -> bool:
    import typst

    # One a paragraph: letters of one script must not change each other's shape.
    source = (
        b'#set text(font: ("Libertinus Serif", "DejaVu Sans Mono"))\n'
        b"#for letter in sys.inputs.letters.codepoints() [#letter #parbreak()]"
    )
    compiler = typst.Compiler(
        source, font_paths=_fonts(system=system), sys_inputs={"letters": letters}
    )
    try:
        compiler.compile(format="pdf", pdf_standards=["a-3b"], timestamp=0)
    except typst.TypstError:
        return False
    return True


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        if not value.startswith("<svg"):
            yield value
    elif isinstance(value, dict):
        for each in value.values():
            yield from _texts(each)
    elif isinstance(value, list | tuple):
        for each in value:
            yield from _texts(each)


def _each(value: Any, change: Callable[[str], str]) -> Any:
    if isinstance(value, str):
        return change(value)
    if isinstance(value, dict):
        return {key: _each(item, change) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_each(item, change) for item in value]
    return value
