"""The figures of the parts (wear, taper, rate …) as rows beside the measurements.

The record works them out; here each gets a name like any characteristic's and an id of its own, so
that a table or a document that knows measurements only can state them too.
"""

from collections.abc import Iterator
from decimal import Decimal

from api.export.ids import id_for
from daq.head.measurement import Came, Measurement, Status
from daq.head.shapes import Figure, PartShape
from daq.head.view import RecordView
from daq.metrology.measured import COVERAGE_K

# Names that say which surface of the part is meant.
_NAMES = {
    ("valve", "largest"): "valve.stem_diameter_largest",
    ("valve", "smallest"): "valve.stem_diameter_smallest",
    ("valve", "wear"): "valve.stem_wear",
    ("valve", "taper"): "valve.stem_taper",
    ("valve", "ovality"): "valve.stem_ovality",
    ("guide", "largest"): "guide.diameter_largest",
    ("guide", "smallest"): "guide.diameter_smallest",
}
_K = Decimal(str(COVERAGE_K))


def with_figures(record: RecordView) -> RecordView:
    """The record with the figures of its parts behind its measurements, as derived values.

    They have no limit and are judged by nobody. complete: everything that the plan asks of the
    part was measured. measured_at: of the last value that went in.
    """
    if not record.shapes:
        return record
    return record.model_copy(update={"measurements": (*record.measurements, *_all(record))})


def figure_id(job: str, position: str, part: str, name: str) -> str:
    """The id of a figure; the same whenever the same job is written."""
    return id_for("figure", job, position, part, name)


def name_of_figure(part: str, name: str) -> str:
    """`taper` of a valve is `valve.stem_taper`, `rate` of a spring `spring.rate`."""
    return _NAMES.get((part, name), f"{part}.{name.replace(' ', '_')}")


def _all(record: RecordView) -> Iterator[Measurement]:
    times = {m.id: m.measured_at for m in record.measurements}
    for shape in record.shapes:
        last = max((times[each] for each in shape.inputs if each in times), default=None)
        for figure in shape.figures:
            yield _measurement(record, shape, figure, last or record.job.opened_at)


def _measurement(record: RecordView, shape: PartShape, figure: Figure, at: str) -> Measurement:
    return Measurement(
        id=figure_id(record.job.id, shape.position, shape.part, figure.name),
        position=shape.position,
        characteristic=name_of_figure(shape.part, figure.name),
        value=figure.value,
        unit=figure.unit,
        uncertainty=figure.uncertainty,
        k=_K,
        status=Status.NOT_ANALYZED,
        complete=shape.whole,
        came=Came.DERIVED,
        measured_at=at,
        note=shape.note or None,
        inputs=shape.inputs,
    )
