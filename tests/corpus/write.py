"""Writes the corpus again, and what must come out of each file: python -m tests.corpus.write

All is invented and simulated, from fixed seeds. The files are committed, since a library may write them
otherwise one day; those by hand are never written again.
"""

from __future__ import annotations

import json
from pathlib import Path

from tests.corpus.writers import binaries, clocks, layouts, locales, shapes, workbooks

CORPUS = Path(__file__).parent
HAND = "by-hand/"


def main() -> None:
    kept = json.loads((CORPUS / "expected.json").read_text(encoding="utf-8"))
    found = {name: each for name, each in kept.items() if name.startswith(HAND)}
    for old in set(kept) - set(found):
        (CORPUS / old).unlink(missing_ok=True)
    for module in (locales, clocks, shapes, layouts, workbooks, binaries):
        for writer in module.WRITERS:
            for case in writer():
                place = CORPUS / case.path
                place.parent.mkdir(exist_ok=True)
                if place.suffix != ".mf4" or not place.exists():  # their history has the time of writing
                    place.write_bytes(case.content)
                assert case.path not in found, case.path
                found[case.path] = {"by": case.by, **case.expected}
    rows = [f"{json.dumps(name)}: {json.dumps(each)}" for name, each in found.items()]
    text = "{\n" + ",\n".join(rows) + "\n}\n"
    (CORPUS / "expected.json").write_text(text, encoding="utf-8")
    print(f"{len(found)} files in {len({name.split('/')[0] for name in found})} folders")


if __name__ == "__main__":
    main()
