"""From samples to blows, growth curve, score and quality flags."""

from strikeproof.trace.examine import examine_trace
from strikeproof.trace.records import FLAG_KINDS, Flag, RunFacts, TraceSettings
from strikeproof.trace.simulated import SimulatedTrace, TracePlan, TraceTruth, record_blows, simulate_trace

__all__ = [
    "FLAG_KINDS",
    "Flag",
    "RunFacts",
    "SimulatedTrace",
    "TracePlan",
    "TraceSettings",
    "TraceTruth",
    "examine_trace",
    "record_blows",
    "simulate_trace",
]
