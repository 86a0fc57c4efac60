#!/usr/bin/env python3
"""Compares the findings on real drawings with difference regions that another library works out.

    python findings.py BINARY FOLDER-OR-FILE... [--icons 500] [--seed 1] [--log jobs.jsonl] [--workers 2] [--all-sizes] [--one-each]

Needs the packages of `tests/outside/requirements.txt`; icons as in icons.py. Without --icons the script takes every
drawing at its own size, unless --all-sizes is given. With --icons it takes that many of the seeded sample at 40, 100 and
300 mm. Each drawing runs with 20/6, 12/4 and 30/8.

Corners are kept as drawn (`--corners keep`), so the outline S itself is judged. r is the radius of the recess's cutter, o the
largest offset: the inlay's R + r less the gap. svgelements reads S from the file and flattens it within 2e-5 mm. Clipper's
offsets, out and back, give open_r(S) and close_o(S), with arcs within 2e-5 mm. Regions are the connected components of S less
open_r(S), and of close_o(S) less S, once the smaller set is grown by HAIR.

* The *depth* of a region is the greatest distance of its edge from the edge of the shape that the tool makes. (It is not the
  radius of a disc inside.) At a corner it is the distance that the tool keeps along the bisector, the finding's `short_mm`.
* Every region deeper than MUST, 0.05 mm, must be *under* a finding on the same outline, within AT of the region: an
  inside-corner or neck in S, an outside-corner or closed-gap outside it. A corner at the edge of a reported neck or closed
  gap belongs to that finding; the script counts these apart. (The program reports from 0.02 mm on.)
* Every finding of these codes must lie within AT of a region at least MAY, 0.01 mm, deep.
* A corner's `short_mm` must equal the depth of its region, and its `area_mm2` the area, within the tolerances in the code.

Where two edges are almost tangent, HAIR blunts the tip between them, and place and depth must compensate each other. A region
that disappears with tools smaller by SLACK is made as drawn. The script counts both apart.

Between MAY and MUST nothing is required: the program reads curves within 0.0025 mm and gives each radius as much slack. A
neck or gap by another rule has no `needed_mm` and is checked against that rule: the cutter's way, S less r, is not one piece;
an opening has a hole that S lacks; two openings overlap.

Not checked: whether a region is a corner or a neck, the width of a neck, the proposals, and eased or squared corners. Clipper
rarely errs, so every fault is worked out again on rotated copies and counts only if all agree. Jobs with outlines that
cross, touch or are open have no S. Jobs whose outlines differ from this reader's (by area or bounding box) are counted and
listed, and fail the run.

Source: Serra, Image Analysis and Mathematical Morphology, 1982 (opening and closing by a disc); from memory, unchecked.
Source: none outside; the check does the sums anew (depths, areas, places).
"""

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np
import pyclipper
import shapely
import svgelements

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "outside"))
import flat  # noqa: E402
import oracle  # noqa: E402
from icons import NO_GEOMETRY, SIZES, TOOLS, sample, scaled  # noqa: E402
from names import INNER, OUTER  # noqa: E402

FINE = 2e-5
flat.FLAT = FINE
oracle.ARC = FINE
oracle.THIN = FINE / 4
GRID = oracle.GRID
# Tolerance of the arcs around corners on the way out, mm. On the way back they shrink to these corners, so the edge is wrong
# by at most this. The error lies beside the corner, never at the deepest point.
LOST = 1e-3
# Larger than the errors of both offsets and far smaller than any depth that counts, mm.
HAIR = 2e-4
MUST, MAY, AT = 0.05, 0.01, 0.02
# Greatest length over which HAIR removes the tip between two almost tangent edges, mm.
BLUNTED = 0.2
# A region must also exist with tools smaller by this diameter, mm, since features of just the tool's size are made.
SLACK = 0.005
GAP = 0.05
ANGLES = (0.0, 0.3, 1.1)
# Loops up to this size in both directions are specks, which the program leaves out, mm.
SPECK = 0.1
# A smaller region that almost touches a larger one is the tip of that one, mm2.
TIP = 1e-3
# Area below which a region cannot be MAY deep, mm2.
CRUMB = 1e-5


