"""The chain of inertias and contacts, the hammer mechanisms, one blow, a whole run, where the energy goes."""

from strikeproof.drivetrain.batch import Batch, Bench, simulate_batch
from strikeproof.drivetrain.blow import Blow, Motion, simulate_blow
from strikeproof.drivetrain.chain import Body, Chain, Joint, build_chain, locked_chain
from strikeproof.drivetrain.ledger import Ledger, RunLedger, account_blow, account_run, blow_of_run
from strikeproof.drivetrain.mechanism import at_supply
from strikeproof.drivetrain.places import list_joints, place_peaks
from strikeproof.drivetrain.priors import (
    MECHANISMS,
    PRIOR_SOURCES,
    CompletedTool,
    complete_tool,
    plain_article,
    with_extension,
    with_ring,
)
from strikeproof.drivetrain.records import (
    AirHammer,
    ArticleModel,
    BoltModel,
    Lump,
    OilPulse,
    Rider,
    RigModel,
    SpringCam,
    ToolModel,
    TorqueLimit,
)
from strikeproof.drivetrain.run import Run, Scatter, draw_scatter, simulate_run
from strikeproof.drivetrain.stepper import Stepped, step_blow
from strikeproof.drivetrain.sweep import Optimum, find_optimum, spread_values

__all__ = [
    "MECHANISMS",
    "PRIOR_SOURCES",
    "AirHammer",
    "ArticleModel",
    "Batch",
    "Bench",
    "Blow",
    "Body",
    "BoltModel",
    "Chain",
    "CompletedTool",
    "Joint",
    "Ledger",
    "Lump",
    "Motion",
    "OilPulse",
    "Optimum",
    "Rider",
    "RigModel",
    "Run",
    "RunLedger",
    "Scatter",
    "SpringCam",
    "Stepped",
    "ToolModel",
    "TorqueLimit",
    "account_blow",
    "account_run",
    "at_supply",
    "blow_of_run",
    "build_chain",
    "complete_tool",
    "draw_scatter",
    "find_optimum",
    "list_joints",
    "locked_chain",
    "place_peaks",
    "plain_article",
    "simulate_batch",
    "simulate_blow",
    "simulate_run",
    "spread_values",
    "step_blow",
    "with_extension",
    "with_ring",
]
