"""What a `bench.toml` says of exports: [export]."""

from typing import Annotated

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from api.export.given import LengthUnit, Paper


def _is_format(name: str) -> str:
    from api.export import WRITERS

    if name not in WRITERS:
        raise ValueError(f"has to hold export formats; there are {', '.join(WRITERS)}")
    return name


class ExportTable(BaseModel):
    """Exports. folder: gets each job's files when it is closed; formats: which. paper, length:
    how the sheet is printed. qif_schema: the folder with the QIF schema, if there is one."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)

    folder: Annotated[str, Field(min_length=1)] | None = None
    formats: list[Annotated[str, AfterValidator(_is_format)]] = ["pdf", "json"]
    paper: Paper = "a4"
    length: LengthUnit = "mm"
    qif_schema: Annotated[str, Field(min_length=1)] | None = None
