"""The standard's own schema, from a copy that the user has; none comes with this program."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from api.export import ExportError
from api.export.given import QifCheck

_FILE = Path("QIFApplications") / "QIFDocument.xsd"
FAULTS_SHOWN = 3


def schema_check(folder: Path) -> QifCheck:
    """What tells the faults of a QIF document. Raises ExportError when there is no schema.

    The folder holds QIFApplications and QIFLibrary. Loaded once: it takes a tenth of a second.
    Neither the schema nor a document may reach for the network or an entity.
    """
    from lxml import etree

    file = folder / _FILE
    if not file.is_file():
        raise ExportError(
            f"There is no QIF schema in {folder}: it has to hold {_FILE}. Give the folder that "
            "has QIFApplications and QIFLibrary in it."
        )
    parser = etree.XMLParser(no_network=True, resolve_entities=False)
    try:
        schema = etree.XMLSchema(etree.parse(str(file), parser))
    except (etree.XMLSchemaParseError, etree.XMLSyntaxError, OSError) as error:
        raise ExportError(f"The QIF schema in {folder} cannot be read: {error}.") from None

    def check(document: bytes) -> Sequence[str]:
        if schema.validate(etree.fromstring(document, parser)):
            return ()
        log: Any = schema.error_log
        return [f"line {line.line}: {line.message}" for line in list(log)[:FAULTS_SHOWN]]

    return check
