"""The photographs of a data folder: files named by their hash; the records say what they show."""

import hashlib
import os
import re
import shutil
from collections.abc import Collection
from pathlib import Path

from daq.head.errors import UnknownError
from daq.head.photograph import Photograph
from daq.records.database import make_folder, sentences
from daq.records.errors import AlteredError

FOLDER_NAME = "photographs"
_OURS = re.compile(r"\.?[0-9a-f]{64}\.(jpg|png)(\.part)?")


class Photographs:
    """The files; which of them there should be, the records say."""

    def __init__(self, data: Path) -> None:
        self.folder = data / FOLDER_NAME

    def keep(self, name: str, picture: bytes) -> None:
        """Write a picture; it is on the disk, whole, when this returns. Raises RecordError.

        One that no record came to name, because the write after it failed, does no harm: it has
        the name that it is looked for by, and `keep_only` takes it away.
        """
        file, part = self.folder / name, self.folder / f".{name}.part"
        with sentences(file):
            make_folder(self.folder)
            with part.open("wb") as out:
                out.write(picture)
                out.flush()
                os.fsync(out.fileno())
            part.replace(file)
            _sync(self.folder)

    def read(self, photograph: Photograph) -> bytes:
        """The picture, checked. Raises UnknownError, AlteredError, RecordError."""
        file = self.folder / photograph.file_name
        with sentences(file):
            try:
                picture = file.read_bytes()
            except FileNotFoundError:
                raise UnknownError(
                    f"the photograph {photograph.id} is in the record, and its file {file} is "
                    "missing; look for it in a backup"
                ) from None
        if hashlib.sha256(picture).hexdigest() != photograph.sha256:
            raise AlteredError(
                f"The photograph {file} was altered: it has another hash. Restore it from a backup."
            )
        return picture

    def keep_only(self, named: Collection[str]) -> None:
        """Remove every picture whose name is not among these. Raises RecordError."""
        with sentences(self.folder):
            for file in self._files():
                if file.name not in named:
                    file.unlink()

    def copy_to(self, data: Path) -> None:
        """Copy all of them into another data folder. Raises OSError."""
        files = [file for file in self._files() if file.suffix != ".part"]
        if not files:
            return
        target = Photographs(data).folder
        make_folder(target)
        for file in files:
            shutil.copyfile(file, target / file.name)
            _sync(target / file.name)
        _sync(target)

    def _files(self) -> list[Path]:
        """The pictures here, half written ones too; nothing that somebody else laid here."""
        found = self.folder.iterdir() if self.folder.is_dir() else ()
        return [file for file in found if _OURS.fullmatch(file.name)]


def _sync(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
