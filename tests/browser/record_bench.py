"""What the tests of the recording page share: a workspace to record in, a rig that is fast, and the page."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Page, expect
from tests.browser.web_bench import Server
from tests.unit.desk.live_bench import CAMPAIGN, write_campaign

from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.simulating.rig import RigSettings
from strikeproof.desk.simulating.rig_process import RigProcess, start_rig

WEAK_BOLT = 'thread = "M20x2.5"\nclass = "10.9"'
STRONG_BOLT = 'thread = "M27x3"\nclass = "12.9"'
"""One that the simulated tool does not bring beyond what it may carry."""
SHORT = CAMPAIGN.replace('"4 s"', '"2 s"').replace('cool_down = "30 s"\n', "").replace(WEAK_BOLT, STRONG_BOLT)
SLOW_MS = 60_000  # a recorder or a rig that starts on a busy machine


def make_lab(folder: Path, text: str = SHORT) -> Path:
    """A workspace whose plan is still to be made."""
    load_campaign(write_campaign(folder / "campaign", text), folder / "lab")
    return folder / "lab"


@contextmanager
def fast_rig(
    folder: Path, pace: float = 2.0, rate_hz: float = 5000.0, wait_s: float = 0.3
) -> Iterator[RigProcess]:
    """A simulated rig whose seconds are short."""
    place, link = folder / "campaign", folder / "rig"
    settings = RigSettings(place, rate_hz=rate_hz, pace=pace, link=link, wait_s=wait_s)
    with start_rig(settings) as rig:
        yield rig


def phase(page: Page, *wanted: str, within_ms: int = SLOW_MS) -> None:
    """Wait until the recorder is there."""
    words = "|".join(re.escape(each) for each in wanted)
    expect(page.locator(".recorder")).to_have_attribute(
        "data-phase", re.compile(f"^({words})$"), timeout=within_ms
    )


def status(page: Page, title: str | re.Pattern[str], within_ms: int = SLOW_MS) -> None:
    """Wait until it is said in large letters."""
    expect(page.locator(".status .title")).to_have_text(title, timeout=within_ms)


def connect(page: Page, port: str) -> None:
    """Type the port and press Connect, as a person does."""
    phase(page, "no rig")
    page.get_by_label("Port").fill(port)
    page.get_by_role("button", name="Connect", exact=True).click()
    phase(page, "idle")
    page.wait_for_timeout(1500)  # of the rig's quiet, for the zero


def press(page: Page) -> None:
    """The large button, once it has said the same for as long as a person takes to read it."""
    page.wait_for_timeout(400)
    page.locator(".press").click()


def arm_when_loose(page: Page) -> None:
    """Press Arm until the bolt of the run before is loose."""
    press(page)
    for _ in range(20):
        page.wait_for_timeout(500)
        if "under load" not in page.locator(".told").inner_text():
            return
        press(page)


def record_one(page: Page) -> None:
    """Arm, wait for the run to go by itself, until its verdict."""
    arm_when_loose(page)
    phase(page, "recording")
    phase(page, "idle", "all done")


def loosen(page: Page, pace: float = 2.0) -> None:
    """Wait until the simulated rig's bolt, held for five of its seconds, is loosened."""
    page.wait_for_timeout(1000 * 8.0 / pace)


def open_record(server: Server, page: Page) -> Page:
    page.goto(server.address + "/record", wait_until="load")
    expect(page.locator(".recorder")).to_have_attribute("data-state", "on", timeout=SLOW_MS)
    return page


def recorder_of(server: Server) -> int:
    """The child of the server that holds the lock of the campaign's folder."""
    tasks = Path(f"/proc/{server.process.pid}/task").iterdir()
    for child in " ".join((task / "children").read_text() for task in tasks).split():
        held = [str(each.readlink()) for each in Path(f"/proc/{child}/fd").iterdir() if each.is_symlink()]
        if any(each.endswith(".recording.lock") for each in held):
            return int(child)
    raise AssertionError("no child of the server records")


def sheet(lab: Path) -> dict[str, dict[str, str]]:
    with (lab / "campaigns" / "drum-rollers" / "runs.csv").open(newline="") as lines:
        rows = csv.DictReader(line for line in lines if not line.startswith("#"))
        return {row["run"]: row for row in rows}


def last_log(lab: Path) -> Path:
    return max(
        (lab / "campaigns" / "drum-rollers" / "logs").glob("*.arrows"), key=lambda p: p.stat().st_mtime
    )
