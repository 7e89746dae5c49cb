"""What the page on exports says is there, is there."""

import re
from pathlib import Path

from api.config import load_config
from api.export import WRITERS
from api.handing.tables import ExportTable

DOC = (Path(__file__).parents[3] / "docs/exports.md").read_text()


def test_every_format_has_a_row():
    rows = re.findall(r"^\| `([a-z]+)` \|", DOC, re.MULTILINE)
    assert set(rows) == set(WRITERS)


def test_the_example_of_the_config_loads_and_names_every_key(bench_toml):
    (example,) = re.findall(r"```toml\n(.*?)```", DOC, re.DOTALL)
    bench_toml.write_text(f"{bench_toml.read_text()}\n{example}")
    loaded = load_config(bench_toml).config.export
    assert loaded.folder == "handed-over"
    assert set(re.findall(r"^(\w+) =", example, re.MULTILINE)) == set(ExportTable.model_fields)


async def test_every_route_that_is_named_is_there(client):
    paths = (await client.get("/openapi.json")).json()["paths"]
    for named in set(re.findall(r"/api/v1/[a-z{}/._]*[a-z}]", DOC)):
        pattern = re.sub(r"\\\{\w+\\\}", r"\\{\\w+\\}", re.escape(named))
        assert any(re.fullmatch(pattern, path) for path in paths), named
