"""The invented job measured, and every value held against what the pretend part really is."""

import asyncio
import statistics
from pathlib import Path
from tempfile import TemporaryDirectory

from api.demo.bench import demo_bench
from api.demo.job import run_job
from drivers.pretend.stage import JumpingClock


def truth_mm(part, characteristic, place):
    """What a perfect measurement of the part would say; only tests look here."""
    bores, stems = part.bore_mm.values(), part.stem_mm.values()
    match characteristic:
        case "valve.stem_runout":
            return part.section.runout_mm
        case "valve.stem_diameter":
            return part.stem_mm[place]
        case "guide.diameter":
            return part.bore_mm[place]
        case "valve.recess":
            return part.recess_mm
        case "guide.clearance_max":
            return max(bores) - min(stems)
        case "guide.clearance_min":
            return min(bores) - max(stems)
        case "guide.clearance_mean":
            return statistics.fmean(bores) - statistics.fmean(stems)
    raise AssertionError(characteristic)


async def _measured(seed, folder):
    async with demo_bench(folder, JumpingClock(), seed) as bench:
        return await run_job(bench, seed, lambda seen: None), bench.parts


def errors(seed):
    """(where, characteristic, error, expanded uncertainty), and (position, part, decision)."""
    with TemporaryDirectory() as folder:
        record, parts = asyncio.run(_measured(seed, Path(folder)))
    found = []
    for m in record.measurements:
        if m.status != "VOID" and m.complete:
            truth = truth_mm(parts[m.position], m.characteristic, m.place)
            where = f"seed {seed}, {m.position} {m.place}"
            found.append((where, m.characteristic, float(m.value) - truth, float(m.uncertainty)))
    return found, [(each.position, each.part, each.decision.value) for each in record.decisions]
