"""Sheets of water followed through a section, compiled.

A jet arrives as a sheet of its own thickness. It is cast as rays side by side; neighbours that
strike the same face are one impact of a sheet as thick as they are together, so that a slat which
stands half in the jet splits off its half. At an impact part is thrown off as spray and the rest
runs both ways along the face, thinner and slower, as far as the corners: an inner corner turns the
sheet, an outer one lets it go, and it is cast again. What has become too thin or too slow to leave
a face stays there as a film. Branches share out the water's weight; light ones are not split any
more but follow one way, drawn by an even sequence, so that the same call always gives the same
answer and no water is lost.

Not followed: sheets that meet, passages that run full, spreading sideways.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np

from vent_family.base.arrays import FloatArray
from vent_family.base.compiled import compiled
from vent_family.evidence.water.crossing import crossing
from vent_family.evidence.water.jets.rules import Rules
from vent_family.evidence.water.jets.walls import Arrays

STRAIGHT: Final = 0.9994
"""Cosine of the least turn of a corner, 2 degrees."""
SAGITTA_MM: Final = 0.01
"""How far a falling sheet may bend away from one step of its path."""
STEPS_MAX: Final = 400
IMPACTS_MAX: Final = 120
STACK: Final = 2000
EDGE_SHARE: Final = 0.02
"""A single ray keeps this share of the sheet's width away from its rims."""
GOLDEN: Final = 0.6180339887498949


class Trail(NamedTuple):
    """Room for paths: ``nodes`` (z and y in mm, parent, speed in m/s), ``leaves``, their counts.

    ``leaves`` are the ends: node, column of the place, weight. Arrays without rows note nothing.
    ``tally`` holds the numbers of nodes and leaves and the node at which the work stands.
    """

    nodes: FloatArray
    leaves: FloatArray
    tally: FloatArray

    @staticmethod
    def of(nodes: int, leaves: int) -> Trail:
        """Return empty room for so many points and ends."""
        return Trail(np.zeros((nodes, 4)), np.zeros((leaves, 3)), np.zeros(3))


@compiled(error_model="numpy")
def friction(speed_m_s: float, thickness_mm: float, way_mm: float, nu_m2_s: float) -> float:
    """Return the speed (m/s) of a sheet on a wall after a way: u exp(-(cf/2) s/h).

    cf/2 is 3/Re of a laminar film or 0.028 Re^-1/4 of a turbulent one, the larger of both, with Re
    = u h / nu (from memory; Watson 1964, J. Fluid Mech. 20:481, abstract).
    """
    re = speed_m_s * thickness_mm * 1e-3 / nu_m2_s
    half = max(3.0 / re, 0.028 * re**-0.25)
    slowed: float = speed_m_s * np.exp(-half * way_mm / thickness_mm)
    return slowed


@compiled(error_model="numpy")
def _turned(rules: Rules, length_mm: float, thickness_mm: float) -> float:
    """Return the angle (rad) by which a face turns a jet that strikes it square."""
    last = rules.turned.size - 1
    x = length_mm / thickness_mm / rules.widest * last
    if x >= last:
        return 0.5 * np.pi
    i = int(x)
    angle: float = rules.turned[i] + (x - i) * (rules.turned[i + 1] - rules.turned[i])
    return angle


