"""How coarse a rig reads decides what its control chart can call odd."""

from dataclasses import replace
from pathlib import Path

import pytest
from tests.unit.desk.scores import changed, load

from strikeproof.desk.comparing.compare import compare_judged
from strikeproof.desk.runs.judged import judge_runs
from strikeproof.desk.workspace.opening import open_campaign


def test_limits_are_no_finer_than_the_resolution_of_the_rig(tmp_path: Path) -> None:
    judged = judge_runs(*open_campaign(load(tmp_path, changed(scatter=0.001)), None))
    coarse = replace(judged.campaign, rig=replace(judged.campaign.rig, resolution=0.5))
    fine, wide = (compare_judged(each).comparison.rig for each in (judged, replace(judged, campaign=coarse)))
    assert fine.limits is not None and wide.limits is not None and wide.centre is not None
    assert fine.limits[1] / fine.centre < 1.01
    points = [each.value for each in wide.points]
    mean = sum(points) / len(points)
    assert wide.limits[1] / wide.centre == pytest.approx(2.718281828 ** (1.5 * 0.5 / mean), rel=1e-6)
