"""Labels are scanned by a reader that is not ours, and lead back to the job."""

from urllib.parse import parse_qs, urlsplit

import pypdfium2
import pytest

from api.export import ALONE, WRITERS
from tests.generators.a_made_record import made_record

zxingcpp = pytest.importorskip("zxingcpp", reason="nothing here reads codes: install zxing-cpp")


def scanned(data: bytes) -> list[str]:
    found = []
    for page in pypdfium2.PdfDocument(data):
        image = page.render(scale=3, grayscale=True).to_numpy()
        found += [each.text for each in zxingcpp.read_barcodes(image)]
    return found


def test_every_part_has_a_label_that_scans_back_into_the_job():
    view = made_record()
    texts = scanned(b"".join(WRITERS["labels"].write(view, ALONE)))
    queries = [parse_qs(urlsplit(text).query) for text in texts]
    assert {query["job"][0] for query in queries} == {view.job.id}
    assert sorted((q["position"][0], q["part"][0]) for q in queries) == sorted(
        (d.position, d.part) for d in view.decisions
    )
    assert all(text.startswith(ALONE.address) for text in texts)


async def test_the_job_that_a_label_names_is_there(client, job):
    answer = await client.get(f"/api/v1/jobs/{job}/export/labels")
    (first, *_) = scanned(answer.content)
    named = parse_qs(urlsplit(first).query)["job"][0]
    assert (await client.get(f"/api/v1/jobs/{named}")).json()["number"] == "J-1"
