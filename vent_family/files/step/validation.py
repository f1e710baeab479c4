"""Validation properties: volume, area and centroid, by which a receiver checks the geometry."""

from __future__ import annotations

import math
from collections.abc import Sequence

import cadquery as cq

from vent_family.files.step.attributes import add_representation
from vent_family.files.step.part21 import InstanceList, encode_real
from vent_family.files.step.parts import StepAssembly
from vent_family.files.step.products import At, Product
from vent_family.files.step.units import add_unit
from vent_family.geometry.measure import MassProperties


def add_validation(
    instances: InstanceList, measured: MassProperties, product: Product, at: At
) -> None:
    """Add volume, surface area and centroid, by which a receiver can check the geometry.

    Names as in the CAx-IF recommended practice for geometric and assembly validation properties,
    as listed in the source of the NIST STEP File Analyzer.
    """
    area = (
        f"MEASURE_REPRESENTATION_ITEM('surface area measure',"
        f"AREA_MEASURE({encode_real(measured.area_mm2)}),{add_unit(instances, 'mm2')})"
    )
    volume = (
        f"MEASURE_REPRESENTATION_ITEM('volume measure',"
        f"VOLUME_MEASURE({encode_real(measured.volume_mm3)}),{add_unit(instances, 'mm3')})"
    )
    # Below a nanometre the numbers are noise of the summation.
    point = ",".join(encode_real(round(value, 6)) for value in measured.centroid_mm)
    centroid = f"CARTESIAN_POINT('centre point',({point}))"
    for name, item in (("surface area", area), ("volume", volume), ("centroid", centroid)):
        held = instances.add(
            f"PROPERTY_DEFINITION('geometric validation property','{name}',{at(product.shape)})"
        )
        add_representation(instances, held, name, instances.add(item), at(product.context))


def measured_together(children: Sequence[tuple[MassProperties, cq.Location]]) -> MassProperties:
    """Return what the children measure together, each in its place."""
    volume = math.fsum(part.volume_mm3 for part, _ in children)
    area = math.fsum(part.area_mm2 for part, _ in children)
    placed = [
        (part.volume_mm3, (place * cq.Location(cq.Vector(*part.centroid_mm))).toTuple()[0])
        for part, place in children
    ]
    x, y, z = (math.fsum(v * centre[axis] for v, centre in placed) / volume for axis in range(3))
    return MassProperties(volume, area, (x, y, z))


def measured_tree(assembly: StepAssembly) -> dict[str, MassProperties]:
    """Return what every part and every assembly of a tree measures, the whole last, by number.

    Raises
    ------
    ValueError
        if a part encloses no volume, or is inside out
    """
    found = {number: part.mass_properties() for number, part in assembly.parts().items()}
    for one in (*assembly.assemblies().values(), assembly):
        found[one.part_number] = measured_together(
            [(found[item.part_number], place) for item, place, _ in one.children]
        )
    return found
