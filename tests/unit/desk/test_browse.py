"""What the browser asks of the desk: thinned traces, archives that came in."""

from __future__ import annotations

import zipfile
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.unit.desk.scores import Bench, write_folder

from strikeproof.desk.browse import is_simulated
from strikeproof.desk.browse_load import load_upload
from strikeproof.desk.browse_trace import thin
from strikeproof.desk.load import load_campaign
from strikeproof.desk.set_up import start_set_up
from strikeproof.errors import BadInput, StrikeproofError


@given(st.integers(1, 3000), st.integers(1, 50), st.integers(0, 2**32 - 1))
def test_thinning_keeps_extremes_ends_and_order(count: int, points: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    time = np.arange(count, dtype=float)
    reading = rng.normal(size=count)
    found = thin(time, reading, points)
    assert found.samples == count and found.time.size <= max(4 * points, 2 * points + 4)
    assert found.reading.min() == reading.min() and found.reading.max() == reading.max()
    assert found.time[0] == 0 and found.time[-1] == count - 1
    assert np.all(np.diff(found.time) >= 0)
    assert np.array_equal(reading[found.time.astype(int)], found.reading)


def test_a_single_gap_hides_no_extreme() -> None:
    reading = np.zeros(10_000)
    reading[5000], reading[5001], reading[7000] = 9.0, np.nan, np.nan
    found = thin(np.arange(10_000.0), reading, 10)
    assert np.nanmax(found.reading) == 9.0


@pytest.mark.parametrize("simulated", [True, False])
def test_a_campaign_is_simulated_by_its_record_and_by_its_file(tmp_path: Path, simulated: bool) -> None:
    name = "simulated rings"  # the name says nothing
    start_set_up(tmp_path, "planned", {"campaign": {"simulated": simulated}})
    folder = write_folder(tmp_path / "elsewhere", Bench(blocks=1))
    file = folder / "campaign.toml"
    file.write_text(file.read_text().replace("simulated = true", f"simulated = {str(simulated).lower()}"))
    load_campaign(folder, tmp_path)
    assert [is_simulated(tmp_path, each) for each in (name, "planned", "no such")] == [
        simulated,
        simulated,
        False,
    ]


@pytest.mark.parametrize(
    "name",
    ["../out.txt", "/out.txt", "bench/../../out.txt", "bench\\..\\..\\out.txt", "C:out.txt"],
)
def test_no_archive_writes_outside_its_folder(tmp_path: Path, name: str) -> None:
    workspace = tmp_path / "lab"
    (workspace / "incoming").mkdir(parents=True)
    with zipfile.ZipFile(workspace / "incoming" / "x", "w") as archive:
        archive.writestr("bench/campaign.toml", "")
        archive.writestr(name, "out")
    with pytest.raises(StrikeproofError):
        load_upload(workspace, "x")
    assert not list(tmp_path.rglob("out.txt"))
    assert list((workspace / "incoming").iterdir()) == []


def test_an_archive_that_swells_is_refused_before_it_is_unpacked(tmp_path: Path) -> None:
    workspace = tmp_path / "lab"
    (workspace / "incoming").mkdir(parents=True)
    with zipfile.ZipFile(workspace / "incoming" / "x", "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("campaign.toml", "")
        with archive.open("logs/zeros.csv", "w") as stream:
            for _ in range(600):
                stream.write(bytes(2**20))
    with pytest.raises(BadInput, match="files of"):
        load_upload(workspace, "x")


@pytest.mark.parametrize("content", [b"", b"no archive at all", b"PK\x03\x04cut"])
def test_what_is_no_archive_is_told(tmp_path: Path, content: bytes) -> None:
    workspace = tmp_path / "lab"
    (workspace / "incoming").mkdir(parents=True)
    (workspace / "incoming" / "x").write_bytes(content)
    with pytest.raises(BadInput, match="cannot be unpacked"):
        load_upload(workspace, "x")
