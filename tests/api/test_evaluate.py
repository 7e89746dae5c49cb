"""`benchtally evaluate`: the good files are answered, each bad one gets a sentence."""

import json
import math

import pytest
from typer.testing import CliRunner

from api.cli import app
from api.evaluate import evaluate_file
from daq.capture.base import Kind
from drivers.replay import RecordingError

RUNNER = CliRunner()


@pytest.fixture
def spin(tmp_path):
    """An invented spin of two and a half turns: eccentric by 10 µm, read 50 times a second."""
    file = tmp_path / "spin.csv"
    lines = ["t_s,value_mm"]
    for number in range(750):
        turns = number / 300
        value = 0.4 + 0.01 * math.cos(2 * math.pi * turns) + 0.002 * math.cos(4 * math.pi * turns)
        lines.append(f"{number / 50:.3f},{value:.3f}")
    file.write_text("\n".join(lines) + "\n")
    return file


@pytest.fixture
def still(tmp_path):
    """An invented micrometer reading in inches, held still after closing."""
    file = tmp_path / "still.csv"
    lines = ["t_s,value_in"]
    for number in range(200):
        value = 0.3 - 0.0255 * min(number, 40) / 40
        lines.append(f"{number / 20:.3f},{value:.4f}")
    file.write_text("\n".join(lines) + "\n")
    return file


def run(*arguments):
    return RUNNER.invoke(app, ["evaluate", *map(str, arguments)])


def test_one_json_line_a_file(spin):
    result = run("turn", "--one-way", "--format", "jsonl", spin, spin)
    assert result.exit_code == 0, result.stderr
    lines = [json.loads(line) for line in result.stdout.splitlines()]
    assert len(lines) == 2
    assert lines[0] == lines[1]
    answer = lines[0]
    assert list(answer) == ["file", "kind", "value", "unit", "complete", "uncertainty", "detail"]
    assert (answer["file"], answer["kind"], answer["unit"]) == (str(spin), "turn", "mm")
    assert answer["complete"] is True
    # Largest minus smallest of 10 cos(x) + 2 cos(2x) µm is 20 µm (by hand: at x = 0 and π).
    assert answer["value"] == pytest.approx(0.020, abs=0.0015)
    assert abs(answer["value"] - 0.020) <= answer["uncertainty"] < 0.004
    assert answer["detail"]["proof"] in {"one-way", "pattern"}
    assert answer["detail"]["budget"]
    assert {"reason", "warnings"} <= set(answer["detail"])


def test_inches_are_answered_in_millimetres(still):
    answer = evaluate_file(Kind.SETTLE, still, one_way=False)
    assert answer.unit == "mm"
    assert answer.complete
    assert answer.value == pytest.approx(0.2745 * 25.4, abs=0.002)


def test_nothing_seen_is_null_and_not_a_number(tmp_path):
    file = tmp_path / "short.csv"
    file.write_text("t_s,value_mm\n0.0,0.1\n0.1,0.1\n")
    result = run("rock", "--format", "jsonl", file)
    assert result.exit_code == 0
    answer = json.loads(result.stdout)
    assert answer["complete"] is False
    assert answer["detail"]["reason"]


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "is empty"),
        (b"t_s,value_mm\n", "holds no readings"),
        (b"t_s,height\n0,1\n", "there is no value column"),
        (b"time,value_mm\n0,1\n", "there is no column t_s"),
        (b"t_s,value_mm\n0,zero\n", "line 2: value_mm is 'zero'"),
        (b"t_s,value_mm\n0,nan\n", "no number"),
        (b"t_s,value_mm\n0,1\n-5,1\n", "time goes back"),
        (b"t_s,value_mm\n0,\xff\n", "not UTF-8"),
        (b"t_s,below_ambient_mbar\n0,1\n", "is no mm column"),
    ],
)
def test_a_bad_file_gets_one_sentence_and_the_good_ones_an_answer(tmp_path, spin, content, said):
    bad = tmp_path / "bad.csv"
    bad.write_bytes(content)
    result = run("turn", "--one-way", "--format", "jsonl", spin, bad, spin)
    assert result.exit_code == 2
    sentences = result.stderr.splitlines()
    assert len(sentences) == 1
    assert said in sentences[0]
    assert str(bad) in sentences[0]
    assert len(result.stdout.splitlines()) == 2


def test_a_file_that_is_not_there_or_is_a_folder(tmp_path):
    result = run("turn", tmp_path / "none.csv", tmp_path)
    assert result.exit_code == 2
    assert len(result.stderr.splitlines()) == 2
    with pytest.raises(RecordingError, match="cannot be read"):
        evaluate_file(Kind.TURN, tmp_path, one_way=False)


def test_the_table_names_every_file(spin, still):
    result = run("settle", spin, still)
    assert result.exit_code == 0
    assert "spin.csv" in result.stdout.replace("\n", "").replace(" ", "").replace("│", "")
    assert "complete" in result.stdout
