#!/usr/bin/env python3
"""Checks the program's account of differences with other libraries. Every difference needs a finding, and the reverse.

    python account.py BINARY FOLDER-OR-FILE... [--jobs 300] [--seed 1] [--log jobs.jsonl] [--list faults.txt]
    python account.py BINARY FILE... --settings "--bush 12 --cutter 4"     size as drawn, with these settings only
    python account.py BINARY FILE... --self-test                          spoils answers; each spoilt one must be reported
    python account.py BINARY --short                                      the regular check: the self-test, and some jobs

Needs the packages of `tests/outside/requirements.txt`. Icons: `bash fetch.sh FOLDER` gets pinned sets from npm and prints
their folders. A job is one drawing with a size, tools, corners and further settings, all chosen by the seed. The folders
take turns, and the drawings of each come in a shuffled order. The line of a fault ends with a command that repeats the
job.

judge.py begins with the definition of each fault. Further faults: `unexplained` findings, crashes and other statuses without
a verdict, face files beside an error, and outlines on which the two readers differ. Jobs with outlines that cross, touch or
are open have no outline to compare; the script counts them.

With a template in hand (`--from template`), corners too tight for its own bush stay as every bush leaves them. They need no
finding. The status is 1 if there is any fault, or if nothing was judged.

Source: none outside; the check does the sums anew.
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
import findings as regions  # noqa: E402 sets the tolerance of the readers
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

# The last two are listed but are no faults.
KINDS = ("silent", "idle", "figure", "unexplained", "other", "beside", "border")
# A width may differ by WIDTH_OFF, mm. Up to the share MISTAKEN, two widths mean the same drawing at another size.
WIDTH_OFF, MISTAKEN = 0.008, 3e-4
# Drawings for --short.
OWN = Path(__file__).resolve().parent.parent.parent
DRAWINGS = (
    "samples/bow-tie-key/key.dxf", "samples/leaf/leaf.svg", "samples/fish/fish.svg", "samples/compass-star/star.svg",
    "samples/name-board-letter/letter.svg", "samples/inch-patch/patch.svg", "samples/motif/motif.svg", "tests/fixtures/outside",
    "tests/fixtures/panels", "tests/fixtures/account",
)
SHORT = 30


# ---- The jobs ----


def known(binary):
    """The program's spelling of the options, and the codes that it accepts."""
    text = subprocess.run([binary, "make", "--help"], capture_output=True, text=True, timeout=60).stdout
    spelt = {o: next((w for w in ways if w in text), ways[0]) for o, ways in OPTIONS.items()}
    p = subprocess.run([binary, "check", "none.svg", "--accept", "nothing", "--json"], capture_output=True, text=True, timeout=60)
    return spelt, [c for c in ("neck", "closed-gap", "island") if c in p.stdout + p.stderr]


def mixture(rng, spelt, accepted):
    """The settings of a job without its drawing."""
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
    """Pairs of drawing and settings; the folders take turns."""
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
    """The document, if any, and the outcome."""
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
    """Pairs each outline of the document with its shape, by bounding box and area. None where the readers differ."""
    pairs = {}
    for s in shapes:
        for candidate in ([s] if len(s) == 1 else [s, s[:1]]):
            o = regions.outline_of(document, candidate)
            if o is not None:
                pairs[o["id"]] = candidate
    return pairs if len(pairs) == len(document["outlines"]) else None


def rescaled(document, shapes):
    """The shapes at the size of the document's outlines, with both widths if they differ slightly."""
    boxes = [o["bounds_mm"] for o in document["outlines"]]
    theirs = max(b[2] for b in boxes) - min(b[0] for b in boxes)
    mine = [regions.polygon(s[:1]).bounds for s in shapes]
    own = max(b[2] for b in mine) - min(b[0] for b in mine)
    if not WIDTH_OFF < abs(theirs - own) < MISTAKEN * own:
        return shapes, None
    k = theirs / own
    return [[[(round(x * k), round(y * k)) for x, y in p] for p in s] for s in shapes], (theirs, own)


def drawn_of(document, outline):
    """The outline as read by the program: rings, y up. None where the document lacks it."""
    own = next((o for o in (document["proof"] or {}).get("outlines", []) if o["outline"] == outline), None)
    if own is None:
        return None
    rings = []
    for d in own["drawn"]:
        path = svgelements.Path(d)
        rings.append(np.array([(x, -y) for s in path if not isinstance(s, svgelements.Move) for x, y in flat.segment_points(s)]))
    return rings


def account(document, folder, shapes, start, outcome):
    """Faults and counts of one document and of its follow-on jobs."""
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
        what = "{:.4f} mm wide, expected {:.4f}; judged at the program's size".format(*off)
        faults.append(Fault("other", None, what, (0.0, 0.0), abs(off[0] - off[1])))
    pairs = matched(document, shapes)
    if pairs is None:
        what = f"{len(document['outlines'])} outlines, here {len(shapes)}, not the same"
        return [*faults, Fault("other", None, "read otherwise: " + what, (0.0, 0.0), 0.0)], counts
    k = judge.setting(document, start)
    cut, lost = judge.openings(document, folder, pairs) if written else ({}, [])
    faults += [Fault("other", None, f"{name} has an opening of no outline", at, 0.0) for name, at in lost]
    # A job with matching pairs may have no opening of its own, and a job with an error has no files.
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
    """Runs one job: outcome, faults, counts, command, seconds."""
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
    print(f"unexplained {kinds['unexplained']}, silent {kinds['silent']} ({margin} caused by the margin), idle {kinds['idle']}, "
          f"figures off {kinds['figure']}, other {kinds['other']}; no faults: beside a neck or gap {kinds['beside']}, borderline {kinds['border']}")
    if seconds:
        print(f"{sum(seconds):.0f} s, median {seconds[len(seconds) // 2]:.2f} s per job, at most {seconds[-1]:.1f} s")
    return any(kinds[k] for k in KINDS[:-2]) or not counts["outlines judged"]


def main():
    p = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    p.add_argument("binary")
    p.add_argument("where", nargs="*")
    p.add_argument("--short", action="store_true", help="the self-test, and SHORT jobs on the repository's own drawings")
    p.add_argument("--jobs", type=int)
    p.add_argument("--seed", type=int, default=1)
    p.add_argument("--settings", help="only these settings, each drawing once, at its own size")
    p.add_argument("--self-test", action="store_true")
    p.add_argument("--log", type=Path, help="an interrupted run resumes from this file")
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