@compiled(error_model="numpy")
def _cast(walls: Arrays, z0: float, y0: float, z1: float, y1: float) -> tuple[int, float]:
    """Return the first edge met from its air side between two points, and where; -1 if none."""
    edges, normal, start, items = walls.edges, walls.normal, walls.start, walls.items
    grid, shape = walls.grid, walls.shape
    size = grid[2]
    dz, dy = z1 - z0, y1 - y0
    i, j = int((z0 - grid[0]) / size), int((y0 - grid[1]) / size)
    si = 1 if dz > 0.0 else -1
    sj = 1 if dy > 0.0 else -1
    far = 1e30
    ti = ((grid[0] + (i + (si > 0)) * size) - z0) / dz if dz != 0.0 else far
    tj = ((grid[1] + (j + (sj > 0)) * size) - y0) / dy if dy != 0.0 else far
    ui = size / abs(dz) if dz != 0.0 else far
    uj = size / abs(dy) if dy != 0.0 else far
    best, at = -1, 2.0
    while 0 <= i < shape[0] and 0 <= j < shape[1]:
        cell = i * shape[1] + j
        for k in range(start[cell], start[cell + 1]):
            e = items[k]
            if dz * normal[e, 0] + dy * normal[e, 1] >= 0.0:
                continue
            t, s, _ = crossing(edges, e, z0, y0, dz, dy)
            if -1e-12 <= t <= 1.0 and t < at and -1e-9 <= s <= 1.0 + 1e-9:
                best, at = e, t
        leaves = min(ti, tj)
        if at <= leaves or leaves > 1.0:
            break
        if ti < tj:
            i, ti = i + si, ti + ui
        else:
            j, tj = j + sj, tj + uj
    return best, at


@compiled(error_model="numpy")
def _fly(walls: Arrays, rules: Rules, state: FloatArray) -> int:
    """Throw water from ``state`` (z, y in mm, w, v in m/s) until it strikes; return the edge."""
    gz, gy = rules.gz_m_s2, rules.gy_m_s2
    g = np.sqrt(gz * gz + gy * gy)
    for _ in range(STEPS_MAX):
        z, y, w, v = state[0], state[1], state[2], state[3]
        speed = np.sqrt(w * w + v * v)
        dt = min(np.sqrt(8e-3 * SAGITTA_MM / g), 0.2 / speed)
        w1, v1 = w + gz * dt, v + gy * dt
        z1, y1 = z + 500.0 * (w + w1) * dt, y + 500.0 * (v + v1) * dt
        found = _cast(walls, z, y, z1, y1)
        edge: int = found[0]
        at: float = found[1]
        if edge >= 0:
            state[0], state[1] = z + (z1 - z) * at, y + (y1 - y) * at
            state[2], state[3] = w + gz * dt * at, v + gy * dt * at
            return edge
        state[0], state[1], state[2], state[3] = z1, y1, w1, v1
    return -1


@compiled(error_model="numpy")
def _end(out: FloatArray, trail: Trail, slot: int, weight: float) -> None:
    """Book water that has come to its end in a column of ``out``."""
    out[slot] += weight
    k = int(trail.tally[1])
    if k < trail.leaves.shape[0]:
        trail.leaves[k, 0], trail.leaves[k, 1] = trail.tally[2], slot
        trail.leaves[k, 2] = weight
        trail.tally[1] += 1.0


@compiled(error_model="numpy")
def _note(trail: Trail, z: float, y: float, speed_m_s: float) -> None:
    """Note the next point of the path at which the work stands."""
    k = int(trail.tally[0])
    if k < trail.nodes.shape[0]:
        node = trail.nodes[k]
        node[0], node[1], node[2], node[3] = z, y, trail.tally[2], speed_m_s
        trail.tally[0] += 1.0
        trail.tally[2] = k


@compiled(error_model="numpy")
def _push(
    stack: FloatArray,
    top: int,
    place: tuple[float, float],
    side: tuple[float, float],
    velocity: tuple[float, float],
    thickness: float,
    weight: float,
    spray: float,
    impacts: float,
    node: float,
) -> int:
    """Put a sheet in the air on the stack: its rim, the way across it, velocity and the rest."""
    b = stack[top]
    b[0], b[1] = place
    b[2], b[3] = side
    b[4], b[5] = velocity
    b[6], b[7], b[8], b[9], b[10] = thickness, weight, spray, impacts, node
    return top + 1


