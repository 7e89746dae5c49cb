"""docs/profiles.md is true: every key of every table stands there, and its examples hold."""

import re
import tomllib
from pathlib import Path
from typing import Any, get_args

import pytest
from pydantic import BaseModel

from drivers.find.placing.reads import read_with
from drivers.find.placing.split import Sound
from drivers.profile import Profile, load_profile, parse_profile, shipped_profiles
from drivers.profile.picture import PLACEHOLDERS
from drivers.wires.checksum import CHECKSUMS
from drivers.wires.registry import WIRES

PAGE = (Path(__file__).parents[2] / "docs" / "profiles.md").read_text("utf-8")
EXAMPLES = re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL)
SECTIONS = dict(re.findall(r"^## `(\w+)`[^\n]*\n(.*?)(?=^## |\Z)", PAGE, re.DOTALL | re.MULTILINE))


def table_of(model: type[BaseModel], key: str) -> type[BaseModel] | None:
    annotation: Any = model.model_fields[key].annotation
    found = [a for a in (annotation, *get_args(annotation)) if isinstance(a, type)]
    return next((a for a in found if issubclass(a, BaseModel)), None)


def keys_in(text: str) -> set[str]:
    text = re.sub(r"```.*?```", "", text, flags=re.DOTALL)
    return {key for line in re.findall(r"`([^`]+)`", text) for key in re.findall(r"[\w-]+", line)}


@pytest.mark.parametrize("wire", sorted(WIRES))
def test_every_key_of_every_table_is_on_the_page(wire):
    section = SECTIONS[wire]
    table = table_of(Profile, wire)
    assert table is not None
    told = keys_in(section)
    missing = set(table.model_fields) - told
    for key in table.model_fields:
        inner = table_of(table, key)
        missing |= set(inner.model_fields) - told if inner is not None else set()
    # [frame.sign] is written with plus and minus, which become words.
    assert missing <= ({"words"} if wire == "frame" else set())


def test_what_every_profile_has_is_on_the_page():
    general = PAGE[: PAGE.index("## `line`")]
    serial = table_of(Profile, "serial")
    assert serial is not None
    assert {*serial.model_fields, "name", "about", "wire", "unit"} <= keys_in(general)
    for name in (*PLACEHOLDERS, *CHECKSUMS):
        assert name in SECTIONS["picture"], name


def test_no_key_is_on_the_page_that_is_none():
    for wire, section in SECTIONS.items():
        table = table_of(Profile, wire)
        assert table is not None
        rows = re.search(rf"\| key of `\[{wire}\]`.*?\n\n", section, re.DOTALL)
        assert rows is not None, wire
        named = re.findall(r"^\| (`[^|]+) \|", rows[0], re.MULTILINE)
        keys = {key for cell in named for key in re.findall(r"`(\w+)`", cell)}
        written = {"address"} if wire == "modbus" else set()
        assert keys <= set(table.model_fields) | written, wire


@pytest.mark.parametrize("number", range(len(EXAMPLES)))
def test_every_example_is_a_profile(number):
    profile = parse_profile(EXAMPLES[number], f"example-{number}", "docs/profiles.md")
    assert profile.wire in WIRES


@pytest.mark.parametrize(
    ("wire", "spoken", "value"),
    [
        ("line", b"A +1,234 mm\r", 1.234),
        ("picture", b"0042 +001.234 mm 21.5C*56\r\n", 1.234),
        ("ask", b"\x02-0.5in\x03", -12.7),
        ("frame", bytes.fromhex("AA 80 00 12 34 03 0F"), -1.234),
    ],
)
def test_the_examples_read_what_the_page_says(wire, spoken, value):
    text = next(each for each in EXAMPLES if f'wire = "{wire}"' in each)
    profile = parse_profile(text, "example", "docs/profiles.md")
    asked = profile.ask.request.encode() if profile.ask and profile.ask.request else b""
    assert [s.value for s in read_with(profile, Sound(spoken, (), True, asked)).said] == [value]


def test_each_way_of_speaking_has_an_example_and_a_shipped_profile():
    assert {tomllib.loads(each)["wire"] for each in EXAMPLES} == set(WIRES)
    assert {load_profile(name).wire for name in shipped_profiles()} == set(WIRES)
