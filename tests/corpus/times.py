#!/usr/bin/env python3
"""Times whole processes of `letin check` and `letin make` on real drawings, by their number of edges.

    python times.py BINARY FOLDER... [--drawings 100] [--runs 5] [--size 100] [--bush 20] [--cutter 6] [--seed 1] [--json figures.json]

By hand, on an idle machine, with the release build. The icons are those of icons.py (bootstrap-icons and @mdi/svg from npm),
at `--size` mm. The script takes icons of the seeded sample whose openings are written and proved, until each class has
`--drawings`. The classes are up to 100 edges, and 101 to 500 edges. Edges are the lines and arcs of the outlines as read.
Icons with an error or with more edges are skipped, and their number is printed.

A time is wall time from the start of the process to its end, including the files. For each drawing it is the median of
`--runs` runs, after one run that does not count. The processor time of all threads stands beside it. The table gives the
median, the 95th percentile and the longest time, and the share of `check` in `make`. Only the standard library is needed.
"""

import argparse
import json
import os
import platform
import re
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

from icons import sample, scaled

CLASSES = ((1, 100), (101, 500))
TIMEOUT = 60


def machine():
    name = platform.processor() or "unknown processor"
    try:
        name = re.search(r"model name\s*: (.*)", Path("/proc/cpuinfo").read_text()).group(1)
    except (OSError, AttributeError):
        pass
    return f"{name}, {os.cpu_count()} cores, load before the run {os.getloadavg()[0]:.2f}"


def edges(verdict):
    """Number of lines and arcs of the outlines. Z may draw the last line of a path."""
    count = 0
    for shape in verdict["proof"]["outlines"]:
        for path in shape["drawn"]:
            words = path.split()
            ends = [w for w in words if w in "LA"]
            numbers = [i for i, w in enumerate(words) if w in "MLA"]
            # Z draws a line if the last end differs from the start.
            start, last = words[numbers[0] + 1 : numbers[0] + 3], words[-3:-1]
            count += len(ends) + (start != last)
    return count


def command(binary, what, drawing, folder, a):
    words = [binary, what, str(drawing), "--json", "--bush", str(a.bush), "--cutter", str(a.cutter)]
    return words + (["--out", str(folder / "out")] if what == "make" else [])


def once(words):
    """Wall and processor seconds."""
    start = time.perf_counter()
    p = subprocess.Popen(words, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    late = threading.Timer(TIMEOUT, p.kill)
    late.start()
    _, status, usage = os.wait4(p.pid, 0)
    late.cancel()
    p.returncode = os.waitstatus_to_exitcode(status)
    if p.returncode not in (0, 1):
        sys.exit(f"ended with {p.returncode}: {words}")
    return time.perf_counter() - start, usage.ru_utime + usage.ru_stime


def chosen(a, folder):
    files, there = sample(a.folder, sys.maxsize, a.seed)
    classes, passed, seen = {c: [] for c in CLASSES}, 0, 0
    for icon in files:
        if all(len(v) >= a.drawings for v in classes.values()):
            break
        seen += 1
        drawing = folder / f"{seen}.svg"
        drawing.write_text(scaled(icon.read_text(), a.size))
        p = subprocess.run(command(a.binary, "make", drawing, folder, a), capture_output=True, timeout=TIMEOUT)
        verdict = json.loads(p.stdout) if p.returncode in (0, 1) else {}
        if p.returncode != 0 or not verdict["openings"] or not verdict["proof"]:
            passed += 1
            continue
        n = edges(verdict)
        own = next((c for c in CLASSES if c[0] <= n <= c[1]), None)
        if own and len(classes[own]) < a.drawings:
            classes[own].append((drawing, n))
    return classes, seen, passed, there


def main():
    p = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    p.add_argument("binary")
    p.add_argument("folder", nargs="+")
    p.add_argument("--drawings", type=int, default=100)
    p.add_argument("--runs", type=int, default=5)
    p.add_argument("--size", type=float, default=100)
    p.add_argument("--bush", type=float, default=20)
    p.add_argument("--cutter", type=float, default=6)
    p.add_argument("--seed", type=int, default=1)
    p.add_argument("--json", type=Path)
    a = p.parse_args()
    if "/" in a.binary:
        a.binary = str(Path(a.binary).resolve())
    print(machine())
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        folder = Path(folder)
        classes, seen, passed, there = chosen(a, folder)
        print(f"{seen} of {there} drawings tried, {passed} skipped because they cannot be made")
        print(f"{'edges':>12} {'drawings':>8} {'median':>6} {'command':>7} {'median ms':>9} {'95th ms':>8} {'longest':>8} {'cpu median':>10}")
        for (low, high), drawings in classes.items():
            if not drawings:
                continue
            times, cpus = {"check": [], "make": []}, {"check": [], "make": []}
            for drawing, _ in drawings:
                for what, all_of in times.items():
                    words = command(a.binary, what, drawing, folder, a)
                    runs = [once(words) for _ in range(a.runs + 1)][1:]
                    all_of.append(statistics.median(r[0] for r in runs))
                    cpus[what].append(statistics.median(r[1] for r in runs))
            typical = statistics.median(n for _, n in drawings)
            for what, all_of in times.items():
                by = sorted(1e3 * t for t in all_of)
                row = {
                    "edges": f"{low} to {high}", "drawings": len(by), "median_edges": typical, "command": what,
                    "median_ms": statistics.median(by), "of_95_ms": by[int(0.95 * (len(by) - 1))], "longest_ms": by[-1],
                    "median_cpu_ms": 1e3 * statistics.median(cpus[what]),
                }
                rows.append(row)
                print(f"{row['edges']:>12} {len(by):8} {typical:6.0f} {what:>7} {row['median_ms']:9.1f} {row['of_95_ms']:8.1f} {by[-1]:8.1f} {row['median_cpu_ms']:10.1f}")
            share = statistics.median(c / m for c, m in zip(times["check"], times["make"]))
            print(f"{'':12} check takes {share:.2f} of make (median of the drawings)")
    if a.json:
        a.json.write_text(json.dumps({"machine": machine(), "rows": rows}, indent=1) + "\n")
    sys.exit(0 if len(rows) == 2 * len(CLASSES) else 1)


if __name__ == "__main__":
    main()
