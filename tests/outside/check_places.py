#!/usr/bin/env python3
"""Checks placing and turning over, from the written DXF files and the JSON alone.

    python check_places.py BINARY DRAWING...              every drawing with every setting of RUNS
    python check_places.py BINARY --self-test DRAWING...  spoils the output; each spoilt copy must be refused

Needs the packages of `tests/outside/requirements.txt`. Shares no code with the program. The drawings may hold closed
outlines without holes.

The maker lays the face that is up with its bottom left corner in the stops, whichever face it is. So a point (x, y) of that
face's frame lies at (x, y) of the work's frame. An opening cut from the other face lies at (W - x, y) if the panel is
turned left over right. It lies at (x, H - y) if the panel is turned bottom over top. Checked for each setting:

* in the work's frame the inlay's opening is the recess's opening grown by the difference of the offsets; every point of its
  edge has that distance from the other (within EVEN); arcs at outward corners have equal centres (within SAME);
* the common point of the JSON is the centre of the bounding box of all outlines, at the same place on every panel and face;
* nothing lies outside the panel; the reference edges are those of the turn; in one set-up the panel is a line of its own;
* with all openings of a panel seen from one face, the strip of template between any two and to the edges has its minimum
  width, or `thin-web` reports it; no division into fewer panels exists (by trying all, up to MOST outlines);
* every opening has its step, set by the left and bottom edges.

Source: none outside; the check does the sums anew.
"""

import itertools
import json
import math
import subprocess
import sys
import tempfile
from pathlib import Path

import ezdxf
import numpy as np
import shapely

import flat

CUT, REFERENCE, FREE, PANEL = "OPENING_CUT_INSIDE", "REFERENCE_EDGE", "FREE_EDGE", "PANEL_CUT_OUTSIDE"
# Tolerance for centres of arcs, mm: placing is a shift and costs only the last digits.
SAME = 1e-6
# Tolerance for the distance between the two openings, mm. The program promises 0.005 for each.
EVEN = 0.01
# Tolerance for distances between regions of chords, including the program's own slack of comparisons, mm.
SLACK = 0.006
# Within this of the minimum strip, mm, the check does not decide whether two outlines can share a panel.
UNSURE = 0.012
MOST = 9
EDGES = {"left-right": {"left", "right", "bottom"}, "bottom-top": {"left", "bottom", "top"}, "none": {"left", "bottom"}}
RUNS = [
    [],
    ["--turn", "bottom-top"],
    ["--turn", "none"],
    ["--setup", "one"],
    ["--turn", "bottom-top", "--setup", "one"],
    ["--dxf", "r12", "--write-unit", "in", "--setup", "one"],
    ["--write-unit", "in", "--turn", "bottom-top", "--mirror"],
    ["--bush", "12", "--cutter", "4", "--web", "4", "--base", "50", "--turn", "none", "--dxf", "r12"],
    ["--corners", "keep", "--at", "260x230", "--panel", "1200x600"],
]


class Refused(Exception):
    """The output is wrong."""


def check(ok, what):
    if not ok:
        raise Refused(what)


class Ring:
    """A closed line: points in order, and centre, radius and direction of its arcs; mm."""

    def __init__(self, points, arcs):
        self.points, self.arcs = np.array(points), arcs

    def mirrored(self, f):
        """The mirror image, reversed, so that the ring and its arcs keep their direction."""
        return Ring(f(self.points)[::-1], [(f(np.array([c]))[0], r, ccw) for c, r, ccw in self.arcs])

    @property
    def box(self):
        return np.array([self.points.min(axis=0), self.points.max(axis=0)])

    @property
    def polygon(self):
        return shapely.Polygon(self.points)


def ring_of(vertices):
    points, arcs = [], []
    for (p, b), (q, _) in zip(vertices, vertices[1:] + vertices[:1]):
        points.append(flat.bulge_arc(p, q, b))
        if b:
            h = math.dist(p, q) * (1 - b * b) / (4 * b)
            c = math.dist(p, q)
            centre = ((p[0] + q[0]) / 2 - (q[1] - p[1]) / c * h, (p[1] + q[1]) / 2 + (q[0] - p[0]) / c * h)
            arcs.append((np.array(centre), c * (1 + b * b) / (4 * abs(b)), b > 0))
    return Ring(np.vstack(points), arcs)


