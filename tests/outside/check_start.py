#!/usr/bin/env python3
"""Checks jobs that start from something in hand, from its drawing and the written DXF files.

    python check_start.py BINARY DRAWING...              every drawing with every setting of RUNS
    python check_start.py BINARY --self-test DRAWING...  with expectations that are 0.02 mm wrong; each job must be refused

Needs the packages of `tests/outside/requirements.txt`. The integer clipper of `oracle` works out the expectations, `flat`
reads the files. Neither shares code with the program. For each drawing and start:

* after `place` is removed, the new opening lies within NEAR of the expected one; where the pairs match there is none;
* recess and inlay, routed through that opening or through the piece in hand, have the areas, sizes and gaps of the document;
* each later step has its expected size; around a part, the outer edge of the kerf lies (bush + cutter)/2 outside it.

The drawings may hold closed outlines without holes.

Source: none outside; the check does the sums anew.
"""

import json
import subprocess
import sys
import tempfile
from pathlib import Path

import flat
import oracle
from check_openings import CUT, NEAR, Refused, area_slack, check, near, unplaced
from oracle import Tools

# The gap peaks at corners that keep wood. The program samples there at most 0.25 mm apart, which bounds the error, mm.
CORNER, SAMPLED = 0.2, 0.125
MATCH = Tools(32, 6, 20, 6, gap=0.0)
RUNS = [
    ("part", Tools(), []),
    ("part", Tools(16, 5, 12, 4, gap=0.1), ["--bush", "16", "--cutter", "5", "--inlay-bush", "12", "--inlay-cutter", "4", "--gap", "0.1"]),
    ("part", MATCH, ["--bush", "32", "--inlay-bush", "20"]),
    ("template", Tools(), []),
    ("template", Tools(14, 4, 12, 6), ["--bush", "14", "--cutter", "4", "--inlay-bush", "12", "--inlay-cutter", "6"]),
    ("template", MATCH, ["--bush", "32", "--inlay-bush", "20"]),
    ("recess", Tools(), []),
    ("recess", Tools(16, 5), ["--bush", "16", "--cutter", "5"]),
]


def worked_out(start, ring, tools, wrong):
    """Rings by name: the opening to cut, if any, recess, inlay, and the product of each step.

    `wrong`: error added to the opening, mm."""
    (rb, rc), (ib, ic) = tools.recess, tools.inlay
    match = tools.bush - tools.cutter == (tools.inlay_bush or tools.bush) + (tools.inlay_cutter or tools.cutter)
    s = oracle.filled([ring])
    grow = oracle.offset
    if start == "part":
        kept = grow(s, ib + ic)
        cut = None if match else grow(s, tools.gap + rb - rc + wrong)
        through = kept if match else cut
        recess, inlay = grow(grow(through, -rb + (wrong if match else 0)), rc), s
        steps = {"round-part": kept, "blank": grow(grow(s, ib), -ic), "recess": recess}
    elif start == "template":
        recess = grow(grow(s, -rb), rc)
        cut = None if match else grow(recess, ib + ic - tools.gap + wrong)
        inlay = grow(s if match else cut, -(ib + ic) + (wrong if match else 0))
        steps = {"recess": recess, "inlay": inlay}
    else:
        recess, cut = s, grow(s, ib + ic - tools.gap + wrong)
        inlay = grow(cut, -(ib + ic))
        steps = {"inlay": inlay}
    if cut:
        steps["opening"] = cut
    named = {"recess cut": recess, "inlay cut": inlay, **steps}
    return {name: oracle.from_grid(paths) for name, paths in named.items()}


def size(rings):
    low, high = min(r[:, 0].min() for r in rings), max(r[:, 0].max() for r in rings)
    down, up = min(r[:, 1].min() for r in rings), max(r[:, 1].max() for r in rings)
    return high - low, up - down


def check_drawing(binary, drawing, run, wrong=0.0):
    start, tools, settings = run
    rings = flat.rings_of(drawing)
    with tempfile.TemporaryDirectory() as folder:
        folder = Path(folder) / "out"
        command = [binary, "make", str(drawing), "--from", start, *settings, "--json", "--out", str(folder)]
        p = subprocess.run(command, capture_output=True, text=True, timeout=120)
        document = json.loads(p.stdout)
        if p.returncode == 1:
            return f"cannot be made: {', '.join(sorted({f['code'] for f in document['findings'] if f['severity'] == 'error'}))}"
        check(p.returncode == 0, f"status {p.returncode}: {document}")
        pieces, steps, worst = document["proof"]["pieces"], document["start"]["steps"], 0.0
        check(len(pieces) == len(rings), f"{len(pieces)} pieces of {len(rings)} outlines")
        written = []
        for name in sorted({n for o in document["openings"] for n in o["files"] if n.endswith(".dxf")}):
            written += unplaced(document["openings"][0]["place"], flat.dxf_rings(folder / name, CUT)[0])
        for number, (ring, piece) in enumerate(zip(rings, pieces), 1):
            want = worked_out(start, ring, tools, wrong)
            own = {s["makes"]: s for s in steps if s["outline"] == f"outline-{number}"}
            check(set(own) == set(want) - {"recess cut", "inlay cut"}, f"steps {sorted(own)}")
            for makes, step in own.items():
                for told, found in zip(step["size_mm"], size(want[makes])):
                    near(told, found, NEAR, f"size of {makes}")
            if "opening" in want:
                off = min((oracle.hausdorff([w], want["opening"]) for w in written), default=1e9)
                check(off <= NEAR, f"no file has the opening of outline {number}: {off:.4f} mm off")
                worst = max(worst, off)
            recess, inlay = want["recess cut"], want["inlay cut"]
            near(piece["recess_area_mm2"], oracle.area(recess), area_slack(recess), "area of the recess")
            near(piece["inlay_area_mm2"], oracle.area(inlay), area_slack(inlay), "area of the inlay")
            least, most = oracle.gaps(recess, inlay)
            near(piece["gap_min_mm"], least, NEAR if abs(least) < CORNER else SAMPLED, "least gap")
            near(piece["gap_max_mm"], most, NEAR if abs(most) < CORNER else SAMPLED, "greatest gap")
        expected = sum("opening" in worked_out(start, r, tools, 0.0) for r in rings)
        check(len(written) == expected, f"{len(written)} openings in the files, expected {expected}")
        return f"{len(rings)} outlines, {len(written)} openings, within {worst:.4f} mm"


def main():
    words = [w for w in sys.argv[1:] if w != "--self-test"]
    if len(words) < 2:
        sys.exit(__doc__)
    binary, drawings, bad, made = words[0], [Path(w) for w in words[1:]], 0, 0
    wrong = 0.02 if "--self-test" in sys.argv else 0.0
    for drawing in drawings:
        for run in RUNS:
            what = f"{drawing} --from {run[0]} {' '.join(run[2])}"
            try:
                said = check_drawing(binary, drawing, run, wrong)
                made += not said.startswith("cannot")
                bad += wrong > 0 and not said.startswith("cannot")
                print(f"{'BAD' if wrong and not said.startswith('cannot') else 'ok '} {what}: {said}")
            except (Refused, ValueError) as e:
                bad += wrong == 0
                made += 1
                print(f"{'ok  refused' if wrong else 'BAD'} {what}: {e}")
    if made < 3:
        sys.exit(f"only {made} jobs could be made, too few for a check")
    sys.exit(1 if bad else 0)


if __name__ == "__main__":
    main()
