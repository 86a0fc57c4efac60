#!/usr/bin/env python3
"""Runs the program on drawings and checks every written opening within 0.01 mm.

    python check_openings.py BINARY DRAWING...              every drawing with every setting of RUNS
    python check_openings.py BINARY --self-test DRAWING...  spoils the output; each spoilt copy must be refused

Needs the packages of `tests/outside/requirements.txt`. `oracle` works out the expected rings from the drawing, `flat`
reads the written files. Neither shares code with the program. The drawings may hold closed outlines without holes.

Checked for each drawing and setting:
* each opening appears once in the DXF and once in the SVG, without extra entities; after `place` of the JSON is removed, its
  edge and the expected edge lie within NEAR of each other, in both directions; DXF and SVG are equal;
* `place` only shifts, and is equal on both faces; nothing lies outside the panel; the lines are the panel's edges;
* with face 2 turned left over right onto face 1, so that x becomes W - x, no opening overlaps another; the strip of template
  between them and to the edges has its minimum width, or a finding reports it;
* the JSON states the right areas of openings and pieces, gaps, and distances of the pieces from the drawing.

Source: Serra, Image Analysis and Mathematical Morphology, 1982 (opening and closing by a disc); from memory, unchecked.
Source: none outside; the check does the sums anew (offsets, placing, gaps).
"""

import json
import math
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
import shapely

import flat
import oracle
import spoil
from oracle import Tools

# The program promises 0.005 mm for a drawing within 0.0025 mm of the given one. This check allows 0.01 mm.
NEAR = 0.01
# Tolerance between the numbers of DXF and SVG, mm.
SAME = 1e-4
# Default minimum strip of template, mm: the larger of 6 and the template's thickness, 9.
WEB = 9.0
CUT = "OPENING_CUT_INSIDE"
RUNS = [
    ("ease", Tools(), ["--corners", "ease"]),
    ("keep", Tools(), ["--corners", "keep"]),
    ("square", Tools(), ["--corners", "square"]),
    ("ease", Tools(12, 4, gap=0.1), ["--bush", "12", "--cutter", "4", "--gap", "0.1"]),
    ("ease", Tools(20, 6, 16, 6.35, inside=0, outside=0),
     ["--inlay-bush", "16", "--inlay-cutter", "1/4in", "--ease-inside", "0", "--ease-outside", "0"]),
]


class Refused(Exception):
    """The output is wrong."""


def check(ok, what):
    if not ok:
        raise Refused(what)


def near(found, wanted, slack, what):
    check(abs(found - wanted) <= slack, f"{what}: {found}, expected {wanted:.6f}")
    return abs(found - wanted)


def make(binary, drawing, settings, folder):
    """Runs the program. Returns the printed document."""
    command = [binary, "make", str(drawing), *settings, "--json", "--out", str(folder)]
    p = subprocess.run(command, capture_output=True, text=True, timeout=120)
    check(p.returncode == 0, f"status {p.returncode}: {' '.join(command)}\n{p.stdout[-2000:]}{p.stderr[-2000:]}")
    stem = drawing.stem
    check((folder / f"{stem}.json").read_bytes() == p.stdout.encode(), f"{stem}.json differs from the printed document")
    return json.loads(p.stdout)


def unplaced(place, rings):
    a, b, c, d, e, f = place
    check((a, b, c, d) == (1, 0, 0, 1), f"place {place} does more than shift")
    return [r - (e, f) for r in rings]


def match(rings, expected, what):
    """Pairs each ring with one expected ring within NEAR. Returns the greatest distance."""
    check(len(rings) == len(expected), f"{what}: {len(rings)} rings, expected {len(expected)}")
    free, worst = list(expected), 0.0
    for i, ring in enumerate(rings):
        far = [oracle.hausdorff([ring], [e]) for e in free]
        best = int(np.argmin(far))
        check(far[best] <= NEAR, f"{what}: ring {i + 1} is {far[best]:.4f} mm off")
        worst = max(worst, far[best])
        free.pop(best)
    return worst