def read(path, unit):
    """Openings, the panel's own outlines and the edges of a face file. Release 12 has no unit, so the JSON gives it."""
    doc = ezdxf.readfile(path)
    check(not doc.audit().errors and not doc.audit().fixes, f"{path.name}: the audit finds errors")
    if doc.dxfversion == "AC1009":
        k = unit
    else:
        k = flat.INSUNITS[doc.header["$INSUNITS"]]
        check(k == unit, f"{path.name}: $INSUNITS and the JSON differ")
    rings, panels, edges = [], [], []
    for e in doc.modelspace():
        kind, layer = e.dxftype(), e.dxf.layer
        if kind == "LINE" and layer in (REFERENCE, FREE):
            edges.append((layer, np.array([k * e.dxf.start.x, k * e.dxf.start.y]), np.array([k * e.dxf.end.x, k * e.dxf.end.y])))
            continue
        check(layer in (CUT, PANEL), f"{path.name}: {kind} on {layer}")
        if kind == "CIRCLE":
            c, r = (k * e.dxf.center.x, k * e.dxf.center.y), k * e.dxf.radius
            ring = Ring(flat.arc(c, r, 0.0, math.tau), [(np.array(c), r, True)])
        elif kind == "LWPOLYLINE" and e.closed:
            ring = ring_of([((k * x, k * y), b) for x, y, b in e.get_points("xyb")])
        elif kind == "POLYLINE" and e.is_closed and e.is_2d_polyline:
            ring = ring_of([((k * v.dxf.location.x, k * v.dxf.location.y), v.dxf.get("bulge", 0.0)) for v in e.vertices])
        else:
            raise Refused(f"{path.name}: {kind} that is not closed")
        (rings if layer == CUT else panels).append(ring)
    return rings, panels, edges


def turner(panel):
    """The map from one face's frame to the other's."""
    (w, h), turn = panel["size_mm"], panel["turn"]
    if turn == "left-right":
        return lambda p: np.column_stack([w - p[:, 0], p[:, 1]])
    if turn == "bottom-top":
        return lambda p: np.column_stack([p[:, 0], h - p[:, 1]])
    raise Refused(f"a second face on a panel that is turned {turn}")


def check_edges(panel, face, edges, panels, name):
    w, h = panel["size_mm"]
    if panel["setup"] == "one":
        check(not edges and len(panels) == 1, f"{name}: the panel is not one closed line")
        box = panels[0].box
        check(np.abs(box - [[0, 0], [w, h]]).max() < SAME and abs(panels[0].polygon.area - w * h) < SAME * (w + h) * 2, f"{name}: {box}")
        return
    wanted = set(EDGES[panel["turn"]])
    if face == 2 and panel["turn"] == "left-right":
        wanted = {{"left": "right", "right": "left"}.get(e, e) for e in wanted}
    if face == 2 and panel["turn"] == "bottom-top":
        wanted = {{"top": "bottom", "bottom": "top"}.get(e, e) for e in wanted}
    sides = {"left": ((0, 0), (0, h)), "right": ((w, 0), (w, h)), "bottom": ((0, 0), (w, 0)), "top": ((0, h), (w, h))}
    found = {}
    for layer, a, b in edges:
        side = [s for s, ends in sides.items() if {i for i in (0, 1) for p in (a, b) if math.dist(ends[i], p) < SAME} == {0, 1}]
        check(len(side) == 1, f"{name}: a line from {a} to {b} is no edge")
        found[side[0]] = layer
    check(len(edges) == 4 and {s for s, la in found.items() if la == REFERENCE} == wanted, f"{name}: edges {found}")


def nearest(points, ring):
    return shapely.distance(shapely.points(points), shapely.LinearRing(ring.points))


def even(recess, inlay, d, what):
    """Checks that the inlay's opening is the recess's grown by d. Returns the greatest errors of distance and centres."""
    check(recess.polygon.is_valid and inlay.polygon.is_valid, f"{what}: an opening crosses itself")
    check(inlay.polygon.contains(recess.polygon), f"{what}: the recess's opening is not inside the inlay's")
    off = np.abs(nearest(inlay.points, recess) - d).max()
    check(off < EVEN, f"{what}: the openings are not {d} mm apart: {off:.6f} mm off")
    # An arc of S that bulges outwards has one centre in both openings, with radii that differ by d.
    apart = []
    for c, r, ccw in inlay.arcs:
        same = [math.dist(c, e) for e, s, way in recess.arcs if ccw and way and abs(r - s - d) < EVEN and math.dist(c, e) < EVEN]
        apart += [min(same)] if same else []
    check(apart, f"{what}: no arc in common")
    middle = float(np.median(apart))
    check(middle < SAME, f"{what}: centres are {middle:.3e} mm apart")
    return off, middle


def fewest(apart):
    """Least number of groups without a conflicting pair in a group, by trying all divisions."""
    n = len(apart)
    for k in range(1, n + 1):
        def go(colours):
            i = len(colours)
            if i == n:
                return True
            most = min(k, (max(colours) + 2) if colours else 1)
            return any(go(colours + [c]) for c in range(most) if all(colours[j] != c or not apart[i][j] for j in range(i)))
        if go([]):
            return k
    return 0


