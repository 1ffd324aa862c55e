"""Where the shared problems lie, and the referees beside them."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from django.conf import settings


def bench_data() -> Path | None:
    """The folder that BENCH_DATA names, else the one beside the project; None when there is none."""
    folder = Path(os.environ.get("BENCH_DATA") or settings.BASE_DIR.parent / "shared" / "benchmarks")
    return folder if folder.is_dir() else None


def refused_by(referee: Path, *files: Path) -> bool:
    """Whether the referee, a program of its own, finds something wrong with an answer."""
    done = subprocess.run(
        [sys.executable, str(referee), *map(str, files)], capture_output=True, text=True, check=False
    )
    return done.returncode != 0
