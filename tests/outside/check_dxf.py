#!/usr/bin/env python3
"""Checks the face files of a folder with independent libraries.

    python check_dxf.py FOLDER...

Needs the packages of `tests/outside/requirements.txt`.

Every *face-N.dxf must
  - load with the strict reader of ezdxf, pass its audit with 0 errors and 0 fixes, and cause no log message;
  - hold closed LWPOLYLINEs (R12: POLYLINEs) and CIRCLEs on OPENING_CUT_INSIDE, LINEs on REFERENCE_EDGE and FREE_EDGE, and
    nothing else; one rectangle on PANEL_CUT_OUTSIDE may take the place of the LINEs;
  - lie within the panel; the lines or the rectangle are the panel's four edges, each once;
  - consist of simple rings (by shapely) that do not cross each other.
The *face-N.svg beside it must hold the same rings, with each arc of the DXF in equal parts of at most a quarter turn.
Vertices, radii, directions and the middles of the arcs (by svgelements) agree within 1e-9 mm. The SVG has the panel's size
in the DXF's unit, and no transform.

Formulas: bulge = tan(sweep / 4), radius = chord (1 + b^2) / (4 |b|).
Source: Autodesk, DXF Reference, AutoCAD 2024, VERTEX, group 42; header variables $INSUNITS and $MEASUREMENT.
"""

import logging
import math
import sys
from pathlib import Path
from xml.etree import ElementTree

import ezdxf
import svgelements
from shapely.geometry import Polygon

CUT, REFERENCE, FREE = "OPENING_CUT_INSIDE", "REFERENCE_EDGE", "FREE_EDGE"
PANEL = "PANEL_CUT_OUTSIDE"
UNIT = {4: 1.0, 1: 25.4}
# Unit suffixes of SVG sizes, mm.
SVG_UNIT = {"mm": 1.0, "in": 25.4}
# Layers that the format and the reader add themselves.
ALWAYS = {"0", "Defpoints"}
# Tolerance for vertices and radii, mm. The conversion to inches and back costs a last digit or two.
SAME = 1e-9
SVG = "{http://www.w3.org/2000/svg}"


class Log(logging.Handler):
    def __init__(self):
        super().__init__(logging.WARNING)
        self.lines = []

    def emit(self, record):
        self.lines.append(record.getMessage())


def check(ok, what):
    if not ok:
        raise AssertionError(what)


def bulge_arc(p, q, b):
    """Radius and middle point of the arc from p to q."""
    chord = math.dist(p, q)
    sagitta = b * chord / 2
    mid = ((p[0] + q[0]) / 2 + (q[1] - p[1]) / chord * sagitta, (p[1] + q[1]) / 2 - (q[0] - p[0]) / chord * sagitta)
    return chord * (1 + b * b) / (4 * abs(b)), mid


def edge_of_bulge(p, q, b):
    """The edge from p to q, with an arc in equal parts of at most a quarter turn."""
    if b == 0:
        return [{"to": q, "kind": "line"}]
    radius, mid = bulge_arc(p, q, b)
    sweep = 4 * math.atan(b)
    parts = max(1, math.ceil(abs(sweep) / (math.pi / 2) - 1e-9))
    if parts == 1:
        return [{"to": q, "kind": "arc", "radius": radius, "ccw": b > 0, "mid": mid}]
    # The centre lies on the line through the middles of the chord and the arc.
    chord = math.dist(p, q)
    back = (1 - b * b) / (4 * b)
    cx = (p[0] + q[0]) / 2 - (q[1] - p[1]) * back
    cy = (p[1] + q[1]) / 2 + (q[0] - p[0]) * back
    check(abs(math.dist((cx, cy), p) - radius) < 1e-9 * max(chord, radius, 1.0), "the centre of a bulge does not fit its radius")
    at = math.atan2(p[1] - cy, p[0] - cx)
    on = lambda k: (cx + radius * math.cos(at + sweep * k), cy + radius * math.sin(at + sweep * k))
    ends = [on(i / parts) for i in range(1, parts)] + [q]
    return [
        {"to": to, "kind": "arc", "radius": radius, "ccw": b > 0, "mid": on((i + 0.5) / parts)}
        for i, to in enumerate(ends)
    ]


