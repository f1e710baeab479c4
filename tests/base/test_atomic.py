"""Files and folders appear whole or not at all."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from vent_family.base.atomic import (
    atomic_file,
    atomic_path,
    recover,
    staged_folder,
    write_bytes,
)


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


def test_a_library_writes_to_a_path_of_its_own(tmp_path: Path) -> None:
    path = tmp_path / "a.1.npz"
    with atomic_path(path) as aside:
        assert aside != path
        assert (aside.parent, aside.suffix) == (path.parent, path.suffix)
        aside.write_bytes(b"new")
        assert not path.exists()
    assert path.read_bytes() == b"new"
    assert os.listdir(tmp_path) == [path.name]


def test_a_library_that_fails_or_writes_nothing(tmp_path: Path) -> None:
    path = tmp_path / "a.npz"
    write_bytes(path, b"old")

    def write_half() -> None:
        with atomic_path(path) as aside:
            aside.write_bytes(b"half")
            raise ValueError("half")

    with pytest.raises(ValueError, match="half"):
        write_half()
    with pytest.raises(FileNotFoundError), atomic_path(path):
        pass
    assert path.read_bytes() == b"old"
    assert os.listdir(tmp_path) == [path.name]


def test_a_folder_takes_its_place_at_once(tmp_path: Path) -> None:
    target = tmp_path / "P1"
    for content in (b"first", b"second"):
        with staged_folder(target) as folder:
            write_bytes(folder / content.decode(), content)
            assert folder.parent == tmp_path, "a rename is atomic inside one file system only"
            assert not (target / content.decode()).exists()
        assert [p.name for p in target.iterdir()] == [content.decode()]
    assert os.listdir(tmp_path) == ["P1"]


def test_a_failed_folder_leaves_the_old_one(tmp_path: Path) -> None:
    target = tmp_path / "P1"
    with staged_folder(target) as folder:
        write_bytes(folder / "a", b"old")

    def write_half() -> None:
        with staged_folder(target) as folder:
            write_bytes(folder / "a", b"new")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        write_half()
    assert (target / "a").read_bytes() == b"old"
    assert os.listdir(tmp_path) == ["P1"]


@pytest.mark.parametrize("moved", [False, True], ids=["before the swap", "between its renames"])
def test_a_killed_run_is_undone(tmp_path: Path, moved: bool) -> None:
    target = tmp_path / "P1"
    with staged_folder(target) as folder:
        write_bytes(folder / "a", b"old")
    code = (
        "import os, sys; from pathlib import Path\n"
        "from vent_family.base.atomic import staged_folder, write_bytes\n"
        "real, calls = os.replace, []\n"
        "def dies(a, b):\n"
        "    if '.staging-' in str(a) and Path(a).is_dir(): os._exit(9)\n"
        "    real(a, b)\n"
        "with staged_folder(Path(sys.argv[1])) as f:\n"
        "    write_bytes(f / 'a', b'new')\n"
        "    if sys.argv[2] == 'False': os._exit(9)\n"
        "    os.replace = dies\n"
    )
    done = subprocess.run([sys.executable, "-c", code, str(target), str(moved)], check=False)
    assert done.returncode == 9
    assert target.exists() is not moved
    recover(tmp_path)
    assert (target / "a").read_bytes() == b"old"
    assert os.listdir(tmp_path) == ["P1"]
    recover(tmp_path / "nowhere")