def check_outputs(document, folder, web):
    """Checks all of the output. Returns the greatest errors of distance and centres, and the number of panels."""
    unit = {"mm": 1.0, "in": 25.4}[document["writing"]["unit"]]
    panels = {p["panel"]: p for p in document["panels"]}
    openings = {o["id"]: o for o in document["openings"]}
    check(openings, "no openings")
    check(len({tuple(o["place"]) for o in openings.values()}) == 1, "openings have different places")
    check(all(o["place"][:4] == [1, 0, 0, 1] for o in openings.values()), "a place does more than shift")
    work, own, other = {}, {}, {}
    for name in sorted({f for o in openings.values() for f in o["files"] if f.endswith(".dxf")}):
        here = [o for o in openings.values() if name in o["files"]]
        check(len({o["panel"] for o in here}) == 1, f"{name} is for more than one panel")
        panel = panels[here[0]["panel"]]
        rings, outlines, edges = read(folder / name, unit)
        check(len(rings) == len(here), f"{name}: {len(rings)} closed lines, {len(here)} openings")
        face = 1 if panel["setup"] == "one" else here[0]["face"]
        check_edges(panel, face, edges, outlines, name)
        w, h = panel["size_mm"]
        for o, ring in zip(here, rings):
            (x0, y0), (x1, y1) = ring.box
            check(min(x0, y0) >= -SAME and x1 <= w + SAME and y1 <= h + SAME, f"{name}: {o['id']} is off the panel")
            size = np.abs(ring.box[1] - ring.box[0] - o["size_mm"]).max()
            check(size < 1e-3, f"{name}: {o['id']} is {size} mm off its size")
            # With its own face up, an opening lies where it lies on the work.
            up = ring if face == o["face"] else ring.mirrored(turner(panel))
            work[o["id"]] = up
            own[o["id"]] = up if o["face"] == 1 else up.mirrored(turner(panel))
    pairs = {}
    for o in openings.values():
        pairs.setdefault(o["outline"], {})[o["duty"]] = o
    worst = (0.0, 0.0)
    for outline, pair in pairs.items():
        check(set(pair) == {"recess", "inlay"}, f"{outline} has openings for {sorted(pair)}")
        d = pair["inlay"]["offset_mm"] - pair["recess"]["offset_mm"]
        found = even(work[pair["recess"]["id"]], work[pair["inlay"]["id"]], d, outline)
        worst = tuple(max(a, b) for a, b in zip(worst, found))
    check_common(document, panels, [(work[p["recess"]["id"]].box, p["recess"]["offset_mm"]) for p in pairs.values()])
    check_webs(document, panels, openings, own, web)
    check_steps(document, openings)
    return *worst, len(panels)


def check_common(document, panels, boxes):
    low = np.min([b[0] + o for b, o in boxes], axis=0)
    high = np.max([b[1] - o for b, o in boxes], axis=0)
    for p in panels.values():
        off = np.abs((low + high) / 2 - p["common_mm"]).max()
        check(off < EVEN, f"panel {p['panel']}: the common point is {off} mm off")


def check_webs(document, panels, openings, own, web):
    told = [f["code"] for f in document["findings"]]
    thin = math.inf
    for n, panel in panels.items():
        w, h = panel["size_mm"]
        edge = shapely.box(0, 0, w, h).exterior
        here = [(o, own[i].polygon) for i, o in openings.items() if o["panel"] == n]
        check(here, f"panel {n} is empty")
        for o, p in here:
            thin = min(thin, shapely.distance(p, edge))
        for (o, p), (q, r) in itertools.combinations(here, 2):
            between = shapely.distance(p, r)
            if o["outline"] == q["outline"]:
                thin = min(thin, between)
            else:
                check(between >= web - SLACK, f"panel {n}: {between:.4f} mm between {o['id']} and {q['id']}")
    check(thin >= web - SLACK or "thin-web" in told, f"a strip of template of {thin:.4f} mm, without a finding")
    check(thin < web + SLACK or "thin-web" not in told, f"thin-web for a strip of template of {thin:.4f} mm")
    check(("further-panel" in told) == (len(panels) > (2 if panel["turn"] == "none" else 1)), f"{len(panels)} panels, found {told}")
    outlines = sorted({o["outline"] for o in openings.values()})
    groups = [["recess"], ["inlay"]] if panel["turn"] == "none" else [["recess", "inlay"]]
    wanted = 0
    for duties in groups:
        apart, unsure = distances(outlines, openings, own, duties, web)
        if unsure or len(outlines) > MOST:
            return
        wanted += fewest(apart)
    check(len(panels) == wanted, f"{len(panels)} panels, where {wanted} are enough")


