"""Puts a shouldered piece together again from the written DXF files and the JSON, with other libraries.

Usage: check_shoulder.py FOLDER. Needs the packages of `tests/outside/requirements.txt`. ezdxf reads the openings, and
shapely's buffers with fine chords simulate the routing. Each piece lies as its step says (face, edges, panel). The check
turns the inlay over, lays it in by the bounding boxes of shoulder and rebate, and measures the gaps. Then wrong faces with
wrong edges are tried, and none of them may fit.

The bands of all steps on the inlay clear the waste around the plug. None may touch the plug, and the area left must be the
one in the JSON. The status is 0 if everything holds.

Source: none outside; the check does the sums anew.
"""

import json
import sys
from pathlib import Path

import ezdxf
import ezdxf.path
from shapely import affinity
from shapely.geometry import Polygon
from shapely.ops import unary_union

CHORD = 0.0005
# Error of the chords on both pieces, with buffers of 512 chords per quarter turn, mm.
SLACK = 0.01


def openings(folder, name, step):
    """The opening of a step in the frame of its face file, and its entry in the document."""
    doc = json.loads((folder / name).read_text())
    opening = next(o for o in doc["openings"] if o["id"] == step["opening"])
    file = next(f for f in opening["files"] if f.endswith(".dxf"))
    entities = ezdxf.readfile(folder / file).modelspace().query('*[layer=="OPENING_CUT_INSIDE"]')
    rings = [[(p.x, p.y) for p in ezdxf.path.make_path(e).flattening(CHORD)] for e in entities]
    panel = next(p for p in doc["panels"] if p["panel"] == opening["panel"])
    if panel["setup"] == "one":
        # One file holds all openings of the panel in their order, as seen on face 1.
        own = [o["id"] for o in doc["openings"] if o["panel"] == opening["panel"]]
        assert len(rings) == len(own), f"{file}: {len(rings)} openings, expected {len(own)}"
        shape = Polygon(rings[own.index(opening["id"])])
        return (turned(shape, panel) if opening["face"] == 2 else shape), opening
    assert len(rings) == 1 or opening["duty"] == "clearing", f"{file}: {len(rings)} openings"
    return unary_union([Polygon(r) for r in rings]), opening


def turned(shape, panel):
    """The shape as seen from the panel's other face."""
    width, height = panel["size_mm"]
    m = [-1, 0, 0, 1, width, 0] if panel["turn"] == "left-right" else [1, 0, 0, -1, 0, height]
    return affinity.affine_transform(shape, m)


def placed(folder, name, doc, step):
    """The opening of the step in the frame of the marks on the work."""
    shape, opening = openings(folder, name, step)
    panel = next(p for p in doc["panels"] if p["panel"] == step["panel"])
    width, height = panel["size_mm"]
    if step["face_up"] != opening["face"]:
        shape = turned(shape, panel)
    dx = -width if "right" in step["edges"] else 0
    dy = -height if "top" in step["edges"] else 0
    return affinity.translate(shape, dx, dy)


def routed(folder, name, doc, step):
    """The inlay that the step leaves, or the recess that it cuts, in the frame of the marks on the work."""
    shape = placed(folder, name, doc, step)
    big, small = step["bush_mm"] / 2, step["cutter_mm"] / 2
    if step["piece"] == "board":
        return shape.buffer(-big, quad_segs=512).buffer(small, quad_segs=512)
    return shape.buffer(-(big + small), quad_segs=512)


def gaps(inlay, recess):
    """Least signed gap and greatest gap between the edges, mm."""
    # The erosion lets a gap of 0 count as a fit.
    inside = inlay.buffer(-SLACK / 2).difference(recess).area < 1e-6
    if not inside:
        return -inlay.difference(recess).area, None
    return inlay.exterior.distance(recess.exterior), recess.exterior.hausdorff_distance(inlay.exterior)


def fit(folder, name, doc, steps):
    roles = {o["id"]: o["role"] for o in doc["outlines"]}
    of = {o["id"]: roles[o["outline"]] for o in doc["openings"]}
    cut = {(s["piece"], of[s["opening"]]): routed(folder, name, doc, s) for s in steps if s["purpose"] == "line"}
    best = None
    for half in (1, -1):
        over = [-half, 0, 0, half, 0, 0]
        laid = {r: affinity.affine_transform(cut["inlay", r], over) for r in ("plug", "shoulder")}
        to, frm = cut["board", "shoulder"].bounds, laid["shoulder"].bounds
        dx, dy = (to[0] + to[2] - frm[0] - frm[2]) / 2, (to[1] + to[3] - frm[1] - frm[3]) / 2
        found = {r: gaps(affinity.translate(laid[r], dx, dy), cut["board", r]) for r in laid}
        if best is None or min(g[0] for g in found.values()) > min(g[0] for g in best.values()):
            best = found
    return best


def cleared(folder, name, doc):
    """Area of the waste around the plug, and the area that the steps on the inlay leave. Asserts that none touches the plug."""
    roles = {o["id"]: o["role"] for o in doc["outlines"]}
    of = {o["id"]: (o["duty"], roles[o["outline"]]) for o in doc["openings"]}
    inlay = [s for s in doc["steps"] if s["piece"] == "inlay"]
    lines = {of[s["opening"]][1]: routed(folder, name, doc, s) for s in inlay if s["purpose"] == "line"}
    waste = lines["shoulder"].difference(lines["plug"])
    left = waste
    for s in inlay:
        shape, big, small = placed(folder, name, doc, s), s["bush_mm"] / 2, s["cutter_mm"] / 2
        outer, inner = (shape.buffer(-a, quad_segs=512) for a in (big - small, big + small))
        band = outer.difference(inner)
        if s["purpose"] == "clearing":
            off = band.distance(lines["plug"])
            assert off >= 0.3 - SLACK, f"{s['opening']} with bush {s['bush_mm']}: {off} from the plug"
        left = left.difference(band)
    return waste.area, left.area


def main():
    folder = Path(sys.argv[1])
    name = next(p.name for p in folder.glob("*.json"))
    doc = json.loads((folder / name).read_text())
    wanted = {"plug": doc["shouldered"]["plug_gap_mm"], "shoulder": doc["tools"]["gap_mm"]}
    for role, (least, most) in fit(folder, name, doc, doc["steps"]).items():
        assert abs(least - wanted[role]) < SLACK, f"{role}: gap {least}, expected {wanted[role]}"
        print(f"{role}: gap from {least:.4f} to {most:.4f}, expected {wanted[role]}")
    waste, left = cleared(folder, name, doc)
    told = doc["shouldered"]
    assert abs(waste - told["waste_mm2"]) < 0.001 * waste, f"waste {waste}, stated {told['waste_mm2']}"
    assert abs(left - told["left_mm2"]) < 0.001 * waste, f"left {left}, stated {told['left_mm2']}"
    print(f"waste {waste:.1f} mm2, left {left:.3f} mm2")
    # A wrong face for either line of the inlay, or for both, must not fit.
    lines = [i for i, s in enumerate(doc["steps"]) if s["piece"] == "inlay" and s["purpose"] == "line"]
    for wrong in ([lines[0]], [lines[1]], lines):
        steps = [dict(s, face_up=3 - s["face_up"]) if i in wrong else s for i, s in enumerate(doc["steps"])]
        edges = [dict(s, edges=["right", "bottom"]) if i in wrong else s for i, s in enumerate(steps)]
        assert any(g[0] < 0 for g in fit(folder, name, doc, edges).values()), f"a wrong face of steps {wrong} fits"
    print("wrong faces do not fit")


if __name__ == "__main__":
    main()
