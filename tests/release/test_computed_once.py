"""Nothing is computed twice while a part is released."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from tests.helpers.rows import spec
from vent_family.evidence import context as context_module
from vent_family.evidence.water import setup as prepared
from vent_family.evidence.water import spray as spray_module
from vent_family.files.step import parts as parts_module
from vent_family.geometry import measure as measure_module
from vent_family.geometry import vent as geometry_module
from vent_family.mesh import slices as slices_module
from vent_family.mesh import vent as mesh_module
from vent_family.release.jobs import build_time
from vent_family.release.part import release_part
from vent_family.spec import areas as areas_module
from vent_family.spec import resolve as resolve_module

Calls = dict[str, Counter[Any]]


def watch(
    patch: pytest.MonkeyPatch, calls: Calls, module: Any, name: str, key: Callable[..., Any]
) -> None:
    """Count calls of a function by a key of its arguments, wherever it was imported to."""
    import sys

    real = getattr(module, name)
    kept = calls.setdefault(name, Counter())

    def counted(*args: Any, **kwargs: Any) -> Any:
        kept[key(*args, **kwargs)] += 1
        return real(*args, **kwargs)

    for loaded in list(sys.modules.values()):
        if getattr(loaded, "__name__", "").startswith("vent_family"):
            for attribute, value in list(vars(loaded).items()):
                if value is real:
                    patch.setattr(loaded, attribute, counted)


HELD: list[Any] = []


def same_shape(shape: Any, *_: Any) -> Any:
    """Name a kernel shape by its topology and place; both are kept, so that no other is them."""
    body = shape.TShape()
    HELD.extend((shape, body))
    place = shape.Location()
    move = tuple(
        round(place.Transformation().Value(i, j), 9) for i in (1, 2, 3) for j in (1, 2, 3, 4)
    )
    return id(body), move


def same_cut(vertices: Any, triangles: Any, levels: Any) -> Any:
    """Name a mesh in one position by its bytes; levels are counted singly."""
    mesh = hashlib.sha256(vertices.tobytes() + triangles.tobytes()).hexdigest()
    return mesh, tuple(float(level) for level in levels)


def same_drops(scene: Any, came: Any, model: Any, *rest: Any) -> Any:
    """Name batches of drops by where they fly, what they are and by what chance is drawn."""
    HELD.append(scene)
    *_, batches, rng = rest
    water = (came.diameter_mm, came.w_m_s, came.v_m_s, came.u_m_s, came.flux_l_min_m2)
    flow = tuple(array.tobytes() for array in water)
    return id(scene), flow, model.name, batches, str(rng.bit_generator.state)


@pytest.fixture(scope="module", params=["round", "flanged"])
def calls(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Calls]:
    """Release a part for which the water check tries changes, and count."""
    import vent_family.evidence.kinds  # noqa: F401  loads every module that imports the watched

    size = {"round": "M20x1.5", "flanged": "50x50"}[request.param]
    found: Calls = {}
    with pytest.MonkeyPatch.context() as patch:
        watch(patch, found, measure_module, "mass_properties", same_shape)
        watch(patch, found, areas_module, "open_areas", lambda vent: vent.row)
        watch(patch, found, areas_module, "drain_area_mm2", lambda vent: vent.row)
        watch(patch, found, resolve_module, "resolve", lambda row, *_, **__: row)
        watch(patch, found, slices_module, "_crossings", same_cut)
        watch(patch, found, geometry_module, "build_solids", lambda vent: vent.part_number)
        watch(patch, found, mesh_module, "meshes_of", id)
        watch(patch, found, prepared, "setup_of", lambda v, w, *_: (v.row, w))
        watch(patch, found, spray_module, "spray", same_drops)
        row = spec(
            request.param,
            size=size,
            slat_form="folded",
            exposure="splashing/jets/driving_rain",
            # None of the core velocities that the louvre classes are worked out at.
            face_velocity_m_s=0.6,
        ).row
        vent = resolve_module.resolve(row)
        release_part(
            vent,
            tmp_path_factory.mktemp("once") / "T1",
            row_hash="0" * 16,
            time_stamp=build_time(),
            publish_if="any",
        )
    yield found
    HELD.clear()


@pytest.mark.parametrize(
    ("name", "least"),
    [
        # vent, panel, gasket free and fitted; the whole assembly adds their numbers up
        ("mass_properties", 4),
        ("open_areas", 1),
        ("drain_area_mm2", 1),
        # the row and what the advice tries
        ("resolve", 1),
        ("build_solids", 1),
        ("meshes_of", 1),
        ("setup_of", 2),
        # each splash of what is judged of the row and of a change of it
        ("spray", 12),
    ],
)
def test_each_thing_is_computed_once(calls: Calls, name: str, least: int) -> None:
    assert len(calls[name]) >= least
    assert {key: n for key, n in calls[name].items() if n > 1} == {}


def test_no_level_of_a_mesh_is_cut_twice(calls: Calls) -> None:
    cut: Counter[Any] = Counter()
    for (mesh, levels), times in calls["_crossings"].items():
        assert times == 1
        for level in levels:
            cut[mesh, level] += times
    # Every layer of 0.2 mm, and what walls and slats are measured on.
    assert len(cut) > 110
    assert [key for key, n in cut.items() if n > 1] == []


def test_only_what_was_asked_is_made() -> None:
    """A context makes nothing by itself, and its kinds' reports are the same object each time."""
    made = context_module.PartContext(spec())
    assert "solids" not in vars(made)
    first = made.solids
    assert made.solids is first
    assert parts_module.mass_properties is measure_module.mass_properties
