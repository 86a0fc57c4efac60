#!/usr/bin/env python3
"""Plays a maker whose bush and cutter differ from their nominal sizes, from the test piece to a fit.

    python maker.py BINARY

Needs the packages of `tests/outside/requirements.txt`. The simulated maker uses only the program's output: the test
piece's template as DXF, its sheet as JSON, and the faces of a job. The true sizes stay hidden from the program. The bush
is 19.87 instead of 20. The cutter is 5.94 instead of 6 with a runout of 0.05, so it cuts 5.99. The calipers read in steps
of 0.02, and the machine cuts openings 0.013 too large.

1. The maker cuts the test piece, routs recess and inlay in both openings and measures them. The program corrects the kit.
2. The maker makes a patch with the corrected kit. The gap, and the recess against the drawing, must be right within 0.02 per
   side.
3. The same job with nominal sizes must miss by more, since otherwise the test would show nothing.

Source: Autodesk, DXF Reference, AutoCAD 2024, VERTEX, group 42 (bulge).
Source: none outside; the check does the sums anew (tools, test piece, fit).
"""

import json
import math
import subprocess
import sys
import tempfile
from pathlib import Path

import ezdxf

BUSH, CUTTER, RUNOUT, STEP = 19.87, 5.94, 0.05, 0.02
MACHINE = 0.013
CALLED = ["--bush", "20", "--cutter", "6"]
WITHIN = 0.02
GAP = 0.05
# Straight edges and corners of radius 20, larger than any tool here, so that nothing is eased.
WIDTH, HEIGHT, RADIUS = 120.0, 80.0, 20.0
PATCH = f"""<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm" viewBox="0 0 200 200">
<rect x="40" y="60" width="{WIDTH}" height="{HEIGHT}" rx="{RADIUS}"/></svg>
"""


def run(binary, *args):
    done = subprocess.run([binary, *args], capture_output=True, text=True)
    if done.returncode != 0:
        sys.exit(f"{' '.join(map(str, args))}: status {done.returncode}\n{done.stdout}{done.stderr}")
    return done.stdout


def sizes(path):
    """Width and height of every opening of a face file in file order, mm."""
    found = []
    for e in ezdxf.readfile(path).modelspace():
        if e.dxf.layer != "OPENING_CUT_INSIDE":
            continue
        if e.dxftype() == "CIRCLE":
            found.append((2 * e.dxf.radius, 2 * e.dxf.radius))
            continue
        box = [math.inf, math.inf, -math.inf, -math.inf]

        def take(x, y):
            box[:] = min(box[0], x), min(box[1], y), max(box[2], x), max(box[3], y)

        points = list(e.get_points("xyb"))
        for (x, y, bulge), (u, v, _) in zip(points, points[1:] + points[:1]):
            take(x, y)
            if bulge:
                # The bulge is the tangent of a quarter of the sweep.
                centre, start, end, radius = ezdxf.math.bulge_to_arc((x, y), (u, v), bulge)
                for quarter in range(8):
                    angle = quarter * math.pi / 2
                    if start <= angle <= (end if end > start else end + math.tau):
                        take(centre.x + radius * math.cos(angle), centre.y + radius * math.sin(angle))
        found.append((box[2] - box[0], box[3] - box[1]))
    return found


def calipers(mm):
    return round(mm / STEP) * STEP


def recess(opening):
    """Width of the recess with the true tools: the bush follows the edge, the cutter reaches beyond the bush's axis."""
    return opening - BUSH + (CUTTER + RUNOUT)


def inlay(opening):
    return opening - BUSH - (CUTTER + RUNOUT)


def test_piece(binary, folder, kit):
    run(binary, "testpiece", *CALLED, "--kit", kit, "--out", folder)
    sheet = json.loads((folder / "testpiece.json").read_text())["testpiece"]
    drawn = sizes(folder / "testpiece-face-1.dxf")
    assert len(drawn) == len(sheet["openings"]) == 2, drawn
    readings = []
    for (w, h), marked in zip(drawn, sheet["openings"]):
        assert abs(w - marked["size_mm"]) < 1e-6 and abs(h - marked["size_mm"]) < 1e-6, (w, h, marked)
        for t in (w + MACHINE, h + MACHINE):
            readings += ["--measured", f"{calipers(recess(t)):.2f}x{calipers(inlay(t)):.2f}"]
            readings += ["--opening", f"{calipers(t):.2f}"]
    said = json.loads(run(binary, "testpiece", *CALLED, "--kit", kit, "--json", *readings))
    return said["before"], said["after"]


def job(binary, drawing, folder, *settings):
    """Greatest error of gap and recess, mm per side."""
    run(binary, "make", drawing, *CALLED, "--gap", str(GAP), "--out", folder, *settings)
    (w1, h1), = sizes(folder / "patch-face-1.dxf")
    (w2, h2), = sizes(folder / "patch-face-2.dxf")
    worst = 0.0
    for t1, t2, wanted in ((w1, w2, WIDTH), (h1, h2, HEIGHT)):
        t1, t2 = t1 + MACHINE, t2 + MACHINE
        gap = (recess(t1) - inlay(t2)) / 2
        worst = max(worst, abs(gap - GAP), abs(recess(t1) - wanted) / 2)
    return worst


def main():
    binary = Path(sys.argv[1]).resolve()
    with tempfile.TemporaryDirectory() as top:
        top = Path(top)
        drawing, kit, printed = top / "patch.svg", top / "kit.toml", top / "printed.toml"
        drawing.write_text(PATCH)
        rows = "# The box under the bench.\n[[bush]]\noutside = 20 # brass\nbore = 17\n\n[[cutter]]\ndiameter = 6\n"
        kit.write_text(rows)
        printed.write_text(rows)
        before, after = test_piece(binary, top / "piece", kit)
        assert kit.read_text().startswith("# The box under the bench.\n[[bush]]\noutside = 20 # brass\n"), kit.read_text()
        print(f"nominal {before}, corrected {after}; true: bush {BUSH}, cutter cuts {CUTTER + RUNOUT:.2f}")
        good = job(binary, drawing, top / "good", "--kit", kit)
        bad = job(binary, drawing, top / "bad", "--kit", printed)
        print(f"worst error per side: {good:.4f} with the corrected kit, {bad:.4f} with nominal sizes")
        if good > WITHIN:
            sys.exit(f"the corrected kit misses by {good:.4f}, more than {WITHIN}")
        if bad <= WITHIN:
            sys.exit("nominal sizes fit as well, so this test shows nothing")


main()