@compiled(error_model="numpy")
def _run(
    walls: Arrays,
    rules: Rules,
    e: int,
    at_mm: float,
    sign: int,
    h: float,
    u: float,
    weight: float,
    face_mm: float,
    impacts: float,
    stack: FloatArray,
    top: int,
    out: FloatArray,
    trail: Trail,
) -> int:
    """Run a sheet along edge ``e`` until it leaves the wall or ends; return the stack's top.

    ``at_mm`` is its place on the edge, ``sign`` the way round, ``h`` (mm) and ``u`` (m/s) thickness
    and speed, and ``face_mm`` the thickness of what struck this very face.
    """
    edges, length = walls.edges, walls.length
    for _ in range(IMPACTS_MAX):
        way = length[e] - at_mm if sign > 0 else at_mm
        tz, ty = sign * walls.tangent[e, 0], sign * walls.tangent[e, 1]
        nz, ny = walls.normal[e, 0], walls.normal[e, 1]
        slowed = friction(u, h, way, rules.nu_m2_s)
        left = slowed * slowed + 2e-3 * way * (rules.gz_m_s2 * tz + rules.gy_m_s2 * ty)
        if left < rules.film_m_s**2 or rules.weber * left * h < rules.film_weber:
            break
        u = np.sqrt(left)
        corner = 2 if sign > 0 else 0
        z, y = edges[e, corner], edges[e, corner + 1]
        e2 = walls.after[e] if sign > 0 else walls.before[e]
        if walls.opening[e2]:
            _note(trail, z, y, u)
            e = e2
            break
        az, ay = sign * walls.tangent[e2, 0], sign * walls.tangent[e2, 1]
        straight, rise = tz * az + ty * ay, az * nz + ay * ny
        turns = straight < STRAIGHT
        if turns and rise < 0.0:
            lean = 0.0
            if face_mm > 0.0:
                lean = 0.5 * np.pi - _turned(rules, length[e], face_mm)
            # No further than along the next face.
            lean = min(lean, np.arctan2(-rise, straight) - 1e-3)
            c, s = np.cos(lean), np.sin(lean)
            _, gap = _cast(walls, z + 1e-6 * tz, y + 1e-6 * ty, z + h * nz, y + h * ny)
            # A passage narrower than the sheet lets it through as thick as the passage is wide.
            wide = h * min(gap, 1.0)
            _note(trail, z + 0.5 * wide * nz, y + 0.5 * wide * ny, u)
            pushed: int = _push(
                stack,
                top,
                (z, y),
                (wide * nz, wide * ny),
                (u * (tz * c - nz * s), u * (ty * c - ny * s)),
                h,
                weight,
                0.0,
                impacts,
                trail.tally[2],
            )
            return pushed
        _note(trail, z, y, u)
        e, at_mm = e2, 0.0 if sign > 0 else length[e2]
        if walls.sink[e]:
            break
        if turns:
            u *= 1.0 - rules.loss * np.sin(min(np.arctan2(rise, straight), 0.5 * np.pi))
            face_mm = 0.0
    _end(out, trail, walls.slot[e], weight)
    return top


@compiled(error_model="numpy")
def _strike(
    walls: Arrays,
    rules: Rules,
    e: int,
    state: FloatArray,
    h: float,
    weight: float,
    impacts: float,
    lot: float,
    stack: FloatArray,
    top: int,
    out: FloatArray,
    trail: Trail,
) -> int:
    """Let a sheet of ``h`` mm strike edge ``e``: spray and two sheets; return the stack's top."""
    z, y, w, v = state[0], state[1], state[2], state[3]
    tz, ty = walls.tangent[e, 0], walls.tangent[e, 1]
    nz, ny = walls.normal[e, 0], walls.normal[e, 1]
    u = np.sqrt(w * w + v * v)
    along, towards = (w * tz + v * ty) / u, -(w * nz + v * ny) / u
    node = trail.tally[2]
    spray, rest = weight * rules.spray, weight * (1.0 - rules.spray)
    if spray > 0.0 and weight < rules.cut:
        thrown = lot < rules.spray
        lot = lot / rules.spray if thrown else (lot - rules.spray) / (1.0 - rules.spray)
        spray, rest = (weight, 0.0) if thrown else (0.0, weight)
    if spray > 0.0:
        # Thrown back like light off a mirror; where it lands it stays.
        f = rules.spray_speed
        back = (f * (w + 2.0 * towards * u * nz), f * (v + 2.0 * towards * u * ny))
        here = (z + 1e-6 * nz, y + 1e-6 * ny)
        top = _push(stack, top, here, (0.0, 0.0), back, h, spray, 1.0, impacts, node)
    if rest <= 0.0:
        return top
    at = (z - walls.edges[e, 0]) * tz + (y - walls.edges[e, 1]) * ty
    slowed = u * (1.0 - rules.loss * towards)
    both = rest >= rules.cut
    for sign in (1, -1):
        share = 0.5 * (1.0 + sign * along)
        mine = rest * share
        if not both:
            mine = rest if (lot < 0.5 * (1.0 + along)) == (sign > 0) else 0.0
        if mine <= 0.0:
            continue
        trail.tally[2] = node
        thin = h * share * rules.spread
        top = _run(
            walls, rules, e, at, sign, thin, slowed, mine, h, impacts, stack, top, out, trail
        )
    return top


