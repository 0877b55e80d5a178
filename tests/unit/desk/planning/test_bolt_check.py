"""A bolt is held against the hardest run that is predicted for it."""

import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from tests.unit.parts.examples import ring, socket

from strikeproof.desk.planning import bolt_check as room
from strikeproof.desk.planning.bolt_check import check_bolt
from strikeproof.desk.safety.cautions import Stop
from strikeproof.desk.simulating.simulate import simulate_file, simulate_tables
from strikeproof.errors import BadInput

RING = Path(__file__).parents[4] / "examples" / "ring-27.toml"


def tables(**bolt: Any) -> dict[str, Any]:
    found = tomllib.loads(RING.read_text(encoding="utf-8"))
    return {
        **found,
        "tool": [found["tool"]],
        "article": [found["article"], {"name": "unknown"}],
        "bolt": {**found["bolt"], **bolt},
    }


def test_the_prediction_is_the_simulated_run() -> None:
    checked = check_bolt(tables())
    (expected,) = checked.expected
    run = simulate_file(RING)
    assert expected.load == run.margins[0].load >= run.scattered.max()
    margin = run.margins[0].limit
    assert expected.withstood_share == pytest.approx(expected.load / margin)
    assert expected.is_twisted == (margin < checked.facts.proof_load)
    assert expected.article == "ring-27" and not checked.stop


def test_a_pair_is_simulated_again_only_when_something_of_it_has_changed(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    simulated: list[Any] = []

    def count(pair: Any) -> Any:
        simulated.append(pair)
        return simulate_tables(pair)

    monkeypatch.setattr(room, "simulate_tables", count)
    room._simulate_text.cache_clear()
    first = check_bolt(tables())
    assert check_bolt(tables()) == first and len(simulated) == 1
    assert check_bolt(tables(friction=0.2)) != first and len(simulated) == 2


def test_a_full_scale_below_what_the_bolt_may_carry_is_said_on_the_bolts_step() -> None:
    given = tables()
    checked = check_bolt(given)
    assert checked.blind == ""
    rig = {"unit": "kN", "full_scale": 1e-4 * checked.facts.allowed_clamp_load}
    assert "the limit is at" in check_bolt({**given, "rig": {**given.get("rig", {}), **rig}}).blind


def test_a_load_above_proof_is_a_stop() -> None:
    weak = check_bolt(tables(thread="M12x1.75", **{"class": "8.8"}))
    assert weak.stop and weak.says.startswith("STOP: air-a with ring-27")


def test_every_tool_that_overloads_the_bolt_is_named() -> None:
    found = check_bolt(tables())
    (fine,) = found.expected
    harder, hardest = (
        replace(fine, tool=tool, withstood_share=share) for tool, share in (("b", 1.2), ("c", 3.0))
    )
    both = replace(found, expected=(fine, harder, hardest))
    assert both.caution.startswith("STOP: c with") and found.other_cautions == ()
    (other,) = both.other_cautions
    assert other.startswith("STOP: b with") and isinstance(other, Stop)


def test_more_than_is_allowed_is_said() -> None:
    share = check_bolt(tables()).expected[0].withstood_share
    tight = check_bolt(tables(largest_proof_share=round(0.9 * share, 3)))
    assert tight.expected[0].verdict == "too much" and "more than the" in tight.says
    assert "Shorten the run" in tight.says and "new bolt for every run" not in tight.says
    assert tight.caution == tight.says and not isinstance(tight.caution, Stop)
    assert tight.caution_of("air-a", "ring-27") == tight.says and tight.caution_of("air-a", "other") == ""
    assert check_bolt(tables()).caution == ""


def test_what_is_assumed_is_told() -> None:
    bare = {"bolt": {"thread": "M20", "class": "10.9"}, "tool": [{"name": "a"}]}
    (expected,) = check_bolt(bare).expected
    said = " ".join(expected.assumed)
    assert "a usual socket" in said and "friction 0.12" in said and "hammer inertia" in said


def test_a_bolt_must_be_described_and_a_tool_that_cannot_be_told_is_named() -> None:
    with pytest.raises(BadInput, match="the bolt is not described"):
        check_bolt({})
    wrong = check_bolt(
        {"bolt": {"thread": "M20", "class": "10.9"}, "tool": [{"name": "a", "mechanism": "steam"}]}
    )
    assert wrong.expected == () and "a with a usual socket" in wrong.untold[0]


def test_an_article_that_gives_in_its_own_joint_is_a_stop_though_it_is_not_the_hardest_on_the_bolt() -> None:
    weak = {
        "name": "ringed",
        "part": [
            socket(),
            ring(outer_diameter_mm=140, bond={"kind": "weld", "throat_mm": 2, "coverage": 0.4}),
        ],
    }
    found = check_bolt({**tables(), "article": [{"name": "plain", "polar_inertia_kg_m2": 3e-4}, weak]})
    assert [each.article for each in found.expected] == ["plain"]
    assert any("with ringed: ring, weld fails at" in each for each in found.stops)


def test_a_wall_that_may_give_within_its_uncertainty_is_named() -> None:
    soft = {"name": "soft", "part": [socket(material="4140 annealed")]}
    found = check_bolt({**tables(), "article": [soft]})
    assert not found.stops
    assert any("with soft: socket, wall may give" in each for each in found.near)
