"""Rows built by a Dask cluster: the same bytes, and a worker lost on the way costs nothing."""

from __future__ import annotations

import os
import signal
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.helpers.kills import children
from tests.release.publish.quick import catalogue, here, line, made, run
from tests.release.publish.test_publish import outcomes, tree
from vent_family.base.problems import InputError
from vent_family.release.publish.verify import verify_library
from vent_family.release.remote import on_scheduler

distributed = pytest.importorskip("distributed")


@pytest.fixture(scope="module")
def cluster() -> Iterator[object]:
    """Two workers in processes of their own, on this machine."""
    with distributed.LocalCluster(
        n_workers=2,
        threads_per_worker=1,
        processes=True,
        dashboard_address=None,
        silence_logs=50,
    ) as found:
        yield found


def test_the_same_bytes_as_a_local_run(tmp_path: Path, cluster: object) -> None:
    path = catalogue(tmp_path, *(line(f"A-{i}") for i in range(2)))
    run(path, tmp_path / "local", runner=here)
    address = cluster.scheduler_address  # type: ignore[attr-defined]
    # The register would tell the second run of the first one's releases.
    (tmp_path / "catalog.releases.csv").unlink()
    result = run(path, tmp_path / "remote", runner=on_scheduler(address, made))
    assert set(outcomes(result).values()) == {"written"}
    assert tree(tmp_path / "local") == tree(tmp_path / "remote")


def test_faults_cost_their_rows_only(tmp_path: Path, cluster: object) -> None:
    path = catalogue(
        tmp_path, line("A-1", words="crash"), line("A-2", words="hang"), line("A-3", words="wide")
    )
    address = cluster.scheduler_address  # type: ignore[attr-defined]
    result = run(path, tmp_path / "out", runner=on_scheduler(address, made), limit_s=6.0)
    assert outcomes(result) == {"A-1": "failed", "A-2": "failed", "A-3": "written"}
    told = {o.part_number: o.message for o in result.outcomes}
    assert "crashed" in told["A-1"]
    assert "given up after 6 s" in told["A-2"]


def test_a_worker_killed_on_the_way_is_made_good(tmp_path: Path, cluster: object) -> None:
    path = catalogue(tmp_path, *(line(f"A-{i}", words="slow") for i in range(4)))
    address = cluster.scheduler_address  # type: ignore[attr-defined]
    before = [w.pid for w in cluster.workers.values()]  # type: ignore[attr-defined]
    killed = []

    def kill() -> None:
        deadline = time.monotonic() + 60.0
        while not killed and time.monotonic() < deadline:
            for pid in before:
                if children(pid):  # it has a row in hand
                    os.kill(pid, signal.SIGKILL)
                    killed.append(pid)
                    return
            time.sleep(0.02)

    thread = threading.Thread(target=kill)
    thread.start()
    result = run(path, tmp_path / "out", runner=on_scheduler(address, made))
    thread.join()
    assert len(killed) == 1
    assert set(outcomes(result).values()) == {"written"}
    assert not verify_library(tmp_path / "out").findings


def test_no_scheduler_is_told(tmp_path: Path) -> None:
    path = catalogue(tmp_path, line("A-1"))
    with pytest.raises(InputError, match="no scheduler answers"):
        run(path, tmp_path / "out", runner=on_scheduler("tcp://127.0.0.1:9", made))
    assert not (tmp_path / "out" / "library.json").exists()