def read(path, width=None):
    """The outlines, each a region of Clipper's integers: outer ring and holes. Nested shapes alternate.

    `width`: scales the drawing to this width, mm, about the frame's origin."""
    shapes = list(shapes_of(path))
    if width is not None:
        across = lambda shapes: (lambda xs: xs.max() - xs.min())(np.concatenate([r[:, 0] for rings, _ in shapes for r in rings]))
        rough = [s for s in shapes if s[0]]
        if not rough:
            return []
        # Flatten again, so that the tolerance is FINE at the final size.
        flat.FLAT = FINE * across(rough) / width
        try:
            rough = [s for s in shapes_of(path) if s[0]]
        finally:
            flat.FLAT = FINE
        k = width / across(rough)
        shapes = [([r * k for r in rings], rule) for rings, rule in rough]
    regions = []
    for rings, rule in shapes:
        engine = pyclipper.Pyclipper()
        paths = [p for p in oracle.to_grid(rings) if len(p) > 2]
        if not paths:
            continue
        engine.AddPaths(paths, pyclipper.PT_SUBJECT, True)
        region = engine.Execute(pyclipper.CT_UNION, rule, rule)
        if region and region not in regions:
            regions.append(region)
    if not regions:
        return []
    engine = pyclipper.Pyclipper()
    engine.AddPaths([p for r in regions for p in r], pyclipper.PT_SUBJECT, True)
    found = parts(engine.Execute2(pyclipper.CT_UNION, pyclipper.PFT_EVENODD, pyclipper.PFT_EVENODD))
    return [p for p in found if np.ptp(oracle.from_grid(p[:1])[0], axis=0).max() > SPECK]


def shapes_of(path):
    if path.suffix.lower() == ".dxf":
        return (([r], pyclipper.PFT_EVENODD) for r in flat.dxf_rings(path)[0])
    return svg_shapes(path)


def svg_shapes(path):
    svg = svgelements.SVG.parse(str(path), ppi=flat.PPI, reify=True)
    height = float(svg.height)
    for e in svg.elements():
        if not isinstance(e, svgelements.Shape):
            continue
        filled = e.fill is not None and e.fill.value is not None
        if not filled and "fill" in e.values and (e.stroke is None or e.stroke.value is None):
            continue
        rings = []
        for sub in svgelements.Path(e).as_subpaths():
            points = [p for s in list(svgelements.Path(sub))[1:] for p in flat.segment_points(s)]
            last = list(svgelements.Path(sub))[-1]
            if not isinstance(last, (svgelements.Close, svgelements.Move)):
                points.append((last.end.x, last.end.y))
            ring = np.array(points)
            if len(ring) > 2:
                rings.append(np.column_stack([ring[:, 0], height - ring[:, 1]]))
        even = "evenodd" in (e.values.get("fill-rule"), e.values.get("fill_rule"))
        yield rings, pyclipper.PFT_EVENODD if even else pyclipper.PFT_NONZERO


def parts(tree):
    """The islands of a Clipper tree, each a list of paths: the outer ring, then its holes."""
    found, todo = [], list(tree.Childs)
    while todo:
        outer = todo.pop()
        found.append([outer.Contour, *(h.Contour for h in outer.Childs)])
        todo.extend(o for h in outer.Childs for o in h.Childs)
    return found


def less(a, b):
    """The connected components of a without b."""
    engine = pyclipper.Pyclipper()
    engine.AddPaths(a, pyclipper.PT_SUBJECT, True)
    if b:
        engine.AddPaths(b, pyclipper.PT_CLIP, True)
    return parts(engine.Execute2(pyclipper.CT_DIFFERENCE, pyclipper.PFT_NONZERO, pyclipper.PFT_NONZERO))


def polygon(paths):
    outer, *holes = (np.array(p, dtype=float) * GRID for p in paths)
    p = shapely.Polygon(outer, holes)
    return p if p.is_valid else shapely.make_valid(p)