@compiled(error_model="numpy")
def _follow(
    walls: Arrays,
    rules: Rules,
    seed: float,
    stack: FloatArray,
    out: FloatArray,
    trail: Trail,
) -> None:
    """Follow the one sheet on the stack with all its branches; ``out`` gets the water."""
    inside = out.size - 2
    state = np.empty(4)
    hit = np.empty(4)
    top = 1
    lot = seed
    while top > 0:
        top -= 1
        b = stack[top].copy()
        weight, thickness, is_spray, impacts = b[7], b[6], b[8] > 0.0, b[9] + 1.0
        wanted = int(np.ceil(weight / rules.grain))
        rays = 1 if is_spray else max(1, min(rules.rays, wanted))
        edge, run = -2, 0
        for k in range(rays + 1):
            found = -3
            if k < rays:
                across = (k + 0.5) / rays
                if rays == 1:
                    lot = (lot + GOLDEN) % 1.0
                    across = EDGE_SHARE + (1.0 - 2.0 * EDGE_SHARE) * lot
                state[0], state[1] = b[0] + across * b[2], b[1] + across * b[3]
                state[2], state[3] = b[4], b[5]
                found = _fly(walls, rules, state)
            if found == edge:
                hit += state
                run += 1
                continue
            if run > 0:
                # Neighbours that struck the same face are one sheet.
                mean = hit / run
                mine, h = weight * run / rays, thickness * run / rays
                trail.tally[2] = b[10]
                _note(trail, mean[0], mean[1], np.sqrt(mean[2] ** 2 + mean[3] ** 2))
                if edge < 0 or top > STACK - 4:
                    _end(out, trail, inside, mine)
                elif is_spray or walls.sink[edge] or impacts > IMPACTS_MAX:
                    _end(out, trail, walls.slot[edge], mine)
                else:
                    lot = (lot + GOLDEN) % 1.0
                    top = _strike(
                        walls, rules, edge, mean, h, mine, impacts, lot, stack, top, out, trail
                    )
            edge, run = found, 1
            hit[:] = state


@compiled(error_model="numpy")
def follow(
    walls: Arrays,
    rules: Rules,
    aims: FloatArray,
    thickness_mm: float,
    seeds: FloatArray,
    columns: int,
    trail: Trail,
) -> FloatArray:
    """Return where the water of jets ends: a row per aim, a column per place, shares of one.

    ``aims`` has a row of z, y (mm, lower rim), the way across the jet (z, y in mm) and velocity
    (w, v in m/s); ``seeds`` (1), from 0 to 1, begin the even sequences.
    """
    out = np.zeros((aims.shape[0], columns))
    stack = np.empty((STACK, 11))
    for k in range(aims.shape[0]):
        a = aims[k]
        trail.tally[2] = -1.0
        speed = np.sqrt(a[4] ** 2 + a[5] ** 2)
        _note(trail, a[0] + 0.5 * a[2], a[1] + 0.5 * a[3], speed)
        _push(
            stack,
            0,
            (a[0], a[1]),
            (a[2], a[3]),
            (a[4], a[5]),
            thickness_mm,
            1.0,
            0.0,
            0.0,
            trail.tally[2],
        )
        _follow(walls, rules, seeds[k], stack, out[k], trail)
    return out
