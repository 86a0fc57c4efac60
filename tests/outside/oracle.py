"""The expected openings, worked out from the drawing by an integer clipper. Shares no code with the program.

In: rings in mm, the tools, the mode for corners. Out: lists of rings in mm. Engine: pyclipper (Clipper 6) on a grid of
1e-6 mm, with arcs within 1e-4 mm. Six operations in a row stay within 1e-3 mm, a tenth of the tolerance. shapely gives the
distances. (Buffers of the GEOS family simplify concave input by up to 1 % of the distance, so they are no reference.)

S is a region, R the bush's radius, r the cutter's radius. Within an opening T the bush's centre reaches T - R, and the cutter
cuts within r of it. A recess that follows S has the opening S + (R - r), an inlay the opening S + (R + r). Both are Minkowski sums
with a disc.

Source: Serra, Image Analysis and Mathematical Morphology, 1982 (opening and closing by a disc); from memory, unchecked.
Source: none outside; the check does the sums anew (offsets of the tools).
"""

from dataclasses import dataclass

import numpy as np
import pyclipper
import shapely

GRID = 1e-6
ARC = 1e-4
THIN = 5e-5
# Greatest distance between two results for the same rings, mm.
AGREE = 2e-3
# Greatest spacing of the points from which distances are measured, mm.
STEP = 0.1


@dataclass
class Tools:
    """Diameters, mm."""

    bush: float = 20.0
    cutter: float = 6.0
    inlay_bush: float | None = None
    inlay_cutter: float | None = None
    gap: float = 0.05
    inside: float = 0.5
    outside: float = 1.0

    @property
    def recess(self):
        return self.bush / 2, self.cutter / 2

    @property
    def inlay(self):
        return (self.inlay_bush or self.bush) / 2, (self.inlay_cutter or self.cutter) / 2

    @property
    def offsets(self):
        (rb, rc), (ib, ic) = self.recess, self.inlay
        return rb - rc, ib + ic - self.gap


def to_grid(rings):
    return [[(round(x / GRID), round(y / GRID)) for x, y in ring] for ring in rings]


def offset(paths, d):
    if d == 0:
        return paths
    engine = pyclipper.PyclipperOffset(2.0, ARC / GRID)
    engine.AddPaths(paths, pyclipper.JT_ROUND, pyclipper.ET_CLOSEDPOLYGON)
    return [thinned(p) for p in engine.Execute(d / GRID)]


def thinned(path):
    """Simplified within THIN by Douglas-Peucker, since every offset doubles the points of an arc."""
    ring = shapely.simplify(shapely.LineString([*path, path[0]]), THIN / GRID, preserve_topology=False)
    return [(round(x), round(y)) for x, y in ring.coords[:-1]]


def filled(rings):
    """One region from rings that do not cross, by the even-odd rule. Outer rings run anticlockwise."""
    engine = pyclipper.Pyclipper()
    engine.AddPaths(to_grid(rings), pyclipper.PT_SUBJECT, True)
    return engine.Execute(pyclipper.CT_UNION, pyclipper.PFT_EVENODD, pyclipper.PFT_EVENODD)


def made(s, tools, corners):
    """The outline with eased corners: opened by the cutter and closed by the larger offset, plus the margins."""
    if corners == "ease":
        r, o = tools.recess[1] + tools.inside, max(tools.offsets) + tools.outside
    elif corners == "square":
        r, o = 0.0, max(tools.offsets)
    else:
        r, o = 0.0, 0.0
    return offset(offset(offset(offset(s, -r), r), o), -o)


@dataclass
class Expected:
    """Rings in mm: the outline as drawn, both openings, and the two pieces cut through them."""

    drawn: list
    recess: list
    inlay: list
    recess_cut: list
    inlay_cut: list


def expected(ring, tools, corners):
    """The result on which two rotated copies agree. The engine rarely errs (for example by a spike of 2 mm)."""
    seen = []
    for angle in (0.3, 1.1, 2.3, 4.0):
        new = worked_out(turned(ring, angle), tools, corners)
        new = Expected(*(([turned(r, -angle) for r in rings]) for rings in vars(new).values()))
        if any(agree(new, old) for old in seen):
            return new
        seen.append(new)
    raise ValueError("no two rotated copies agree")


def turned(ring, angle):
    c, s = np.cos(angle), np.sin(angle)
    return ring @ np.array([[c, s], [-s, c]])


def agree(a, b):
    pairs = list(zip(vars(a).values(), vars(b).values()))
    return all(len(p) == len(q) and p and hausdorff(p, q) < AGREE for p, q in pairs)


def worked_out(ring, tools, corners):
    s = filled([ring])
    star = made(s, tools, corners)
    (rb, rc), (ib, ic) = tools.recess, tools.inlay
    recess, inlay = (offset(star, o) for o in tools.offsets)
    all_of = s, recess, inlay, offset(offset(recess, -rb), rc), offset(inlay, -(ib + ic))
    return Expected(*(from_grid(p) for p in all_of))


def from_grid(paths):
    return [np.array(p, dtype=float) * GRID for p in paths if len(p) > 2]


def area(rings):
    """Sum of the signed areas: holes count as negative."""
    return sum(signed(r) for r in rings)


def signed(ring):
    x, y = ring[:, 0] - ring[0, 0], ring[:, 1] - ring[0, 1]
    return float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) / 2


def perimeter(rings):
    return sum(float(np.sum(np.hypot(*(np.roll(r, -1, axis=0) - r).T))) for r in rings)


def dense(rings):
    """Points along the rings at most STEP apart, including all vertices."""
    out = []
    for ring in rings:
        after = np.roll(ring, -1, axis=0)
        count = np.maximum(1, np.ceil(np.hypot(*(after - ring).T) / STEP).astype(int))
        at = np.repeat(np.arange(len(ring)), count)
        t = (np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count)) / count[at]
        out.append(ring[at] + t[:, None] * (after - ring)[at])
    return np.vstack(out)


class Edges:
    """Distances from points to the edges of rings."""

    def __init__(self, rings):
        pairs = np.concatenate([np.stack([r, np.roll(r, -1, axis=0)], axis=1) for r in rings])
        self.tree = shapely.STRtree(shapely.linestrings(pairs))

    def distances(self, points):
        index, distance = self.tree.query_nearest(shapely.points(points), return_distance=True, all_matches=False)
        assert len(index[0]) == len(points)
        return distance


def farthest(rings, others):
    """Greatest distance of a point of `rings` from the edges of `others`."""
    return float(Edges(others).distances(dense(rings)).max())


def hausdorff(a, b):
    return max(farthest(a, b), farthest(b, a))


def gaps(recess, inlay):
    """Least signed distance from the inlay's edge to the recess's edge, and greatest distance from the recess's edge to the inlay."""
    tight = outside(inlay, recess)
    return float(-tight.max()), float(max(outside(recess, inlay).max(), 0.0))


def outside(rings, others):
    """Signed distances of points along `rings` from the region of `others`, negative inside it."""
    points = dense(rings)
    inside = sum(shapely.contains_xy(shapely.Polygon(r), points) * (1 if signed(r) > 0 else -1) for r in others) > 0
    d = Edges(others).distances(points)
    return np.where(inside, -d, d)