def distances(outlines, openings, own, duties, web):
    of = {k: [own[i].polygon for i, o in openings.items() if o["outline"] == k and o["duty"] in duties] for k in outlines}
    apart = [[False] * len(outlines) for _ in outlines]
    unsure = False
    for i, j in itertools.combinations(range(len(outlines)), 2):
        d = min(shapely.distance(p, q) for p in of[outlines[i]] for q in of[outlines[j]])
        apart[i][j] = apart[j][i] = d < web - 0.005
        unsure |= abs(d - web) < UNSURE
    return apart, unsure


def check_steps(document, openings):
    steps = document["steps"]
    check(sorted(s["opening"] for s in steps) == sorted(openings), "not one step for each opening")
    check([s["piece"] for s in steps] == sorted((s["piece"] for s in steps)), "the board does not come first")
    for s in steps:
        o = openings[s["opening"]]
        piece = {"recess": "board", "inlay": "inlay"}[o["duty"]]
        tools = document["tools"][o["duty"]]
        check((s["piece"], s["panel"], s["face_up"]) == (piece, o["panel"], o["face"]), f"{s}")
        check(sorted(s["edges"]) == ["bottom", "left"] and s["purpose"] == "line" and s["depth_mm"] is None, f"{s}")
        check((s["bush_mm"], s["cutter_mm"]) == (tools["bush_mm"], tools["cutter_mm"]), f"{s}")


def make(binary, drawing, settings, folder):
    """Runs the program. Returns status and document."""
    command = [binary, "make", str(drawing), *settings, "--json", "--out", str(folder)]
    p = subprocess.run(command, capture_output=True, text=True, timeout=120)
    check(p.returncode in (0, 1), f"status {p.returncode}: {' '.join(command)}\n{p.stdout[-2000:]}{p.stderr[-2000:]}")
    return p.returncode, json.loads(p.stdout)


def web_of(settings):
    return float(settings[settings.index("--web") + 1]) if "--web" in settings else 9.0


def shifted(document):
    document["openings"][1]["place"][4] += 0.01


def other_turn(document):
    p = document["panels"][0]
    p["turn"] = {"left-right": "bottom-top", "bottom-top": "left-right", "none": "left-right"}[p["turn"]]


def wider(document):
    document["panels"][0]["size_mm"][0] += 0.00001


def moved_common(document):
    document["panels"][0]["common_mm"][1] += 0.1


def other_face(document):
    document["steps"][0]["face_up"] = 3 - document["steps"][0]["face_up"]


def moved_line(folder, document):
    """Moves opening 1 in its file by 0.00001 mm to the right, too little for any other check."""
    name = next(f for f in document["openings"][0]["files"] if f.endswith(".dxf"))
    doc = ezdxf.readfile(folder / name)
    e = next(e for e in doc.modelspace() if e.dxf.layer == CUT)
    e.translate(1e-5, 0, 0)
    doc.saveas(folder / name)


def self_test(binary, drawing):
    """Number of spoilt copies that were accepted."""
    accepted = 0
    for settings in RUNS[:4]:
        for how in (shifted, other_turn, wider, moved_common, other_face, moved_line):
            with tempfile.TemporaryDirectory() as folder:
                folder = Path(folder) / "out"
                _, document = make(binary, drawing, settings, folder)
                check_outputs(document, folder, web_of(settings))
                how(folder, document) if how is moved_line else how(document)
                try:
                    check_outputs(document, folder, web_of(settings))
                    accepted += 1
                    print(f"BAD   {' '.join(settings)} {how.__name__}: accepted")
                except Refused as e:
                    print(f"  ok  {' '.join(settings)} {how.__name__}: {str(e)[:100]}")
    return accepted


def main():
    words = [w for w in sys.argv[1:] if w != "--self-test"]
    if len(words) < 2:
        sys.exit(__doc__)
    binary, drawings, bad = words[0], [Path(w) for w in words[1:]], 0
    for drawing in drawings:
        if "--self-test" in sys.argv:
            bad += self_test(binary, drawing)
            continue
        for settings in RUNS:
            what = f"{drawing} {' '.join(settings)}"
            try:
                with tempfile.TemporaryDirectory() as folder:
                    folder = Path(folder) / "out"
                    status, document = make(binary, drawing, settings, folder)
                    check(status == 0, f"status {status}: {[f['code'] for f in document['findings']]}")
                    off, middle, panels = check_outputs(document, folder, web_of(settings))
                print(f"ok  {what}: {panels} panels, distances within {off:.5f} mm, centres within {middle:.1e} mm")
            except (Refused, ValueError) as e:
                bad += 1
                print(f"BAD {what}: {e}")
    sys.exit(1 if bad else 0)


if __name__ == "__main__":
    main()
