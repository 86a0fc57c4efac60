"""Ways to spoil the program's output. A check must refuse every one of them.

In: the folder, the drawing's name, the JSON document (changed in place), and a folder with the same job at another gap. Out:
whether anything changed.
"""

import math
import re
import shutil

import ezdxf

CUT = "OPENING_CUT_INSIDE"
# Twice the tolerance of the check, mm.
OUT = 0.02


def with_dxf(change, face=1):
    def way(folder, stem, _document, _other):
        path = folder / f"{stem}-face-{face}.dxf"
        doc = ezdxf.readfile(path)
        cut = [e for e in doc.modelspace() if e.dxf.layer == CUT]
        done = change(doc.modelspace(), cut)
        doc.saveas(path)
        return done

    return way


def points(change):
    """Changes the vertices (x, y, bulge) of the first LWPOLYLINE."""

    def on(_space, cut):
        lines = [e for e in cut if e.dxftype() == "LWPOLYLINE"]
        if not lines:
            return False
        before = lines[0].get_points("xyb")
        after = change(before)
        lines[0].set_points(after, format="xyb")
        return after != before

    return with_dxf(on)


def shift(_space, cut):
    for e in cut:
        e.translate(OUT, 0, 0)
    return True


def one_vertex(p):
    (x, y, b), rest = p[0], p[1:]
    return [(x + OUT, y + OUT, b), *rest]


def bulged(p):
    """Raises the sagitta of the highest arc by OUT, which changes its radius."""
    rise = lambda i: abs(p[i][2]) * math.dist(p[i][:2], p[(i + 1) % len(p)][:2]) / 2
    i = max(range(len(p)), key=rise)
    if rise(i) == 0:
        return p
    x, y, b = p[i]
    return [*p[:i], (x, y, b * (1 + OUT / rise(i))), *p[i + 1 :]]


def straightened(p):
    return [(x, y, 0.0) for x, y, _ in p]


def circle(_space, cut):
    circles = [e for e in cut if e.dxftype() == "CIRCLE"]
    for e in circles:
        e.dxf.radius += OUT
    return bool(circles)


def lost(space, cut):
    space.delete_entity(cut[0])
    return True


def doubled(space, cut):
    space.add_entity(cut[0].copy())
    return True


def crumb(space, _cut):
    space.add_lwpolyline([(1, 1), (1.3, 1), (1, 1.3)], close=True, dxfattribs={"layer": CUT})
    return True


def svg_numbers(folder, stem, _document, _other):
    """Shifts the start of the first opening in the SVG of face 2."""
    path = folder / f"{stem}-face-2.svg"
    text = path.read_text()
    after = re.sub(r'd="M ([\d.]+)', lambda m: f'd="M {float(m.group(1)) + OUT!r}', text, count=1)
    path.write_text(after)
    return after != text


def wrong_offset(folder, stem, _document, other):
    for end in ("dxf", "svg"):
        shutil.copy(other / f"{stem}-face-2.{end}", folder / f"{stem}-face-2.{end}")
    return True


def exchanged(folder, stem, _document, _other):
    for end in ("dxf", "svg"):
        one, two = folder / f"{stem}-face-1.{end}", folder / f"{stem}-face-2.{end}"
        first = one.read_bytes()
        one.write_bytes(two.read_bytes())
        two.write_bytes(first)
    return True


def in_document(change):
    def way(_folder, _stem, document, _other):
        change(document)
        return True

    return way


def place_of_both(d):
    for o in d["openings"]:
        o["place"][4] += OUT


def place_of_one(d):
    d["openings"][-1]["place"][5] += OUT


def mirrored(d):
    for o in d["openings"]:
        o["place"][0] = -1


def panel_narrower(d):
    d["panels"][0]["size_mm"][0] -= 100


def recess_area(d):
    piece = d["proof"]["pieces"][0]
    piece["recess_area_mm2"] *= 1.005


def inlay_area(d):
    piece = d["proof"]["pieces"][0]
    piece["inlay_area_mm2"] *= 0.995


def gap(d):
    d["proof"]["pieces"][0]["gap_min_mm"] += OUT


def off(d):
    d["proof"]["pieces"][-1]["inlay_off_mm"] += OUT


WAYS = [
    ("face 1 shifted", with_dxf(shift)),
    ("face 2 shifted", with_dxf(shift, 2)),
    ("one vertex shifted", points(one_vertex)),
    ("radius of one arc", points(bulged)),
    ("arcs straightened", points(straightened)),
    ("radius of circles", with_dxf(circle)),
    ("an opening lost", with_dxf(lost)),
    ("an opening doubled", with_dxf(doubled)),
    ("a tiny extra opening", with_dxf(crumb)),
    ("start of the SVG's path", svg_numbers),
    ("inlay opening of another gap", wrong_offset),
    ("faces exchanged", exchanged),
    ("place shifted", in_document(place_of_both)),
    ("places not equal", in_document(place_of_one)),
    ("place mirrored", in_document(mirrored)),
    ("panel of another width", in_document(panel_narrower)),
    ("area of the recess", in_document(recess_area)),
    ("area of the inlay", in_document(inlay_area)),
    ("gap", in_document(gap)),
    ("distance from the drawing", in_document(off)),
]
