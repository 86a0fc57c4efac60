#!/usr/bin/env python3
"""Runs `letin make` on real filled icons and groups the jobs by outcome.

    python icons.py BINARY FOLDER... [--icons 1000] [--seed 1] [--json figures.json] [--log jobs.jsonl] [--seconds N]

By hand, not part of the regular checks; a full run takes about an hour. The icons come from two npm packages under
permissive licences (bootstrap-icons: MIT; @mdi/svg: Apache-2.0):

    npm pack bootstrap-icons @mdi/svg
    for f in *.tgz; do mkdir -p "${f%.tgz}" && tar xzf "$f" -C "${f%.tgz}"; done
    python icons.py target/release/letin bootstrap-icons-*/package/icons mdi-svg-*/package/svg

Every icon of the seeded sample is made at 40, 100 and 300 mm with bush and cutter 20/6, 12/4 and 30/8. (A copy gets width and
height in mm and is otherwise unchanged.) No file is left out. With --log an interrupted run resumes. The script needs only
the standard library.

The program works out and certifies the openings of every outline *before* it refuses a drawing for holes, necks and the like.
So the openings of a job with `island` were certified, although not written. The proof runs only where openings are written.
Where outlines cross or touch, there is nothing to offset; the script counts these jobs apart as "no geometry".

Fails (status 1) if more than 1 job in 1,000 is uncertified, has status 2, crashes or runs out of time.
"""

import argparse
import json
import os
import random
import re
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

SIZES = (40, 100, 300)
TOOLS = ((20, 6), (12, 4), (30, 8))
TIMEOUT = 120
ROOT = re.compile(r"<svg\b[^>]*>", re.S)
# With these codes the outlines are unknown, and nothing is offset.
NO_GEOMETRY = {"crossing", "touching", "open-line"}
BAD = {"uncertified", "status 2", "crash", "timeout"}


def scaled(text, size):
    """The drawing with its longer dimension set to `size` mm."""
    root = ROOT.search(text)
    if not root:
        raise ValueError("no svg element")
    tag = root.group(0)
    box = re.search(r'\bviewBox\s*=\s*["\']([^"\']*)', tag)
    if not box:
        # Without a viewBox the drawing cannot be scaled this way and keeps its size.
        return text
    _, _, w, h = (float(v) for v in box.group(1).replace(",", " ").split())
    k = size / max(w, h)
    bare = re.sub(r'\s(width|height)\s*=\s*("[^"]*"|\'[^\']*\')', "", tag)
    sized = bare.replace("<svg", f'<svg width="{w * k!r}mm" height="{h * k!r}mm"', 1)
    return text[: root.start()] + sized + text[root.end() :]


def run(command, folder):
    """Status (None: timeout), standard output, standard error, wall seconds, processor seconds."""
    with open(folder / "stdout", "wb") as out, open(folder / "stderr", "wb") as err:
        start = time.monotonic()
        p = subprocess.Popen(command, stdout=out, stderr=err)
        late = threading.Event()
        timer = threading.Timer(TIMEOUT, lambda: (late.set(), p.kill()))
        timer.start()
        _, status, usage = os.wait4(p.pid, 0)
        timer.cancel()
        wall = time.monotonic() - start
        p.returncode = os.waitstatus_to_exitcode(status)
    read = lambda name: (folder / name).read_text(errors="replace")
    return (None if late.is_set() else p.returncode), read("stdout"), read("stderr"), wall, usage.ru_utime + usage.ru_stime


