"""A file appears whole or not at all, for whom it is meant, and is read within its limit."""

import pytest

from api.files import FileError, appear, read_within


def test_what_fails_on_the_way_leaves_what_stood_there(tmp_path):
    file = tmp_path / "record.csv"
    appear(file, [b"one", b"two"])

    def breaking():
        yield b"three"
        raise ValueError("broken")

    with pytest.raises(ValueError, match="broken"):
        appear(file, breaking())
    assert [path.name for path in tmp_path.iterdir()] == ["record.csv"]
    assert file.read_bytes() == b"onetwo"


def test_a_secret_is_its_owners_whatever_was_left_behind(tmp_path):
    left = tmp_path / ".tokens.json.part"
    left.write_bytes(b"of a try that was broken off")
    left.chmod(0o666)
    appear(tmp_path / "tokens.json", [b"new"], mode=0o600)
    assert (tmp_path / "tokens.json").read_bytes() == b"new"
    assert (tmp_path / "tokens.json").stat().st_mode & 0o777 == 0o600
    assert not left.exists()


def test_a_file_is_read_up_to_its_limit(tmp_path):
    file = tmp_path / "sample"
    file.write_bytes(b"1234")
    assert read_within(file, 4, "cut it") == b"1234"
    with pytest.raises(FileError, match="larger than 3 bytes; cut it"):
        read_within(file, 3, "cut it")
    with pytest.raises(FileError, match="cannot be read: Is a directory"):
        read_within(tmp_path, 3, "cut it")
