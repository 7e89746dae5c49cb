"""Invented records of any head: any layout, voids, units, missing parts, names in any script.

They are made directly as what an export is given, so that a writer meets everything a record may
hold, likely or not. Statuses agree with values and limits; everything else is free.
"""

import hashlib
from decimal import Decimal

from hypothesis import strategies as st

from daq.head.characteristic import CATALOGUE
from daq.head.decide import Decision, Reason, Verdict
from daq.head.layout import Layout
from daq.head.measurement import Came, Limits, Measurement, Status
from daq.head.plan import Place
from daq.head.record import EntryKind
from daq.head.shapes import Figure, PartShape
from daq.head.verdict import verdict_of
from daq.head.view import ChainHead, EntryView, JobView, Note, RecordView

# What a body sent to us may hold: anything but control characters.
LETTERS = st.characters(codec="utf-8", exclude_categories=("Cc", "Cs"))
HOSTILE = (
    "=HYPERLINK(1)", "+1", "-cmd", "@SUM(A1)", 'quoted "so"', "a,b;c", "'already", "1e5", "true",
    "<b>&amp;</b>", "Müller & Söhne", "田中 太郎", "Ελένη", "Вероника", "محمد", "e\u0301 joined",
    "#let x = 1", "_x0041_", "\\u0041 $x^2$ *bold* [link] @ref", "]]>", "long " * 30, "\ufffe",
    "NULL", "00012",
)  # fmt: skip
WORDS = st.one_of(st.sampled_from(HOSTILE), st.text(LETTERS, min_size=1, max_size=40)).filter(
    str.strip
)
MAYBE = st.none() | WORDS
UNITS_TO_VALUES = {"1": st.sampled_from([Decimal(0), Decimal(1)])}


def uuid_of(seed: str) -> str:
    digest = hashlib.sha256(seed.encode()).hexdigest()
    return f"{digest[:8]}-{digest[8:12]}-4{digest[13:16]}-a{digest[17:20]}-{digest[20:32]}"


def decimals(low: int, high: int):
    """Plain decimals with 0 to 5 digits behind the point, each with as many as it says."""
    return st.builds(
        lambda whole, digits: Decimal(whole).scaleb(-digits),
        st.integers(low, high),
        st.integers(0, 5),
    )


@st.composite
def limits(draw):
    one, other = sorted([draw(decimals(-9999, 99999)), draw(decimals(-9999, 99999))])
    return draw(
        st.sampled_from(
            [
                Limits(lower=one, upper=other),
                Limits(lower=None, upper=other),
                Limits(lower=one, upper=None),
            ]
        )
    )


def times():
    return st.builds(
        lambda day, ms: (
            f"2026-11-{day:02d}T09:{ms // 60000:02d}:{ms // 1000 % 60:02d}.{ms % 1000:03d}Z"
        ),
        st.integers(1, 28),
        st.integers(0, 3_599_999),
    )


def status_for(value, limit, complete, sure):
    """What may stand beside a value: PASS and FAIL only where they are true and proven."""
    if limit is None:
        return Status.NOT_ANALYZED
    if value is None or not sure:
        return Status.INDETERMINATE
    inside = (limit.lower is None or value >= limit.lower) and (
        limit.upper is None or value <= limit.upper
    )
    if not inside:
        return Status.FAIL
    return Status.PASS if complete else Status.INDETERMINATE


@st.composite
def measurements(draw, positions, number):
    about = CATALOGUE[draw(st.sampled_from(sorted(CATALOGUE)))]
    value = draw(st.none() | UNITS_TO_VALUES.get(about.unit, decimals(-99999, 999999)))
    limit = draw(st.none() | limits())
    complete = value is not None and draw(st.booleans())
    status = status_for(value, limit, complete, draw(st.booleans()))
    void = draw(st.sampled_from([None, None, None, "slipped", "=void()"]))
    derived = about.capture is None
    gauge = None if derived else draw(st.none() | st.sampled_from(["G-1", "=G-2", "微 3"]))
    return Measurement(
        id=uuid_of(f"m{number}"),
        position=draw(st.sampled_from(positions)),
        characteristic=about.name,
        place=draw(
            st.none()
            | st.builds(
                Place, depth_mm=decimals(0, 500), direction=st.sampled_from(["along", "across"])
            )
        ),
        value=value,
        unit=about.unit,
        uncertainty=None if value is None else draw(st.none() | decimals(0, 9999)),
        k=Decimal("2.0"),
        status=Status.VOID if void else status,
        complete=complete,
        came=Came.DERIVED if derived else draw(st.sampled_from([Came.CAPTURED, Came.KEYED])),
        gauge=gauge,
        gauge_serial=None if gauge is None else f"S{gauge}",
        certificate=None if gauge is None else draw(st.sampled_from([None, "C-1"])),
        calibration_due=None if gauge is None else draw(st.sampled_from([None, "2027-03-31"])),
        person=draw(MAYBE),
        measured_at=draw(times()),
        limits=limit,
        limit_source=None if limit is None else draw(WORDS),
        trace_sha256=None if derived else draw(st.none() | st.just("ab" * 32)),
        void_reason=void,
        superseded=void is None and draw(st.booleans()) and draw(st.booleans()),
        take=draw(st.integers(1, 3)),
        reason="" if complete else draw(st.sampled_from(["", "half a turn was seen"])),
        note=draw(MAYBE),
    )


