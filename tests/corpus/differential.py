#!/usr/bin/env python3
"""Reads real drawings with `letin outlines` and with other libraries, and compares the results.

    python differential.py BINARY FOLDER... [--svg 1500] [--dxf 400] [--seed 1] [--json figures.json]

By hand, not part of the regular checks. Needs the packages of `tests/outside/requirements.txt`. Good sources are npm icon
sets (`npm pack bootstrap-icons feather-icons @mdi/svg`), Debian's `openclipart-svg`, and the test drawings of packages
that read DXF (npm `dxf`, `dxf-viewer`, `three-dxf`; the source distributions of `ezdxf`, `dxfgrabber`, `svgpathtools`).

SVG: every visible shape, in order. `svgelements` follows groups, `use`, transforms and style attributes; `svgpathtools`
reads the data of one path. The script compares the number of shapes, the bounding box of all, and the area of single paths.
DXF: `ezdxf` explodes blocks of the model space into the kinds that letin reads. The script compares the bounding box of all
entities and the number of circles, before joining.

Every difference needs a reason that can be checked in the file itself. A difference without a reason is printed with its
file and counted as unexplained, and the status is 1.

Source: none outside; the check does the sums anew.
"""

import argparse
import json
import math
import random
import re
import subprocess
import sys
import warnings
from collections import Counter
from pathlib import Path

warnings.filterwarnings("ignore")
MM = 25.4 / 96
LIMIT = 60


def letin(binary, path, *more):
    p = subprocess.run([binary, "outlines", path, "--json", "--all", *more], capture_output=True, timeout=LIMIT)
    if p.returncode not in (0, 2):
        return None, f"status {p.returncode}: {p.stderr.decode(errors='replace')[:200]}"
    answer = json.loads(p.stdout)
    if "error" in answer:
        return None, answer["error"]["code"] + ": " + answer["error"]["message"]
    return answer, None


def doubted(answer):
    """Whether letin's own second reader, or its count, saw something else."""
    return any(f["code"] == "second-reader" and "not used" not in f["message"] for f in answer["findings"])


def box(points):
    xs, ys = zip(*points)
    return min(xs), min(ys), max(xs), max(ys)


def union(boxes):
    boxes = list(boxes)
    return (min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes))


def near(a, b, size):
    return abs(a - b) <= max(0.05, 5e-4 * size)


# ---- SVG ----


def svg_other(path):
    """Bounding boxes of the shapes that `svgelements` draws, in px, and the path if there is only one."""
    import svgelements as se

    doc = se.SVG.parse(path, reify=True, ppi=96)
    boxes, single = [], None
    for e in doc.elements():
        if not isinstance(e, se.Shape):
            continue
        values = e.values
        if values.get("display") == "none" or values.get("visibility") in ("hidden", "collapse"):
            continue
        fill, stroke = e.fill, e.stroke
        filled = not (fill is None or fill.value is None) and not isinstance(e, se.SimpleLine)
        stroked = not (stroke is None or stroke.value is None) and (e.stroke_width is None or float(e.stroke_width) > 0)
        if not (filled or stroked):
            continue
        p = se.Path(e)
        b = p.bbox()
        if b is None or (b[0] == b[2] and b[1] == b[3]):
            continue
        boxes.append(tuple(float(v) for v in b))
        single = p
    return boxes, (single if len(boxes) == 1 else None)


def svg_area(path_object):
    """Signed area of a path by `svgpathtools`, px²."""
    from svgpathtools import parse_path

    total = 0.0
    for sub in parse_path(path_object.d()).continuous_subpaths():
        if not sub.isclosed():
            return None
        for seg in sub:
            n = 1 if type(seg).__name__ == "Line" else 64
            p = [seg.point(i / n) for i in range(n + 1)]
            total += sum((a.real * b.imag - b.real * a.imag) / 2 for a, b in zip(p, p[1:]))
    return abs(total)


