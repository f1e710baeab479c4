"""A published library as a source of parts, held against the catalogue it was published from.

The parts are published for real, so that the solids compared are those of files.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import cadquery as cq
import pytest

import vent_family
from tests.release.pinned.shelves import LATER, edited
from tests.release.publish import quick
from tests.release.releases import SOLID
from vent_family.base.problems import InputError, Problem
from vent_family.enclosure.library import Library
from vent_family.enclosure.members import Detail
from vent_family.enclosure.vents import Vents
from vent_family.evidence.air.state import air_at
from vent_family.evidence.context import PartContext
from vent_family.front import plugin
from vent_family.front.parts import Parts
from vent_family.release.contents import Contents
from vent_family.release.discipline import Earlier, Judgement, classified
from vent_family.release.entry import entry_of
from vent_family.release.jobs import Job, RowOutcome, build_row
from vent_family.release.pinned.lockfile import pinned_folders
from vent_family.release.plan import PLAN
from vent_family.release.publish.verify import verify_library
from vent_family.release.written import written_files
from vent_family.spec.resolve import resolve

HEAD = "part_number,family,size,status,revision,description,step_thread,exposure\n"
BLOCK, ROUND = "V-30", "V-N20"
READ = (".step", "-locknut.step", "-gasket.step", "-envelope.step", "-assembly.step", ".json")


def row(number: str, status: str = "released", revision: str = "A", words: str = "") -> str:
    if number == BLOCK:
        return f"{number},rectangular,30x30,{status},{revision},{words},,dry\n"
    return f"{number},round,M20x1.5,{status},{revision},{words},plain,dry\n"


def for_real(
    jobs: Sequence[Job], workers: int, on_done: Callable[[RowOutcome], None], limit_s: float
) -> None:
    """Release the block but for what people look at; of the round one write what is read."""
    for job in jobs:
        source = job.source
        folder = Path(str(job.target))
        context = PartContext(resolve(source.row, source.attached))
        if source.row.part_number == BLOCK:
            assert build_row(replace(job, before=None)).outcome == "written"
        else:
            folder.mkdir()
            names = {f"{ROUND}{file.ending}": file for file in PLAN if file.ending in READ}
            contents = Contents(context, tuple(names), source.row_hash, job.time_stamp)
            for name, file in names.items():
                file.write(contents, folder / name)
        entry = replace(
            entry_of(context.spec, source.row_hash, job.time_stamp.date().isoformat()),
            evidence=source.row_hash,
            geometry=(("vent", SOLID),),
        )
        on_done(written(job, folder, classified(entry, {}, Earlier())))


def again(
    jobs: Sequence[Job], workers: int, on_done: Callable[[RowOutcome], None], limit_s: float
) -> None:
    """Release what was released before once more, with other evidence and files of a few bytes."""
    for job in jobs:
        source, before = job.source, job.before
        if source.row.description == "leaks":
            on_done(quick.made(job))
            continue
        assert before is not None
        now = replace(
            before.entries[-1],
            revision=source.row.revision or "A",
            evidence=hashlib.sha256(str(source.row.description).encode()).hexdigest()[:16],
            row=source.row_hash,
        )
        folder = Path(str(job.target))
        folder.mkdir()
        (folder / f"{source.row.part_number}.json").write_text("{}", encoding="utf-8")
        on_done(written(job, folder, classified(now, {}, Earlier(before.entries))))


def written(job: Job, folder: Path, judgement: Judgement) -> RowOutcome:
    source = job.source
    return RowOutcome(
        source.row.part_number,
        source.row_number,
        source.row.status,
        "written",
        folder=str(folder),
        files=written_files(folder),
        facts={},
        judgement=judgement,
    )


def publish(place: Path, *lines: str, runner: Any = again, **changed: Any) -> None:
    path = place / "catalog.csv"
    path.write_text(HEAD + "".join(lines), encoding="utf-8")
    result = quick.run(path, place / "out", runner=runner, **changed)
    assert not any(o.outcome == "failed" for o in result.outcomes)


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("published")
    publish(folder, row(BLOCK), row(ROUND), runner=for_real)
    return folder


@pytest.fixture(scope="module")
def library(place: Path) -> Library:
    return Library(place / "out")


@pytest.fixture(scope="module")
def parts(place: Path) -> Parts:
    return Parts(place / "catalog.csv")


@pytest.fixture
def own(place: Path, tmp_path: Path) -> Path:
    """A copy of all, to be published into and damaged; return its place."""
    return Path(shutil.copytree(place, tmp_path / "own"))


def problem_of(call: Any, *words: Any) -> Problem:
    with pytest.raises(InputError) as raised:
        call(*words)
    (problem,) = raised.value.problems
    return problem


@pytest.fixture(params=["parts", "library"])
def vents(request: pytest.FixtureRequest) -> Any:
    return request.getfixturevalue(request.param)


def test_the_air_of_a_released_part_is_that_of_its_row(parts: Parts, library: Library) -> None:
    """A record states what the resistance is made of: no catalogue is asked."""
    air = air_at(30.0, 500.0)
    for number in (BLOCK, ROUND):
        live, released = parts.airway(number), library.airway(number)
        for pressure in (0.2, 5.0, 80.0):
            flows = [float(v.flow(pressure, air, "out").flow_m3_s[0]) for v in (live, released)]
            assert flows[1] == pytest.approx(flows[0], rel=1e-3)
        assert released.part_number == number
        assert released.opening_mm2 == pytest.approx(live.opening_mm2)


# What both sources promise.


def test_a_source_names_its_parts_in_order(vents: Vents) -> None:
    assert vents.part_numbers == (BLOCK, ROUND)


@pytest.mark.parametrize(
    ("number", "names"), [(BLOCK, ["vent"]), (ROUND, ["vent", "gasket", "locknut"])]
)
@pytest.mark.parametrize("detail", ["exact", "envelope"])
def test_members_are_valid_solids_by_name(
    vents: Vents, number: str, names: list[str], detail: Detail
) -> None:
    members = vents.members(number, detail)
    assert [m.name for m in members] == names
    for member in members:
        assert member.shape.isValid()
        assert len(member.shape.Solids()) == 1
        assert member.data.part_number == (
            number if member.name == "vent" else f"{number}-{member.name}"
        )
    assert vents.vent(number, detail=detail) is vents.members(number, detail)[0].shape


def test_a_source_tells_near_misses(vents: Vents) -> None:
    problem = problem_of(vents.vent, "V-n21")
    assert problem.code == "part.unknown"
    assert problem.suggestion == f"did you mean {ROUND}?"
    assert problem.allowed == ""
    assert "did you mean" not in problem_of(vents.installation, "pump").suggestion
    with pytest.raises(ValueError, match="detail is 'rough'"):
        vents.members(BLOCK, "rough")  # type: ignore[arg-type]


# That both say the same.


def plain(data: Any, name: str = "") -> dict[str, Any]:
    """Return nested data flat."""
    if isinstance(data, dict):
        return {k: v for n, d in data.items() for k, v in plain(d, f"{name}.{n}").items()}
    if isinstance(data, list | tuple):
        return {k: v for i, d in enumerate(data) for k, v in plain(d, f"{name}.{i}").items()}
    return {name: data}


@pytest.mark.parametrize("number", [BLOCK, ROUND])
def test_both_ask_the_same_of_the_wall(library: Library, parts: Parts, number: str) -> None:
    """To within the twelve digits of a record."""
    live = plain(parts.installation(number).model_dump())
    read = plain(library.installation(number).model_dump())
    assert len(live) > 30
    assert list(read) == list(live)
    for name, value in live.items():
        if isinstance(value, float):
            assert read[name] == pytest.approx(value, rel=1e-11), name
        else:
            assert read[name] == value, name
    assert library.panel_mm(number) == parts.panel_mm(number)
    assert library.opening(number, 3.0).Volume() == pytest.approx(
        parts.opening(number, 3.0).Volume(), rel=1e-9
    )


@pytest.mark.parametrize("number", [BLOCK, ROUND])
@pytest.mark.parametrize("detail", ["exact", "envelope"])
def test_both_give_the_same_bodies(
    library: Library, parts: Parts, number: str, detail: Detail
) -> None:
    for read, live in zip(
        library.members(number, detail), parts.members(number, detail), strict=True
    ):
        assert read.name == live.name
        assert read.shape.Volume() == pytest.approx(live.shape.Volume(), rel=1e-6)
        assert read.colour == live.colour
        here, there = (m.shape.moved(m.location).BoundingBox() for m in (read, live))
        for side in ("xmin", "xmax", "ymin", "ymax", "zmin", "zmax"):
            assert getattr(here, side) == pytest.approx(getattr(there, side), abs=1e-3)


def tags(node: cq.Assembly) -> set[str]:
    return set(node.obj.ctx.tags) if isinstance(node.obj, cq.Workplane) else set()


@pytest.mark.parametrize("number", [BLOCK, ROUND])
def test_both_assemblies_hold_the_same_by_name(library: Library, parts: Parts, number: str) -> None:
    """In a wall of another thickness than the row's, with a piece of it."""
    read, live = (
        v.assembly(number, panel_mm=v.installation(number).panel_most_mm, panel=True)
        for v in (library, parts)
    )
    assert [c.name for c in read.children] == [c.name for c in live.children]
    for one, other in zip(read.children, live.children, strict=True):
        assert set(one.metadata) == set(other.metadata)
        a, b = one.metadata, other.metadata
        assert set(b["attributes"]) <= set(a["attributes"])
        for key in set(a) - {"attributes"}:
            assert a[key] == b[key], key
        assert one.color.toTuple() == pytest.approx(other.color.toTuple(), abs=1e-3)
        assert one.loc.toTuple()[0] == pytest.approx(other.loc.toTuple()[0])
        here, there = (
            n.obj.ctx.tags if isinstance(n.obj, cq.Workplane) else {} for n in (one, other)
        )
        assert set(here) == set(there)
    assert read.toCompound().Volume() == pytest.approx(live.toCompound().Volume(), rel=1e-6)


