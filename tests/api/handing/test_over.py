"""A closed job's files come by themselves, whole, and also after the service was away."""

import asyncio
import json

import pytest

from api.config import ConfigError, load_config
from api.handing.over import HandingOver, folder_from, unwritten
from api.handing.tables import ExportTable
from api.serve import ServeError, serve


async def closed(client, number="J-1") -> str:
    answer = await client.post("/api/v1/jobs", json={"number": number, "plan": "four-by-two"})
    job = answer.json()["id"]
    answer = await client.post(f"/api/v1/jobs/{job}/sign", json={"person": "I. Nvented"})
    assert answer.status_code < 300, answer.text
    return job


async def files_in(folder, count: int) -> list[str]:
    for _ in range(6000):
        names = sorted(p.name for p in folder.glob("*")) if folder.exists() else []
        if len([name for name in names if not name.startswith(".")]) >= count:
            return names
        await asyncio.sleep(0.01)
    raise AssertionError(f"there are only {names}")


@pytest.fixture
def folder(service, tmp_path):
    path = tmp_path / "handed"
    table = ExportTable(folder="handed", formats=["json", "csv"])
    service.handing = HandingOver(service.run, folder_from(table, tmp_path), retry_s=0.02)
    return path


async def test_a_closed_job_is_handed_over(folder, client):
    job = await closed(client)
    names = await files_in(folder, 3)
    stem = f"J-1.{job[:8]}"
    assert names == [f"{stem}.csv", f"{stem}.csv-metadata.json", f"{stem}.json"]
    record = json.loads((folder / f"{stem}.json").read_text())
    assert record["job"]["signed_by"] == "I. Nvented"


async def test_a_job_closed_while_nobody_handed_over_is_found_at_the_start(
    service, folder, client, tmp_path
):
    job = await closed(client)
    names = await files_in(folder, 3)
    for name in names:
        (folder / name).unlink()
    late = HandingOver(
        service.run, folder_from(ExportTable(folder="handed", formats=["json"]), tmp_path)
    )
    running = asyncio.create_task(late.run())
    assert await files_in(folder, 1) == [f"J-1.{job[:8]}.json"]
    running.cancel()
    await asyncio.gather(running, return_exceptions=True)


async def test_what_could_not_be_written_is_tried_again_and_said(folder, service, client):
    folder.write_text("a file stands where the folder should be")
    await closed(client)
    for _ in range(6000):
        if service.handing.troubles():
            break
        await asyncio.sleep(0.01)
    assert "could not be handed over" in service.handing.troubles()[0]
    troubles = (await client.get("/api/v1/health")).json()["troubles"]
    assert any("could not be handed over" in trouble for trouble in troubles)
    folder.unlink()
    await files_in(folder, 3)


async def until(what) -> None:
    for _ in range(6000):
        if what():
            return
        await asyncio.sleep(0.01)
    raise AssertionError("it did not come")


async def test_a_job_that_cannot_be_written_keeps_no_other_waiting(folder, service, client):
    """Where the first job's file should be there is a folder: its JSON cannot be put there."""
    answer = await client.post("/api/v1/jobs", json={"number": "J-1", "plan": "four-by-two"})
    first = answer.json()["id"]
    in_the_way = folder / f"J-1.{first[:8]}.json"
    in_the_way.mkdir(parents=True)
    await client.post(f"/api/v1/jobs/{first}/sign", json={"person": "I. Nvented"})
    await until(service.handing.troubles)
    assert first in service.handing.troubles()[0]
    assert (folder / f"J-1.{first[:8]}.csv").is_file(), "what can be written is"
    second = await closed(client, "J-2")
    await until((folder / f"J-2.{second[:8]}.json").is_file)
    assert service.handing.troubles()
    in_the_way.rmdir()
    await until(in_the_way.is_file)
    await until(lambda: not service.handing.troubles())


async def test_at_the_start_only_what_is_not_there_is_written(folder, service, client, tmp_path):
    """Killed between a table and its description, it left one without the other."""
    job = await closed(client)
    await closed(client, "J-2")
    await files_in(folder, 6)
    asked = folder_from(ExportTable(folder="handed", formats=["json", "csv"]), tmp_path)
    rows = await service.run.read(lambda journal: journal.jobs())
    assert unwritten(asked, rows) == []
    missing = folder / f"J-1.{job[:8]}.csv-metadata.json"
    missing.unlink()
    assert unwritten(asked, rows) == [job]
    running = asyncio.create_task(HandingOver(service.run, asked).run())
    await until(missing.is_file)
    running.cancel()
    await asyncio.gather(running, return_exceptions=True)


async def test_half_a_file_of_a_run_that_was_killed_is_written_anew(folder, client):
    folder.mkdir()
    answer = await client.post("/api/v1/jobs", json={"number": "J-1", "plan": "four-by-two"})
    job = answer.json()["id"]
    half = folder / f".J-1.{job[:8]}.json.part"
    half.write_text("{")
    await client.post(f"/api/v1/jobs/{job}/sign", json={"person": "I. Nvented"})
    await until((folder / f"J-1.{job[:8]}.csv-metadata.json").is_file)
    assert not half.exists()
    assert json.loads((folder / f"J-1.{job[:8]}.json").read_text())["job"]["id"] == job


def test_a_config_without_a_folder_hands_nothing_over(tmp_path):
    assert folder_from(None, tmp_path) is None
    assert folder_from(ExportTable(), tmp_path) is None


def test_a_schema_that_is_not_there_is_said_at_the_start(bench_toml):
    bench_toml.write_text(bench_toml.read_text() + '\n[export]\nqif_schema = "nowhere"\n')
    with pytest.raises(ServeError, match=r"no QIF schema.*nowhere"):
        serve(bench_toml, lambda address: None)


async def test_qif_is_checked_without_a_folder_to_hand_over_to(client, job, service):
    service.qif_check = lambda document: ["invented fault"]
    answer = await client.get(f"/api/v1/jobs/{job}/export/qif")
    assert (answer.status_code, "invented fault" in answer.text) == (503, True)


def test_a_format_that_is_not_there_is_a_sentence(bench_toml):
    bench_toml.write_text(bench_toml.read_text() + '\n[export]\nfolder = "x"\nformats = ["doc"]\n')
    with pytest.raises(ConfigError, match=r"formats.*there are csv, json"):
        load_config(bench_toml)