def check_face(document, folder, face, wanted):
    """Checks one face against the openings expected in the drawing frame. Returns its rings and the greatest distance."""
    openings = [o for o in document["openings"] if o["face"] == face]
    names = {n for o in openings for n in o["files"]}
    check(len(names) == 2, f"face {face} is in {sorted(names)}")
    dxf, lines = flat.dxf_rings(folder / min(names), CUT)
    svg = flat.svg_rings(folder / max(names), CUT)
    width, height = document["panels"][0]["size_mm"]
    for ring in [*dxf, *svg, *(np.array(line[1:]) for line in lines)]:
        low, high = ring.min(axis=0), ring.max(axis=0)
        check(low.min() >= -1e-6 and high[0] <= width + 1e-6 and high[1] <= height + 1e-6, f"{low}, {high} is off the panel")
    corners = [(0, 0), (width, 0), (width, height), (0, height)]
    ends = [frozenset(c for p in (a, b) for c in corners if math.dist(p, c) < 1e-6) for _, a, b in lines]
    sides = {frozenset((corners[i], corners[i - 1])) for i in range(4)}
    check(len(ends) == 4 and set(ends) == sides, f"the lines are not the panel's edges: {lines}")
    place = openings[0]["place"]
    worst = max(match(unplaced(place, dxf), wanted, f"face {face} DXF"), match(unplaced(place, svg), wanted, f"face {face} SVG"))
    between = oracle.hausdorff(dxf, svg)
    check(between <= SAME, f"face {face}: DXF and SVG are {between:.6f} mm apart")
    return dxf, worst


def regions(rings):
    """Outer rings as polygons with their holes."""
    outer = [shapely.Polygon(r) for r in rings if oracle.signed(r) > 0]
    holes = [shapely.Polygon(r) for r in rings if oracle.signed(r) < 0]
    for p in [*outer, *holes]:
        check(p.is_valid, "a ring crosses itself")
    return [p.difference(shapely.union_all([h for h in holes if p.contains(h)])) for p in outer]


def check_panel(document, faces):
    """Checks the panel as an object: face 2 turned left over right, its point x lies over W - x of face 1."""
    panel = document["panels"][0]
    width, height = panel["size_mm"]
    check(len(document["panels"]) == 1 and panel["turn"] == "left-right", f"panels {document['panels']}")
    turned = [np.column_stack([width - r[:, 0], r[:, 1]])[::-1] for r in faces[2]]
    all_of = [p for rings in (faces[1], turned) for p in regions(rings)]
    edge = shapely.box(0, 0, width, height).exterior
    web = min(shapely.distance(p, edge) for p in all_of)
    for i, p in enumerate(all_of):
        for q in all_of[:i]:
            check(not p.intersects(q), "openings overlap with the panel turned")
            web = min(web, shapely.distance(p, q))
    told = any(f["code"] == "thin-web" for f in document["findings"])
    check(web >= WEB - 0.01 or told, f"a strip of template of {web:.3f} mm, without a finding")
    check(web < WEB + 0.01 or not told, f"thin-web for a strip of template of {web:.3f} mm")


def check_numbers(document, expected, tools):
    """Checks areas, gaps and distances of the JSON, outline by outline."""
    k = document["tools"]
    for name, (bush, cutter), o in (("recess", tools.recess, 0), ("inlay", tools.inlay, 1)):
        told = [k[name][key] for key in ("bush_mm", "cutter_mm", "offset_mm")]
        check(np.allclose(told, [2 * bush, 2 * cutter, tools.offsets[o]], atol=1e-6), f"{name} tools {told}")
    check(document["proof"] is not None and len(document["proof"]["pieces"]) == len(expected), "pieces of the proof")
    for number, (want, piece) in enumerate(zip(expected, document["proof"]["pieces"]), 1):
        check(piece["outline"] == f"outline-{number}", f"piece of {piece['outline']}")
        drawn, outline = want.drawn, document["outlines"][number - 1]
        near(outline["area_mm2"], oracle.area(drawn), area_slack(drawn), "area of the outline")
        for duty, rings in (("recess", want.recess), ("inlay", want.inlay)):
            opening = [o for o in document["openings"] if o["outline"] == f"outline-{number}" and o["duty"] == duty]
            check(len(opening) == 1, f"{len(opening)} openings for the {duty}")
            near(opening[0]["area_mm2"], oracle.area(rings), area_slack(rings), f"area of the {duty} opening")
            near(opening[0]["perimeter_mm"], oracle.perimeter(rings), NEAR * math.tau * len(rings), f"perimeter, {duty}")
        near(piece["recess_area_mm2"], oracle.area(want.recess_cut), area_slack(want.recess_cut), "area of the recess")
        near(piece["inlay_area_mm2"], oracle.area(want.inlay_cut), area_slack(want.inlay_cut), "area of the inlay")
        least, most = oracle.gaps(want.recess_cut, want.inlay_cut)
        near(piece["gap_min_mm"], least, NEAR, "least gap")
        near(piece["gap_max_mm"], most, NEAR, "greatest gap")
        near(piece["recess_off_mm"], oracle.hausdorff(want.recess_cut, drawn), NEAR, "recess off the drawing")
        near(piece["inlay_off_mm"], oracle.hausdorff(want.inlay_cut, drawn), NEAR, "inlay off the drawing")


