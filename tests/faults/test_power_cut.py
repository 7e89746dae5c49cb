"""The power is cut: everything that was told is there, once, and the chain is whole.

A real bench runs under strace, which records what it asks of the kernel. From that the files are
built as a disk may hold them when the power goes: a write is safe only after fsync or fdatasync
of its file, a new or removed name only after fsync of its folder (fsync(2)); of the rest any
part, down to single sectors, may be there or not.
"""

import os
import random
import re
import shutil
import subprocess
from dataclasses import dataclass, field
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SECTOR_BYTES = 512
CUTS = 40
CALLS = (
    "openat,open,creat,write,pwrite64,writev,pwritev,pwritev2,fdatasync,fsync,sync_file_range,"
    "ftruncate,truncate,fallocate,unlink,unlinkat,rename,renameat,renameat2,mmap"
)
# 12 name(arguments) = 3<result>
LINE = re.compile(r"(?:\d+ +)?(\w+)\((.*)\) += (-?\w+)")
FD = re.compile(r"(\w+)<([^>]*)>(\(deleted\))?")
QUOTED = re.compile(r'"([^"]*)"')


def unhex(text: str) -> bytes:
    return bytes.fromhex(text.replace("\\x", ""))


@dataclass(frozen=True)
class Step:
    """Something a bench did: told a line, or changed, synced or removed a file of its folder."""

    act: str
    file: str = ""
    data: bytes = b""
    at: int = 0


def recorded(log: Path, folder: Path) -> list[Step]:
    """What the log says was done to the folder, in order; an unknown way of doing it is a fault."""
    steps = []
    for line in log.read_text().splitlines():
        if "+++ exited" in line or "--- SIG" in line:
            continue
        call, arguments, result = LINE.match(line).groups()
        if result.startswith("-") or (call == "mmap" and "MAP_PRIVATE" in arguments):
            continue
        handle = FD.match(arguments)
        if call == "write" and handle and handle[1] == "1":
            steps.append(Step("tell", data=unhex(QUOTED.search(arguments)[1])))
            continue
        if call in {"openat", "open", "creat", "unlink", "unlinkat"} or handle is None:
            paths = [unhex(text).decode() for text in QUOTED.findall(arguments)]
        else:
            paths = [] if handle[3] else [unhex(handle[2]).decode()]
        for path in map(Path, paths):
            if path == folder or (path.parent == folder and not path.name.endswith("-shm")):
                name = "" if path == folder else path.name
                steps += step_of(call, arguments, int(result, 0), name)
    return steps


def step_of(call: str, arguments: str, result: int, name: str) -> list[Step]:
    match call:
        case "openat" | "open":
            assert "O_TRUNC" not in arguments
            return [Step("create", name)] if "O_CREAT" in arguments else []
        case "pwrite64":
            offset = int(arguments.rpartition(", ")[2])
            return [Step("write", name, unhex(QUOTED.search(arguments)[1])[:result], offset)]
        case "fdatasync" | "fsync":
            return [Step("sync", name)]
        case "ftruncate":
            return [Step("truncate", name, at=int(arguments.rpartition(", ")[2]))]
        case "unlink":
            return [Step("unlink", name)]
        case "rename":
            return [Step("rename", name)]
    raise AssertionError(f"the disk of this test does not know {call}({arguments[:200]}")


@dataclass
class DiskFile:
    """named, content: what is safe. pending: what is not yet. gone: removed, not yet safely."""

    named: bool = False
    content: bytes = b""
    pending: list[Step] = field(default_factory=list)
    gone: bool = False


class Disk:
    """A folder as a disk holds it."""

    def __init__(self, base: dict[str, bytes]) -> None:
        self.files = {name: DiskFile(named=True, content=base[name]) for name in base}

    def do(self, step: Step) -> None:
        if step.act == "sync" and step.file == "":
            self.files = {name: file for name, file in self.files.items() if not file.gone}
            for file in self.files.values():
                file.named = True
        elif step.act == "create":
            if step.file not in self.files or self.files[step.file].gone:
                self.files[step.file] = DiskFile()
        elif step.act == "unlink":
            self.files[step.file].gone = True
        elif step.act == "rename":
            # Told twice, with the old name and the new one; nothing is written over another.
            if step.file.endswith(".new"):
                self.files[step.file.removesuffix(".new")] = self.files.pop(step.file)
            self.files[step.file.removesuffix(".new")].named = False
        elif step.act == "sync":
            file = self.files[step.file]
            file.content, file.pending = after(file.content, file.pending), []
        elif step.act != "tell":
            self.files[step.file].pending.append(step)

    def cut(self, chance: random.Random | None) -> dict[str, bytes]:
        """What is left after a power cut: of what is not safe nothing, or any part by chance."""
        left = {}
        for name, file in self.files.items():
            if chance is None:
                if file.named:
                    left[name] = file.content
            elif (file.named or chance.random() < 0.5) and not (
                file.gone and chance.random() < 0.5
            ):
                share = chance.choice([0.2, 0.5, 0.9, 1.0])
                kept = [
                    part
                    for step in file.pending
                    for part in sectors(step)
                    if chance.random() < share
                ]
                left[name] = after(file.content, kept)
        return left