def read_dxf(path, unit):
    """Size, rings and edges in mm, y up. `unit`: the unit of the SVG beside it, mm."""
    log = Log()
    logger = logging.getLogger("ezdxf")
    logger.addHandler(log)
    doc = ezdxf.readfile(path)
    audit = doc.audit()
    logger.removeHandler(log)
    check(doc.dxfversion in ("AC1015", "AC1009"), f"version {doc.dxfversion}")
    old = doc.dxfversion == "AC1009"
    check(not audit.errors, f"errors: {[e.message for e in audit.errors]}")
    check(not audit.fixes, f"fixes: {[e.message for e in audit.fixes]}")
    check(not log.lines, f"the reader logs: {log.lines}")
    check("$INSUNITS" in doc.header, "no unit")
    k = UNIT[doc.header["$INSUNITS"]]
    check(k == unit, "the unit differs from the SVG beside it")
    check(doc.header["$MEASUREMENT"] == (1 if k == 1.0 else 0), "$MEASUREMENT does not fit $INSUNITS")
    layers = {la.dxf.name for la in doc.layers} - ALWAYS
    check(layers in ({CUT, REFERENCE, FREE}, {CUT, PANEL}), f"layers {sorted(layers)}")
    check(all(len(doc.layouts.get(n)) == 0 for n in doc.layouts.names() if n != "Model"), "entities in paper space")
    w, h = (k * v for v in doc.header["$EXTMAX"][:2])
    rings, lines = [], []
    for e in doc.modelspace():
        kind, layer = e.dxftype(), e.dxf.layer
        if layer in (CUT, PANEL) and kind == ("POLYLINE" if old else "LWPOLYLINE"):
            check(e.is_closed, f"#{e.dxf.handle} is not closed")
            if old:
                check(e.is_2d_polyline, f"#{e.dxf.handle} is not flat")
                pts = [(k * v.dxf.location.x, k * v.dxf.location.y, v.dxf.get("bulge", 0.0)) for v in e.vertices]
            else:
                pts = [(k * x, k * y, b) for x, y, b in e.get_points("xyb")]
            if layer == PANEL:
                lines += rectangle([p[:2] for p in pts], all(b == 0 for *_, b in pts))
                continue
            n = len(pts)
            check(all(abs(b) <= 1 + 1e-9 for *_, b in pts), f"#{e.dxf.handle}: an arc of more than a half turn")
            edges = [e for i in range(n) for e in edge_of_bulge(pts[i][:2], pts[(i + 1) % n][:2], pts[i][2])]
            rings.append({"start": pts[0][:2], "edges": edges})
        elif layer == CUT and kind == "CIRCLE":
            (x, y), r = (k * e.dxf.center.x, k * e.dxf.center.y), k * e.dxf.radius
            rings.append({"circle": (x, y, r)})
        elif layer in (REFERENCE, FREE) and kind == "LINE":
            lines.append((layer, (k * e.dxf.start.x, k * e.dxf.start.y), (k * e.dxf.end.x, k * e.dxf.end.y)))
        else:
            check(False, f"{kind} on layer {layer}")
    return (w, h), rings, lines


def rectangle(pts, straight):
    """The edges of a panel's outline."""
    check(len(pts) == 4 and straight, f"the panel is {pts}")
    return [(PANEL, pts[i], pts[(i + 1) % 4]) for i in range(4)]


def read_svg(path):
    """The file's unit in mm; size, rings and edges in mm, y up."""
    root = ElementTree.parse(path).getroot()
    unit = root.get("width")[-2:]
    check(unit in SVG_UNIT and root.get("height").endswith(unit), "the size is neither in mm nor in inches")
    k = SVG_UNIT[unit]
    w, h = float(root.get("width")[:-2]), float(root.get("height")[:-2])
    check([float(v) for v in root.get("viewBox").split()] == [0, 0, w, h], "the viewBox is not the size")
    check(all(e.get("transform") is None for e in root.iter()), "a transform")
    rings, lines = [], []
    for group in root:
        layer = group.get("id")
        check(group.tag == SVG + "g" and layer in (CUT, REFERENCE, FREE, PANEL), f"group {layer}")
        for e in group:
            if layer in (CUT, PANEL):
                check(e.tag == SVG + "path", f"{e.tag} in {layer}")
                ring = scaled(svg_ring(e.get("d"), h), k)
                if layer == CUT:
                    rings.append(ring)
                else:
                    pts = [ring["start"], *(x["to"] for x in ring["edges"])]
                    pts = pts[:-1] if math.dist(pts[0], pts[-1]) <= SAME else pts
                    lines += rectangle(pts, all(x["kind"] == "line" for x in ring["edges"]))
            else:
                check(e.tag == SVG + "line", f"{e.tag} in {layer}")
                x1, y1, x2, y2 = (float(e.get(a)) for a in ("x1", "y1", "x2", "y2"))
                lines.append((layer, (k * x1, k * (h - y1)), (k * x2, k * (h - y2))))
    return k, (k * w, k * h), rings, lines


