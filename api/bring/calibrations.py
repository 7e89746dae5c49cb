"""Accepted calibrations of the bench's gauges: one file a gauge in its data folder.

They stand in for what `bench.toml` says of certificate, day and error limit from the next start
of the service on; nothing that was measured before changes.
"""

import re
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

from pydantic import BaseModel, ConfigDict, ValidationError

from api.bring.dcc import Certificate
from api.files import appear
from daq.head.errors import RefusedError
from daq.head.instrument import Instrument

FOLDER = "calibrations"


class Accepted(BaseModel):
    """A certificate that a person looked at. due: the shop's word, not the laboratory's."""

    model_config = ConfigDict(frozen=True)

    gauge: str
    serial: str
    person: str
    accepted_at: str
    due: date
    error_limit_mm: Decimal | None
    certificate: Certificate


def keep(data: Path, accepted: Accepted) -> Path:
    """Write it, whole or not at all. Raises OSError."""
    folder = data / FOLDER
    folder.mkdir(parents=True, exist_ok=True)
    file = folder / f"{_file_name(accepted.serial)}.json"
    appear(file, [accepted.model_dump_json(indent=1).encode()])
    return file


def calibrated(data: Path, instrument: Instrument) -> Instrument:
    """The gauge as its accepted calibration says; as it is where there is none.

    Raises RefusedError for a file that was altered: a doubtful calibration is none.
    """
    file = data / FOLDER / f"{_file_name(instrument.serial)}.json"
    if not instrument.serial or not file.is_file():
        return instrument
    try:
        accepted = Accepted.model_validate_json(file.read_text("utf-8"))
    except (OSError, ValidationError) as error:
        raise RefusedError(
            f"the accepted calibration in {file} cannot be read ({error}); bring the certificate "
            "in again, or take the file away"
        ) from None
    if accepted.serial != instrument.serial:
        raise RefusedError(f"{file} is the calibration of {accepted.serial!r}; take it away")
    limit = accepted.error_limit_mm
    return replace(
        instrument,
        certificate=accepted.certificate.certificate,
        calibration_due=accepted.due,
        error_limit_mm=instrument.error_limit_mm if limit is None else float(limit),
    )


def _file_name(serial: str) -> str:
    """Letters any disk takes; a serial that is changed by it keeps its own by its bytes."""
    safe = re.sub(r"[^A-Za-z0-9._-]", "-", serial)
    return safe if safe == serial else f"{safe}-{serial.encode().hex()}"