def test_what_is_read_is_kept(library: Library) -> None:
    assert library.vent(ROUND) is library.vent(ROUND)
    assert library.members(ROUND)[1].shape is library.members(ROUND)[1].shape


# What only a library says.


def test_the_vent_carries_all_that_was_released_of_it(library: Library) -> None:
    attributes = library.members(BLOCK)[0].data.attributes
    record = library.record(BLOCK)
    assert len(attributes) > 100
    assert attributes["row_hash"] == record["identity"]["row_hash"]
    assert (attributes["issue"], attributes["standing"]) == (1, "current")
    assert attributes["panel_thickness_most_mm"] == record["installation"]["panel_most_mm"]
    volume = library.vent(BLOCK).Volume()
    assert volume == pytest.approx(record["geometry"]["volume_mm3"], rel=1e-6)
    assert attributes["volume_mm3"] == pytest.approx(volume, abs=0.06)


def test_an_envelope_says_of_itself_that_it_is_one(library: Library) -> None:
    """What is said of the very solid is said of this one, all else of the vent."""
    vent, envelope = (library.members(BLOCK, detail)[0] for detail in ("exact", "envelope"))
    told, said = envelope.data.attributes, vent.data.attributes
    assert told["volume_mm3"] == pytest.approx(envelope.shape.Volume(), abs=0.06)
    assert told["solid_in_file"] != said["solid_in_file"]
    own = {"volume_mm3", "surface_mm2", "mass_g", "solid_in_file"}
    assert {n for n in said if told[n] != said[n]} == own
    assert set(told) == set(said)


