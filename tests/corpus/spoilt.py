"""Spoils correct answers in every way that account.py must notice. By itself: `account.py BINARY DRAWING... --self-test`.

The program makes each drawing with the default tools. Only an answer without faults is spoilt, so any fault comes from the
spoiling. Each way must be reported on every drawing to which it applies, and must apply to at least one.
"""

import copy
import json
import subprocess
import tempfile
from itertools import islice
from pathlib import Path

import account
import findings as regions
from names import BOX, CORNERS, INNER, KEYS, OUTER, UNEXPLAINED


# Number of spoilt copies per way and drawing.
COPIES = 3


def mine(document):
    return [f for f in document["findings"] if f["code"] in INNER | OUTER and f["at_mm"]]


def removed(document):
    """Leaves out one finding at a time."""
    for f in mine(document):
        yield {**document, "findings": [g for g in document["findings"] if g is not f]}


def changed(document, change, wanted=mine):
    for i, f in enumerate(document["findings"]):
        if f in wanted(document):
            spoilt = copy.deepcopy(document)
            change(spoilt["findings"][i])
            yield spoilt


def shifted(f, by):
    """Moves a finding's place and box to the right, mm."""
    f["at_mm"] = [f["at_mm"][0] + by, f["at_mm"][1]]
    if f.get(BOX):
        x0, y0, x1, y1 = f[BOX]
        f[BOX] = [x0 + by, y0, x1 + by, y1]


def moved(document):
    size = document["drawing"]["size_mm"]
    yield from changed(document, lambda f: shifted(f, 2 * size[0]))


def without_boxes(way):
    """The same way, applied to findings that have a place but no box."""

    def bare(document):
        yield from way({**document, "findings": [{k: v for k, v in f.items() if k != BOX} for f in document["findings"]]})

    return bare


def other_side(document):
    """Exchanges the codes of inside and outside corners."""
    inside, outside = min(CORNERS & INNER), min(CORNERS & OUTER)
    corners = lambda d: [f for f in mine(d) if f["code"] in CORNERS]
    yield from changed(document, lambda f: f.update(code=outside if f["code"] == inside else inside), corners)


def shortened(document):
    corners = lambda d: [f for f in mine(d) if f["code"] in CORNERS and f["short_mm"]]
    yield from changed(document, lambda f: f.update(short_mm=f["short_mm"] + 0.012), corners)


def off_out(document):
    yield from changed(document, lambda f: f.update(off_mm=f["off_mm"] + 0.012), lambda d: [f for f in mine(d) if f.get("off_mm")])


def made_up(document):
    """Adds a finding far outside the drawing."""
    f = copy.deepcopy(mine(document)[:1])
    if f:
        shifted(f[0], 2 * document["drawing"]["size_mm"][0])
        yield {**document, "findings": document["findings"] + f}


def boxes(document, by):
    """Gives every finding a box around its place. Then moves one box at a time by `by` mm."""
    spoilt = copy.deepcopy(document)
    for f in mine(spoilt):
        x, y = f["at_mm"]
        f[BOX] = f.get(BOX) or [x - 8, y - 8, x + 8, y + 8]
    yield spoilt
    for i, f in enumerate(spoilt["findings"]):
        if f.get(BOX) and by:
            one = copy.deepcopy(spoilt)
            one["findings"][i][BOX] = [v + by for v in f[BOX]]
            yield one


def box_away(document):
    yield from list(boxes(document, 5000.0))[1:]


def figure(key):
    def way(document):
        for i, piece in enumerate((document["proof"] or {}).get("pieces", [])):
            spoilt = copy.deepcopy(document)
            name = next(k for k in KEYS.get(key, (key,)) if k in piece)
            spoilt["proof"]["pieces"][i][name] += 0.012
            yield spoilt

    return way


def unexplained(document):
    f = {"code": UNEXPLAINED, "severity": "error", "outline": document["outlines"][0]["id"], "at_mm": [0, 0], "short_mm": 1.0,
         "measured_mm": None, "needed_mm": None, "message": "a difference that no finding owns"}
    yield {**document, "findings": document["findings"] + [f]}


def smaller(document):
    """Gives an outline another size than the drawing's."""
    spoilt = copy.deepcopy(document)
    spoilt["outlines"][0]["bounds_mm"][2] += 0.05
    yield spoilt


# The name of each way, the function, and the kind of fault that must be reported.
WAYS = [
    ("a finding is left out", removed, "silent"),
    ("a finding is moved", moved, "idle"),
    ("a finding is moved from its difference", moved, "silent"),
    ("a finding without a box is left out", without_boxes(removed), "silent"),
    ("a finding without a box is moved", without_boxes(moved), "idle"),
    ("a finding without a box is moved from its difference", without_boxes(moved), "silent"),
    ("a corner has the code of the other side", other_side, "silent"),
    ("short_mm is wrong", shortened, "figure"),
    ("off_mm is wrong", off_out, "figure"),
    ("a finding is invented", made_up, "idle"),
    ("a box is elsewhere", box_away, "silent"),
    ("a box is elsewhere, without a difference", box_away, "idle"),
    ("a difference is unexplained", unexplained, "unexplained"),
    ("an outline has another size", smaller, "other"),
    *((f"{k} is wrong", figure(k), "figure") for k in ("gap_min_mm", "gap_max_mm", "recess_off_mm", "inlay_off_mm")),
]


def kinds(document, folder, shapes):
    return {f.kind for f in account.account(document, folder, shapes, None, "written")[0]}


def made(binary, drawing, folder, *words):
    command = [binary, "make", str(drawing), *words, "--json", "--out", str(folder)]
    return subprocess.run(command, capture_output=True, text=True, timeout=120)


def self_test(binary, drawings):
    """Returns 1 if a spoilt answer passed or a way was never tried."""
    bad, tried = 0, {name: 0 for name, _, _ in WAYS}
    for drawing in drawings:
        with tempfile.TemporaryDirectory() as home:
            folder, other = Path(home) / "out", Path(home) / "other"
            p = made(binary, drawing, folder)
            document, shapes = json.loads(p.stdout), regions.read(drawing)
            sound = kinds(document, folder, shapes)
            boxed = kinds(next(iter(boxes(document, 0))), folder, shapes)
            print(f"spoilt answers of {drawing}")
            if p.returncode or sound or boxed:
                print(f"BAD   faults before spoiling: status {p.returncode}, {sorted(sound)}, with boxes {sorted(boxed)}")
                bad += 1
                continue
            made(binary, drawing, other, "--gap", "0.09")
            told = "figure" in kinds(document, other, shapes)
            print(f"{'  ok ' if told else 'BAD  '} files of another gap: {'reported' if told else 'not reported'} as figure")
            bad += not told
            for name, way, wanted in WAYS:
                told = [wanted in kinds(spoilt, folder, shapes) for spoilt in islice(way(document), COPIES)]
                tried[name] += len(told)
                bad += told.count(False)
                print(f"{'BAD  ' if False in told else '  ok ' if told else '  -  '} {name}: {told.count(True)} of {len(told)} reported as {wanted}")
    for name in (n for n, count in tried.items() if not count):
        bad += 1
        print(f"BAD   never tried: {name}")
    return 1 if bad else 0
