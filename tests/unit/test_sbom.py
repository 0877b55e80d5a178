"""The software bill of materials names all that is locked, and is CycloneDX (its own library reads it)."""

from __future__ import annotations

import importlib.util
import json
import re
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def script() -> ModuleType:
    pytest.importorskip("cyclonedx")
    spec = importlib.util.spec_from_file_location("write_sbom", ROOT / "scripts" / "write_sbom.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_all_that_is_locked_is_in_it_with_hashes_and_licence(script: ModuleType, tmp_path: Path) -> None:
    from cyclonedx.model.bom import Bom

    lock, target = ROOT / "requirements" / "run.txt", tmp_path / "out" / "sbom.json"
    script.write_sbom(lock, target)
    words = json.loads(target.read_text())
    locked = set(re.findall(r"^([A-Za-z0-9._-]+==[^ ;\\]+)", lock.read_text(), re.MULTILINE))
    parts = {f"{each['name']}=={each['version']}": each for each in words["components"]}
    assert locked <= parts.keys() and len(locked) > 50
    assert all(parts[each]["hashes"] for each in locked)
    for name in ("uplot", "vue"):
        assert any(each["purl"].startswith(f"pkg:npm/{name}@") for each in parts.values())
    assert sum("licenses" in each for each in parts.values()) > 0.9 * len(parts)
    read = Bom.from_json(words)  # type: ignore[attr-defined]  # made by its decorator
    assert len(read.components) == len(parts)
    first = target.read_bytes()
    script.write_sbom(lock, target)
    assert target.read_bytes() == first
