"""What a part is made of and what colour it has."""

from __future__ import annotations

from vent_family.files.step.attributes import add_representation
from vent_family.files.step.part21 import InstanceList, encode_real, encode_text
from vent_family.files.step.parts import Colour, StepPart
from vent_family.files.step.products import At, Product
from vent_family.files.step.units import add_unit


def add_colour(
    instances: InstanceList, colour_rgb: Colour, product: Product, at: At
) -> tuple[str, ...]:
    """Colour the surfaces of every body, both sides (styled item, ISO 10303-46 as cited).

    ``colour_rgb`` are shares of red, green, blue and maybe opacity, sRGB, 0 to 1. The styled items
    are returned, one a body.
    """
    style = _add_style(instances, colour_rgb)
    styled = tuple(
        instances.add(f"STYLED_ITEM('color',({style}),{at(body)})") for body in product.bodies
    )
    _add_presentation(instances, styled, at(product.context))
    return styled


def add_instance_colour(
    instances: InstanceList,
    colour_rgb: Colour,
    product: Product,
    styled: tuple[str, ...],
    use: str,
    at: At,
) -> None:
    """Colour one instance of a part otherwise than the part.

    The shape of the use gets a representation, in whose context each of the part's styled items is
    overridden: as Open CASCADE 7.9 writes and reads it.

    Parameters
    ----------
    instances
        where to add it
    colour_rgb
        shares of red, green, blue and maybe opacity, sRGB, 0 to 1
    product
        the part
    styled
        its styled items, one a body
    use
        reference to the shape of the instance
    at
        leads to references
    """
    context = at(product.context)
    used = instances.add(f"SHAPE_REPRESENTATION('',({at(product.origin)}),{context})")
    instances.add(f"SHAPE_DEFINITION_REPRESENTATION({use},{used})")
    style = _add_style(instances, colour_rgb, f",{used}")
    overridden = tuple(
        instances.add(
            f"OVER_RIDING_STYLED_ITEM('overriding color',({style}),{at(body)},{styled_item})"
        )
        for body, styled_item in zip(product.bodies, styled, strict=True)
    )
    _add_presentation(instances, overridden, context)


def _add_style(instances: InstanceList, colour_rgb: Colour, within: str = "") -> str:
    values = ",".join(encode_real(value) for value in colour_rgb[:3])
    colour = instances.add(f"COLOUR_RGB('',{values})")
    filled = instances.add(f"FILL_AREA_STYLE_COLOUR('',{colour})")
    area = instances.add(f"FILL_AREA_STYLE('',({filled}))")
    surface = instances.add(f"SURFACE_STYLE_FILL_AREA({area})")
    styles = [surface]
    if len(colour_rgb) == 4:
        # As Open CASCADE 7.9 writes and reads it.
        clear = instances.add(f"SURFACE_STYLE_TRANSPARENT({encode_real(1.0 - colour_rgb[3])})")
        rendering = f"(.NORMAL_SHADING.,{colour},({clear}))"
        styles.append(instances.add(f"SURFACE_STYLE_RENDERING_WITH_PROPERTIES{rendering}"))
    side = instances.add(f"SURFACE_SIDE_STYLE('',({','.join(styles)}))")
    usage = instances.add(f"SURFACE_STYLE_USAGE(.BOTH.,{side})")
    kind = "PRESENTATION_STYLE_BY_CONTEXT" if within else "PRESENTATION_STYLE_ASSIGNMENT"
    return instances.add(f"{kind}(({usage}){within})")


def _add_presentation(instances: InstanceList, styled: tuple[str, ...], context: str) -> None:
    instances.add(
        f"MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION('',({','.join(styled)}),"
        f"{context})"
    )


def add_material(instances: InstanceList, part: StepPart, definition: str, context: str) -> None:
    """Add designation and density of the material, as far as they are known.

    Structure and the measure type of the density as cited from the CAx-IF recommended practice for
    material identification and density, release 2.1; the unit is grams per cubic centimetre.
    """
    if part.material is None:
        return
    full_name = part.material_description or part.material
    designation = instances.add(
        f"DESCRIPTIVE_REPRESENTATION_ITEM({encode_text(part.material)},{encode_text(full_name)})"
    )
    said = [("material name", designation)]
    if part.density_g_cm3 is not None:
        density = (
            f"MEASURE_REPRESENTATION_ITEM('density measure',POSITIVE_RATIO_MEASURE("
            f"{encode_real(part.density_g_cm3)}),{add_unit(instances, 'g/cm3')})"
        )
        said.append(("density", instances.add(density)))
    for name, item in said:
        held = instances.add(f"PROPERTY_DEFINITION('material property','{name}',{definition})")
        add_representation(instances, held, name, item, context)
