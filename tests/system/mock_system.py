"""Where umockdev is, and the mark for tests that need it."""

import shutil
import subprocess
from pathlib import Path

import pytest

DEBIAN_PYTHON = "/usr/bin/python3"
WRAPPER = shutil.which("umockdev-wrapper")


def mock_is_there():
    if WRAPPER is None or not Path(DEBIAN_PYTHON).exists():
        return False
    command = [DEBIAN_PYTHON, "-c", "import gi; gi.require_version('UMockdev', '1.0')"]
    return subprocess.run(command, capture_output=True, check=False).returncode == 0  # noqa: S603


NEEDS_MOCK = pytest.mark.skipif(
    not mock_is_there(), reason="needs Debian's umockdev, gir1.2-umockdev-1.0 and python3-gi"
)
