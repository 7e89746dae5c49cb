"""The catalogues of words: every language says everything, and nothing is said past them."""

import ast
import inspect
import json
import re
import textwrap
from importlib.resources import files

import pytest

from api.access import OPEN
from daq.bench.bench import Bench
from daq.head.characteristic import CATALOGUE
from daq.head.deciding.outcome import Verdict
from daq.head.measurement import Came, Status
from daq.head.place import Direction
from drivers.gauge import GaugeState

PAGE = files("api") / "page"
LANGUAGES = sorted(each.name for each in (PAGE / "words").iterdir())
SCRIPTS = {
    each.name: each.read_text("utf-8") for each in PAGE.iterdir() if each.name.endswith(".js")
}
MARKUP = {
    each.name: each.read_text("utf-8") for each in PAGE.iterdir() if each.name.endswith(".html")
}
CODE = "\n".join((*SCRIPTS.values(), *MARKUP.values()))


def words(file):
    return json.loads((PAGE / "words" / file).read_text("utf-8"))


def flat(found):
    """Every sentence by its key; one of a group by group and code."""
    return {
        (key, code): text
        for key, value in found.items()
        for code, text in (value.items() if isinstance(value, dict) else [("", value)])
    }


def blanks(text):
    return sorted(re.findall(r"\{(\w+)\}", text))


def said_by_scripts():
    """The keys that stand in a say(…), also where one of two is chosen."""
    calls = re.findall(r"\bsay\(([^(){}]*?)[,)]", CODE)
    # What a key is chosen by is no key: `say(panel === "hand" ? "to_gauge" : "key_in")`.
    chosen = [call.partition(" ? ")[2] or call for call in calls]
    return {key for call in chosen for key in re.findall(r'"(\w+)"', call)}


def test_there_is_more_than_one_language_and_the_script_knows_each():
    known = re.search(r"const LANGUAGES = \{([^}]*)\}", SCRIPTS["words.js"]).group(1)
    assert [f"{code}.json" for code in sorted(re.findall(r"(\w+):", known))] == LANGUAGES
    assert len(LANGUAGES) > 1
    # Who has no token yet reads, too.
    assert {"/words.js"} | {f"/words/{each}" for each in LANGUAGES} <= OPEN


@pytest.mark.parametrize("file", LANGUAGES)
def test_each_language_says_the_same_with_the_same_blanks(file):
    english, other = flat(words("en.json")), flat(words(file))
    assert list(english) == list(other)
    assert all(text.strip() for text in other.values())
    assert {key: blanks(text) for key, text in english.items()} == {
        key: blanks(text) for key, text in other.items()
    }


def test_what_is_said_stands_in_the_catalogue_and_nothing_else_does():
    catalogue = words("en.json")
    groups = {key for key, value in catalogue.items() if isinstance(value, dict)}
    marked = set(re.findall(r'data-w="(\w+)"', CODE))
    assert (said_by_scripts() | marked) <= set(catalogue) - groups
    assert set(re.findall(r'\bnamed\("(\w+)"', CODE)) == groups
    written = set(re.findall(r'"(\w+)"', CODE))
    beginnings = tuple(re.findall(r"\bsay\(`(\w+)\$\{", CODE))
    assert {key for key in catalogue if not key.startswith(beginnings)} <= written


@pytest.mark.parametrize("file", MARKUP)
def test_no_word_stands_in_the_markup_itself(file):
    shown = re.sub(
        r"<title>benchtally</title>|<option[^>]*>(A4|Letter|mm|in)</option>", "", MARKUP[file]
    )
    assert re.sub(r"<[^>]+>", "", shown).strip() == ""


def test_every_code_that_the_bench_sends_has_a_word():
    catalogue = words("en.json")
    assert set(catalogue["characteristic"]) == set(CATALOGUE)
    assert set(catalogue["part"]) == {each.part for each in CATALOGUE.values()}
    for group, codes in (
        ("status", Status),
        ("came", Came),
        ("decision", Verdict),
        ("state", GaugeState),
        ("direction", Direction.__args__),
    ):
        assert set(catalogue[group]) == set(codes)


def test_every_sentence_that_says_what_to_do_now_is_in_the_catalogue():
    said = set()
    for each in (Bench._message, Bench._capturing_message):
        tree = ast.parse(textwrap.dedent(inspect.getsource(each)))
        answers = [node.value for node in ast.walk(tree) if isinstance(node, ast.Return)]
        said |= {
            node.value
            for answer in answers
            for node in ast.walk(answer)
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and node.value
            if not isinstance(answer, ast.JoinedStr)
        }
    assert said == set(words("en.json")["sentence"])
    assert all(key == text for key, text in words("en.json")["sentence"].items())