class Region:
    """One difference region: polygon (mm), depth, deepest point, area."""

    def __init__(self, paths, edges, tool):
        self.polygon = polygon(paths)
        self.area = self.polygon.area
        rings = oracle.from_grid(paths)
        oracle.STEP = min(0.1, max(0.002, max(np.ptp(rings[0], axis=0)) / 50))
        points = oracle.dense(rings)
        d = edges.distances(points) if edges else np.full(len(points), tool)
        self.depth, self.at = float(d.max()), points[d.argmax()]


def differences(s, r, o):
    """Regions of S less open_r(S), and of close_o(S) less S, at least MAY deep (less HAIR)."""
    opened, closed = there_and_back(s, -r), there_and_back(s, o)
    return (
        deep(less(s, oracle.offset(opened, HAIR)), opened, r),
        deep(less(closed, oracle.offset(s, HAIR)), closed, o),
    )


def there_and_back(s, d):
    """Offset and back. The arcs of the first step shrink to points that all cross, so fine ones take minutes."""
    oracle.ARC = LOST
    there = oracle.offset(s, d)
    oracle.ARC = FINE
    return oracle.offset(there, -d)


def deep(islands, made, tool):
    edges = oracle.Edges(oracle.from_grid(made)) if made else None
    big = [i for i in islands if abs(pyclipper.Area(i[0])) * GRID * GRID > CRUMB]
    found = [r for r in (Region(i, edges, tool) for i in big) if r.depth >= MAY - HAIR]
    # A tip that HAIR cut off a region.
    tip = lambda r: r.area < TIP and any(g.area > TIP and shapely.distance(g.polygon, r.polygon) < 0.01 for g in found)
    return [r for r in found if not tip(r)]


def turned(s, angle):
    """The region rotated about the origin by `angle`, radians."""
    if angle == 0:
        return s
    return [[(round(x), round(y)) for x, y in oracle.turned(np.array(p, dtype=float), angle)] for p in s]


def away(region, point):
    return shapely.distance(region.polygon, shapely.Point(point))


def near(region, point):
    return away(region, point) <= AT


def told_by(region, f):
    """True if the region, or its tip that HAIR blunted, lies under the finding and the depth fits."""
    d = away(region, f["at"])
    if f["short_mm"] is None or f["measured_mm"] is None:
        # A neck or gap without a width ends at a tip between tangent edges, if it has one.
        return d <= (BLUNTED if f["measured_mm"] is None else AT)
    return d <= AT or (d <= BLUNTED and deep_as_told(region, f))


def deep_as_told(region, f):
    """True if the depth fits the finding within the slack. A blunted tip adds at most its own length."""
    if f["short_mm"] is None:
        return False
    slack, d = 0.01 + 0.03 * region.depth, away(region, f["at"])
    return region.depth - slack <= f["short_mm"] <= region.depth + slack + (d if d > AT else 0)


