"""What whoever gets a bundle reads first."""

from api.export.words import VERDICT_SHAPES
from daq.head.view import RecordView

_FILES = (
    ("record.pdf", "the sheet: page one for the customer, the rest for the next machinist"),
    ("record.xlsx", "the same as a workbook, every cell typed, with charts"),
    ("record.csv", "one row a measurement (RFC 4180, UTF-8); record.csv-metadata.json says what"),
    ("", "each column means (W3C CSV on the Web)"),
    ("record.json", "everything, with the chained entries it was made from; record.schema.json"),
    ("", "is its JSON Schema (2020-12)"),
    ("record.qif", "QIF 3.0 results (ISO 23952), for inspection software"),
    ("record.parquet", "the table and the raw traces, for analysis"),
    ("seal.json", "the hash of the last entry, and the bench's signature under it if there is one"),
    ("traces/", "the raw readings behind each captured value, named by their hash"),
    ("photographs/", "the pictures that record.json lists, named by their hash"),
    ("SHA256SUMS", "check with: sha256sum -c SHA256SUMS"),
)


def readme(record: RecordView, *, has_parquet: bool) -> str:
    """Plain text, a screen long."""
    job = record.job
    files = [
        f"  {name:<16}{text}" for name, text in _FILES if has_parquet or name != "record.parquet"
    ]
    signed = "not signed yet" if job.signed_by is None else f"signed by {job.signed_by}"
    return "\n".join(
        [
            f"Inspection record of job {job.number}: {job.head_named}",
            f"Verdict: {VERDICT_SHAPES[record.verdict]} {record.verdict.value}; {signed}.",
            "",
            "Files:",
            *files,
            "",
            "Is it whole and unaltered?",
            "  benchtally verify record.json",
            f"  It has to end with entry {record.head.entries} and the hash",
            f"  {record.head.hash}",
            "  Ask the bench for that hash by another way than the one this came by.",
            "",
            "How to read it: PASS is proven within its limit, FAIL proven outside, INDETERMINATE",
            "neither (ISO 14253-1, through the expanded uncertainty, k = 2), NOT_ANALYZED has no",
            "limit, VOID was withdrawn with a reason. Nothing is left out; what rework has",
            "overtaken is marked superseded. Lengths are in mm, units are UCUM codes.",
            "",
        ]
    )
