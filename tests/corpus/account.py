#!/usr/bin/env python3
"""Holds the program's account of differences against what other libraries see: is any difference silent, any finding idle?

    python account.py BINARY FOLDER-OR-FILE... [--jobs 300] [--seed 1] [--log jobs.jsonl] [--list faults.txt]
    python account.py BINARY FILE... --settings "--bush 12 --cutter 4"     as drawn, with these settings and no others
    python account.py BINARY FILE... --self-test                          spoils answers, and wants each spoilt one told
    python account.py BINARY --short                                      the regular check: the self-test, and some jobs

Needs svgelements, ezdxf, pyclipper, shapely (2.1 or later), numpy. Icons: `bash fetch.sh FOLDER` packs pinned sets by npm and prints
the folders. Each job is one drawing with a size, tools, corners and further settings, all drawn by the seed: folders take turns, and
in each the drawings come in a shuffled order. The line of a fault ends with the command that does the job again.

What is judged, and the measure of each thing, stands at the top of judge.py. Besides, a fault of its own kind each:
`unexplained` findings, statuses and crashes that are no verdict, files beside an error, outlines that the two readers see
otherwise. Jobs in which outlines cross, touch or are open have no outline to hold a piece against; they are counted.

A template in hand (`--from template`): corners that its own bush cannot enter are what every bush leaves, and are not asked for.
Ends with status 1 if there is any fault, or nothing was judged.
"""

import argparse
import json
import random
import shlex
import subprocess
import sys
import tempfile
import time
from collections import Counter
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "outside"))
import findings as regions  # noqa: E402 sets the readers' fineness
import flat  # noqa: E402
import judge  # noqa: E402
import numpy as np  # noqa: E402
import oracle  # noqa: E402
import proven  # noqa: E402
import pyclipper  # noqa: E402
import svgelements  # noqa: E402
from icons import NO_GEOMETRY, SIZES, TIMEOUT, TOOLS  # noqa: E402
from judge import Fault  # noqa: E402
from names import INNER, NOTHING_THERE, OPTIONS, OUTER, UNCERTIFIED, UNEXPLAINED, get  # noqa: E402

# The last two are listed, and are no faults.
KINDS = ("silent", "idle", "figure", "unexplained", "other", "beside", "border")
# Outlines together may be out by so much in width, mm; and by no more than this share they are the same drawing in another size.
WIDTH_OFF, MISTAKEN = 0.008, 3e-4
# What --short takes.
OWN = Path(__file__).resolve().parent.parent.parent
DRAWINGS = (
    "samples/bow-tie-key/key.dxf", "samples/leaf/leaf.svg", "samples/fish/fish.svg", "samples/compass-star/star.svg",
    "samples/name-board-letter/letter.svg", "samples/inch-patch/patch.svg", "samples/motif/motif.svg", "tests/fixtures/outside",
    "tests/fixtures/panels", "tests/fixtures/account",
)
SHORT = 30


# ---- The jobs ----


def known(binary):
    """Options as this program spells them, and the codes that it lets accept."""
    text = subprocess.run([binary, "make", "--help"], capture_output=True, text=True, timeout=60).stdout
    spelt = {o: next((w for w in ways if w in text), ways[0]) for o, ways in OPTIONS.items()}
    p = subprocess.run([binary, "check", "none.svg", "--accept", "nothing", "--json"], capture_output=True, text=True, timeout=60)
    return spelt, [c for c in ("neck", "closed-gap", "island") if c in p.stdout + p.stderr]


def mixture(rng, spelt, accepted):
    """The settings of a job but for its drawing."""
    bush, cutter = rng.choice(TOOLS)
    words = ["--width", str(rng.choice(SIZES)), "--bush", str(bush), "--cutter", str(cutter)]
    if rng.random() < 0.12:
        words += ["--from", rng.choice(("recess", "template", "part"))]
    else:
        corners = rng.choice(("ease", "ease", "ease", "square", "keep"))
        words += ["--corners", corners]
        if corners == "ease":
            words += ["--ease-inside", "0"] if rng.random() < 0.25 else []
            words += [spelt["--ease-outside"], "0"] if rng.random() < 0.25 else []
        for code, share in (("neck", 0.3), ("closed-gap", 0.3), ("island", 0.4)):
            if code in accepted and rng.random() < share:
                words += ["--accept", code]
    if rng.random() < 0.25:
        words += ["--gap", rng.choice(("0", "0.02", "0.1", "0.2"))]
    if rng.random() < 0.1:
        words += ["--flatten", "0.01"]
    return words


