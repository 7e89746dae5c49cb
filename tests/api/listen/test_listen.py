"""`benchtally gauges`: proposals as JSON, the guided way, the checker; on real pseudo ports."""

import json
import tomllib
from contextlib import ExitStack
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from api.cli import app
from api.config import load_config
from api.listen import command
from drivers.find.overhear import Patience
from drivers.pretend.port import PretendPort
from drivers.profile import load_profile
from tests.generators.playing import Played, dialects, speaking

OPEN = {played.name: played for played in dialects("open")}
QUICK = Patience(silence_s=0.3, least_s=0.5, most_s=1.0, answer_s=0.1, ask_for_s=0.5, total_s=4.0)


@pytest.fixture(autouse=True)
def _quick(monkeypatch):
    monkeypatch.setattr(command, "Patience", lambda: QUICK)
    monkeypatch.setattr(command, "PERSON_PATIENCE", QUICK)
    monkeypatch.setattr("api.listen.guide.MOVE_S", 1.2)


@pytest.fixture
def port(tmp_path):
    pretend = PretendPort(tmp_path / "gauge")
    yield pretend
    pretend.unplug()


def run(*arguments: object) -> Result:
    return CliRunner().invoke(app, ["gauges", *map(str, arguments)])


def test_a_shipped_profile_is_proposed_by_its_name(port):
    with speaking(port, OPEN["line-padded-crlf"], faster=2):
        result = run("--listen", port.path, "--format", "jsonl")
    assert result.exit_code == 0, result.stderr
    first = json.loads(result.stdout.splitlines()[0])
    assert set(first) == {"port", "profile", "score", "settings", "readings"}
    assert first["port"] == str(port.path)
    assert first["profile"] == "plain-line"
    assert 0 < first["score"] <= 1
    assert first["settings"]["baud"] == 9600
    assert "taken for millimetres" in first["settings"]["assumed"][0]
    truth = {raw.decode().strip(): mm[0] for raw, mm in OPEN["line-padded-crlf"].messages}
    assert len(first["readings"]) > 10
    assert all(truth[each["raw"]] == each["value_mm"] for each in first["readings"])


def test_a_profile_that_was_made_comes_along_or_is_written(port, tmp_path):
    with speaking(port, OPEN["several-sum-checksum"], faster=2):
        inline = run("--listen", port.path, "--format", "jsonl")
        written = run("--listen", port.path, "--format", "jsonl", "--out", tmp_path / "made")
    first = json.loads(inline.stdout.splitlines()[0])
    assert tomllib.loads(first["settings"]["profile_toml"])["wire"] == "picture"
    profile = load_profile(json.loads(written.stdout.splitlines()[0])["profile"])
    assert profile.picture is not None
    sample = tmp_path / "sample.bin"
    sample.write_bytes(b"".join(raw for raw, _ in OPEN["several-sum-checksum"].messages[:5]))
    checked = run("--check", next((tmp_path / "made").iterdir()), "--sample", sample)
    assert "5 readings understood" in checked.stdout
    assert "0 % of" in checked.stdout


@pytest.mark.parametrize("name", ["doubt-absolute-relative", "doubt-noise"])
def test_what_cannot_be_placed_is_exit_3_with_bytes_and_a_skeleton(port, name):
    with speaking(port, OPEN[name], faster=2):
        result = run("--listen", port.path, "--format", "jsonl")
    assert result.exit_code == 3
    assert result.stdout == ""
    assert "It cannot be placed" in result.stderr
    assert "A profile to fill in" in result.stderr
    shown = result.stderr.replace("\n", " ")
    assert any(message[:3].hex(" ") in shown for message, _ in OPEN[name].messages)


def test_a_port_that_is_not_there_is_trouble_not_doubt(tmp_path):
    result = run("--listen", tmp_path / "none", "--format", "jsonl")
    assert result.exit_code == 1
    assert "is not there" in result.stderr


def test_without_anybody_to_ask_the_section_is_printed(port):
    with speaking(port, OPEN["line-unit-mm"], faster=2):
        result = run("--listen", port.path)
    assert result.exit_code == 0
    assert "messages, each ended by a line end, like" in result.stdout
    assert "Profile 'plain-line' (shipped), score" in result.stdout
    section = result.stdout[result.stdout.index("[[gauge]]") :]
    assert tomllib.loads(section)["gauge"][0]["resolution_mm"] == 0.001


class Scripted:
    """A person who answers from a list."""

    present = True

    def __init__(self, *answers: str) -> None:
        self.answers = list(answers)
        self.heard: list[str] = []

    def say(self, text: str) -> None:
        self.heard.append(text)

    def ask(self, question: str, default: str) -> str:
        self.heard.append(question)
        return self.answers.pop(0) or default