def svg_reasons(text, answer):
    """Possible reasons for a difference: features of the file that one of the readers ignores."""
    said = " ".join(f["message"] for f in answer["findings"])
    reasons = []
    if "<style" in text:
        reasons.append("style sheet: svgelements matches only simple selectors")
    if re.search(r"clip-path|mask", text) and "clip" in said + "mask":
        reasons.append("clip or mask: reported")
    if "<symbol" in text or re.search(r"<svg\b.*<svg\b", text, re.S):
        reasons.append("nested viewport: svgelements places symbols differently")
    if "<use" in text:
        reasons.append("use: styles inherited through it")
    if "<switch" in text:
        reasons.append("switch: svgelements draws all its children")
    if re.search(r"""(fill|stroke)\s*[:=]\s*["']?url\(""", text):
        reasons.append("paint server: svgelements treats url() as no paint")
    if "Left out:" in said:
        reasons.append("left out by letin, and reported")
    if re.search(r"marker", text):
        reasons.append("markers")
    if "transparent" in text or re.search(r"rgba|#[0-9a-fA-F]{8}\b", text):
        reasons.append("transparent paint")
    if re.search(r"""width\s*=\s*["'][^"']*%""", text):
        reasons.append("percentages of a page without a size")
    if re.search(r"<rect[^>]*\br[xy]\b", text, re.S) and "transform" in text and not doubted(answer):
        reasons.append("rotated rectangle with round corners: svgelements does not rotate their radii; usvg agrees with letin")
    if re.search(r"\bd\s*=\s*[\"'][^\"']*[aA]", text) and "matrix" in text and not doubted(answer):
        reasons.append("arcs under a non-uniform matrix: the closed form and usvg agree with letin, not with svgelements")
    if "<!ENTITY" in text:
        reasons.append("entities: svgelements ignores them")
    return reasons


def svg(binary, path, count, unexplained):
    answer, error = letin(binary, path)
    raw = path.read_bytes()
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError:
        text = raw.decode("latin-1")
    if error:
        count[f"svg refused by letin: {error.split(':')[0]}"] += 1
        if error.startswith("status"):
            unexplained.append((str(path), error))
        return
    try:
        boxes, single = svg_other(str(path))
    except Exception as e:  # noqa: BLE001 the fault is in the other library
        count[f"svg not read by svgelements: {type(e).__name__}"] += 1
        return
    ours = [l["bounds_mm"] for l in answer["lines"]]
    # A shape with areas and lines gives two entries of ours; letin's joining makes one entry of several lines.
    sources = {l["source"] for l in answer["lines"]}
    differences = []
    joined = any(l["kind"] and "+" in l["kind"] for l in answer["lines"]) or any(
        f["code"] in ("joined-gap", "doubled-line", "open-line") for f in answer["findings"]
    )
    strokes = any(f["code"] == "centre-line" for f in answer["findings"])
    if len(sources) != len(boxes) and not (strokes and len(sources) <= len(boxes)):
        differences.append(f"{len(sources)} shapes here, {len(boxes)} there")
    if ours and boxes:
        a = union(ours)
        b = union(boxes)
        # The others measure in px of the page.
        size = max(a[2] - a[0], a[3] - a[1])
        for (lo, hi), what in (((0, 2), "wide"), ((1, 3), "high")):
            w, v = a[hi] - a[lo], (b[hi] - b[lo]) * MM
            if not near(w, v, size):
                differences.append(f"{w:.3f} mm {what} here, {v:.3f} there")
    elif bool(ours) != bool(boxes):
        differences.append("nothing here" if not ours else "nothing there")
    if single is not None and len(ours) == 1 and answer["lines"][0]["area_mm2"] is not None and not differences:
        area = svg_area(single)
        if area is not None:
            count["svg areas compared"] += 1
            mine, theirs = answer["lines"][0]["area_mm2"], area * MM * MM
            if abs(mine - theirs) > 0.0025 * answer["lines"][0]["length_mm"] + 1e-3 * mine:
                differences.append(f"area {mine:.4f} mm² here, {theirs:.4f} there")
    count["svg compared"] += 1
    if doubted(answer):
        count["svg with a finding of letin's own second reader"] += 1
    count["svg shapes compared"] += len(boxes)
    if not differences:
        count["svg agree"] += 1
        return
    reasons = svg_reasons(text, answer)
    if joined:
        reasons.append("lines joined or dropped by letin, and reported")
    if reasons:
        count[f"svg explained: {reasons[0]}"] += 1
    else:
        count["svg unexplained"] += 1
        unexplained.append((str(path), "; ".join(differences)))


# ---- DXF ----

KINDS = {"LINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE", "LWPOLYLINE", "POLYLINE", "HATCH"}
UNITS = {1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0, 8: 25.4e-6, 9: 0.0254, 10: 914.4, 13: 1e-3, 14: 100.0}


