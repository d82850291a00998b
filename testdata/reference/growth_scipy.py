"""Distances from implants to sinus bone, by two slow ways, for the growth tests.

Reads {"cases": [...]} on standard input and writes one result for each:

cloud: bone surfaces sampled on a net of points (spacing CLOUD mm, with lines on
every edge and every bend) and searched with a k-d tree.
grid:  for the cases marked so, bone as voxels of GRID mm and an exact Euclidean
distance transform. At 20 million voxels a case takes seconds, so few are marked.

A point is (u, y, z): across from the mid-line, along the arch, up from the floor.
Bone is what the predicate solid() says; septa have no thickness.
"""

import json
import sys

import numpy as np
from scipy.ndimage import distance_transform_edt
from scipy.spatial import cKDTree

CLOUD = 0.2
GRID = 0.1
ANGLES, HEIGHTS = 96, 64


def half_width(case, z):
    levels = sorted((l["AboveFloorMM"], l["WidthMM"]) for l in case["Sinus"]["Levels"])
    return np.interp(z, [h for h, _ in levels], [w for _, w in levels]) / 2


def top_of(case):
    return case["Sinus"]["GraftTopMM"] or np.inf


def opened(case, y, z):
    w = case["Sinus"]["Window"]
    if w is None:
        return np.zeros(np.broadcast(y, z).shape, bool)
    upper = w["LowerEdgeMM"] + w["HeightMM"]
    return (y > w["FromMM"]) & (y < w["ToMM"]) & (z > w["LowerEdgeMM"]) & (z < upper)


def solid(case, u, y, z):
    half = half_width(case, z)
    walls = (u <= -half) | ((u >= half) & ~opened(case, y, z))
    front = case["Sinus"]["FrontWallAtMM"]
    if front is not None:
        walls = walls | (y <= front)
    return (z <= 0) | (walls & (z <= top_of(case)))


def lines(low, high, edges, spacing=CLOUD):
    """Points from low to high, on every edge between, none farther apart than spacing."""
    cuts = sorted({low, high, *(float(e) for e in edges if low < e < high)})
    parts = [np.linspace(a, b, int(np.ceil((b - a) / spacing)) + 1) for a, b in zip(cuts, cuts[1:])]
    return np.unique(np.concatenate(parts))


def net(*axes):
    """All combinations of the values of three axes, as rows."""
    return np.stack([a.ravel() for a in np.meshgrid(*axes, indexing="ij")], axis=1)


def cloud(case, reach):
    """Points on every bone surface that can be nearest to the implant."""
    sinus, implant = case["Sinus"], case["Implant"]
    radius = implant["DiameterMM"] / 2 + reach
    window = sinus["Window"] or {"FromMM": 0, "ToMM": 0, "LowerEdgeMM": 0, "HeightMM": 0}
    ends = [window["FromMM"], window["ToMM"]]
    edges = [window["LowerEdgeMM"], window["LowerEdgeMM"] + window["HeightMM"]]
    front = sinus["FrontWallAtMM"]
    low_y, high_y = implant["AtMM"] - radius, implant["AtMM"] + radius
    top = min(top_of(case), 2 * reach + 1)
    far = implant["OffMidlineMM"] + radius, -implant["OffMidlineMM"] + radius
    widest = max(l["WidthMM"] for l in sinus["Levels"]) / 2
    out = max(*far, widest) + 1
    y = lines(low_y, high_y, ends + ([] if front is None else [front]))
    u = lines(-out, out, [])
    # A sloping wall is longer than it is high: half the spacing, and finer if steep.
    bends = [l["AboveFloorMM"] for l in sinus["Levels"]]
    rough = lines(0.0, top, bends + edges)
    lean = np.max(np.abs(np.diff(half_width(case, rough)) / np.diff(rough)), initial=0)
    z = lines(0.0, top, bends + edges, CLOUD / np.hypot(1, lean))

    parts = [net(u, y, np.array([0.0]))]
    for side in (-1, 1):
        wall = net(np.array([0.0]), y, z)
        wall[:, 0] = side * half_width(case, wall[:, 2])
        if side > 0:
            wall = wall[~opened(case, wall[:, 1], wall[:, 2])]
        parts.append(wall)
    beyond = lines(0.0, out, [])
    if sinus["Window"]:  # the faces of the opening, from the wall outwards
        in_y = lines(*ends, [])
        in_z = lines(edges[0], min(edges[1], top), bends, CLOUD / np.hypot(1, lean)) if edges[0] < top else np.array([])
        faces = [net(beyond, np.array(ends), in_z)] if in_z.size else []
        faces += [net(beyond, in_y, np.array([e])) for e in edges if e <= top]
        for face in faces:
            face[:, 0] += half_width(case, face[:, 2])
            parts.append(face)
    if np.isfinite(top_of(case)) and top == top_of(case):  # what lies beyond the walls ends here
        for side in (-1, 1):
            roof = net(side * (half_width(case, top) + beyond), y, np.array([top]))
            if side > 0 and edges[0] < top < edges[1]:
                roof = roof[(roof[:, 1] <= ends[0]) | (roof[:, 1] >= ends[1])]
            parts.append(roof)
        if front is not None:
            parts.append(net(u, y[y <= front], np.array([top])))
    if front is not None:
        parts.append(net(u, np.array([front]), z))
    for septum in sinus["Septa"] or []:
        height = min(top, septum["HeightMM"])
        parts.append(net(u, np.array([septum["AtMM"]]), lines(0.0, height, [])))
    return np.concatenate(parts)