def compare(s, findings, tools):
    """Differences of one outline, as (what, x, y, number), and counts. `s` and places may be rotated."""
    bush, cutter = tools
    r, o = cutter / 2, (bush + cutter) / 2 - GAP
    inner, outer = differences(s, r, o)
    wrong, counts, by_slack = [], Counter(), None
    for regions, others, codes, wide in ((inner, outer, INNER, "closed-gap"), (outer, inner, OUTER, "neck")):
        mine = [f for f in findings if f["code"] in codes and f["needed_mm"] is not None and f["at"] is not None]
        for f in mine:
            under = [g for g in regions if told_by(g, f)]
            counts["findings"] += 1
            counts[f["code"]] += 1
            if not under:
                wrong.append((f"{f['code']} without a region", *f["at"], f["short_mm"]))
            elif f["code"].endswith("corner"):
                best = min(under, key=lambda g: abs(g.depth - f["short_mm"]))
                if any(near(best, n["at"]) for n in mine if not n["code"].endswith("corner")):
                    # In this reader the corner's region is joined to that of a neck or gap by a strip wider than HAIR.
                    counts["corner on a neck or gap"] += 1
                elif not deep_as_told(best, f):
                    wrong.append((f"{f['code']} {f['short_mm']} deep, expected {best.depth:.4f}", *f["at"], best.depth))
                elif abs(best.area - f["area_mm2"]) > 0.02 + 0.03 * best.area:
                    wrong.append((f"{f['code']} of {f['area_mm2']} mm2, expected {best.area:.4f}", *f["at"], best.area))
        # A gap without a width ends in a tip, which HAIR blunts.
        reach = lambda f: BLUNTED if f["measured_mm"] is None else AT
        told = [(f["at"], reach(f)) for f in findings if f["code"] == wide and f["at"] is not None]
        for g in (g for g in regions if g.depth > MUST):
            counts["regions"] += 1
            if any(told_by(g, f) for f in mine):
                continue
            if any(away(h, g.at) <= by and away(h, p) <= by for h in others for p, by in told):
                counts["belongs to a neck or gap"] += 1
                continue
            if by_slack is None:
                by_slack = differences(s, r - SLACK / 2, o - SLACK / 2)
            if not any(h.depth > MUST and away(h, g.at) <= 1 for h in by_slack[0 if regions is inner else 1]):
                counts["made by the slack"] += 1
                continue
            wrong.append((f"region {'inside' if regions is inner else 'outside'} without a finding", *g.at, g.depth))
    for f in findings:
        if f["needed_mm"] is None and f["code"] == "neck":
            counts["by another rule"] += 1
            if len(positive(oracle.offset(s, -r))) == 1:
                wrong.append(("neck, but the cutter's way is in one piece", *f["at"], 0))
        elif f["needed_mm"] is None and f["code"] == "closed-gap" and "run into one another" not in f["message"]:
            counts["by another rule"] += 1
            rings = [oracle.offset(s, k) for k in ((bush - cutter) / 2, o)]
            if all(len(k) - len(positive(k)) <= len(s) - 1 for k in rings):
                wrong.append(("closed-gap, but no opening has an island", *f["at"], 0))
    return wrong, counts


def positive(paths):
    return [p for p in paths if pyclipper.Area(p) > 0]


def outline_of(document, s):
    """The outline of the document with the bounding box and area of `s`."""
    box, area = polygon(s[:1]).bounds, polygon(s).area
    for o in document["outlines"]:
        if np.allclose(o["bounds_mm"], box, atol=0.02) and abs(o["area_mm2"] - area) <= 0.02 + 0.01 * polygon(s).length:
            return o
    return None


def check(drawing, tools, binary):
    bush, cutter = tools
    command = [binary, "check", str(drawing), "--json", "--corners", "keep", "--bush", str(bush), "--cutter", str(cutter)]
    p = subprocess.run(command, capture_output=True, text=True, timeout=300)
    if p.returncode not in (0, 1):
        return {"outcome": "no verdict", "wrong": [], "message": p.stdout[-500:] + p.stderr[-300:]}
    document = json.loads(p.stdout)
    codes = {f["code"] for f in document["findings"]}
    if codes & (NO_GEOMETRY | {"uncertified"}) or not document["outlines"]:
        return {"outcome": "no outline: " + " + ".join(sorted(codes & (NO_GEOMETRY | {"uncertified"}))), "wrong": []}
    outlines = read(drawing)
    pairs = [(s, outline_of(document, s)) for s in outlines]
    ids = [o["id"] for _, o in pairs if o]
    if len(ids) != len(outlines) or len(set(ids)) != len(document["outlines"]):
        return {"outcome": "read otherwise", "wrong": [], "message": f"{len(document['outlines'])} outlines, here {len(outlines)}"}
    wrong, counts = [], Counter()
    for s, o in pairs:
        all_of = [f for f in document["findings"] if f["outline"] == o["id"]]
        bad, n = settled(s, all_of, tools)
        wrong += [(o["id"], *w) for w in bad]
        counts += n
    return {"outcome": "differs" if wrong else "agrees", "wrong": wrong, "counts": counts}


