"""One invented record with everything in it, folded from entries as a journal would write them."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

from daq.head.changes import Opening, voided
from daq.head.instrument import Instrument
from daq.head.keyed import Keyed, keyed
from daq.head.layout import Layout
from daq.head.limits import Limit
from daq.head.measurement import Came
from daq.head.plan import Direction, Place, Plan, Step, Target
from daq.head.record import GENESIS_HASH, Draft, EntryKind, Record, sealed
from daq.head.view import RecordView, record_view
from tests.generators.a_record import uuid_of

MICROMETER = Instrument("micrometer", "G-1042", 0.001, 0.001, certificate="C-77")
INDICATOR = Instrument("runout indicator", "G-1037", 0.001, 0.001)
BOTH_WAYS: tuple[Direction, ...] = ("along", "across")
STEM_PLACES = {
    "depths_mm": (Decimal(12), Decimal(48)),
    "directions": BOTH_WAYS,
    "nominal_mm": Decimal("6.97"),
    "window_mm": Decimal("0.5"),
}
GUIDE_PLACES = {
    "depths_mm": (Decimal(6), Decimal(38)),
    "directions": BOTH_WAYS,
    "nominal_mm": Decimal("7.01"),
    "window_mm": Decimal("0.5"),
}
PERSON = "I. Nvented"


def invented_plan(layout: Layout) -> Plan:
    """Runout, stems, bores, clearances and recess, with invented limits."""

    def limit(lower, upper, kind="guide"):
        return Limit(lower=lower, upper=upper, kind=kind, source="invented for this test")

    recess = limit(Decimal("0.60"), Decimal("1.40"), "maker")
    return Plan(
        name="invented-head",
        title="Invented head",
        source="invented",
        head=layout,
        steps=(
            Step(characteristic="valve.stem_runout", limit=limit(None, Decimal("0.03"))),
            Step(characteristic="valve.stem_diameter", **STEM_PLACES),
            Step(characteristic="guide.diameter", **GUIDE_PLACES),
            Step(characteristic="guide.clearance_max", limit=limit(None, Decimal("0.10"))),
            Step(characteristic="guide.clearance_min", limit=limit(Decimal("0.020"), None)),
            Step(characteristic="valve.recess", limit=recess),
        ),
    )  # fmt: skip


class Writing:
    """A record that grows entry by entry, a second apart."""

    def __init__(self, opening: Opening, job: str) -> None:
        self._at = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
        self.record = Record(())
        self.write(opening.draft(job))

    def write(self, draft: Draft) -> str:
        """Seal it behind what there is; gives its id."""
        entries = self.record.entries
        entry = sealed(
            draft,
            number=len(entries) + 1,
            entry_id=uuid_of(f"e{len(entries)}"),
            at=self._at.isoformat(timespec="milliseconds").replace("+00:00", "Z"),
            previous=entries[-1].hash if entries else GENESIS_HASH,
        )
        self._at += timedelta(seconds=1)
        self.record = Record((*entries, entry))
        return entry.id

    def key(self, name, position, value, gauge=MICROMETER, place=None, **more) -> str:
        """A value keyed in."""
        target = Target(name, position, place)
        asked = Keyed(target, Decimal(value), "mm", Came.KEYED, gauge, PERSON, **more)
        return self.write(keyed(self.record, asked))


def made(layout: Layout | None = None, positions_measured: int = 3) -> Writing:
    """A head partly measured: good, worn, bent, voided, reworked, and positions left out."""
    layout = layout or Layout(cylinders=2)
    opening = Opening(
        "J-7 =head", invented_plan(layout), "Mäx & Söhne <GmbH>", "burns oil", "front", PERSON,
        bench="Bench 1", head_serial="H-0815",
    )  # fmt: skip
    writing = Writing(opening, uuid_of("made"))
    for number, position in enumerate(layout.positions[:positions_measured]):
        writing.key("valve.stem_runout", position, "0.0850" if number == 1 else "0.012", INDICATOR)
        for depth in ("12", "48"):
            for direction in BOTH_WAYS:
                place = Place(depth_mm=Decimal(depth), direction=direction)
                writing.key("valve.stem_diameter", position, "6.971", place=place)
        for depth in ("6", "38"):
            for direction in BOTH_WAYS:
                place = Place(depth_mm=Decimal(depth), direction=direction)
                bore = "7.150" if number == 2 else "7.012"
                writing.key("guide.diameter", position, bore, place=place, note="by hand")
        writing.key("valve.recess", position, "0.95")
    first, second = layout.positions[0], layout.positions[1]
    slipped = writing.key("valve.recess", first, "-0.05", note="=1+1")
    writing.write(voided(writing.record, slipped, "-slipped", PERSON))
    body = {
        "position": second,
        "part": "valve",
        "act": "replaced",
        "what": "new valve",
        "person": PERSON,
        "invalidates": ["valve.stem_runout"],
        "renews": [],
    }
    writing.write(Draft(writing.record.job, EntryKind.REWORKED, body))
    writing.key("valve.stem_runout", second, "0.010", INDICATOR)
    return writing


def made_record() -> RecordView:
    """The view of it."""
    return record_view(made().record)
