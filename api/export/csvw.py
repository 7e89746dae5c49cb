"""What the columns of the CSV mean, for programs: W3C Metadata Vocabulary for Tabular Data 2015."""

import json

from api.export.columns import COLUMNS

MEDIA_TYPE = "application/csvm+json"


def describe(url: str) -> bytes:
    """The description of the table at `url`, which counts from where the description lies."""
    described = {
        "@context": ["http://www.w3.org/ns/csvw", {"@language": "en"}],
        "url": url,
        "dialect": {"encoding": "utf-8", "lineTerminators": ["\r\n"], "header": True},
        "tableSchema": {
            "primaryKey": "measurement_id",
            "columns": [
                {
                    "name": column.name,
                    "titles": column.name,
                    "datatype": column.datatype,
                    "dc:description": column.about,
                    "required": column.name == "measurement_id",
                }
                for column in COLUMNS
            ],
        },
    }
    return json.dumps(described, indent=1, ensure_ascii=False).encode() + b"\n"
