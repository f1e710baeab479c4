"""What a part is made of and what colour it has."""

from __future__ import annotations

from vent_family.files.step.attributes import add_representation
from vent_family.files.step.part21 import InstanceList, encode_real, encode_text
from vent_family.files.step.parts import StepPart
from vent_family.files.step.products import At, Product
from vent_family.files.step.units import add_unit


def add_colour(
    instances: InstanceList, colour_rgb: tuple[float, float, float], product: Product, at: At
) -> None:
    """Colour the surfaces of every body, both sides (styled item, ISO 10303-46 as cited).

    ``colour_rgb`` are shares of red, green and blue, sRGB, 0 to 1.
    """
    values = ",".join(encode_real(value) for value in colour_rgb)
    colour = instances.add(f"COLOUR_RGB('',{values})")
    filled = instances.add(f"FILL_AREA_STYLE_COLOUR('',{colour})")
    area = instances.add(f"FILL_AREA_STYLE('',({filled}))")
    surface = instances.add(f"SURFACE_STYLE_FILL_AREA({area})")
    side = instances.add(f"SURFACE_SIDE_STYLE('',({surface}))")
    usage = instances.add(f"SURFACE_STYLE_USAGE(.BOTH.,{side})")
    style = instances.add(f"PRESENTATION_STYLE_ASSIGNMENT(({usage}))")
    styled = [
        instances.add(f"STYLED_ITEM('color',({style}),{at(body)})") for body in product.bodies
    ]
    instances.add(
        f"MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION('',({','.join(styled)}),"
        f"{at(product.context)})"
    )


def add_material(instances: InstanceList, part: StepPart, definition: str, context: str) -> None:
    """Add designation and density of the material.

    Structure and the measure type of the density as cited from the CAx-IF recommended practice for
    material identification and density, release 2.1; the unit is grams per cubic centimetre.
    """
    full_name = part.material_description or part.material
    designation = instances.add(
        f"DESCRIPTIVE_REPRESENTATION_ITEM({encode_text(part.material)},{encode_text(full_name)})"
    )
    density = instances.add(
        f"MEASURE_REPRESENTATION_ITEM('density measure',"
        f"POSITIVE_RATIO_MEASURE({encode_real(part.density_g_cm3)}),{add_unit(instances, 'g/cm3')})"
    )
    for name, item in (("material name", designation), ("density", density)):
        held = instances.add(f"PROPERTY_DEFINITION('material property','{name}',{definition})")
        add_representation(instances, held, name, item, context)
