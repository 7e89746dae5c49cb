"""A kept measurement read back from its entry."""

from daq.head.measurement import Measurement
from daq.head.record import Entry


def measurement_of(entry: Entry) -> Measurement:
    """The measurement an entry kept, as it was when it was kept."""
    body = dict(entry.body)
    measured_at = body.pop("measured_at", None) or entry.at
    return Measurement.model_validate({**body, "id": entry.id, "measured_at": measured_at})