def area_slack(rings):
    """A quarter of the area that an edge offset by NEAR changes, since curves are read within 0.0025 mm."""
    return 1e-3 + NEAR / 4 * oracle.perimeter(rings)


def check_outputs(document, folder, expected, tools):
    """Checks all of the output. Returns the greatest distance of an edge from the expected one, mm."""
    places = {tuple(o["place"]) for o in document["openings"]}
    check(len(places) == 1, f"places {places}")
    check(len(document["openings"]) == 2 * len(expected), f"{len(document['openings'])} openings")
    faces, worst = {}, 0.0
    for face, duty in ((1, "recess"), (2, "inlay")):
        duties = {o["duty"] for o in document["openings"] if o["face"] == face}
        check(duties == {duty}, f"face {face} is for {duties}")
        faces[face], off = check_face(document, folder, face, [r for e in expected for r in getattr(e, duty)])
        worst = max(worst, off)
    check_panel(document, faces)
    check_numbers(document, expected, tools)
    return worst


def check_drawing(binary, drawing, run):
    corners, tools, settings = run
    expected = [oracle.expected(ring, tools, corners) for ring in flat.rings_of(drawing)]
    check(expected, "no outline in the drawing")
    with tempfile.TemporaryDirectory() as folder:
        folder = Path(folder) / "out"
        document = make(binary, drawing, settings, folder)
        check(document["corners"]["mode"] == corners, f"corners {document['corners']}")
        return document, expected, check_outputs(document, folder, expected, tools)


def self_test(binary, drawing):
    """Number of spoilt copies that were accepted."""
    corners, tools, settings = RUNS[0]
    expected = [oracle.expected(ring, tools, corners) for ring in flat.rings_of(drawing)]
    accepted = 0
    with tempfile.TemporaryDirectory() as home:
        sound, other = Path(home) / "sound", Path(home) / "other"
        document = make(binary, drawing, settings, sound)
        check_outputs(document, sound, expected, tools)
        make(binary, drawing, [*settings, "--gap", "0.08"], other)
        for name, how in spoil.WAYS:
            copy = Path(home) / "copy"
            shutil.rmtree(copy, ignore_errors=True)
            shutil.copytree(sound, copy)
            spoilt = json.loads(json.dumps(document))
            if not how(copy, drawing.stem, spoilt, other):
                print(f"  -   {name}: not possible with this drawing")
                continue
            try:
                check_outputs(spoilt, copy, expected, tools)
                accepted += 1
                print(f"BAD   {name}: accepted")
            except Refused as e:
                print(f"  ok  {name}: {str(e)[:110]}")
    return accepted


def main():
    words = [w for w in sys.argv[1:] if w != "--self-test"]
    if len(words) < 2:
        sys.exit(__doc__)
    binary, drawings, bad = words[0], [Path(w) for w in words[1:]], 0
    for drawing in drawings:
        if "--self-test" in sys.argv:
            print(f"spoilt copies of {drawing}")
            bad += self_test(binary, drawing)
            continue
        for run in RUNS:
            what = f"{drawing} {' '.join(run[2])}"
            try:
                _, expected, worst = check_drawing(binary, drawing, run)
                print(f"ok  {what}: {len(expected)} outlines, within {worst:.4f} mm")
            except (Refused, ValueError) as e:
                bad += 1
                print(f"BAD {what}: {e}")
    sys.exit(1 if bad else 0)


if __name__ == "__main__":
    main()
