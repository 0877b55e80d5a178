"""From samples to blows, growth curve, score and quality flags; and what a run's sound says to that."""

from strikeproof.trace.clip_sync import ClipSync, sync_clip
from strikeproof.trace.examine import examine_trace
from strikeproof.trace.records import Flag, RunFacts, TraceSettings
from strikeproof.trace.simulated import SimulatedTrace, TracePlan, TraceTruth, record_blows, simulate_trace
from strikeproof.trace.simulated_sound import SimulatedSound, SoundPlan, simulate_sound
from strikeproof.trace.sound import SoundFacts, front_strength, hear_blows
from strikeproof.trace.witness import SoundCheck, check_sound

__all__ = [
    "ClipSync",
    "Flag",
    "RunFacts",
    "SimulatedSound",
    "SimulatedTrace",
    "SoundCheck",
    "SoundFacts",
    "SoundPlan",
    "TracePlan",
    "TraceSettings",
    "TraceTruth",
    "check_sound",
    "examine_trace",
    "front_strength",
    "hear_blows",
    "record_blows",
    "simulate_sound",
    "simulate_trace",
    "sync_clip",
]
