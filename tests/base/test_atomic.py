"""Files appear whole or not at all."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from vent_family.base.atomic import atomic_file, write_bytes


def test_new_and_replaced(tmp_path: Path) -> None:
    path = tmp_path / "a.bin"
    write_bytes(path, b"first")
    assert path.read_bytes() == b"first"
    write_bytes(path, b"second")
    assert path.read_bytes() == b"second"
    assert os.listdir(tmp_path) == ["a.bin"]


def test_others_may_read_it(tmp_path: Path) -> None:
    mask = os.umask(0o022)
    try:
        write_bytes(tmp_path / "a.bin", b"x")
    finally:
        os.umask(mask)
    assert (tmp_path / "a.bin").stat().st_mode & 0o777 == 0o644


@pytest.mark.parametrize("error", [RuntimeError, KeyboardInterrupt, SystemExit])
def test_interrupted_midway(tmp_path: Path, error: type[BaseException]) -> None:
    path = tmp_path / "a.bin"
    write_bytes(path, b"old")

    def write_half() -> None:
        with atomic_file(path) as file:
            file.write(b"half of the n")
            file.flush()
            assert path.read_bytes() == b"old"
            raise error

    with pytest.raises(error):
        write_half()
    assert path.read_bytes() == b"old"
    assert os.listdir(tmp_path) == ["a.bin"]


def test_failed_rename_leaves_nothing(tmp_path: Path) -> None:
    path = tmp_path / "a.bin"
    path.mkdir()
    with pytest.raises(OSError, match=r"a\.bin"):
        write_bytes(path, b"new")
    assert os.listdir(tmp_path) == ["a.bin"]


def test_missing_folder(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        write_bytes(tmp_path / "nowhere" / "a.bin", b"new")
    assert os.listdir(tmp_path) == []


def test_killed_process_leaves_the_old_file(tmp_path: Path) -> None:
    """No clean-up can run here; the name must still lead to the old bytes."""
    path = tmp_path / "a.bin"
    write_bytes(path, b"old")
    code = (
        "import os, sys; from pathlib import Path\n"
        "from vent_family.base.atomic import atomic_file\n"
        "with atomic_file(Path(sys.argv[1])) as f:\n"
        "    f.write(b'half'); f.flush(); os._exit(9)\n"
    )
    done = subprocess.run([sys.executable, "-c", code, str(path)], check=False)
    assert done.returncode == 9
    assert path.read_bytes() == b"old"
