"""Compile the template of the recording page, so that no script is compiled in the browser at the rig.

`record_render.py --write` makes `assets/record_render.js` from `assets/record_template.js` with the library's
own compiler, in Chromium; without it, exit code 1 says that the file is out of date.
"""

from __future__ import annotations

import hashlib
import shutil
import sys
from pathlib import Path

ASSETS = Path(__file__).parent.parent / "src" / "strikeproof" / "web" / "assets"
TEMPLATE, MADE = ASSETS / "record_template.js", ASSETS / "record_render.js"
LIBRARY = ASSETS / "vue" / "vue.esm-browser.prod.js"

_COMPILE = """async ([library, source]) => {
  const load = (text) => import(URL.createObjectURL(new Blob([text], { type: "text/javascript" })));
  const [vue, { template }] = await Promise.all([load(library), load(source)]);
  const kept = window.Function;
  let code = "";
  window.Function = function (...given) { code = given.at(-1); return kept(...given); };
  vue.compile(template);
  window.Function = kept;
  return code;
}"""


def mark() -> str:
    """What the compiled file names: it changes with the template and with the library."""
    return hashlib.sha256(TEMPLATE.read_bytes() + LIBRARY.read_bytes()).hexdigest()[:16]


def is_current() -> bool:
    """Whether the compiled file is of this template."""
    return MADE.is_file() and f"of {mark()};" in MADE.read_text(encoding="utf-8").partition("\n")[0]


def write() -> None:
    """Make the compiled file."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as player:
        found = shutil.which("chromium-headless-shell") or "/usr/bin/chromium"
        browser = player.chromium.launch(executable_path=found, args=["--no-sandbox"])
        texts = [each.read_text(encoding="utf-8") for each in (LIBRARY, TEMPLATE)]
        code = browser.new_page().evaluate(_COMPILE, texts)
        browser.close()
    head = f"// Made by scripts/record_render.py of {mark()}; do not edit.\n"
    MADE.write_text(f"{head}window.strikeproofRender = function (Vue) {{\n{code}\n}};\n", encoding="utf-8")


if __name__ == "__main__":
    if "--write" in sys.argv[1:]:
        write()
    sys.exit(0 if is_current() else f"{MADE.name} is out of date: scripts/record_render.py --write")
