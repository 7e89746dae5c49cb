"""Recordings: good ones read exactly, bad ones answered with one sentence, played at their pace."""

from pathlib import Path

import pytest

from drivers import replay as replay_module
from drivers.profile import SourceUnit
from drivers.reading import Unit
from drivers.replay import RecordingError, Replay, read_recording

RECORDED = Path(__file__).parents[2] / "fixtures" / "drivers" / "recorded"


def written(tmp_path: Path, text: str | bytes) -> Path:
    path = tmp_path / "x.csv"
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return path


@pytest.mark.parametrize(
    ("name", "step", "count"),
    [
        ("spin-000.csv", 0.0005, 107),
        ("spin-003.csv", 0.0001, 257),
        ("spin-004.csv", 0.001, None),
        ("spin-012.csv", 0.00254, None),
    ],
)
def test_the_step_is_found_as_the_truth_beside_the_recordings_says(name, step, count):
    recording = read_recording(RECORDED / name)
    assert recording.step == pytest.approx(step, abs=1e-12)
    assert (recording.source_unit, recording.value_column) == (SourceUnit.MM, "value_mm")
    if count is not None:
        assert len(recording.readings) == count


def test_marks_are_where_the_file_says():
    path = RECORDED / "spin-004.csv"
    marked = [r.mark for r in read_recording(path).readings]
    lines = path.read_text("utf-8").splitlines()[1:]
    assert marked == [line.endswith(",1") for line in lines]
    assert any(marked)


def test_a_vacuum_is_read_in_its_own_unit():
    recording = read_recording(RECORDED / "decay-000.csv")
    assert recording.value_column == "below_ambient_mbar"
    assert recording.readings[0].unit is Unit.MBAR
    assert recording.readings[2].value == 742.2
    assert recording.step == pytest.approx(0.1)


def test_inches_become_exact_millimetres(tmp_path):
    recording = read_recording(
        written(tmp_path, "\ufeffvalue_in,t_s\r\n0.0485,0\r\n-0.0001,0.1\r\n")
    )
    assert [r.value for r in recording.readings] == [1.2319, -0.00254]
    assert [r.t_s for r in recording.readings] == [0.0, 0.1]
    assert recording.source_unit is SourceUnit.INCH
    assert recording.step == pytest.approx(0.00254)


def test_what_programs_write_is_read(tmp_path):
    text = 't_s,value_mm,note\n1e-05,0.30000000000000004,hello\n0.1,"0.2",\n\n0.2,5.5e-17,x\n'
    recording = read_recording(written(tmp_path, text))
    assert [r.value for r in recording.readings] == [0.3, 0.2, 0.0]
    assert recording.step == pytest.approx(0.1)


@pytest.mark.parametrize(
    ("texts", "step"),
    [
        (("1.0005", "1.001", "1.0015"), 0.0005),
        (("1.002", "1.004"), 0.002),
        (("1.001", "1.002", "1.5"), 0.001),
        (("1.27", "1.27127", "1.27254"), 0.00127),
        (("1", "2", "3"), 1.0),
    ],
)
def test_steps_of_one_two_or_five_and_of_an_inch_gauge(tmp_path, texts, step):
    rows = "".join(f"{i},{text}\n" for i, text in enumerate(texts))
    assert read_recording(written(tmp_path, "t_s,value_mm\n" + rows)).step == pytest.approx(step)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", ["is empty"]),
        ("\n \n", ["is empty"]),
        ("t_s,value_mm\n", ["only a header"]),
        ("time,value_mm\n0,1\n", ["line 1", "no column t_s", "time, value_mm"]),
        ("t_s;value_mm\n0;1\n", ["no column t_s", "commas, not semicolons"]),
        ("t_s,value\n0,1\n", ["line 1", "no value column", "_mm"]),
        ("t_s,value_furlong\n0,1\n", ["no value column"]),
        ("t_s,a_mm,b_in\n0,1,2\n", ["more than one column"]),
        ("t_s,value_mm,value_mm\n0,1,2\n", ["more than one column"]),
        ("t_s,value_mm\n0,1\n1,OVER\n", ["line 3", "value_mm is 'OVER'", "no number"]),
        ("t_s,value_mm\n0,NaN\n", ["line 2", "'NaN'"]),
        ("t_s,value_mm\n0,-inf\n", ["line 2", "'-inf'"]),
        ("t_s,value_mm\n0," + "9" * 1000 + "\n", ["line 2", "99...'"]),
        ("t_s,value_mm\n0,1e99\n", ["line 2", "'1e99'"]),
        ('t_s,value_mm\n0,"1,5"\n', ["line 2", "'1,5'", "decimal point"]),
        ("t_s,value_mm\nx,1\n", ["line 2", "t_s is 'x'"]),
        ("t_s,value_mm\n0,1\n1\n", ["line 3", "a column is missing"]),
        ("t_s,value_mm\n1,1\n0.5,1\n", ["line 3", "time goes back, from 1.0 to 0.5"]),
        ("t_s,value_mm,index\n0,1,2\n", ["line 2", "index is '2'"]),
        (b"t_s,value_mm\n0,1\n1,\xff\n", ["line 3", "not UTF-8"]),
        ('t_s,value_mm\n0,"' + "1" * 200_000 + '"\n', ["is no CSV"]),
    ],
)
def test_a_bad_recording_is_one_sentence(tmp_path, text, words):
    path = written(tmp_path, text)
    with pytest.raises(RecordingError) as caught:
        read_recording(path)
    sentence = str(caught.value)
    assert str(path) in sentence
    assert "\n" not in sentence
    assert len(sentence) < 500
    for word in words:
        assert word in sentence


def test_what_is_not_there_or_too_much(tmp_path, monkeypatch):
    with pytest.raises(RecordingError, match="cannot be read: No such file"):
        read_recording(tmp_path / "missing.csv")
    with pytest.raises(RecordingError, match="cannot be read: Is a directory"):
        read_recording(tmp_path)
    path = written(tmp_path, "t_s,value_mm\n0,1\n1,1\n2,1\n")
    monkeypatch.setattr(replay_module, "READINGS_MAX", 2)
    with pytest.raises(RecordingError, match="line 4: more than 2 readings"):
        read_recording(path)
    monkeypatch.setattr(replay_module, "FILE_BYTES_MAX", 20)
    with pytest.raises(RecordingError, match="larger than"):
        read_recording(path)


async def test_a_replay_plays_at_the_recordings_pace_on_the_clock_handed_in(tmp_path):
    recording = read_recording(written(tmp_path, "t_s,value_mm\n5,1\n5.5,2\n5.5,3\n7,4\n"))
    clock = [100.0]

    async def sleep(seconds: float) -> None:
        clock[0] += seconds

    replay = Replay(recording, "dial", lambda: clock[0], sleep)
    heard = [
        (batch[0].gauge, batch[0].t_s, batch[0].value, clock[0]) async for batch in replay.batches()
    ]
    assert heard == [
        ("dial", 100.0, 1.0, 100.0),
        ("dial", 100.5, 2.0, 100.5),
        ("dial", 100.5, 3.0, 100.5),
        ("dial", 102.0, 4.0, 102.0),
    ]
    assert replay.last is not None
    assert replay.last.value == 4.0
