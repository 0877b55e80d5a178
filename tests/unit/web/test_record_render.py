"""The recording page is compiled beforehand: the compiled file is of the template that is there."""

from __future__ import annotations

from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

SCRIPT = Path(__file__).parents[3] / "scripts" / "record_render.py"


def test_the_compiled_screen_is_of_the_template_that_is_there() -> None:
    spec = spec_from_file_location("record_render", SCRIPT)
    assert spec is not None and spec.loader is not None
    script = module_from_spec(spec)
    spec.loader.exec_module(script)
    assert script.is_current(), "scripts/record_render.py --write"