def guided(port: PretendPort, played: Played, person: Scripted, config: Path | None) -> int:
    with speaking(port, played, faster=2):
        return command.guide(str(port.path), person, config, None)  # type: ignore[arg-type]


def test_a_person_is_led_to_a_section_that_holds(port, tmp_path):
    config = tmp_path / "bench.toml"
    config.write_text('[bench]\nname = "Bench 1"\ndata = "data"\n')
    person = Scripted("", "height gauge", "G-7")
    assert guided(port, OPEN["several-temperature-first"], person, config) == 0
    assert any("It follows: from" in text for text in person.heard)
    loaded = load_config(config)
    gauge = loaded.config.gauge[0]
    assert (gauge.name, gauge.serial, gauge.port) == ("height gauge", "G-7", str(port.path))
    assert loaded.profiles[0].picture is not None


def test_a_unit_nobody_says_is_asked_for(port):
    person = Scripted("in", "", "probe", "")
    played = OPEN["doubt-inch-or-mm"]
    assert guided(port, played, person, None) == 0
    text = "\n".join(person.heard)
    assert "Does the display show mm or in" in text
    # 0.1 inch and less moved: what is confirmed is read as inches.
    assert 'profile = "plain-line-inch"' in text


def test_a_number_that_does_not_follow_the_spindle_is_not_given(port):
    still = Played("still", True, False, b"", 0.03, [(b"+1.234 mm\r\n", [1.234])])
    person = Scripted("")
    assert guided(port, still, person, None) == 3
    assert any("did not follow the spindle" in text for text in person.heard)


def test_two_that_look_alike_are_told_apart_first(tmp_path, monkeypatch):
    from drivers.find.ports import Plugged

    ports = [PretendPort(tmp_path / "a"), PretendPort(tmp_path / "b")]
    here = [Plugged(str(p.path), "usb:1A86:7523", "", f"1-{n}") for n, p in enumerate(ports)]
    monkeypatch.setattr(command, "alike", lambda port: here if port.startswith("usb:") else [])
    still = Played("still", True, False, b"", 0.03, [(b"+1.234 mm\r\n", [1.234])])
    hand = [1.5, 1.7, 2.9, 4.1, 7.3, 5.2, 3.3]
    moving = Played("moving", True, False, b"", 0.03, [(f"{x} mm\r\n".encode(), [x]) for x in hand])
    person = Scripted("", "", "right one", "")
    with ExitStack() as stack:
        stack.enter_context(speaking(ports[0], still))
        stack.enter_context(speaking(ports[1], moving))
        code = command.guide("usb:1A86:7523", person, None, None)  # type: ignore[arg-type]
        for each in ports:
            stack.callback(each.unplug)
    assert code == 0, person.heard[-6:]
    assert any('port = "usb:1A86:7523@1-1"' in text for text in person.heard)


def test_the_checker_says_what_is_wrong_and_where(tmp_path):
    assert "holds" in run("--check", "plain-line").stdout
    bad = tmp_path / "bad.toml"
    bad.write_text('about = "x"\nwire = "picture"\nunit = "mm"\n[picture]\nline = "{numbre}"\n')
    result = run("--check", bad)
    assert result.exit_code == 2
    assert "bad.toml, line 5: picture.line" in result.stderr
    assert "no placeholder; there are number" in result.stderr
    result = run("--check", "plain-line", "--sample", tmp_path / "none.bin")
    assert result.exit_code == 2
    assert "cannot be read" in result.stderr


def test_nobody_is_asked_where_nothing_was_heard(port):
    person = Scripted()
    assert command.guide(str(port.path), person, None, None) == 3  # type: ignore[arg-type]
    assert any("Nothing was heard" in text for text in person.heard)


def test_a_sample_that_the_profile_does_not_read_says_what_would(tmp_path):
    sample = tmp_path / "sample.bin"
    sample.write_bytes(b"+1.234 mm\r\n+1.235 mm\r\n-0.500 mm\r\n")
    mine = tmp_path / "mine.toml"
    mine.write_text('about = "invented"\nwire = "line"\nunit = "mm"\n', "utf-8")
    result = run("--check", mine, "--sample", sample)
    assert result.exit_code == 1
    assert "0 readings understood" in result.stdout
    assert "'+1.234 mm" in result.stdout
    assert "The shipped profile 'plain-line' reads them." in result.stdout
    sample.write_bytes(b"17 +1.234\r\n18 +1.300\r\n19 -0.500\r\n20 +2.125\r\n")
    result = run("--check", "modbus-rtu", "--sample", sample)
    assert 'line = "{digits} {number}"' in result.stdout
    sample.write_bytes(b"\x01\x02" * 20)
    assert "Nor can it be made out" in run("--check", mine, "--sample", sample).stdout
    sample.write_bytes(b"")
    assert "holds no bytes" in run("--check", mine, "--sample", sample).stdout
    assert run("--sample", sample).exit_code == 2
