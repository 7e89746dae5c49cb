"""A faulty bench.toml is answered with a sentence: file, line, key, and what is allowed."""

import pytest

from api.config import ConfigError, load_config, parse_address

GOOD = """\
[bench]
name = "Bench 1"
data = "bench-data"
listen = "127.0.0.1:8620"
turning = "one-way"

[[gauge]]
name = "runout indicator"
serial = "G-1037"
port = "/dev/ttyUSB0"
profile = "plain-line"
resolution_mm = 0.001
measures = ["valve.stem_runout"]
calibration_due = 2027-03-31

[[gauge]]
name = "bore gauge"   # the second
serial = "G-1055"
port = "/dev/ttyUSB1"
profile = "plain-line"
resolution_mm = 0.002

[vblock]
angle_deg = 90

[[ring]]
name = "ring 8"
size_mm = 8.0012
certificate = "R-221"

[[tool]]
name = "caliper 3"
kind = "caliper"
serial = "C-3"
"""


def written(folder, text):
    file = folder / "bench.toml"
    file.write_text(text)
    return file


def test_a_good_file_is_read_and_paths_count_from_it(tmp_path):
    loaded = load_config(written(tmp_path, GOOD))
    assert loaded.data == tmp_path / "bench-data"
    assert loaded.address == ("127.0.0.1", 8620, True)
    assert [gauge.resolution_mm for gauge in loaded.config.gauge] == [0.001, 0.002]
    assert [profile.name for profile in loaded.profiles] == ["plain-line", "plain-line"]
    assert str(loaded.config.gauge[0].calibration_due) == "2027-03-31"
    assert loaded.config.ring[0].size_mm == 8.0012
    assert loaded.config.tool[0].kind == "caliper"


@pytest.mark.parametrize(
    ("old", "new", "line", "said"),
    [
        ("listen =", "lisen =", 4, "lisen in [bench] is not a key that is known here (did you"),
        ('port = "/dev/ttyUSB1"\n', "", 16, "port in [[gauge]] number 2 is missing"),
        ('"bore gauge"', '"runout indicator"', 17, "a name taken already"),
        ("/dev/ttyUSB1", "/dev/ttyUSB0", 19, "another gauge uses"),
        ("= 0.002", '= "0.002"', 21, "number without quotes"),
        ("= 0.002", "= 0", 21, "is 0 and has to be greater than 0"),
        ("= 0.002", "= -0.5", 21, "has to be greater than 0"),
        ("= 0.002", "= nan", 21, "plain number"),
        ("= 0.002", "= inf", 21, "has to be"),
        ("= 0.002", "= true", 21, "number without quotes"),
        ("127.0.0.1:8620", "0.0.0.0:8620", 4, "open to the network, which needs [access]"),
        ("127.0.0.1:8620", "8620", 4, "has to begin with an address"),
        ("127.0.0.1:8620", "127.0.0.1:99999", 4, "port from 0 to 65535"),
        ('"one-way"', '"both"', 5, "'one-way' or 'free'"),
        ('["valve.stem_runout"]', '["valve.stemrunout"]', 13, "there are head.clean"),
        ('["valve.stem_runout"]', '"valve.stem_runout"', 13, "list in brackets"),
        ("2027-03-31", '"soon"', 14, "date like"),
        ('kind = "caliper"', 'kind = "spoon"', 33, "there are outside micrometer"),
        ('"Bench 1"', "7", 2, "text in quotes"),
        ("8.0012", "-8.0012", 28, "greater than 0"),
        ("= 90", "= 900", 24, "150 at most"),
        ("[vblock]", "[[vblock]]", 23, "has to be a table"),
        ("[bench]", "[bensh]", 1, "did you mean bench?"),
    ],
)
def test_each_fault_is_one_sentence_with_its_line(tmp_path, old, new, line, said):
    assert old in GOOD
    file = written(tmp_path, GOOD.replace(old, new, 1))
    with pytest.raises(ConfigError) as caught:
        load_config(file)
    sentence = next(each for each in caught.value.sentences if said in each)
    assert sentence.startswith(f"{file}, line {line}: ")
    assert sentence.endswith(".")
    assert "\n" not in sentence


def test_an_unknown_profile_is_named_with_its_line(tmp_path):
    file = written(
        tmp_path,
        GOOD.replace(
            'profile = "plain-line"\nresolution_mm = 0.002',
            'profile = "plane-line"\nresolution_mm = 0.002',
        ),
    )
    with pytest.raises(ConfigError, match=r"line 20: .*'plane-line' is not known: shipped are"):
        load_config(file)


def test_a_profile_of_ones_own_is_found_beside_the_config(tmp_path):
    (tmp_path / "own.toml").write_text('about = "invented"\nwire = "line"\nunit = "mm"\n')
    file = written(tmp_path, GOOD.replace('"plain-line"', '"own.toml"', 1))
    assert load_config(file).profiles[0].name == "own"


def test_every_fault_is_said_at_once_in_the_order_of_the_file(tmp_path):
    text = GOOD.replace("= 90", "= 900").replace("listen", "lisen").replace("= 0.002", "= 0")
    with pytest.raises(ConfigError) as caught:
        load_config(written(tmp_path, text))
    lines = [int(each.split("line ")[1].split(":")[0]) for each in caught.value.sentences]
    assert lines == [4, 21, 24]


