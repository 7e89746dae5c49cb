"""Tokens: who may do what from another machine. At rest there is a hash of each, never itself.

A token is 256 bits of chance, so a plain SHA-256 of it is as good as a slow one.
"""

import hashlib
import json
import re
import secrets
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from enum import StrEnum
from pathlib import Path

from api.files import appear

FILE_NAME = "tokens.json"
SECRET_BYTES = 32
ID_BYTES = 4
TOKEN = re.compile(r"bt_([0-9a-f]{8})_([A-Za-z0-9_-]{43})")


class Scope(StrEnum):
    """What a token lets its holder do; none includes another."""

    READ = "read"
    MEASURE = "measure"
    SIGN = "sign"


class TokenError(Exception):
    """For the operator: what is wrong with the tokens."""


@dataclass(frozen=True, slots=True)
class Token:
    """A token as it is kept. sha256: of the secret half; id: the other half, not secret."""

    id: str
    name: str
    scopes: tuple[str, ...]
    made_at: str
    sha256: str


class Tokens:
    """The tokens of a data folder. The file is read again when it was changed."""

    def __init__(self, folder: Path) -> None:
        self.file = folder / FILE_NAME
        self._seen: tuple[int, int, int] | None = None
        self._tokens: Mapping[str, Token] = {}

    def scopes_of(self, text: str) -> frozenset[str] | None:
        """What the holder of that token may do; None for one that is not known here."""
        match = TOKEN.fullmatch(text)
        if match is None:
            return None
        known = self._read().get(match[1])
        digest = hashlib.sha256(match[2].encode()).hexdigest()
        if known is None or not secrets.compare_digest(digest, known.sha256):
            return None
        return frozenset(known.scopes)

    def all(self) -> list[Token]:
        """Every token, oldest first. Raises TokenError."""
        return list(self._read().values())

    def add(self, name: str, scopes: Iterable[Scope], made_at: str) -> str:
        """Make a token and give it; it is shown this once and never again."""
        secret = secrets.token_urlsafe(SECRET_BYTES)
        token_id = secrets.token_hex(ID_BYTES)
        digest = hashlib.sha256(secret.encode()).hexdigest()
        wanted = tuple(dict.fromkeys(scope.value for scope in scopes))
        self._write([*self.all(), Token(token_id, name, wanted, made_at, digest)])
        return f"bt_{token_id}_{secret}"

    def remove(self, token_id: str) -> None:
        """Forget a token: nobody comes in with it any more. Raises TokenError."""
        left = [token for token in self.all() if token.id != token_id]
        if len(left) == len(self.all()):
            raise TokenError(f"there is no token {token_id!r}; 'benchtally token --list' shows all")
        self._write(left)

    def _read(self) -> Mapping[str, Token]:
        try:
            at = self.file.stat()
            seen = (at.st_mtime_ns, at.st_size, at.st_ino)
            if seen != self._seen:
                rows = json.loads(self.file.read_bytes())
                made = [Token(**{**row, "scopes": tuple(row["scopes"])}) for row in rows]
                self._tokens = {token.id: token for token in made}
                self._seen = seen
        except FileNotFoundError:
            self._tokens, self._seen = {}, None
        except (OSError, ValueError, TypeError, KeyError) as error:
            raise TokenError(f"{self.file} cannot be read ({type(error).__name__}).") from None
        return self._tokens

    def _write(self, tokens: list[Token]) -> None:
        """For its owner only, and whole or not at all."""
        text = json.dumps([asdict(token) for token in tokens], indent=1)
        try:
            self.file.parent.mkdir(parents=True, exist_ok=True)
            appear(self.file, [text.encode()], mode=0o600)
        except OSError as error:
            raise TokenError(f"{self.file} cannot be written: {error.strerror}.") from None
