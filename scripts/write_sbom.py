#!/usr/bin/env python3
"""scripts/write_sbom.py LOCK FILE: the software bill of materials of a lock file, as CycloneDX JSON.

Names, versions and hashes come from the lock, licences from what is installed; a package that another system
needs and this one has not installed has none. The same lock gives the same bytes.
"""

from __future__ import annotations

import json
import re
import sys
import tomllib
from collections.abc import Iterator
from importlib.metadata import PackageNotFoundError, metadata
from pathlib import Path

from cyclonedx.contrib.license.factories import LicenseFactory
from cyclonedx.model import HashAlgorithm, HashType
from cyclonedx.model.bom import Bom
from cyclonedx.model.component import Component, ComponentType
from cyclonedx.model.license import LicenseAcknowledgement
from cyclonedx.output.json import JsonV1Dot6
from packageurl import PackageURL

ROOT = Path(__file__).parent.parent
_ASSETS = ROOT / "src" / "strikeproof" / "web" / "assets"
_CARRIED = (
    ("uplot", "uPlot.esm.js", r"\(v([0-9.]+)\)"),
    ("vue", "vue.esm-browser.prod.js", r"vue v([0-9.]+)"),
)
"""Of each its folder, its file, and how that says its version."""
_PIN = re.compile(r"^([A-Za-z0-9._-]+)==([^ ;\\]+)")
_HASH = re.compile(r"--hash=sha256:([0-9a-f]{64})")


def locked(lock: str) -> Iterator[tuple[str, str, list[str]]]:
    """Name, version and hashes of each package of a lock file."""
    for part in lock.replace("\\\n", " ").splitlines():
        pin = _PIN.match(part)
        if pin is not None:
            yield pin[1], pin[2], _HASH.findall(part)


def component(name: str, version: str, hashes: list[str]) -> Component:
    """One package; its hashes are those of every file that may be installed for it."""
    licences = LicenseFactory()
    found = licence_of(name)
    url = PackageURL("pypi", name=name.lower().replace("_", "-"), version=version)
    declared = LicenseAcknowledgement.DECLARED
    return Component(
        type=ComponentType.LIBRARY,
        name=name,
        version=version,
        purl=url,
        bom_ref=url.to_string(),
        hashes=[HashType(alg=HashAlgorithm.SHA_256, content=each) for each in hashes],
        licenses=[licences.make_from_string(found, license_acknowledgement=declared)] if found else [],
    )


def licence_of(name: str) -> str:
    """What an installed package says of its licence, in one line; empty where it says nothing."""
    try:
        about = metadata(name)
    except PackageNotFoundError:
        return ""
    written = about.get("License-Expression") or about.get("License") or ""
    if written and len(written) < 100 and "\n" not in written:
        return written
    named = [each for each in about.get_all("Classifier") or [] if each.startswith("License :: ")]
    return named[0].split(" :: ")[-1] if named else ""


def carried() -> Iterator[Component]:
    """What lies in the package itself: the libraries of the recording page, for charts and for elements."""
    for name, file, version in _CARRIED:
        head = (_ASSETS / name / file).read_text(encoding="utf-8")[:600]
        found = re.search(version, head)
        if found is None:
            continue
        url = PackageURL("npm", name=name, version=found[1])
        yield Component(
            type=ComponentType.LIBRARY,
            name=name,
            version=found[1],
            purl=url,
            bom_ref=url.to_string(),
            licenses=[LicenseFactory().make_from_string("MIT")],
        )


def make_bom(lock: Path) -> Bom:
    """The bill of the program with everything that its lock installs."""
    about = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    bom = Bom()
    program = Component(
        type=ComponentType.APPLICATION,
        name=about["name"],
        version=about["version"],
        bom_ref=about["name"],
        licenses=[LicenseFactory().make_from_string(about["license"])],
    )
    bom.metadata.component = program
    parts = [*(component(*each) for each in locked(lock.read_text())), *carried()]
    for part in parts:
        bom.components.add(part)
    bom.register_dependency(program, parts)
    return bom


def write_sbom(lock: Path, target: Path) -> int:
    """Write it and give the number of packages."""
    bom = make_bom(lock)
    words = json.loads(JsonV1Dot6(bom).output_as_string())
    del words["serialNumber"], words["metadata"]["timestamp"]  # chance and clock: two bills can be compared
    target.parent.mkdir(parents=True, exist_ok=True)
    target.write_text(json.dumps(words, indent=2) + "\n", encoding="utf-8")
    return len(bom.components)


if __name__ == "__main__":
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    print(f"{write_sbom(Path(sys.argv[1]), Path(sys.argv[2]))} packages: {sys.argv[2]}")