def test_gauges_with_a_channel_each_share_a_port(tmp_path):
    shared = GOOD.replace("/dev/ttyUSB1", "/dev/ttyUSB0").replace("plain-line", "comma-line")
    one = shared.replace("= 0.001\n", '= 0.001\nchannel = "A"\n', 1)
    both = one.replace("= 0.002", '= 0.002\nchannel = "B"')
    assert len(load_config(written(tmp_path, both)).profiles) == 2
    for wrong in (one, both.replace('channel = "B"', 'channel = "A"')):
        with pytest.raises(ConfigError, match="need a channel each"):
            load_config(written(tmp_path, wrong))
    other = both.replace("comma-line", "plain-line", 1)
    with pytest.raises(ConfigError, match=r"line 21: .* one port speaks one way"):
        load_config(written(tmp_path, other))


def test_a_gauge_that_types_has_the_keys_for_its_port_and_no_other_has(tmp_path):
    typed = GOOD.replace("plain-line", "typed-number", 1)
    with pytest.raises(ConfigError, match=r"types like a keyboard, so its port is 'keys:'"):
        load_config(written(tmp_path, typed))
    load_config(written(tmp_path, typed.replace("/dev/ttyUSB0", "keys:")))
    with pytest.raises(ConfigError, match="'plain-line' does not type"):
        load_config(written(tmp_path, GOOD.replace("/dev/ttyUSB0", "keys:")))


def test_a_channel_has_to_be_one_that_the_profile_tells_apart(tmp_path):
    plain = GOOD.replace("= 0.001\n", '= 0.001\nchannel = "A"\n', 1)
    box = plain.replace("plain-line", "comma-line", 1)
    load_config(written(tmp_path, box))
    for text, words in (
        (plain, "'plain-line' tells none apart"),
        (box.replace('"A"', '"C"'), "has channel 'C'; profile 'comma-line' has A, B"),
        (box.replace('channel = "A"\n', ""), "has no channel; .* say which is this gauge"),
    ):
        with pytest.raises(ConfigError, match=words):
            load_config(written(tmp_path, text))


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"[bench\n", "is not TOML"),
        (b"\xff\xfe", "line 1: not UTF-8"),
        (b"#" * 300_000, "no bench.toml"),
    ],
)
def test_what_is_no_config_at_all(tmp_path, content, said):
    file = tmp_path / "bench.toml"
    file.write_bytes(content)
    with pytest.raises(ConfigError, match=said):
        load_config(file)


def test_a_file_that_is_not_there(tmp_path):
    with pytest.raises(ConfigError, match="cannot be read"):
        load_config(tmp_path / "none.toml")


@pytest.mark.parametrize("text", ["localhost:0", "[::1]:8620", "127.8.8.8:1"])
def test_addresses_of_this_machine(text):
    assert parse_address(text).port >= 0


@pytest.mark.parametrize("text", ["", ":1", "example.org:80", "127.0.0.1:", "::1:x"])
def test_what_is_no_address_is_refused(text):
    with pytest.raises(ValueError, match="has to be"):
        parse_address(text)


PROXIED = '[access]\nhosts = ["bench-1.shop"]\nbehind_proxy = true\n'


def test_a_bench_on_the_network_has_to_say_who_comes_in(tmp_path):
    text = GOOD.replace("127.0.0.1:8620", "0.0.0.0:8620") + PROXIED
    loaded = load_config(written(tmp_path, text))
    assert loaded.address == ("0.0.0.0", 8620, False)
    assert loaded.config.access.hosts == ["bench-1.shop"]


@pytest.mark.parametrize(
    "change",
    [
        ("behind_proxy = true", "behind_proxy = false"),
        ("behind_proxy = true", 'behind_proxy = true\ncertificate = "a"\nkey = "b"'),
        ("behind_proxy = true", 'certificate = "a"'),
    ],
)
def test_tls_is_either_ours_or_that_of_a_proxy(tmp_path, change):
    with pytest.raises(ConfigError, match="either certificate and key, or behind_proxy"):
        load_config(written(tmp_path, GOOD + PROXIED.replace(*change)))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('[mqtt]\nbroker = "http://b:1"\n', "mqtt://HOST:PORT"),
        ('[mqtt]\nbroker = "mqtt://user:hush@b"\n', "mqtt://HOST:PORT"),
        ('[[webhook]]\nname = "a"\nurl = "ftp://b"\nsecret_file = "s"\n', "https://erp.shop"),
        ('[[webhook]]\nname = "mqtt"\nurl = "https://b"\nsecret_file = "s"\n', "names the broker"),
        ('[[webhook]]\nname = "a"\nurl = "https://b"\n', "secret_file"),
    ],
)
def test_who_is_told_is_a_sentence_too(tmp_path, text, said):
    with pytest.raises(ConfigError) as caught:
        load_config(written(tmp_path, GOOD + text))
    assert said in str(caught.value)
    assert "hush" not in str(caught.value)
