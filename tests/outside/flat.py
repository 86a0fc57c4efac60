"""Drawings and face files as rings of points, read by svgelements and ezdxf. Shares no code with the program.

In: a file. Out: closed rings, each an (n, 2) array in mm with y up, flattened within FLAT, without the first point repeated.
The frame is the one that the program promises: DXF as in the file, SVG from the bottom left of the root viewport. Unknown
content raises ValueError, so that nothing is skipped silently.

Formulas: bulge b = tan(sweep / 4), positive anticlockwise; radius = chord (1 + b^2) / (4 |b|); 1 in = 25.4 mm.
Source: Autodesk, DXF Reference, AutoCAD 2024, VERTEX, group 42; header variable $INSUNITS.
Source: W3C, CSS Values and Units Module Level 3, 2024, absolute lengths.
"""

import math

import ezdxf
import numpy as np
import svgelements

# Greatest distance of chords from their curves, mm.
FLAT = 1e-4
# svgelements uses 0.0393701 in for a millimetre. With this many px per inch, one px is exactly one mm.
PPI = 1 / 0.0393701
INSUNITS = {1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0}


def arc_steps(radius, sweep):
    return max(2, math.ceil(abs(sweep) / (2 * math.acos(max(0.0, 1 - FLAT / radius)))))


def arc(centre, radius, start, sweep):
    """Points of an arc without the last one."""
    n = arc_steps(radius, sweep)
    a = start + sweep * np.arange(n) / n
    return np.column_stack([centre[0] + radius * np.cos(a), centre[1] + radius * np.sin(a)])


def bulge_arc(p, q, b):
    """Points from p to q without the last one."""
    if b == 0:
        return np.array([p])
    (px, py), (qx, qy) = p, q
    chord, sweep = math.dist(p, q), 4 * math.atan(b)
    radius = chord * (1 + b * b) / (4 * abs(b))
    # For an anticlockwise arc of less than a half turn the centre lies to the left of p to q.
    h = chord * (1 - b * b) / (4 * b)
    centre = ((px + qx) / 2 - (qy - py) / chord * h, (py + qy) / 2 + (qx - px) / chord * h)
    return arc(centre, radius, math.atan2(py - centre[1], px - centre[0]), sweep)


def dxf_rings(path, layer=None):
    """Rings of closed LWPOLYLINEs, POLYLINEs and CIRCLEs (of one layer), and the lines of other layers as (layer, start, end)."""
    doc = ezdxf.readfile(path)
    unit = doc.header.get("$INSUNITS", 0)
    if unit not in INSUNITS:
        raise ValueError(f"{path}: $INSUNITS {unit}")
    k = INSUNITS[unit]
    rings, lines = [], []
    for e in doc.modelspace():
        kind = e.dxftype()
        wanted = layer is None or e.dxf.layer == layer
        if wanted and kind == "LWPOLYLINE" and e.closed:
            pts = [((k * x, k * y), b) for x, y, b in e.get_points("xyb")]
            pairs = zip(pts, pts[1:] + pts[:1])
            rings.append(np.vstack([bulge_arc(p, q, b) for (p, b), (q, _) in pairs]))
        elif wanted and kind == "POLYLINE" and e.is_closed and e.is_2d_polyline:
            pts = [((k * v.dxf.location.x, k * v.dxf.location.y), v.dxf.get("bulge", 0.0)) for v in e.vertices]
            pairs = zip(pts, pts[1:] + pts[:1])
            rings.append(np.vstack([bulge_arc(p, q, b) for (p, b), (q, _) in pairs]))
        elif wanted and kind == "CIRCLE":
            c = e.dxf.center
            rings.append(arc((k * c.x, k * c.y), k * e.dxf.radius, 0.0, 2 * math.pi))
        elif not wanted and kind == "LINE":
            lines.append((e.dxf.layer, (k * e.dxf.start.x, k * e.dxf.start.y), (k * e.dxf.end.x, k * e.dxf.end.y)))
        else:
            raise ValueError(f"{path}: {kind} on layer {e.dxf.layer} is not read by this check")
    return rings, lines


def segment_points(s):
    """Points of an SVG segment without the last one. The second derivative gives their number."""
    if isinstance(s, (svgelements.Line, svgelements.Close)):
        n = 1
    elif isinstance(s, svgelements.Arc):
        n = arc_steps(max(abs(s.rx), abs(s.ry)), s.sweep)
    elif isinstance(s, svgelements.QuadraticBezier):
        n = bezier_steps([s.start, s.control, s.end])
    elif isinstance(s, svgelements.CubicBezier):
        n = bezier_steps([s.start, s.control1, s.control2, s.end])
    else:
        raise ValueError(f"{type(s).__name__} is not read by this check")
    points = [(s.start.x, s.start.y)]
    return points + [(float(x), float(y)) for x, y in s.npoint(np.arange(1, n) / n)] if n > 1 else points


def bezier_steps(control):
    """The n chords of a Bezier curve of degree d lie within d (d - 1) max|second difference| / (8 n^2) of it."""
    d = len(control) - 1
    second = max(abs(complex(*(a - b * 2 + c))) for a, b, c in zip(control, control[1:], control[2:]))
    return max(1, math.ceil(math.sqrt(d * (d - 1) * second / (8 * FLAT))))


def svg_rings(path, group=None):
    """Rings of all closed shapes (of one group). One px counts as one mm, which keeps sizes in mm."""
    svg = svgelements.SVG.parse(str(path), ppi=PPI, reify=True)
    if not all(str(svg.values.get(a, "")).endswith("mm") for a in ("width", "height")):
        raise ValueError(f"{path}: no size in mm")
    height, rings = float(svg.height), []
    for e in svg.elements():
        if not isinstance(e, svgelements.Shape):
            continue
        if group is not None and group_of(svg, e) != group:
            continue
        for sub in svgelements.Path(e).as_subpaths():
            segments = list(svgelements.Path(sub))
            pts = [p for s in segments[1:] for p in segment_points(s)]
            ring = np.array(pts)
            if len(ring) < 3 or not isinstance(segments[-1], svgelements.Close):
                raise ValueError(f"{path}: an open path in {e.id}")
            keep = np.hypot(*(ring - np.roll(ring, 1, axis=0)).T) > 0
            ring = ring[keep]
            rings.append(np.column_stack([ring[:, 0], height - ring[:, 1]]))
    return rings


def group_of(svg, shape):
    """The id of the top-level group that holds `shape`."""
    for g in svg:
        if isinstance(g, svgelements.Group) and any(x is shape for x in g.select()):
            return g.id
    return None


def rings_of(path):
    return dxf_rings(path)[0] if path.suffix.lower() == ".dxf" else svg_rings(path)
