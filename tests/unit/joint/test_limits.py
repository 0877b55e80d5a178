import pytest

from strikeproof.errors import BadInput
from strikeproof.joint import (
    Friction,
    allowed_clamp_load,
    allowed_torque,
    assembly_preload,
    parse_bolt,
    parse_class,
    parse_thread,
    proof_load,
    tensile_load,
    torque_tension,
    yield_load,
)

BOLT = parse_bolt("M24x2 10.9")


def test_loads_stand_in_their_order():
    assert allowed_clamp_load(*BOLT) < proof_load(*BOLT) < yield_load(*BOLT) < tensile_load(*BOLT)


def test_three_quarters_of_the_proof_load_are_allowed_by_default():
    assert allowed_clamp_load(*BOLT) == pytest.approx(0.75 * proof_load(*BOLT))
    assert allowed_clamp_load(*BOLT, share=1.0) == proof_load(*BOLT)


def test_twist_lowers_what_is_allowed_where_friction_is_high():
    rough = Friction.total(0.4)
    assert allowed_clamp_load(*BOLT, friction=Friction.total(0.12)) == allowed_clamp_load(*BOLT)
    assert (
        allowed_clamp_load(*BOLT, friction=rough)
        == assembly_preload(*BOLT, rough)
        < allowed_clamp_load(*BOLT)
    )
    assert allowed_clamp_load(*BOLT, share=1.0, friction=Friction.total(0.12)) < proof_load(*BOLT)


def test_the_allowed_torque_reaches_the_allowed_clamp_load():
    friction = Friction(0.10, 0.14)
    torque = allowed_torque(*BOLT, friction, share=0.6)
    load = torque_tension(BOLT[0], friction).clamp_load(torque)
    assert load == pytest.approx(allowed_clamp_load(*BOLT, share=0.6))


@pytest.mark.parametrize("share", [0.0, -0.5, 1.01, float("nan")])
def test_a_share_out_of_range_is_refused(share):
    with pytest.raises(BadInput, match=r"0\.75 is usual"):
        allowed_clamp_load(*BOLT, share=share)


@pytest.mark.parametrize("load", [proof_load, yield_load, tensile_load, allowed_clamp_load])
def test_a_class_of_the_other_system_gives_no_load(load):
    with pytest.raises(BadInput, match="does not cover"):
        load(parse_thread("M24x2"), parse_class("grade 5"))