def jobs(places, count, seed, spelt, accepted):
    """(drawing, settings): folders take turns."""
    queues = []
    for i, place in enumerate(map(Path, places)):
        files = sorted(f for e in ("svg", "dxf") for f in place.rglob(f"*.{e}")) if place.is_dir() else [place]
        if not files:
            sys.exit(f"no drawings in {place}")
        random.Random(f"{seed} {i}").shuffle(files)
        queues.append(files)
    for n in range(count):
        queue = queues[n % len(queues)]
        drawing = queue[(n // len(queues)) % len(queue)]
        yield drawing, mixture(random.Random(f"{seed} {n} {drawing.name}"), spelt, accepted)


# ---- One job ----


def value(words, option):
    return words[words.index(option) + 1] if option in words else None


def run(binary, drawing, words, folder):
    """The document, or a fault or an outcome in place of it."""
    command = [binary, "make", str(drawing), *words, "--json", "--out", str(folder)]
    try:
        p = subprocess.run(command, capture_output=True, text=True, timeout=TIMEOUT)
    except subprocess.TimeoutExpired:
        return None, "bad: out of time"
    try:
        document = json.loads(p.stdout)
    except ValueError:
        return None, f"bad: status {p.returncode} and no JSON: {p.stderr[-200:]!r}"
    if p.returncode == 2 and document.get("error", {}).get("code") in NOTHING_THERE:
        return None, "no outline"
    if p.returncode not in (0, 1) or "error" in document:
        return None, f"bad: status {p.returncode}: {json.dumps(document.get('error'))}"
    return document, "refused" if p.returncode == 1 else "written"


def matched(document, shapes):
    """Each outline of the document with the shape that it is, by box and area; None where the readers differ."""
    pairs = {}
    for s in shapes:
        for candidate in ([s] if len(s) == 1 else [s, s[:1]]):
            o = regions.outline_of(document, candidate)
            if o is not None:
                pairs[o["id"]] = candidate
    return pairs if len(pairs) == len(document["outlines"]) else None


def rescaled(document, shapes):
    """The shapes as large as the document's outlines, and by how much those are narrower; where they differ by a hair only."""
    boxes = [o["bounds_mm"] for o in document["outlines"]]
    theirs = max(b[2] for b in boxes) - min(b[0] for b in boxes)
    mine = [regions.polygon(s[:1]).bounds for s in shapes]
    own = max(b[2] for b in mine) - min(b[0] for b in mine)
    if not WIDTH_OFF < abs(theirs - own) < MISTAKEN * own:
        return shapes, None
    k = theirs / own
    return [[[(round(x * k), round(y * k)) for x, y in p] for p in s] for s in shapes], (theirs, own)


def drawn_of(document, outline):
    """The outline as the program says that it read it: rings, y up. None where it does not say."""
    own = next((o for o in (document["proof"] or {}).get("outlines", []) if o["outline"] == outline), None)
    if own is None:
        return None
    rings = []
    for d in own["drawn"]:
        path = svgelements.Path(d)
        rings.append(np.array([(x, -y) for s in path if not isinstance(s, svgelements.Move) for x, y in flat.segment_points(s)]))
    return rings


def account(document, folder, shapes, start, outcome):
    """Faults and counts of one document, and of the jobs that follow from it."""
    faults, counts = [], Counter()
    codes = Counter(f["code"] for f in document["findings"])
    for f in document["findings"]:
        if f["code"] == UNEXPLAINED:
            faults.append(Fault("unexplained", f["outline"], f["message"], tuple(f["at_mm"] or (0.0, 0.0)), f["short_mm"] or 0.0))
    errors = [f for f in document["findings"] if f["severity"] == "error" and not f.get("accepted")]
    written = bool(document["openings"]) and not errors
    if outcome == "refused" and list(folder.glob("*-face-*")):
        faults.append(Fault("other", None, "face files beside an error", (0.0, 0.0), 0.0))
    without = NO_GEOMETRY & set(codes)
    if without or not document["outlines"]:
        counts[f"not judged: {' + '.join(sorted(without)) or 'no outline'}"] += 1
        return faults, counts
    shapes, off = rescaled(document, shapes) if shapes else (shapes, None)
    if off:
        what = "{:.4f} mm wide, not {:.4f}; judged at the size that it has".format(*off)
        faults.append(Fault("other", None, what, (0.0, 0.0), abs(off[0] - off[1])))
    pairs = matched(document, shapes)
    if pairs is None:
        what = f"{len(document['outlines'])} outlines, here {len(shapes)}, not the same"
        return [*faults, Fault("other", None, "read otherwise: " + what, (0.0, 0.0), 0.0)], counts
    k = judge.setting(document, start)
    cut, lost = judge.openings(document, folder, pairs) if written else ({}, [])
    faults += [Fault("other", None, f"{name} has an opening of no outline", at, 0.0) for name, at in lost]
    # The pieces of a job whose pairs match have no opening of their own, and those of an error no files.
    for outline, s in pairs.items():
        own = [f for f in document["findings"] if f["outline"] == outline]
        if any(f["code"] == UNCERTIFIED for f in own):
            counts["not judged: uncertified"] += 1
            continue
        t = {d: cut[outline, d] for d in ("recess", "inlay") if (outline, d) in cut} if written else None
        found, n = judge.settled(s, t, own, k, outline)
        faults += found
        counts += n
        counts["outlines judged"] += 1
        if t:
            found, n = proven.figures(document, outline, s, t, k, drawn_of(document, outline), judge.READ + (WIDTH_OFF if off else 0.0))
            faults += found
            counts["figures of the proof"] += n
    for then in document.get("then") or []:
        holes = [[p[::-1]] for s in shapes for p in s[1:]]
        found, n = account(then, folder, holes, None, outcome)
        faults += [replace(f, outline=f"{then['part']} {f.outline}") for f in found]
        counts += n
    return faults, counts


def do(binary, drawing, words):
    """One job: outcome, faults, counts, command, seconds."""
    start = time.monotonic()
    out = {"drawing": str(drawing), "settings": words, "faults": [], "counts": {}}
    out["command"] = shlex.join(["letin", "make", str(drawing), *words, "--json", "--out", "TMP"])
    with tempfile.TemporaryDirectory() as home:
        folder = Path(home) / "out"
        document, out["outcome"] = run(binary, drawing, words, folder)
        out["seconds_program"] = round(time.monotonic() - start, 3)
        if document is not None:
            try:
                width = value(words, "--width")
                shapes = regions.read(drawing, float(width) if width else None)
                faults, counts = account(document, folder, shapes, value(words, "--from"), out["outcome"])
                out["faults"], out["counts"] = [vars(f) for f in faults], counts
            except (ValueError, AssertionError, pyclipper.ClipperException) as e:
                out["faults"] = [vars(Fault("other", None, f"not judged: {e!r:.200}", (0.0, 0.0), 0.0))]
        elif out["outcome"].startswith("bad"):
            out["faults"] = [vars(Fault("other", None, out["outcome"], (0.0, 0.0), 0.0))]
            out["outcome"] = "bad"
    for f in out["faults"]:
        if f["kind"] == "silent" and f["number"] <= judge.DEEP + judge.BORDER:
            f["kind"] = "border"
    return {**out, "seconds": round(time.monotonic() - start, 3)}


def line(job, f):
    more = "".join(f", {k} {v}" for k, v in f["more"].items())
    at = "({:.3f}, {:.3f})".format(*f["at"])
    return f"{f['kind'].upper()} {f['number']:.4f} {f['outline']} {f['what']} at {at}{more}: {job['command']}"


def tell(done, listing):
    faults = [(j, f) for j in done for f in j["faults"]]
    faults.sort(key=lambda p: (KINDS.index(p[1]["kind"]), -p[1]["number"]))
    lines = [line(j, f) for j, f in faults]
    print("\n".join(lines))
    if listing:
        listing.write_text("\n".join(lines) + "\n")
    counts = sum((Counter(j["counts"]) for j in done), Counter())
    kinds = Counter(f["kind"] for _, f in faults)
    outcomes = Counter(j["outcome"] for j in done)
    seconds = sorted(j["seconds"] for j in done)
    print(f"{len(done)} jobs: " + ", ".join(f"{k} {n}" for k, n in outcomes.most_common()))
    print(", ".join(f"{k}: {n}" for k, n in counts.most_common()))
    margin = sum(f["kind"] == "silent" and f["more"]["of_the_margin"] for _, f in faults)
    print(f"unexplained {kinds['unexplained']}, silent {kinds['silent']} ({margin} of the margin), idle {kinds['idle']}, "
          f"figures off {kinds['figure']}, other {kinds['other']}; no faults: beside a neck or gap {kinds['beside']}, borderline {kinds['border']}")
    if seconds:
        print(f"{sum(seconds):.0f} s, a job {seconds[len(seconds) // 2]:.2f} s in the middle, {seconds[-1]:.1f} s at most")
    return any(kinds[k] for k in KINDS[:-2]) or not counts["outlines judged"]


def main():
    p = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    p.add_argument("binary")
    p.add_argument("where", nargs="*")
    p.add_argument("--short", action="store_true", help="the self-test, and SHORT jobs on the repository's own drawings")
    p.add_argument("--jobs", type=int)
    p.add_argument("--seed", type=int, default=1)
    p.add_argument("--settings", help="these and no others, each drawing once, as large as it is drawn")
    p.add_argument("--self-test", action="store_true")
    p.add_argument("--log", type=Path, help="a stopped run goes on where it stopped")
    p.add_argument("--list", type=Path)
    a = p.parse_args()
    if not a.where and not a.short:
        p.error("no drawings")
    if a.self_test or a.short:
        import spoilt

        bad = spoilt.self_test(a.binary, list(regions.drawings([OWN / "samples/bow-tie-key/key.svg"] if a.short else a.where)))
        if a.self_test or bad:
            sys.exit(bad)
        a.where, a.jobs = [OWN / w for w in DRAWINGS], SHORT
    if a.settings is not None:
        wanted = [(f, shlex.split(a.settings)) for f in regions.drawings(a.where)]
    else:
        wanted = list(jobs(a.where, a.jobs or 300, a.seed, *known(a.binary)))
    done = {}
    if a.log and a.log.exists():
        done = {(j["drawing"], *j["settings"]): j for j in map(json.loads, a.log.read_text().splitlines())}
    all_of = []
    for drawing, words in wanted:
        job = done.get((str(drawing), *words)) or do(a.binary, drawing, words)
        if (str(drawing), *words) not in done and a.log:
            with open(a.log, "a") as log:
                log.write(json.dumps(job) + "\n")
        all_of.append(job)
    sys.exit(1 if tell(all_of, a.list) else 0)


if __name__ == "__main__":
    main()