def make(binary, icon, size, tools):
    bush, cutter = tools
    job = {"icon": f"{icon.parent.parent.parent.name}/{icon.name}", "size": size, "bush": bush, "cutter": cutter}
    with tempfile.TemporaryDirectory() as folder:
        folder = Path(folder)
        drawing = folder / "icon.svg"
        drawing.write_text(scaled(icon.read_text(), size))
        command = [binary, "make", str(drawing), "--bush", str(bush), "--cutter", str(cutter), "--json"]
        status, out, err, wall, cpu = run([*command, "--out", str(folder / "out")], folder)
        job.update(status=status, wall=round(wall, 4), cpu=round(cpu, 4))
        written = sorted(p.name for p in (folder / "out").glob("*face-*")) if (folder / "out").exists() else []
    job.update(sorted_out(status, out, err, written))
    return job


def sorted_out(status, out, err, written):
    if status is None:
        return {"outcome": "timeout", "message": err[-500:]}
    if status not in (0, 1, 2) or "panicked" in err:
        return {"outcome": "crash", "message": err[-2000:]}
    try:
        verdict = json.loads(out)
    except ValueError:
        return {"outcome": "crash", "message": "standard output is not JSON: " + out[:200] + err[-500:]}
    if status == 2:
        return {"outcome": "status 2", "message": json.dumps(verdict.get("error"))}
    errors = [f for f in verdict["findings"] if f["severity"] == "error"]
    codes = sorted({f["code"] for f in errors})
    job = {
        "outlines": len(verdict["outlines"]),
        "holes": sum(o["holes"] for o in verdict["outlines"]),
        "codes": codes,
        # Outlines that easing removes: their certified openings are empty.
        "nothing_left": sum(f["code"] == "neck" and f["message"].startswith("Nothing of the outline") for f in errors),
        "other_codes": sorted({f["code"] for f in verdict["findings"]} - set(codes)),
        "geometry": not (NO_GEOMETRY & set(codes)) and bool(verdict["outlines"]),
        "openings": len(verdict["openings"]),
        "proved": bool(verdict["openings"]) and verdict["proof"] is not None,
        "lines_and_arcs": sum(o["lines"] + o["arcs"] for o in verdict["openings"]),
    }
    if "uncertified" in codes:
        at = [(f["outline"], f["at_mm"], f["message"]) for f in errors if f["code"] == "uncertified"]
        return {**job, "outcome": "uncertified", "geometry": False, "message": json.dumps(at)}
    if (status == 1) != bool(codes):
        return {**job, "outcome": "crash", "message": f"status {status} with errors {codes}"}
    if codes:
        if written:
            return {**job, "outcome": "crash", "message": f"face files beside an error: {written}"}
        return {**job, "outcome": "refused: " + " + ".join(codes)}
    # Outlines too near to each other go to further panels: two faces per panel, two files per face.
    if len(written) != 4 * len(verdict["panels"]) or len(verdict["openings"]) != 2 * len(verdict["outlines"]):
        return {**job, "outcome": "crash", "message": f"no error, but: {written}, {len(verdict['openings'])} openings"}
    return {**job, "outcome": "openings written"}


def sample(folders, count, seed):
    """The first `count` icons of all folders in a seeded order, and the number of all icons."""
    files = sorted((f for folder in folders for f in Path(folder).glob("*.svg")), key=lambda f: f.as_posix())
    if not files:
        sys.exit("the folders hold no SVG files")
    random.Random(seed).shuffle(files)
    return files[:count], len(files)


def row(name, jobs):
    walls, cpus = [j["wall"] for j in jobs], [j["cpu"] for j in jobs]
    ran = sum(bool(j.get("geometry")) for j in jobs)
    print(f"{name:44} {len(jobs):6} {ran:9} {statistics.median(walls):8.3f} {max(walls):8.3f} {max(cpus):8.3f}")


def table(title, jobs, key):
    print(f"\n{title:44} {'jobs':>6} {'certified':>9} {'median s':>8} {'worst s':>8} {'cpu s':>8}")
    groups = {}
    for j in jobs:
        groups.setdefault(key(j), []).append(j)
    for name in sorted(groups, key=lambda k: (-len(groups[k]), str(k))):
        row(str(name), groups[name])
    row("all", jobs)