def sectors(step: Step) -> list[Step]:
    """A write in the parts that a disk writes whole."""
    if step.act != "write":
        return [step]
    parts, start = [], step.at
    while start < step.at + len(step.data):
        end = min((start // SECTOR_BYTES + 1) * SECTOR_BYTES, step.at + len(step.data))
        parts.append(Step("write", step.file, step.data[start - step.at : end - step.at], start))
        start = end
    return parts


def after(content: bytes, steps: list[Step]) -> bytes:
    changed = bytearray(content)
    for step in steps:
        if step.act == "truncate":
            changed = changed[: step.at].ljust(step.at, b"\0")
        else:
            end = step.at + len(step.data)
            changed = changed.ljust(end, b"\0")
            changed[step.at : end] = step.data
    return bytes(changed)


@dataclass(frozen=True)
class Cut:
    """Files as a cut left them; ids told before it; ids of the append that was under way."""

    files: dict[str, bytes]
    told: list[str]
    under_way: list[str]


def cuts(steps: list[Step], base: dict[str, bytes], points: set[int], seed: int) -> list[Cut]:
    """The power cut behind each of those steps, once with all that is not safe lost, once by
    chance."""
    chance, disk, told, found = random.Random(seed), Disk(base), [], []
    for number, step in enumerate(steps):
        disk.do(step)
        if step.act == "tell":
            told += ids_in(step)
        if number in points:
            coming = next((ids_in(later) for later in steps[number + 1 :] if ids_in(later)), [])
            found += [Cut(disk.cut(by), list(told), coming) for by in (None, chance)]
    return found


def ids_in(step: Step) -> list[str]:
    words = step.data.decode().split() if step.act == "tell" else []
    return words[1:] if words[:1] == ["kept"] else []


def traced(bench, strace, log, *options) -> list[Step]:
    """Run a bench to its end under strace."""
    subprocess.run(
        [
            *(strace, "-f", "-y", "-xx", "-qq", "-s", "1000000", "--seccomp-bpf"),
            *("-o", str(log), "-e", f"trace={CALLS}"),
            *bench.command(*options),
        ],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        check=True,
        stdout=subprocess.DEVNULL,
        timeout=60,
    )
    return recorded(log, bench.folder)


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def lay_out(cut: Cut, bench) -> None:
    shutil.rmtree(bench.folder, ignore_errors=True)
    bench.folder.mkdir()
    for name, content in cut.files.items():
        (bench.folder / name).write_bytes(content)


def missing(cut: Cut, bench) -> list[str]:
    """The ids that were told and are not there when a bench opens what the cut left."""
    lay_out(cut, bench)
    with bench.journal():
        found = bench.ids()
        assert bench.rows("entries") == len(found)
    if found[: len(cut.told)] == cut.told:
        # What was under way may be there, but then all of it.
        assert found[len(cut.told) :] in ([], cut.under_way)
    return [told for told in cut.told if told not in found]


def tellings(steps: list[Step]) -> set[int]:
    return {number for number, step in enumerate(steps) if ids_in(step)}


@pytest.mark.parametrize("checkpoint_pages", [1000, 20])
def test_nothing_told_is_lost(bench, strace, tmp_path, checkpoint_pages):
    """Right behind every telling, and at places chosen by chance among all the writes."""
    options = ("--appends", 8, "--checkpoint-pages", checkpoint_pages)
    steps = traced(bench, strace, tmp_path / "log", *options)
    assert len(tellings(steps)) == 8
    first_told = min(tellings(steps))
    elsewhere = random.Random(1).sample(range(first_told, len(steps)), CUTS)
    found = cuts(steps, {}, tellings(steps) | set(elsewhere), seed=2)
    assert len(found) >= 2 * CUTS
    for cut in found:
        assert missing(cut, bench) == []


def test_a_cut_while_the_folder_is_made_leaves_a_folder_to_open(bench, strace, tmp_path):
    steps = traced(bench, strace, tmp_path / "log", "--appends", 1)
    making = range(min(tellings(steps)))
    for cut in cuts(steps, {}, set(random.Random(3).sample(making, CUTS // 2)), seed=4):
        assert missing(cut, bench) == []


def test_the_folders_that_were_made_are_on_the_disk_too(bench, strace, tmp_path):
    """Nothing told is worth anything in a folder whose name is lost."""
    bench.folder = tmp_path / "shop" / "bench 1" / "data"
    log = tmp_path / "log"
    traced(bench, strace, log, "--appends", 1)
    synced = set()
    for line in log.read_text().splitlines():
        call, arguments, _ = LINE.match(line).groups()
        if call == "fsync":
            synced.add(Path(unhex(FD.match(arguments)[2]).decode()))
        if call == "write" and arguments.startswith("1<"):
            break
    assert {tmp_path, tmp_path / "shop", tmp_path / "shop" / "bench 1"} <= synced


@pytest.mark.parametrize("synchronous", ["OFF", "NORMAL"])
def test_without_the_fsync_what_was_told_is_lost(bench, strace, tmp_path, synchronous):
    """The same with the one thing taken out that it is about: shows that this test can fail."""
    bench.prepare()
    base = contents(bench.folder)
    options = ("--appends", 8, "--synchronous", synchronous)
    steps = traced(bench, strace, tmp_path / "log", *options)
    found = cuts(steps, base, tellings(steps), seed=2)
    with_all_lost = found[::2]
    assert len(with_all_lost) == 8
    for cut in with_all_lost:
        assert missing(cut, bench) == cut.told != []


def test_with_the_fsync_the_same_run_loses_nothing(bench, strace, tmp_path):
    bench.prepare()
    base = contents(bench.folder)
    steps = traced(bench, strace, tmp_path / "log", "--appends", 8)
    for cut in cuts(steps, base, tellings(steps), seed=2):
        assert missing(cut, bench) == []
