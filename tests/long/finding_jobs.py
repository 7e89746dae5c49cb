"""How long it takes to find one of a hundred thousand jobs, with records in them, by hand:

.venv/bin/python tests/long/finding_jobs.py [JOBS]
"""

import random
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import median
from uuid import UUID

from daq.head.plan import shipped_plans
from daq.head.record import Draft, EntryKind
from daq.records.journal import Journal

NAMES = ("Abel", "Brandt", "Cramer", "Duval", "Eriksen", "Fontana", "Görlitz", "Hansen", "Ilves")
OPEN_ONES = 40
AT_ONCE = 500


def main(how_many: int) -> None:
    chance = random.Random(1)
    with tempfile.TemporaryDirectory() as folder:
        start, ticks = datetime(2026, 1, 5, 8, tzinfo=UTC), iter(range(10**9))
        journal = Journal.open(
            Path(folder),
            now=lambda: start + timedelta(seconds=next(ticks)),
            new_id=lambda: str(UUID(int=chance.getrandbits(128))),
        )
        with journal:
            took_s = filled(journal, how_many, chance)
            print(f"{how_many} invented jobs made in {took_s:.0f} s")
            size = sum(each.stat().st_size for each in Path(folder).iterdir())
            print(f"{size / 2**20:.0f} MiB on the disk")
            for what, asked in QUESTIONS.items():
                show(journal, what, asked, how_many)


def filled(journal: Journal, how_many: int, chance: random.Random) -> float:
    plan = shipped_plans()["four-by-two"].model_dump(mode="json", exclude_none=True)
    began = time.perf_counter()
    drafts: list[Draft] = []
    for at in range(how_many):
        job = f"job-{at}"
        customer = f"{chance.choice(NAMES)} {at % 977}, invented"
        opening = {"number": f"J-{at:06d}", "plan": plan, "customer": customer, "person": None}
        drafts.append(Draft(job, EntryKind.JOB_OPENED, opening))
        if at < how_many - OPEN_ONES:
            drafts.append(Draft(job, EntryKind.SIGNED, {"person": "invented", "open": []}))
        if len(drafts) >= AT_ONCE:
            journal.append(drafts)
            drafts = []
    journal.append(drafts)
    return time.perf_counter() - began


QUESTIONS = {
    "the newest fifty": {"text": "", "state": None},
    "the open ones": {"text": "", "state": "open"},
    "one number, of the middle": {"text": "J-{middle}", "state": None},
    "the beginning of a number": {"text": "00{half}", "state": None},
    "a customer's name and number": {"text": "fontana 512", "state": None},
    "a word that all have": {"text": "invented", "state": None},
    "two words that all have, open": {"text": "invented j", "state": "open"},
    "nobody": {"text": "zzz", "state": None},
}


def show(journal: Journal, what: str, asked: dict, how_many: int) -> None:
    text = asked["text"].format(middle=f"{how_many // 2:06d}", half=f"{how_many // 2:06d}"[2:4])
    took = []
    for _ in range(15):
        began = time.perf_counter()
        found = journal.found(text, asked["state"], before=None, limit=50)
        took.append(1000 * (time.perf_counter() - began))
    print(
        f"{what:32} {text!r:18} {len(found):3} shown  median {median(took):7.2f} ms"
        f"  most {max(took):7.2f} ms"
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100_000)