def dxf_other(path):
    import ezdxf
    from ezdxf import path as ezpath
    from ezdxf import recover

    try:
        doc = ezdxf.readfile(path)
    except (ezdxf.DXFStructureError, UnicodeDecodeError, ValueError):
        doc, _ = recover.readfile(path)
    mm = UNITS.get(doc.header.get("$INSUNITS", 0), 1.0)
    layers = {l.dxf.name.lower(): l for l in doc.layers}

    def shown(e, parent="0"):
        name = e.dxf.layer
        if name == "0" and parent:
            name = parent
        layer = layers.get(name.lower())
        return not e.dxf.get("invisible", 0) and not (layer and (layer.is_off() or layer.is_frozen())), name

    def each(entities, parent, depth=0):
        for e in entities:
            visible, name = shown(e, parent)
            if e.dxftype() == "INSERT":
                layer = layers.get(name.lower())
                frozen = layer is not None and layer.is_frozen()
                if depth < 30 and not frozen and not e.dxf.get("invisible", 0):
                    copies = e.multi_insert() if e.mcount > 1 else [e]
                    for one in copies:
                        yield from each(one.virtual_entities(), name, depth + 1)
            elif visible and e.dxftype() in KINDS:
                yield e

    found = []
    for e in each(doc.modelspace(), None):
        kind = e.dxftype()
        if kind == "POLYLINE" and not (e.is_2d_polyline or e.is_3d_polyline):
            continue
        if kind == "HATCH":
            paths = [p for p in ezpath.from_hatch(e)]
        else:
            paths = [ezpath.make_path(e)]
        for p in paths:
            pts = [(v.x * mm, v.y * mm) for v in p.flattening(0.005 / mm)] if len(p) else []
            if pts:
                found.append((kind, box(pts)))
    return found, doc


def dxf_reasons(answer, others):
    said = " ".join(f["message"] for f in answer["findings"])
    reasons = []
    if "not in the plane" in said:
        reasons.append("tilted entities: left out, and reported")
    if "fit points only" in said:
        reasons.append("splines by fit points: the format does not define the curve")
    if "different heights" in said:
        reasons.append("heights")
    if "centre line" in said:
        reasons.append("centre lines: left out, and reported")
    if "Left out:" in said:
        reasons.append("left out by letin, and reported")
    if any(f["code"] in ("doubled-line", "speck") for f in answer["findings"]):
        reasons.append("doubled lines and specks dropped, and reported")
    return reasons


def dxf(binary, path, count, unexplained):
    answer, error = letin(binary, path, "--join", "0")
    if error:
        count[f"dxf refused by letin: {error.split(':')[0]}"] += 1
        if error.startswith("status"):
            unexplained.append((str(path), error))
        return
    try:
        found, doc = dxf_other(str(path))
    except Exception as e:  # noqa: BLE001
        count[f"dxf not read by ezdxf: {type(e).__name__}"] += 1
        return
    differences = []
    ours = [l["bounds_mm"] for l in answer["lines"]]
    if bool(ours) != bool(found):
        differences.append(f"{len(ours)} lines here, {len(found)} entities there")
    if ours and found:
        a, b = union(ours), union(f[1] for f in found)
        size = max(a[2] - a[0], a[3] - a[1])
        off = max(abs(x - y) for x, y in zip(a, b))
        if not near(off, 0, size):
            differences.append(f"box {[round(v, 3) for v in a]} here, {[round(v, 3) for v in b]} there")
        circles = sum(1 for k, _ in found if k == "CIRCLE")
        mine = sum(1 for l in answer["lines"] if l["kind"] == "CIRCLE")
        if circles != mine:
            differences.append(f"{mine} circles here, {circles} there")
    count["dxf compared"] += 1
    if doubted(answer):
        count["dxf with a finding of letin's own second reader"] += 1
    count["dxf entities compared"] += len(found)
    if not differences:
        count["dxf agree"] += 1
        return
    reasons = dxf_reasons(answer, found)
    if reasons:
        count[f"dxf explained: {reasons[0]}"] += 1
    else:
        count["dxf unexplained"] += 1
        unexplained.append((str(path), "; ".join(differences)))


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("binary", type=Path)
    parser.add_argument("folders", nargs="+", type=Path)
    parser.add_argument("--svg", type=int, default=1500)
    parser.add_argument("--dxf", type=int, default=400)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--json", type=Path)
    args = parser.parse_args()
    pick = random.Random(args.seed)
    count, unexplained = Counter(), []
    for end, most, compare in (("svg", args.svg, svg), ("dxf", args.dxf, dxf)):
        files = sorted(p for f in args.folders for p in f.rglob("*") if p.suffix.lower() == f".{end}" and p.is_file())
        for path in files if len(files) <= most else sorted(pick.sample(files, most)):
            try:
                compare(args.binary, path, count, unexplained)
            except subprocess.TimeoutExpired:
                unexplained.append((str(path), "letin took too long"))
    for key in sorted(count):
        print(f"{count[key]:7}  {key}")
    for path, why in unexplained:
        print(f"unexplained: {path}: {why}")
    if args.json:
        args.json.write_text(json.dumps({"counts": count, "unexplained": unexplained}, indent=1))
    return 1 if unexplained else 0


if __name__ == "__main__":
    sys.exit(main())