def surface(case, height):
    """Middles of equal pieces of the grafted side surface, and its rim at the apex."""
    implant = case["Implant"]
    radius = implant["DiameterMM"] / 2
    angle = 2 * np.pi * (np.arange(ANGLES) + 0.5) / ANGLES
    z = height * (np.arange(HEIGHTS) + 0.5) / HEIGHTS

    def at(angles, heights):
        a, h = (x.ravel() for x in np.meshgrid(angles, heights, indexing="ij"))
        return np.stack([implant["OffMidlineMM"] + radius * np.cos(a), implant["AtMM"] + radius * np.sin(a), h], 1)

    return at(angle, z), at(angle, np.array([height]))


def measured(case, distance, height):
    middles, rim = surface(case, height)
    there = distance(middles)
    grafted = height / case["Implant"]["LengthMM"]
    return {
        "Last": float(max(there.max(), distance(rim).max())),
        "Points": distance(np.array(case["Points"])).tolist(),
        "Held": [float(1 - grafted + grafted * np.mean(there <= x)) for x in case["Grown"]],
    }


def by_cloud(case, height):
    tree = cKDTree(cloud(case, height))

    def distance(points):
        inside = solid(case, points[:, 0], points[:, 1], points[:, 2])
        return np.where(inside, 0.0, tree.query(points)[0])

    return measured(case, distance, height)


def by_grid(case, height):
    implant, sinus = case["Implant"], case["Sinus"]
    radius = implant["DiameterMM"] / 2
    reach = height + 2 * GRID
    middle = np.array([implant["OffMidlineMM"], implant["AtMM"], 0.0])
    low = middle - [radius + reach, radius + reach, 2 * GRID]
    high = middle + [radius + reach, radius + reach, height + reach]
    axes = [np.arange(a, b, GRID) for a, b in zip(low, high)]
    u, y, z = np.meshgrid(*axes, indexing="ij", sparse=True)
    bone = np.broadcast_to(solid(case, u, y, z), [a.size for a in axes]).copy()
    for septum in sinus["Septa"] or []:
        bone |= (np.abs(y - septum["AtMM"]) <= GRID / 2) & (z <= min(septum["HeightMM"], top_of(case)))
    field = distance_transform_edt(~bone, sampling=GRID)

    def distance(points):
        index = np.rint((points - low) / GRID).astype(int)
        return field[tuple(np.clip(index, 0, np.array(field.shape) - 1).T)]

    return measured(case, distance, height)


def main():
    results = []
    for case in json.load(sys.stdin)["cases"]:
        height = max(0.0, case["Implant"]["LengthMM"] - case["Implant"]["ResidualMM"])
        results.append({
            "Cloud": by_cloud(case, height),
            "Grid": by_grid(case, height) if case["Grid"] else None,
        })
    json.dump(results, sys.stdout)


main()