def test_the_solid_is_the_one_in_the_file(library: Library, place: Path) -> None:
    """Read by CadQuery's own importer."""
    (path,) = (place / "out" / "parts" / BLOCK).glob(f"*/{BLOCK}.step")
    found = cq.importers.importStep(str(path)).val()
    assert isinstance(found, cq.Shape)
    vent = library.vent(BLOCK)
    assert vent.Volume() == pytest.approx(found.Volume(), rel=1e-9)
    assert len(vent.Faces()) == len(found.Faces())


def test_an_altered_file_is_not_read(own: Path) -> None:
    library = Library(own / "out")
    (path,) = (own / "out" / "parts" / ROUND).glob(f"*/{ROUND}-assembly.step")
    data = bytearray(path.read_bytes())
    data[len(data) // 2] ^= 1
    path.write_bytes(bytes(data))
    assert library.vent(ROUND).isValid()
    problem = problem_of(library.members, ROUND)
    assert (problem.code, problem.file) == ("library.file.altered", str(path))


def test_a_solid_of_another_volume_than_the_record_tells_is_refused(own: Path) -> None:
    """Whoever published it: file and manifest agree here, record and solid do not."""
    (path,) = (own / "out" / "parts" / BLOCK).glob(f"*/{BLOCK}.json")

    def thinner(record: dict[str, Any]) -> None:
        record["geometry"]["volume_mm3"] *= 1.00003

    republished(own, path, thinner)
    problem = problem_of(Library(own / "out").vent, BLOCK)
    assert problem.code == "library.solid.differs"


@pytest.mark.parametrize(
    ("change", "lacking"),
    [
        (lambda record: record.pop("installation"), "section installation"),
        (lambda record: record["installation"].pop("drain_mm"), "drain_mm: Field required"),
        (lambda record: record["opening"].pop("panel_thickness_mm"), "entry opening.panel_"),
        (lambda record: record.pop("geometry"), "entry geometry.volume_mm3"),
    ],
)
def test_a_library_of_another_version_is_told(
    own: Path, change: Callable[[dict[str, Any]], Any], lacking: str
) -> None:
    (path,) = (own / "out" / "parts" / BLOCK).glob(f"*/{BLOCK}.json")
    republished(own, path, change)
    library = Library(own / "out")
    problem = problem_of(library.assembly, BLOCK)
    assert problem.code == "library.record.old"
    assert lacking in problem.sentence()
    assert "publish the library again" in problem.suggestion
    assert library.installation(ROUND).nut is not None


def republished(place: Path, path: Path, change: Callable[[dict[str, Any]], Any]) -> None:
    """Change a record, and manifest and index with it."""
    out = place / "out"
    edited(out, path.relative_to(out).as_posix(), change)
    index = json.loads((out / "library.json").read_text(encoding="utf-8"))

    def listed(manifest: dict[str, Any]) -> None:
        for part in manifest["parts"]:
            for file in part["files"]:
                if file["name"] == path.name:
                    file.update(told_of(path))

    edited(out, index["manifest"]["name"], listed)
    name = index["manifest"]["name"]
    edited(out, "library.json", lambda data: data["manifest"].update(told_of(out / name)))


def told_of(path: Path) -> dict[str, Any]:

    data = path.read_bytes()
    return {"size_bytes": len(data), "sha256": hashlib.sha256(data).hexdigest()}


# Old releases, pins, and what must not be fitted.


def test_an_old_revision_stays_as_it_was_released(own: Path, library: Library) -> None:
    publish(own, row(BLOCK, revision="B"), row(ROUND), stamp=LATER)
    now = Library(own / "out")
    assert [r.label for r in now.releases(BLOCK)] == ["A.1", "B.1"]
    assert now.release(BLOCK).label == "B.1"
    old = now.at(BLOCK, "A")
    assert old.release(BLOCK).label == "A.1"
    assert now.release(BLOCK).label == "B.1"
    assert old.part_numbers == now.part_numbers
    assert old.vent(BLOCK).Volume() == pytest.approx(library.vent(BLOCK).Volume(), rel=1e-12)
    assert old.assembly(BLOCK).children[0].metadata["revision"] == "A"
    assert problem_of(now.at, BLOCK, "C").code == "library.release.unknown"


def test_pins_give_the_same_solid_after_the_library_moved_on(own: Path, library: Library) -> None:
    lock = own / "vents.lock"
    (pin,) = Library(own / "out").lock(lock, [BLOCK])
    publish(own, row(BLOCK, revision="B"), row(ROUND), stamp=LATER)
    pinned = Library(own / "out", pins=lock)
    assert pinned.part_numbers == (BLOCK,)
    assert pinned.release(BLOCK).pin == pin
    assert pinned.vent(BLOCK).Volume() == pytest.approx(library.vent(BLOCK).Volume(), rel=1e-12)
    assert pinned.installation(BLOCK) == library.installation(BLOCK)
    problem = problem_of(pinned.vent, ROUND)
    assert (problem.code, problem.file) == ("pins.part.missing", str(lock))
    # Locking one part leaves the others' lines alone.
    before = lock.read_text(encoding="utf-8").splitlines()
    Library(own / "out").lock(lock, [ROUND])
    assert lock.read_text(encoding="utf-8").splitlines()[:-1] == before
    both = Library(own / "out", pins=lock)
    assert [both.release(n).label for n in both.part_numbers] == ["A.1", "A.1"]
    (raised,) = Library(own / "out").lock(lock, [BLOCK])[:1]
    assert raised.label == "B.1"


def test_an_issue_that_was_followed_is_given_by_its_pin(own: Path, library: Library) -> None:
    lock = own / "vents.lock"
    Library(own / "out").lock(lock, [BLOCK])
    publish(own, row(BLOCK, words="better"), row(ROUND), stamp=LATER)
    assert Library(own / "out").release(BLOCK).label == "A.2"
    pinned = Library(own / "out", pins=lock)
    assert pinned.release(BLOCK).label == "A.1"
    assert pinned.vent(BLOCK).Volume() == pytest.approx(library.vent(BLOCK).Volume(), rel=1e-12)
    (news,) = pinned.news()
    assert (news.kind, news.now) == ("issue", "A.2")
    # It stays for as long as a lock file is named that pins it, and is gone afterwards.
    for words, kept in (("best", pinned_folders([lock])), ("last", ())):
        for path in (own / "out").rglob("*"):
            os.utime(path, (0, 0))
        changed: dict[str, Any] = {"keep_days": 0.0, "pinned": kept}
        publish(own, row(BLOCK, words=words), row(ROUND), stamp=LATER, **changed)
        if kept:
            again = Library(own / "out", pins=lock)
            assert again.vent(BLOCK).Volume() == pinned.vent(BLOCK).Volume()
            assert not verify_library(own / "out").findings
    problem = problem_of(lambda: Library(own / "out", pins=lock))
    assert problem.code == "pins.release.gone"
    assert "has the same geometry" in problem.suggestion


def test_what_must_not_be_fitted_is_refused_unless_named(own: Path) -> None:
    lock = own / "vents.lock"
    Library(own / "out").lock(lock, [BLOCK, ROUND])
    publish(own, row(BLOCK, words="leaks"), row(ROUND, "retired"), stamp=LATER)
    now = Library(own / "out")
    assert now.part_numbers == (BLOCK,)
    for number, code in ((BLOCK, "marked"), (ROUND, "withdrawn")):
        for source in (now, Library(own / "out", pins=lock)):
            for ask in (source.vent, source.installation, source.record, source.assembly):
                problem = problem_of(ask, number)
                assert problem.code == f"library.release.{code}"
                assert f'allow=["{number}"]' in problem.suggestion
    assert problem_of(now.lock, own / "new.lock", [BLOCK]).code == "library.release.marked"
    assert not (own / "new.lock").exists()
    allowed = Library(own / "out", allow=[BLOCK])
    metadata = allowed.assembly(BLOCK).children[0].metadata
    assert "do not fit" in metadata["attributes"]["standing"]
    assert metadata["attributes"]["issue"] == 2
    assert problem_of(allowed.vent, ROUND).code == "library.release.withdrawn"
    gone = Library(own / "out", pins=lock, allow=ROUND)
    standing = gone.members(ROUND)[0].data.attributes["standing"]
    assert standing == f"withdrawn on {LATER.date()}"
    assert [n.kind for n in gone.news()] == ["marked", "withdrawn"]
    assert problem_of(lambda: Library(own / "out", allow=["V-99"])).code == "part.unknown"


def test_an_altered_release_is_not_locked(own: Path) -> None:
    lock = own / "vents.lock"
    library = Library(own / "out")
    library.lock(lock, [ROUND])
    before = lock.read_bytes()
    (path,) = (own / "out" / "parts" / BLOCK).glob(f"*/{BLOCK}.stl")
    path.write_bytes(path.read_bytes()[:-1])
    assert problem_of(library.lock, lock, [BLOCK]).code == "library.file.altered"
    assert lock.read_bytes() == before
    lock.write_text("<<<<<<< mine\n", encoding="utf-8")
    assert problem_of(library.lock, lock, [ROUND]).code == "pins.file.merge"


def test_two_libraries_do_not_get_into_each_other(own: Path, library: Library) -> None:
    publish(own, row(BLOCK, revision="B"), row(ROUND), stamp=LATER + timedelta(days=1))
    other = Library(own / "out")
    assert (library.release(BLOCK).label, other.release(BLOCK).label) == ("A.1", "B.1")
    assert library.vent(ROUND) is not other.vent(ROUND)
    lock = own / "vents.lock"
    other.lock(lock, [BLOCK])
    problem = problem_of(lambda: Library(library.release(BLOCK).folder.parents[2], pins=lock))
    assert problem.code == "pins.release.gone"


def test_the_plugin_takes_a_library(library: Library, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(plugin._Defaults, "vents", None)
    assert vent_family.Library is Library
    assert vent_family.register(library) is library
    wall = cq.Workplane("XY").box(100, 2, 100)
    held = wall.faces("<Y").workplane(centerOption="CenterOfMass").fitVent(BLOCK)
    cut, vent = held.children
    assert cut.shapes[0].Volume() < 100 * 2 * 100
    assert vent.children[0].metadata["attributes"]["standing"] == "current"
    assert vent.children[0].shapes[0].Volume() == pytest.approx(library.vent(BLOCK).Volume())
    assert vent_family.assembly(ROUND).name == "V_N20"
