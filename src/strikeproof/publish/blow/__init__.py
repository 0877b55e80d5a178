"""Pictures and the film that make a simulated blow understandable."""

from strikeproof.publish.blow.energy import energy_chart
from strikeproof.publish.blow.film import film_frames, film_mp4
from strikeproof.publish.blow.film_svg import film_page, film_svg
from strikeproof.publish.blow.growth import Grown, growth_chart
from strikeproof.publish.blow.heading import picture_png, picture_svg
from strikeproof.publish.blow.joules import Stream, split_energy
from strikeproof.publish.blow.scene import Scene, set_scene
from strikeproof.publish.blow.slow_motion import slow_motion_chart
from strikeproof.publish.blow.story import Story, tell_blow
from strikeproof.publish.blow.swept import SweptScore, swept_chart

__all__ = [
    "Grown",
    "Scene",
    "Story",
    "Stream",
    "SweptScore",
    "energy_chart",
    "film_frames",
    "film_mp4",
    "film_page",
    "film_svg",
    "growth_chart",
    "picture_png",
    "picture_svg",
    "set_scene",
    "slow_motion_chart",
    "split_energy",
    "swept_chart",
    "tell_blow",
]
