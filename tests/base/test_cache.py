"""The user's cache only saves time: what it cannot keep or read is simply not there."""

from __future__ import annotations

import errno
import io
import os
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from vent_family.base import cache
from vent_family.base.cache import CACHE_VARIABLE, ArrayCache

ARRAYS = {"u": np.arange(6, dtype=np.float32).reshape(2, 3), "k": np.array(1.5)}
KEPT = ArrayCache("fields")


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    home = tmp_path / "home" / "cache"
    monkeypatch.setenv(CACHE_VARIABLE, str(home))
    return home


def test_what_was_kept_is_found_again(home: Path) -> None:
    assert KEPT.read("a") is None
    KEPT.write("a", ARRAYS)
    found = KEPT.read("a")
    assert found is not None
    assert list(found) == ["u", "k"]
    assert found["u"].dtype == np.float32
    np.testing.assert_array_equal(found["u"], ARRAYS["u"])
    assert float(found["k"]) == 1.5
    assert os.listdir(home / "fields") == ["a.npz"]
    assert ArrayCache("others").read("a") is None
    assert KEPT.read("b") is None


@pytest.mark.parametrize("length", [0, 1, 10, 100, 300])
def test_a_damaged_entry_is_not_there(home: Path, length: int) -> None:
    KEPT.write("a", ARRAYS)
    entry = home / "fields" / "a.npz"
    assert len(entry.read_bytes()) > length
    entry.write_bytes(entry.read_bytes()[:length])
    assert KEPT.read("a") is None


def test_an_entry_never_runs_code(home: Path) -> None:
    (home / "fields").mkdir(parents=True)
    pickled = io.BytesIO()
    np.savez(pickled, u=np.array([print], dtype=object))
    (home / "fields" / "a.npz").write_bytes(pickled.getvalue())
    assert KEPT.read("a") is None


@pytest.mark.parametrize("number", [errno.EROFS, errno.EACCES, errno.ENOSPC, errno.ENOTDIR])
@pytest.mark.parametrize("where", ["folder", "file"])
def test_a_disk_that_refuses_is_no_error(
    home: Path, monkeypatch: pytest.MonkeyPatch, number: int, where: str
) -> None:
    def refuse(*args: Any, **kwargs: Any) -> None:
        raise OSError(number, os.strerror(number))

    if where == "folder":
        monkeypatch.setattr(Path, "mkdir", refuse)
    else:
        monkeypatch.setattr(cache.np, "savez_compressed", refuse)
    KEPT.write("a", ARRAYS)
    assert KEPT.read("a") is None
    assert not home.exists() or not list(home.glob("fields/*"))


def test_a_read_only_home_is_no_error(home: Path) -> None:
    home.mkdir(parents=True)
    home.chmod(0o500)
    try:
        KEPT.write("a", ARRAYS)
        kept = KEPT.read("a")
        assert kept is None or os.access(home, os.W_OK)  # the superuser writes all the same
    finally:
        home.chmod(0o700)


def test_a_file_in_the_folders_place_is_left_alone(home: Path) -> None:
    home.parent.mkdir()
    home.write_text("mine")
    KEPT.write("a", ARRAYS)
    assert KEPT.read("a") is None
    assert home.read_text() == "mine"


def test_without_the_variable_it_lies_in_the_users_cache(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv(CACHE_VARIABLE)
    monkeypatch.setattr(cache, "user_cache_path", lambda app: tmp_path / app)
    assert KEPT.folder == tmp_path / "vent-family" / "fields"
