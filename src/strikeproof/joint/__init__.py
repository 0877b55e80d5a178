"""The bolt: threads, property classes, torque and tension, stiffness, limits."""

from strikeproof.joint.bearing import Bearing, bearing_of, has_standard_head, usual_head
from strikeproof.joint.classes import CLASSES, PropertyClass, Strength, parse_class
from strikeproof.joint.designation import parse_bolt, parse_thread
from strikeproof.joint.limits import (
    REUSED_SHARE,
    allowed_clamp_load,
    allowed_torque,
    proof_load,
    tensile_load,
    yield_load,
)
from strikeproof.joint.own_bolt import OWN_KEYS, BoltParts, read_bolt_parts
from strikeproof.joint.stiffness import (
    CONE_ANGLE,
    Layer,
    bolt_stiffness,
    bolt_twist_stiffness,
    frustum_stiffness,
    joint_constant,
    load_per_radian,
    stack_stiffness,
    wileman_stiffness,
)
from strikeproof.joint.stripping import needed_engagement, stripping_load
from strikeproof.joint.threads import FLANK_ANGLE, System, Thread
from strikeproof.joint.tightening import (
    FRICTION_SPREAD,
    Friction,
    TorqueTension,
    assembly_preload,
    estimate_friction,
    estimate_nut_factor,
    estimate_total_friction,
    torque_tension,
    total_friction,
)
from strikeproof.joint.turning import Hand, Rotation, Turning, TurningDirection, settle_turning

__all__ = [
    "CLASSES",
    "CONE_ANGLE",
    "FLANK_ANGLE",
    "FRICTION_SPREAD",
    "OWN_KEYS",
    "REUSED_SHARE",
    "Bearing",
    "BoltParts",
    "Friction",
    "Hand",
    "Layer",
    "PropertyClass",
    "Rotation",
    "Strength",
    "System",
    "Thread",
    "TorqueTension",
    "Turning",
    "TurningDirection",
    "allowed_clamp_load",
    "allowed_torque",
    "assembly_preload",
    "bearing_of",
    "bolt_stiffness",
    "bolt_twist_stiffness",
    "estimate_friction",
    "estimate_nut_factor",
    "estimate_total_friction",
    "frustum_stiffness",
    "has_standard_head",
    "joint_constant",
    "load_per_radian",
    "needed_engagement",
    "parse_bolt",
    "parse_class",
    "parse_thread",
    "proof_load",
    "read_bolt_parts",
    "settle_turning",
    "stack_stiffness",
    "stripping_load",
    "tensile_load",
    "torque_tension",
    "total_friction",
    "usual_head",
    "wileman_stiffness",
    "yield_load",
]
