"""Prints the table of results in docs/log-corpus.md: python -m tests.corpus.table"""

from __future__ import annotations

import json
from collections import defaultdict
from pathlib import Path

from tests.corpus.writers.outcome import find_differences

CORPUS = Path(__file__).parent


def main() -> None:
    expected = json.loads((CORPUS / "expected.json").read_text(encoding="utf-8"))
    counts: dict[str, list[int]] = defaultdict(lambda: [0, 0, 0])
    writers: dict[str, set[str]] = defaultdict(set)
    for name, each in expected.items():
        style = name.split("/")[0]
        wrong = bool(find_differences(CORPUS / name, each))
        counts[style][2 if wrong else "refused" in each] += 1
        writers[style].add(each["by"])
    print("| style | written by | read rightly | refused rightly | misread |\n|---|---|---|---|---|")
    for style in sorted(counts):
        print(f"| {style} | {', '.join(sorted(writers[style]))} | {' | '.join(map(str, counts[style]))} |")
    total = [f"**{sum(each[i] for each in counts.values())}**" for i in range(3)]
    print(f"| **all {len(expected)} files, {len(counts)} styles** | | {' | '.join(total)} |")


if __name__ == "__main__":
    main()