def scaled(ring, k):
    point = lambda p: (k * p[0], k * p[1])
    edges = [{**e, "to": point(e["to"])} for e in ring["edges"]]
    for e in edges:
        if e["kind"] == "arc":
            e.update(radius=k * e["radius"], mid=point(e["mid"]))
    return {"start": point(ring["start"]), "edges": edges}


def svg_ring(d, h):
    """A ring with ends and radii from the path data and middle points from svgelements."""
    tokens = d.split()
    numbers, i, senses = [], 0, []
    while i < len(tokens):
        if tokens[i] == "A":
            check(tokens[i + 1] == tokens[i + 2] and tokens[i + 4] == "0", "not a circular arc of at most a half turn")
            senses.append((float(tokens[i + 1]), tokens[i + 5] == "0"))
            i += 8
        elif tokens[i] in "ML":
            i += 3
        else:
            check(tokens[i] == "Z" and i == len(tokens) - 1, f"{tokens[i]} in a path")
            i += 1
    path = svgelements.Path(d)
    start, edges, arcs = None, [], iter(senses)
    for s in path:
        to = (s.end.x, h - s.end.y)
        if isinstance(s, svgelements.Move):
            start = to
        elif isinstance(s, svgelements.Arc):
            radius, ccw = next(arcs)
            m = s.point(0.5)
            edges.append({"to": to, "kind": "arc", "radius": radius, "ccw": ccw, "mid": (m.x, h - m.y)})
        elif isinstance(s, svgelements.Close) and math.dist((s.start.x, h - s.start.y), (s.end.x, to[1])) == 0:
            pass
        elif isinstance(s, svgelements.Close) and (s.start.x, s.start.y) == (s.end.x, s.end.y):
            pass
        else:
            edges.append({"to": to, "kind": "line"})
    return {"start": start, "edges": edges}


def as_circle(ring):
    """The circle that the SVG writes as four quarters."""
    e = ring["edges"]
    check(len(e) == 4 and all(x["kind"] == "arc" for x in e), "a CIRCLE that is not four quarters in the SVG")
    p = [ring["start"], *(x["to"] for x in e)]
    check(math.dist(p[0], p[4]) == 0, "the circle does not close")
    r = e[0]["radius"]
    check(all(abs(math.dist(p[i], p[i + 2]) - 2 * r) < SAME for i in (0, 1)), "the quarters belong to different circles")
    check(all(abs(math.dist(p[i], p[i + 1]) - r * math.sqrt(2)) < SAME for i in range(4)), "the parts are not quarters")
    return ((p[0][0] + p[2][0]) / 2, (p[0][1] + p[2][1]) / 2, r)


def same_ring(a, b):
    """Compares the DXF ring a with the SVG ring b. Returns the greatest difference."""
    if "circle" in a:
        d = max(abs(p - q) for p, q in zip(a["circle"], as_circle(b)))
        check(d <= SAME, f"circles differ by {d}")
        return d
    check(len(a["edges"]) == len(b["edges"]), f"{len(a['edges'])} edges in DXF, {len(b['edges'])} in SVG")
    worst = math.dist(a["start"], b["start"])
    for x, y in zip(a["edges"], b["edges"]):
        check(x["kind"] == y["kind"], f"{x} is {y}")
        worst = max(worst, math.dist(x["to"], y["to"]))
        if x["kind"] == "arc":
            check(x["ccw"] == y["ccw"], f"an arc runs in the other direction: {x}, {y}")
            worst = max(worst, abs(x["radius"] - y["radius"]), math.dist(x["mid"], y["mid"]))
    check(worst <= SAME, f"rings differ by {worst}")
    return worst