def figures(jobs, icons, there, seed):
    bad = [j for j in jobs if j["outcome"] in BAD]
    codes = Counter(c for j in jobs for c in j.get("codes", []))
    return {
        "icons": icons, "of": there, "seed": seed, "jobs": len(jobs),
        "outcomes": dict(Counter(j["outcome"] for j in jobs).most_common()),
        "jobs_with_code": dict(codes.most_common()),
        "openings_certified": sum(bool(j.get("geometry")) for j in jobs),
        "of_these_all_empty": sum(bool(j.get("geometry")) and j["nothing_left"] == j["outlines"] for j in jobs),
        "no_geometry": sum(not j.get("geometry") and j["outcome"] not in BAD for j in jobs),
        "openings_written_and_proved": sum(bool(j.get("proved")) for j in jobs),
        "wall_median_s": statistics.median(j["wall"] for j in jobs),
        "cpu_median_s": statistics.median(j["cpu"] for j in jobs),
        "slowest": sorted(jobs, key=lambda j: -j["cpu"])[:10],
        "bad": bad,
    }


def main():
    p = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    p.add_argument("binary")
    p.add_argument("folder", nargs="+")
    p.add_argument("--icons", type=int, default=1000)
    p.add_argument("--seed", type=int, default=1)
    p.add_argument("--json", type=Path)
    p.add_argument("--log", type=Path)
    p.add_argument("--seconds", type=float, default=float("inf"))
    p.add_argument("--workers", type=int, default=os.cpu_count())
    a = p.parse_args()
    icons, there = sample(a.folder, a.icons, a.seed)
    wanted = [(i, s, t) for i in icons for s in SIZES for t in TOOLS]
    name = lambda j: (j["icon"], j["size"], j["bush"], j["cutter"])
    done = {}
    if a.log and a.log.exists():
        done = {name(j): j for j in map(json.loads, a.log.read_text().splitlines())}
    key = lambda i, s, t: (f"{i.parent.parent.parent.name}/{i.name}", s, *t)
    if len({key(*w) for w in wanted}) != len(wanted):
        sys.exit("two icons have the same package and name")
    end = time.monotonic() + a.seconds
    log = open(a.log, "a") if a.log else None

    def one(w):
        if key(*w) in done:
            return done[key(*w)]
        if time.monotonic() > end:
            return None
        job = make(a.binary, *w)
        if log:
            log.write(json.dumps(job) + "\n")
            log.flush()
        return job

    with ThreadPoolExecutor(a.workers) as pool:
        jobs = list(pool.map(one, wanted))
    left = sum(j is None for j in jobs)
    jobs = [j for j in jobs if j is not None]
    tried = len({j["icon"] for j in jobs})
    print(f"{tried} icons of {there}, seed {a.seed}: {len(jobs)} jobs, {left} not run within the time")
    table("outcome", jobs, lambda j: j["outcome"])
    table("by size, mm", jobs, lambda j: j["size"])
    table("by bush/cutter, mm", jobs, lambda j: f"{j['bush']}/{j['cutter']}")
    f = figures(jobs, tried, there, a.seed)
    print(f"\nopenings certified: {f['openings_certified']} (nothing left of any outline: "
          f"{f['of_these_all_empty']}); no geometry (crossing, touching, open): {f['no_geometry']}; "
          f"written and proved: {f['openings_written_and_proved']}")
    for j in f["bad"]:
        print(f"BAD {j['outcome']}: {j['icon']} at {j['size']} mm, {j['bush']}/{j['cutter']}: {j['message']}")
    if a.json:
        a.json.write_text(json.dumps({**f, "left": left}, indent=1) + "\n")
    allowed = len(jobs) // 1000
    print(f"{len(f['bad'])} bad jobs, {allowed} allowed")
    sys.exit(1 if len(f["bad"]) > allowed or not jobs else 0)


if __name__ == "__main__":
    main()
