"""What the tests of exports share: the standard's schema, which is not ours and is not here."""

import os
from pathlib import Path

import pytest

from api.qif_schema import schema_check


@pytest.fixture(scope="session")
def qif_schema():
    """Faults of a QIF document, by the schema in the folder that QIF_SCHEMA_DIR names."""
    folder = os.environ.get("QIF_SCHEMA_DIR")
    if not folder:
        pytest.skip("QIF_SCHEMA_DIR names no folder with the QIF 3.0 schema, which is not ours")
    return schema_check(Path(folder))