def polygon(ring):
    if "circle" in ring:
        x, y, r = ring["circle"]
        pts = [(x + r * math.cos(i * math.pi / 90), y + r * math.sin(i * math.pi / 90)) for i in range(180)]
        return Polygon(pts)
    pts, at = [ring["start"]], ring["start"]
    for e in ring["edges"]:
        if e["kind"] == "arc":
            pts += arc_points(at, e)
        pts.append(e["to"])
        at = e["to"]
    return Polygon(pts)


def arc_points(p, e):
    """Points between the ends, by halving the arc at its middle point."""
    chord = math.dist(p, e["to"])
    m, r = e["mid"], e["radius"]
    if chord < 0.05:
        return [m]
    half = math.dist(p, m)
    b = math.tan(math.asin(min(1.0, half / (2 * r))) / 2) * (1 if e["ccw"] else -1)
    first, second = (bulge_arc(*ends, b)[1] for ends in ((p, m), (m, e["to"])))
    left = arc_points(p, {**e, "to": m, "mid": first})
    return left + [m] + arc_points(m, {**e, "mid": second})


def check_edges(size, lines):
    w, h = size
    corners = [(0, 0), (w, 0), (w, h), (0, h)]
    wanted = {frozenset((i, (i + 1) % 4)) for i in range(4)}
    found = []
    for _, a, b in lines:
        ends = frozenset(i for i, c in enumerate(corners) for p in (a, b) if math.dist(p, c) <= SAME)
        found.append(ends)
    check(len(found) == 4 and set(found) == wanted, f"the lines are not the panel's edges: {lines}")
    kinds = {la for la, *_ in lines}
    check(kinds == {PANEL} or sum(1 for la, *_ in lines if la == REFERENCE) >= 2, "fewer than two reference edges")


def check_pair(dxf):
    svg = dxf.with_suffix(".svg")
    check(svg.exists(), f"{svg.name} is missing")
    svg_unit, svg_size, svg_rings, svg_lines = read_svg(svg)
    size, rings, lines = read_dxf(dxf, svg_unit)
    check(rings, "no opening")
    check_edges(size, lines)
    polygons = [polygon(r) for r in rings]
    for i, p in enumerate(polygons):
        check(p.is_valid, f"ring {i + 1} is not simple")
        x0, y0, x1, y1 = p.bounds
        check(min(x0, y0) >= -1e-6 and x1 <= size[0] + 1e-6 and y1 <= size[1] + 1e-6, f"ring {i + 1} is off the panel")
        for q in polygons[:i]:
            check(not p.exterior.intersects(q.exterior), f"ring {i + 1} crosses another")
    check(max(abs(a - b) for a, b in zip(size, svg_size)) <= SAME, f"sizes {size}, {svg_size}")
    check(len(rings) == len(svg_rings), f"{len(rings)} rings in DXF, {len(svg_rings)} in SVG")
    worst = max(same_ring(a, b) for a, b in zip(rings, svg_rings))
    check([la for la, *_ in sorted(lines)] == [la for la, *_ in sorted(svg_lines)], "edges differ")
    check_edges(svg_size, svg_lines)
    for a, b in zip(sorted(lines), sorted(svg_lines)):
        check(max(math.dist(a[1], b[1]), math.dist(a[2], b[2])) <= SAME, f"{a} is {b}")
    kinds = sum("circle" in r for r in rings)
    print(f"ok  {dxf.name}: {size[0]:g} x {size[1]:g} mm, {len(rings)} rings ({kinds} circles), SVG within {worst:.1e} mm")


def main():
    if len(sys.argv) < 2:
        sys.exit(__doc__)
    files = []
    for folder in map(Path, sys.argv[1:]):
        here = sorted(folder.glob("*face-[12].dxf"))
        if not here:
            sys.exit(f"{folder} holds no face files")
        files += here
    failed = 0
    for f in files:
        try:
            check_pair(f)
        except (AssertionError, ezdxf.DXFError, OSError, ValueError, KeyError) as e:
            failed += 1
            print(f"BAD {f.name}: {type(e).__name__}: {e}")
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()
