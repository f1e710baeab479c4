"""Read the STEP files of a part back before they are published."""

from __future__ import annotations

from pathlib import Path

from vent_family.evidence.result import CheckResult
from vent_family.files.step.readback import assembly_differences, part_differences
from vent_family.files.step.same import same_in_assembly
from vent_family.release.contents import Contents
from vent_family.release.examine import CheckFailedError


def require_read_back(folder: Path, contents: Contents) -> None:
    """Read every STEP file of a folder and compare it with what was to be written.

    Raises
    ------
    CheckFailedError
        if a file holds another solid, place, attribute, unit or name; all differences at once
    OSError
        if a file cannot be read from the disk
    """
    failures = []
    written = (*contents.step_parts.values(), contents.envelope)
    parts = {f"{part.part_number}.step": part for part in written}
    assembly = contents.assembly
    whole = folder / f"{assembly.part_number}.step"
    fitted = assembly.parts()
    # What stands in the assembly record for record has been read with it. A gasket has not: it is
    # drawn pressed down there.
    as_fitted = [p for p in parts if parts[p] is fitted.get(parts[p].part_number)]
    files = sorted(set(folder.glob("*.step")) - {whole})
    read_already = same_in_assembly(whole, [p for p in files if p.name in as_fitted])
    for path in (whole, *files):
        if path in read_already:
            continue
        if path == whole:
            differences = assembly_differences(path, assembly)
        else:
            differences = part_differences(path, parts[path.name])
        if differences:
            text = f"{path.name} does not read back as it was written: {'; '.join(differences)}"
            failures.append(CheckResult("files read back", "fail", text))
    if failures:
        raise CheckFailedError(tuple(failures))