def settled(s, findings, tools):
    """Differences that appear at every rotation of the outline."""
    for angle in ANGLES:
        back = lambda p: oracle.turned(np.array([p]), angle)[0] if p is not None else None
        here = [{**f, "at": back(f["at_mm"])} for f in findings]
        wrong, counts = compare(turned(s, angle), here, tools)
        if not wrong:
            return wrong, counts
    home = lambda w: (w[0], *(round(float(v), 4) for v in oracle.turned(np.array([w[1:3]]), -angle)[0]), round(float(w[3]), 4))
    return [home(w) for w in wrong], counts


def job(binary, icon, size, tools):
    out = {"icon": f"{icon.parent.parent.parent.name}/{icon.name}", "size": size, "bush": tools[0], "cutter": tools[1]}
    start = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        drawing = icon
        if size:
            drawing = Path(folder) / "icon.svg"
            drawing.write_text(scaled(icon.read_text(), size))
        try:
            out.update(check(drawing, tools, binary))
        except (ValueError, AssertionError, subprocess.TimeoutExpired, pyclipper.ClipperException) as e:
            out.update(outcome="not checked", wrong=[], message=repr(e)[:300])
    return {**out, "seconds": round(time.monotonic() - start, 2)}


def drawings(words):
    for w in map(Path, words):
        yield from sorted([*w.rglob("*.svg"), *w.rglob("*.dxf")]) if w.is_dir() else [w]


def main():
    p = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    p.add_argument("binary")
    p.add_argument("where", nargs="+")
    p.add_argument("--icons", type=int)
    p.add_argument("--seed", type=int, default=1)
    p.add_argument("--all-sizes", action="store_true")
    p.add_argument("--one-each", action="store_true", help="each drawing with one size and one pair of tools, in turn")
    p.add_argument("--log", type=Path)
    p.add_argument("--workers", type=int, default=os.cpu_count())
    a = p.parse_args()
    files = sample(a.where, a.icons, a.seed)[0] if a.icons else list(drawings(a.where))
    sizes = SIZES if a.icons or a.all_sizes else (None,)
    wanted = [(f, s, t) for f in files for s in sizes for t in TOOLS]
    if a.one_each:
        every = len(sizes) * len(TOOLS)
        wanted = [wanted[i * every + i % every] for i in range(len(files))]
    key = lambda j: (j["icon"], j["size"], j["bush"], j["cutter"])
    done = {}
    if a.log and a.log.exists():
        done = {key(j): j for j in map(json.loads, a.log.read_text().splitlines())}
    name = lambda f, s, t: (f"{f.parent.parent.parent.name}/{f.name}", s, *t)
    jobs = [done[name(*w)] for w in wanted if name(*w) in done]
    with ProcessPoolExecutor(a.workers) as pool:
        todo = [w for w in wanted if name(*w) not in done]
        for j in pool.map(job, [a.binary] * len(todo), *zip(*todo)) if todo else []:
            jobs.append(j)
            if a.log:
                with open(a.log, "a") as log:
                    log.write(json.dumps(j) + "\n")
    counts, outcomes = Counter(), Counter(j["outcome"] for j in jobs)
    for j in jobs:
        counts.update(j.get("counts", {}))
        for w in j["wrong"]:
            print(f"BAD {j['icon']} at {j['size']} mm, {j['bush']}/{j['cutter']}: {w}")
        if j["outcome"] in ("read otherwise", "not checked", "no verdict"):
            print(f"BAD {j['outcome']}: {j['icon']} at {j['size']} mm, {j['bush']}/{j['cutter']}: {j['message']}")
    print(f"{len(files)} drawings, {len(jobs)} jobs")
    for table in (outcomes, counts):
        print(", ".join(f"{k}: {n}" for k, n in table.most_common()))
    held = outcomes["agrees"] + outcomes["differs"]
    bad = sum(n for k, n in outcomes.items() if k != "agrees" and not k.startswith("no outline"))
    sys.exit(1 if bad or not held or not counts["findings"] else 0)


if __name__ == "__main__":
    main()
