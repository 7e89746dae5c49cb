"""Where each bench can be asked for what is missing: by the operator's list, not its own word."""

import tomllib
from pathlib import Path
from typing import Annotated
from urllib.parse import urlsplit

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError


class BenchesError(Exception):
    """For the operator: what is wrong with the list."""


def _is_address(url: str) -> str:
    parts = urlsplit(url)
    if parts.scheme not in {"http", "https"} or not parts.hostname or "@" in parts.netloc:
        raise ValueError("has to be an address like https://bench-1.shop:8620")
    return url.rstrip("/")


class BenchTable(BaseModel):
    """source: as its events name it; token_file: holds a token with the scope `read`."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)

    source: Annotated[str, Field(min_length=1, max_length=500)]
    url: Annotated[str, AfterValidator(_is_address)]
    token_file: str | None = None


class Listed(BaseModel):
    """The whole file."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)

    bench: list[BenchTable] = []


class Asked(BaseModel):
    """A bench that can be asked."""

    source: str
    url: str
    token: str | None


def load_benches(file: Path) -> list[Asked]:
    """The benches in that list. Raises BenchesError."""
    try:
        listed = Listed.model_validate(tomllib.loads(file.read_text("utf-8")))
        return [
            Asked(source=each.source, url=each.url, token=_token(file, each.token_file))
            for each in listed.bench
        ]
    except OSError as error:
        raise BenchesError(f"{error.filename} cannot be read: {error.strerror}.") from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise BenchesError(f"{file} is not TOML: {error}.") from None
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False)[0]
        where = ".".join(str(part) for part in first["loc"])
        raise BenchesError(f"{file}: {where}: {first['msg']}.") from None


def _token(file: Path, name: str | None) -> str | None:
    return None if name is None else (file.parent / name).read_text("utf-8").strip()