@st.composite
def decisions(draw, positions, values):
    found = []
    for position in positions:
        here = [m for m in values if m.position == position]
        for part in ("valve", "guide"):
            reasons = tuple(
                Reason(
                    characteristic=m.characteristic,
                    measurement_id=m.id,
                    limit=m.limits,
                    limit_source=m.limit_source,
                    text=f"{m.characteristic} {m.value} {m.unit}",
                    next=draw(st.sampled_from(["", "measure again"])),
                )
                for m in here[:2]
            )
            verdict = draw(st.sampled_from(Verdict))
            found.append(Decision(position=position, part=part, decision=verdict, reasons=reasons))
    return tuple(found)


_NOTES = (
    (EntryKind.REWORKED, {"part": "valve", "what": "new valve", "person": None, "invalidates": []}),
    (EntryKind.TEMPERATURE, {"part_c": "20.5", "gauge_c": "20.1"}),
    (EntryKind.BROKEN, {"characteristic": "valve.look", "place": None, "reason": "=stopped"}),
)


def _opening(at: str) -> EntryView:
    """The first entry with as much of a plan as an export looks at: two nominal sizes."""
    steps = [
        {"characteristic": "guide.diameter", "nominal_mm": "7.01"},
        {"characteristic": "valve.stem_diameter", "nominal_mm": "6.97"},
    ]
    return EntryView(
        number=1,
        id=uuid_of("opening"),
        at=at,
        kind=EntryKind.JOB_OPENED,
        body={"plan": {"steps": steps}},
        previous="0" * 64,
        hash="1" * 64,
    )


_FIGURES = {
    "valve": (("largest", "mm"), ("wear", "mm"), ("taper", "mm"), ("ovality", "mm")),
    "guide": (("smallest", "mm"), ("bell mouth", "mm")),
    "spring": (("rate", "N/mm"), ("lean", "deg")),
}


@st.composite
def shapes(draw, positions, values):
    found = []
    for position in draw(st.lists(st.sampled_from(positions), max_size=3, unique=True)):
        part = draw(st.sampled_from(sorted(_FIGURES)))
        figures = tuple(
            Figure(
                name=name,
                value=draw(decimals(-9999, 99999)),
                unit=unit,
                uncertainty=draw(st.none() | decimals(0, 999)),
            )
            for name, unit in _FIGURES[part]
        )
        found.append(
            PartShape(
                position=position,
                part=part,
                figures=figures,
                whole=draw(st.booleans()),
                note=draw(st.sampled_from(["", "thinner at mid length", "=look()"])),
                inputs=tuple(m.id for m in values if m.position == position),
            )
        )
    return tuple(found)


@st.composite
def records(draw, most=12):
    layout = draw(
        st.builds(
            Layout,
            cylinders=st.integers(1, 12),
            intake=st.integers(1, 3),
            exhaust=st.integers(1, 2),
        )
    )
    positions = layout.positions
    values = tuple(
        draw(measurements(positions, number)) for number in range(draw(st.integers(0, most)))
    )
    decided = draw(decisions(positions[:4], values))
    kinds = draw(st.lists(st.sampled_from(_NOTES), max_size=3))
    notes = tuple(
        Note(
            id=uuid_of(f"n{n}"),
            at=draw(times()),
            kind=kind,
            body={**body, "position": positions[0]},
        )
        for n, (kind, body) in enumerate(kinds)
    )
    job = JobView(
        id=uuid_of("job"),
        number=draw(WORDS),
        plan="four-by-two",
        plan_title=draw(WORDS),
        customer=draw(MAYBE),
        complaint=draw(MAYBE),
        cylinder_one=draw(MAYBE),
        person=draw(MAYBE),
        bench=draw(MAYBE),
        head_serial=draw(MAYBE),
        bank=draw(st.sampled_from([None, "left", "right"])),
        opened_at="2026-11-01T08:00:00.000Z",
        signed_at=draw(st.none() | st.just("2026-11-29T08:00:00.000Z")),
        signed_by=draw(MAYBE),
    )
    return RecordView(
        job=job,
        measurements=values,
        decisions=decided,
        verdict=verdict_of(decided),
        capturing=None,
        remaining=draw(st.integers(0, 99)),
        notes=notes,
        entries=draw(st.sampled_from([(), (_opening(job.opened_at),)])),
        shapes=draw(shapes(positions, values)),
        head=ChainHead(entries=1 + len(values), hash=hashlib.sha256(b"head").hexdigest()),
    )
