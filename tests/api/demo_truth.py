"""The invented job measured, and every value held against what the pretend part really is."""

import asyncio
import multiprocessing
import statistics
from collections import defaultdict
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from tempfile import TemporaryDirectory

from api.demo.bench import demo_bench
from api.demo.job import run_job
from drivers.pretend.stage import JumpingClock

FAULTS = {
    ("3E", "valve"): "replace",
    ("2E", "guide"): "rework",
    ("4I", "valve"): "rework",
    ("1E", "spring"): "replace",
    ("2I", "seat"): "rework",
}
CAPTURED_MM = {
    *("valve.stem_runout", "valve.face_runout", "seat.runout", "valve.stem_diameter"),
    *("guide.diameter", "valve.recess"),
}


def truth_of(part, characteristic, place):
    """What a perfect measurement of the part would say; only tests look here."""
    bores, stems = part.bore_mm.values(), part.stem_mm.values()
    match characteristic:
        case "valve.stem_runout":
            return part.stem.runout_mm
        case "valve.face_runout":
            return part.face.runout_mm
        case "seat.runout":
            return part.seat.runout_mm
        case "valve.stem_diameter":
            return part.stem_mm[place]
        case "guide.diameter":
            return part.bore_mm[place]
        case "valve.recess":
            return part.recess_mm
        case "seat.leak":
            return part.leak_mbar_l_s
        case "guide.clearance_max":
            return max(bores) - min(stems)
        case "guide.clearance_min":
            return min(bores) - max(stems)
        case "guide.clearance_mean":
            return statistics.fmean(bores) - statistics.fmean(stems)
    return part.by_eye[characteristic, place]


async def _measured(seed, folder):
    async with demo_bench(folder, JumpingClock(), seed) as bench:
        record = await run_job(bench, seed, lambda seen: None)
        return record, bench.parts, bench.face


def errors(seed):
    """(where, characteristic, error, expanded uncertainty), and (position, part, decision)."""
    with TemporaryDirectory() as folder:
        record, parts, face = asyncio.run(_measured(seed, Path(folder)))
    found = []
    for m in record.measurements:
        if m.status == "VOID" or not m.complete or m.unit == "1":
            continue
        key = (m.characteristic, m.place)
        truth = face[key] if m.position == "head" else truth_of(parts[m.position], *key)
        where = f"seed {seed}, {m.position} {m.place}"
        found.append((where, m.characteristic, float(m.value) - truth, float(m.uncertainty)))
    return found, [(each.position, each.part, each.decision.value) for each in record.decisions]


def measured_over(seeds):
    """`errors` of every seed; two processes share them."""
    fresh = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(2, mp_context=fresh) as pool:
        return list(pool.map(errors, seeds))


def share_inside(measured):
    """The share of values within their stated uncertainty; none may be beyond twice that."""
    rows = [row for found, _ in measured for row in found]
    assert len(rows) >= len(measured) * 225
    by_kind = defaultdict(list)
    for _, characteristic, error, uncertainty in rows:
        by_kind[characteristic].append(abs(error) <= uncertainty)
    for characteristic, inside in by_kind.items():
        print(f"{characteristic}: {statistics.fmean(inside):.1%} of {len(inside)} inside")
    assert [row for row in rows if abs(row[2]) > 2 * row[3]] == []
    assert statistics.median(row[3] for row in rows if row[1] in CAPTURED_MM) <= 0.004
    share = statistics.fmean(abs(row[2]) <= row[3] for row in rows)
    print(f"all: {share:.2%} of {len(rows)} inside")
    return share


def check_decisions(measured):
    """Exactly the invented faults are found, and nothing is assembled that is not in order."""
    for _, decisions in measured:
        assert {each[:2] for each in decisions} >= set(FAULTS)
        not_proven = {
            position
            for position, part, decision in decisions
            if part != "assembly" and decision != "accept"
        }
        # Nothing goes into a head that is not proven itself.
        all_here = {position for position, *_ in decisions}
        good = set() if "head" in not_proven else all_here - not_proven
        for position, part, decision in decisions:
            if (position, part) in FAULTS:
                assert decision == FAULTS[position, part], (position, part)
            elif part == "assembly":
                assert (decision == "accept") == (position in good), position
            else:
                assert decision in {"accept", "unsure"}, (position, part)
