"""A process that has imported all it needs and forks for each piece of work, the shim before the C library.

So a piece of work costs no start, and can be killed, written down call by call, or made to fail at any call.
"""

from __future__ import annotations

import ctypes
import errno
import json
import os
import shutil
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType

__all__ = ["Outcome", "Stage", "can_build_shim"]

_SOURCE = Path(__file__).with_name("shim.c")


def can_build_shim() -> bool:
    """Whether there is a compiler, and a system that the shim knows."""
    return shutil.which("cc") is not None and sys.platform == "linux"


@dataclass(frozen=True, slots=True)
class Outcome:
    """How a piece of work ended: its exit code (negative a signal), what was promised, all that was said."""

    code: int
    promised: list[str]
    said: str
    took_s: float
    calls: int


class Stage:
    """Runs scenes; `folder` is where the shim is compiled to."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        shim = folder / "shim.so"
        if not shim.exists():
            subprocess.run(
                ["cc", "-O1", "-w", "-shared", "-fPIC", "-o", str(shim), str(_SOURCE), "-ldl"], check=True
            )
        self._process = subprocess.Popen(
            [sys.executable, "-m", "tests.faults.siege.stage"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            env={**os.environ, "LD_PRELOAD": str(shim), "OPENBLAS_NUM_THREADS": "1", "TMPDIR": str(folder)},
        )

    def run(
        self,
        scene: str,
        folder: Path,
        *,
        kill_after_s: float | None = None,
        record: Path | None = None,
        fail_from: int = 0,
        error: int = errno.EIO,
        stays: bool = False,
    ) -> Outcome:
        """One scene on a folder that was prepared for it.

        Parameters
        ----------
        kill_after_s
            When it is killed. [s]
        record
            Where each change of a file is written down.
        fail_from, error, stays
            The number of the call that fails, with what, and whether all later ones do too.
        """
        said = self._folder / "said"
        said.unlink(missing_ok=True)
        job = [scene, str(folder), str(said), kill_after_s, str(record or ""), fail_from, error, stays]
        assert self._process.stdin is not None and self._process.stdout is not None
        self._process.stdin.write(json.dumps(job) + "\n")
        self._process.stdin.flush()
        code, took_s = json.loads(self._process.stdout.readline())
        text = said.read_text(errors="replace") if said.exists() else ""
        lines = text.splitlines(keepends=True)
        promised = [line[5:-1] for line in lines if line.startswith("done ") and line.endswith("\n")]
        calls = next((int(line.split()[1]) for line in lines if line.startswith("calls ")), 0)
        return Outcome(code, promised, text, took_s, calls)

    def close(self) -> None:
        """End it."""
        assert self._process.stdin is not None and self._process.stdout is not None
        self._process.stdin.close()
        self._process.wait(10)
        self._process.stdout.close()

    def __enter__(self) -> Stage:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


def _serve() -> None:
    import pydantic  # noqa: F401
    from tests.faults.siege.scenes import play_in_child

    shim = ctypes.CDLL(None)
    for line in sys.stdin:
        scene, folder, said, kill_after_s, record, fail_from, error, stays = json.loads(line)
        begun = time.monotonic()
        child = os.fork()
        if child == 0:
            code = 4
            try:
                shim.siege_begin(
                    folder.encode(), record.encode(), ctypes.c_long(fail_from), int(error), int(stays)
                )
                code = play_in_child(scene, Path(folder), Path(said))
                os.write(2, b"calls %d\n" % shim.siege_calls())
            finally:
                os._exit(code)
        if kill_after_s is not None:
            time.sleep(kill_after_s)
            os.kill(child, 9)
        _pid, status = os.waitpid(child, 0)
        print(json.dumps([os.waitstatus_to_exitcode(status), time.monotonic() - begun]), flush=True)


if __name__ == "__main__":
    _serve()
