"""Every page of the demonstration, at two sizes, by day and under a lamp. The head is invented.

`BENCHTALLY_PICTURES=FOLDER .venv/bin/python -m pytest tests/browser/test_pictures.py` keeps the
pictures there; the few that stand in docs/pictures/ were taken from such a folder.
"""

import base64
import contextlib
import json
import os
import re
import subprocess
import sys
import urllib.request
from pathlib import Path

import pytest

from tests.browser.pages import CONTRAST, SIZES, post

ROOT = Path(__file__).parents[2]
# What has to stand on each page before it is taken. The bench is taken while a stem is turned.
PAGES = {
    "bring.html?job={job}": ("#about", "Job number"),
    "enter.html": ("h1", "token"),
    "gauges.html": ("#here", "speaking"),
    "head.html?job={job}": ("#positions", "4E"),
    "job.html?job={job}": ("#parts", "1I valve"),
    "jobs.html": ("#found", "DEMO-1-2"),
    "plan.html?plan=four-by-two-whole": ("#steps", "head clean"),
    "start.html?plan=four-by-two-whole": ("#chosen", "stem runout"),
}
VIEWS = [(size, light) for size in SIZES for light in ("light", "dark")]
UP = {"characteristic": "valve.stem_runout", "position": "2I", "place": None}
PICTURE_BYTES_MOST = 150_000
# PNG in, WebP out: the browser that took the picture makes it small, too.
SMALLER = """
async (png) => {
  const picture = new Image();
  picture.src = `data:image/png;base64,${png}`;
  await picture.decode();
  const canvas = document.createElement("canvas");
  [canvas.width, canvas.height] = [picture.width, picture.height];
  canvas.getContext("2d").drawImage(picture, 0, 0);
  return canvas.toDataURL("image/webp", 0.82);
}
"""
DEMO = [sys.executable, "-m", "api.cli", "demo"]


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    """The demonstration with one job done and the next one on the bench."""
    data = str(tmp_path_factory.mktemp("demo"))
    subprocess.run([*DEMO, "--headless", "--data", data], check=True, capture_output=True)
    process = subprocess.Popen(
        [*DEMO, "--port", "0", "--data", data],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    yield next(filter(None, map(address_in, process.stdout)))
    process.kill()
    process.wait()
    process.stdout.close()


def address_in(line):
    found = re.search(r"http://\S+", line)
    return found and found.group(0)


def ask(address, path):
    with urllib.request.urlopen(f"{address}api/v1{path}", timeout=30) as answer:
        return json.loads(answer.read())


@pytest.fixture
def views(browser):
    """A context for every size and light, and everything that any of their pages complains of."""
    wrong = []
    with contextlib.ExitStack() as stack:
        made = {}
        for size, light in VIEWS:
            width, height = SIZES[size]
            context = stack.enter_context(
                browser.new_context(
                    viewport={"width": width, "height": height}, color_scheme=light, locale="en-US"
                )
            )
            context.set_default_timeout(120_000)
            context.on("console", lambda message: wrong.append(message.text))
            context.on("weberror", lambda error: wrong.append(str(error.error)))
            made[size, light] = context
        yield made, wrong


@pytest.fixture
def folder(tmp_path):
    made = Path(os.environ.get("BENCHTALLY_PICTURES", tmp_path))
    made.mkdir(parents=True, exist_ok=True)
    return made


def picture(page, file):
    """Take it, and look at it as far as a program can: nothing pale, nothing out of the window."""
    small = page.evaluate(SMALLER, base64.b64encode(page.screenshot()).decode())
    file.write_bytes(base64.b64decode(small.partition(",")[2]))
    assert file.stat().st_size <= PICTURE_BYTES_MOST, file.name
    assert page.evaluate(CONTRAST) == [], file.name
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0, file.name


@pytest.mark.timeout(600)
def test_pictures_of_every_page(demo, views, folder):
    contexts, wrong = views
    done = next(each for each in ask(demo, "/jobs")["jobs"] if each["number"] == "DEMO-1")["id"]
    benches = {view: context.new_page() for view, context in contexts.items()}
    for page in benches.values():
        page.goto(demo)
        page.wait_for_selector("#sketch svg")
    post(demo, f"/jobs/{ask(demo, '/bench')['job']}/up", UP)
    for (size, light), page in benches.items():
        page.wait_for_selector("#trace[data-picture=polar]")
        picture(page, folder / f"bench-{size}-{light}.webp")
        page.close()
    for path, (selector, text) in PAGES.items():
        name = path.partition(".html")[0]
        for (size, light), context in contexts.items():
            page = context.new_page()
            page.goto(f"{demo}{path.format(job=done)}")
            page.locator(selector).filter(has_text=text).first.wait_for()
            picture(page, folder / f"{name}-{size}-{light}.webp")
            page.close()
    assert wrong == []


def test_every_page_is_among_them():
    there = {path.name for path in (ROOT / "api/page").glob("*.html")} - {"index.html"}
    assert there == {f"{path.partition('.html')[0]}.html" for path in PAGES}


def test_the_pictures_of_the_documents_are_small_and_used():
    text = "".join(
        path.read_text("utf-8") for path in (ROOT / "README.md", *(ROOT / "docs").glob("*.md"))
    )
    pictures = list((ROOT / "docs/pictures").iterdir())
    assert pictures
    for each in pictures:
        assert each.stat().st_size <= PICTURE_BYTES_MOST, each.name
        assert f"pictures/{each.name}" in text, each.name
