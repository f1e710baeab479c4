"""Same arguments, same bytes: in one process, in two, whatever was written before."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.files.test_dxf import HALF_DISC, LAYERS, NOON
from tests.files.test_step_assembly import write as write_assembly
from tests.helpers.plain_shapes import plate, slatted
from tests.helpers.stl import write_stl
from tests.release.parts import HEADER, part
from vent_family.files.dxf import Drawing, dxf_bytes
from vent_family.files.step.write import write_step

NAMES = ("plate.step", "slatted.step", "assembly.step", "slatted.stl", "cut.dxf")


def write_all(folder: Path) -> None:
    """Write one file of each kind to ``folder``."""
    write_step(folder / NAMES[0], part(plate()), HEADER)
    write_step(folder / NAMES[1], part(slatted(6)), HEADER)
    write_assembly(folder / NAMES[2])
    (folder / NAMES[4]).write_bytes(dxf_bytes(Drawing("cut", LAYERS, (HALF_DISC,)), NOON))
    write_stl(folder / NAMES[3], slatted(6), "unit=mm part=HT-204 rev=C row=0", 0.05, 0.2)


@pytest.fixture(scope="module")
def folders(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    made = [tmp_path_factory.mktemp("bytes") for _ in range(4)]
    code = (
        "import sys; from pathlib import Path\n"
        "from tests.release.test_determinism import write_all\n"
        "write_all(Path(sys.argv[1]))\n"
    )
    root = Path(__file__).parents[2]
    # Two at a time, with different orders of sets of text; 1 and 4 put a DXF file's classes into
    # different orders where nothing sorts them (tried with Python 3.11).
    running = [
        subprocess.Popen(
            [sys.executable, "-c", code, str(folder)],
            cwd=root,
            env={**os.environ, "PYTHONHASHSEED": seed},
        )
        for folder, seed in zip(made[:2], ("1", "4"), strict=True)
    ]
    write_all(made[2])
    write_all(made[3])
    assert [process.wait() for process in running] == [0, 0]
    return made


@pytest.mark.parametrize("name", NAMES)
def test_same_bytes_everywhere(folders: list[Path], name: str) -> None:
    contents = [(folder / name).read_bytes() for folder in folders]
    assert contents[0] == contents[1], "two processes"
    assert contents[2] == contents[3], "first and second export of one process"
    assert contents[0] == contents[2]
