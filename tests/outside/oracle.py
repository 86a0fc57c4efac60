"""What the openings must be, worked out from the drawing by an integer clipper. Shares no code with the program.

In: rings in mm, the tools, how corners are wanted. Out: lists of rings in mm. Engine: pyclipper (Clipper 6), on a grid
of 1e-6 mm, arcs within 1e-4 mm: six operations in a row stay within 1e-3 mm, a tenth of what is asked. Distances: shapely.
(Buffers of the GEOS family simplify concave input by up to 1 % of the distance and are no oracle.)

The sums, for a region S, bush radius R, cutter radius r: the bush's centre can be anywhere in T - R, the cutter cuts within
r of that. So a recess that follows S has the opening S + (R - r), an inlay that follows S the opening S + (R + r), both
as Minkowski sums with a disc. Opening and closing by a disc: Serra, Image Analysis and Mathematical Morphology, 1982.
"""

from dataclasses import dataclass

import numpy as np
import pyclipper
import shapely

GRID = 1e-6
ARC = 1e-4
THIN = 5e-5
# Two ways to the same rings differ by no more, mm.
AGREE = 2e-3
# Points are never farther apart than this when distances are measured from them, mm.
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
    """Without the points that change nothing (Douglas-Peucker, within THIN): every offset doubles those of an arc."""
    ring = shapely.simplify(shapely.LineString([*path, path[0]]), THIN / GRID, preserve_topology=False)
    return [(round(x), round(y)) for x, y in ring.coords[:-1]]


def filled(rings):
    """One region of rings that do not cross; even-odd, outer rings anticlockwise."""
    engine = pyclipper.Pyclipper()
    engine.AddPaths(to_grid(rings), pyclipper.PT_SUBJECT, True)
    return engine.Execute(pyclipper.CT_UNION, pyclipper.PFT_EVENODD, pyclipper.PFT_EVENODD)


def made(s, tools, corners):
    """The outline with its corners eased: opened by the cutter, closed by the larger offset, with the margins."""
    if corners == "ease":
        r, o = tools.recess[1] + tools.inside, max(tools.offsets) + tools.outside
    elif corners == "square":
        r, o = 0.0, max(tools.offsets)
    else:
        r, o = 0.0, 0.0
    return offset(offset(offset(offset(s, -r), r), o), -o)


@dataclass
class Expected:
    """Rings in mm: the outline as drawn, both openings, and the two pieces that come out of them."""

    drawn: list
    recess: list
    inlay: list
    recess_cut: list
    inlay_cut: list


def expected(ring, tools, corners):
    """Worked out on turned copies until two agree: the engine errs now and then (a spike of 2 mm was seen, not turned)."""
    seen = []
    for angle in (0.3, 1.1, 2.3, 4.0):
        new = worked_out(turned(ring, angle), tools, corners)
        new = Expected(*(([turned(r, -angle) for r in rings]) for rings in vars(new).values()))
        if any(agree(new, old) for old in seen):
            return new
        seen.append(new)
    raise ValueError("the oracle does not agree with itself")


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
    """Signed areas added up: holes are negative."""
    return sum(signed(r) for r in rings)


def signed(ring):
    x, y = ring[:, 0] - ring[0, 0], ring[:, 1] - ring[0, 1]
    return float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) / 2


def perimeter(rings):
    return sum(float(np.sum(np.hypot(*(np.roll(r, -1, axis=0) - r).T))) for r in rings)


def dense(rings):
    """Points along the rings, all their vertices among them, at most STEP apart."""
    out = []
    for ring in rings:
        after = np.roll(ring, -1, axis=0)
        count = np.maximum(1, np.ceil(np.hypot(*(after - ring).T) / STEP).astype(int))
        at = np.repeat(np.arange(len(ring)), count)
        t = (np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count)) / count[at]
        out.append(ring[at] + t[:, None] * (after - ring)[at])
    return np.vstack(out)


class Edges:
    """Distances to the edges of rings."""

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
    """Least signed distance of the inlay's edge to the recess's, greatest distance of the recess's edge to the inlay."""
    tight = outside(inlay, recess)
    return float(-tight.max()), float(max(outside(recess, inlay).max(), 0.0))


def outside(rings, others):
    """Signed distances of points along `rings` from the region of `others`: negative inside it."""
    points = dense(rings)
    inside = sum(shapely.contains_xy(shapely.Polygon(r), points) * (1 if signed(r) > 0 else -1) for r in others) > 0
    d = Edges(others).distances(points)
    return np.where(inside, -d, d)
