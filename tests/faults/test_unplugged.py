"""Four pulls of a gauge's plug in the middle of the job; tests/long has two hundred."""

from tests.faults.unplugging import measured_while_pulled


async def test_four_pulls_and_back_on_other_ports(monkeypatch, tmp_path):
    said = await measured_while_pulled(
        monkeypatch, tmp_path, seed=11, pulls=4, keep_on=2, between=300
    )
    assert said.count == 4
    assert said.in_a_capture >= 1
    assert said.broken >= 1
    assert said.traced >= said.kept >= 2
    assert said.wrong == []
