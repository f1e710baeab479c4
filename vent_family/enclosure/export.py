"""Any CadQuery assembly as STEP AP242, with all that its members say about themselves.

CadQuery's own export writes shapes, names and colours; here part numbers, revisions, descriptions,
materials with their densities, attributes with their units, and volume, surface and centroid for
checking go with them, and every product is written once, however often it is used. What
the members say stands in their ``metadata``: see :mod:`vent_family.enclosure.metadata`.

Names and colours of single faces (``addSubshape``) and layers are not written.
"""

from __future__ import annotations

from datetime import datetime
from os import PathLike
from pathlib import Path
from typing import Final

import cadquery as cq

from vent_family.base.atomic import scratch_folder, write_bytes
from vent_family.base.problems import InputError, Problem
from vent_family.base.shop import CATALOGUE_NAME, ORGANISATION
from vent_family.enclosure.tree import step_tree
from vent_family.files.step.header import StepHeader
from vent_family.files.step.parts import StepAssembly, StepPart
from vent_family.files.step.readback import assembly_differences, part_differences
from vent_family.files.step.write import write_step, write_step_assembly
from vent_family.release.jobs import build_time

ENDINGS: Final = (".step", ".stp")


def export_assembly(
    assembly: cq.Assembly,
    path: str | PathLike[str],
    *,
    part_number: str = "",
    revision: str = "",
    description: str = "",
    time: datetime | str | None = None,
) -> StepPart | StepAssembly:
    """Write a CadQuery assembly to a STEP file, whole or not at all; return what was written.

    The file is read back and compared with what it was made from before it stands at ``path``.

    Parameters
    ----------
    assembly
        the assembly, of any depth
    path
        the file, ending in .step or .stp; its folder must be there
    part_number, revision, description
        of the whole, in place of what its own metadata say
    time
        when the file is made, with its offset from UTC; now, or ``SOURCE_DATE_EPOCH``, by default

    Raises
    ------
    ValueError
        if a member holds anything but solids, is mirrored or scaled, or says what cannot be
        written; if one part number stands for two different things; if there is no solid at all,
        the path has another ending or the time no offset
    InputError
        if the file cannot be written
    RuntimeError
        if the kernel could not write the shapes, or the file does not read back as it was written

    Examples
    --------
    >>> from vent_family.base.atomic import scratch_folder
    >>> plate = cq.Workplane().box(40, 30, 2)
    >>> shelf = cq.Assembly(name="shelf", metadata={"part_number": "S-1"})
    >>> for x in (0, 50, 100):
    ...     shelf = shelf.add(plate, loc=cq.Location((x, 0, 0)), metadata={"material": "steel"})
    >>> with scratch_folder() as folder:
    ...     written = export_assembly(shelf, folder / "shelf.step")
    >>> written.part_number, list(written.parts()), len(written.children)
    ('S-1', ['part'], 3)
    """
    path = Path(path)
    if path.suffix.lower() not in ENDINGS:
        raise ValueError(f"{path} ends in {path.suffix!r}; allowed: {', '.join(ENDINGS)}")
    header = StepHeader(path.name, CATALOGUE_NAME, ORGANISATION, time or build_time())
    tree = step_tree(
        assembly,
        part_number=part_number,
        revision=revision,
        description=description,
        unnamed=path.stem,
    )
    try:
        with scratch_folder() as folder:
            write_bytes(path, _read_back(folder / path.name, tree, header))
    except OSError as error:
        raise InputError(
            [
                Problem(
                    "file.unwritable",
                    f"the assembly cannot be written: {error.strerror or error}",
                    file=str(path),
                    suggestion="name a file in a folder that is there and can be written",
                )
            ]
        ) from error
    return tree


def _read_back(path: Path, tree: StepPart | StepAssembly, header: StepHeader) -> bytes:
    """Return the bytes of a file that says what it should."""
    if isinstance(tree, StepPart):
        write_step(path, tree, header)
        found = part_differences(path, tree)
    else:
        write_step_assembly(path, tree, header)
        found = assembly_differences(path, tree)
    if found:
        raise RuntimeError(f"{path.name} does not read back as it was written: {'; '.join(found)}")
    return path.read_bytes()
