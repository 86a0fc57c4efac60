"""Distances between rings, without sampling error. Rings are closed (n, 2) arrays, mm.

The distance from a point to one fixed edge is a convex function of the point, since a segment is a convex set. On a stretch
of another edge it is therefore largest at one of the ends. A stretch whose bound does not exceed the distance already found
is dropped; any other stretch is halved. The result is at most WITHIN below the true distance.
"""

import numpy as np
import shapely

WITHIN = 2e-4
# Stretches start at most LONGEST long and are not halved below SHORTEST, mm.
LONGEST, SHORTEST = 1.0, 1e-6


def edges(rings):
    return np.concatenate([np.stack([r, np.roll(r, -1, axis=0)], axis=1) for r in rings if len(r) > 1])


def to_edge(points, e):
    """Distance of each point from its own edge."""
    a, d = e[:, 0], e[:, 1] - e[:, 0]
    length = np.maximum((d * d).sum(axis=1), 1e-30)
    t = np.clip(((points - a) * d).sum(axis=1) / length, 0, 1)
    return np.hypot(*(points - a - t[:, None] * d).T)


class Nearest:
    """Spatial index of the edges of rings."""

    def __init__(self, rings):
        self.edges = edges(rings)
        self.tree = shapely.STRtree(shapely.linestrings(self.edges))

    def of(self, points):
        """The nearest edge of each point, and its distance."""
        index, d = self.tree.query_nearest(shapely.points(points), return_distance=True, all_matches=False)
        assert len(index[0]) == len(points)
        return index[1], d


def inside(rings, points):
    """True for points inside the region of the rings. Outer rings run anticlockwise, holes clockwise."""
    turns = np.zeros(len(points), dtype=int)
    for r in rings:
        turns += shapely.contains_xy(shapely.Polygon(r), points) * (1 if shapely.LinearRing(r).is_ccw else -1)
    return turns > 0


def farthest(rings, others, free=None):
    """Greatest distance of a point of `rings` from the edges of `others`, and that point.

    Points inside the region `free` count as 0."""
    near, e = Nearest(others), edges(rings)
    count = np.maximum(1, np.ceil(np.hypot(*(e[:, 1] - e[:, 0]).T) / LONGEST).astype(int))
    at = np.repeat(np.arange(len(e)), count)
    t = (np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count)) / count[at]
    step = (e[:, 1] - e[:, 0])[at] / count[at][:, None]
    p = e[at, 0] + (t * count[at])[:, None] * step
    q, best, place = p + step, 0.0, p[0]
    if free is None:
        d = near.of(p)[1]
        best, place = float(d.max()), p[d.argmax()]
    while len(p):
        m, half = (p + q) / 2, np.hypot(*(q - p).T) / 2
        index, d = near.of(m)
        bound = np.maximum(to_edge(p, near.edges[index]), to_edge(q, near.edges[index]))
        go = np.ones(len(p), dtype=bool)
        if free is not None:
            within = inside(free, m)
            go = ~(within & (d > half))
            d = np.where(within, 0.0, d)
        if d.max() > best:
            best, place = float(d.max()), m[d.argmax()]
        go &= (bound > best + WITHIN) & (half > SHORTEST)
        p, q, m = p[go], q[go], m[go]
        p, q = np.concatenate([p, m]), np.concatenate([m, q])
    return best, tuple(float(v) for v in place)


def hausdorff(a, b):
    return max(farthest(a, b), farthest(b, a))


def between(a, b):
    """Least distance between the edges of two sets of rings, and the point of the first."""
    lines = lambda rings: shapely.MultiLineString([np.vstack([r, r[:1]]) for r in rings])
    line = shapely.shortest_line(lines(a), lines(b))
    return float(line.length), tuple(line.coords[0])


def widest(polygon, within=2e-4):
    """Diameter and centre of the largest disc inside a polygon."""
    best, at = 0.0, None
    for part in shapely.get_parts(polygon):
        if part.geom_type != "Polygon" or part.area == 0:
            continue
        line = shapely.maximum_inscribed_circle(part, tolerance=within)
        if 2 * line.length > best:
            best, at = 2 * line.length, np.array(line.coords[0])
    return best, at
