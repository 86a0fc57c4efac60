#!/usr/bin/env python3
"""Runs `letin make` on motifs of several real icons, and checks placing and turning over from the written files.

    python motifs.py BINARY FOLDER... [--motifs 200] [--seed 1] [--seconds N]

By hand, not part of the regular checks. `../outside/check_places.py` does the checking; the script needs the same libraries.
The icons come from two npm packages (bootstrap-icons: MIT; @mdi/svg: Apache-2.0), see `icons.py`.

A motif is 2 to 9 icons at 50 to 110 mm, scattered over a sheet by a seeded generator. Their bounding boxes stay at least 2 mm
apart, and many openings come too near for one panel. An icon is used if it is one path and makes one outline by itself with
the tools here (bush 12, cutter 3, islands accepted). Turns and set-ups take turns. A motif with an error (for example a gap
that closes) is counted by its codes.

Fails (status 1) if the output is wrong, or if the program ends with status 2.
"""

import argparse
import json
import random
import re
import subprocess
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "outside"))
import check_places  # noqa: E402

TOOLS = ["--bush", "12", "--cutter", "3", "--web", "6", "--accept", "island"]
TURNS = [
    [],
    ["--turn", "bottom-top"],
    ["--turn", "none"],
    ["--setup", "one"],
    ["--turn", "bottom-top", "--setup", "one"],
    ["--mirror", "--dxf", "r12"],
    ["--write-unit", "in"],
]
SHEET = 420.0


def paths(icon):
    """Path data, size of the viewBox and fill rule of an icon that is one path in a square box; else None."""
    text = icon.read_text()
    found = re.findall(r'<path\b[^>]*?\bd="([^"]+)"', text)
    box = re.search(r'viewBox="0 0 (\d+) (\d+)"', text)
    if len(found) != 1 or not box or box[1] != box[2] or re.search(r"<(circle|rect|ellipse|poly|line)", text):
        return None
    rule = ' fill-rule="evenodd"' if 'fill-rule="evenodd"' in text else ""
    return found[0], float(box[1]), rule


def svg(placed):
    body = "".join(
        f'<path id="icon-{i}"{rule} transform="translate({x!r} {y!r}) scale({size / side!r})" d="{d}"/>\n'
        for i, ((d, side, rule), x, y, size) in enumerate(placed, 1)
    )
    return (f'<svg xmlns="http://www.w3.org/2000/svg" width="{SHEET}mm" height="{SHEET}mm" '
            f'viewBox="0 0 {SHEET} {SHEET}">\n{body}</svg>\n')


def alone(binary, path, folder):
    """True if the icon makes one outline without an error."""
    drawing = folder / "icon.svg"
    drawing.write_text(svg([(path, 20.0, 20.0, 60.0)]))
    p = subprocess.run([binary, "check", str(drawing), *TOOLS, "--json", "--fail-on", "error"], capture_output=True, text=True)
    return p.returncode == 0 and len(json.loads(p.stdout)["outlines"]) == 1


def scattered(pool, rng):
    placed = []
    for _ in range(rng.randint(2, 9)):
        for _ in range(40):
            size = rng.uniform(50, 110)
            # Close to an icon already placed, or anywhere.
            if placed and rng.random() < 0.6:
                _, x, y, other = rng.choice(placed)
                dx, dy = rng.choice([(1, 0), (-1, 0), (0, 1), (0, -1)])
                gap = rng.uniform(2, 25)
                x += (other + gap if dx > 0 else -size - gap) if dx else rng.uniform(-20, 20)
                y += (other + gap if dy > 0 else -size - gap) if dy else rng.uniform(-20, 20)
            else:
                x, y = rng.uniform(0, SHEET - size), rng.uniform(0, SHEET - size)
            apart = all(x > a + s + 2 or a > x + size + 2 or y > b + s + 2 or b > y + size + 2 for _, a, b, s in placed)
            if apart and 0 <= min(x, y) and max(x, y) + size <= SHEET:
                placed.append((rng.choice(pool), x, y, size))
                break
    return placed


def main():
    a = argparse.ArgumentParser()
    a.add_argument("binary")
    a.add_argument("folder", nargs="+", type=Path)
    a.add_argument("--motifs", type=int, default=200)
    a.add_argument("--seed", type=int, default=1)
    a.add_argument("--pool", type=int, default=60)
    a.add_argument("--seconds", type=float, default=float("inf"))
    a = a.parse_args()
    rng, start = random.Random(a.seed), time.monotonic()
    icons = sorted(p for f in a.folder for p in f.glob("*.svg"))
    rng.shuffle(icons)
    pool, looked = [], 0
    outcomes, panels, outlines, bad = Counter(), Counter(), Counter(), []
    off = middle = 0.0
    with tempfile.TemporaryDirectory() as home:
        home = Path(home)
        for icon in icons:
            if len(pool) == a.pool:
                break
            looked += 1
            path = paths(icon)
            if path and alone(a.binary, path, home):
                pool.append(path)
        print(f"{len(pool)} icons chosen of {looked} tried")
        for n in range(a.motifs):
            if time.monotonic() - start > a.seconds:
                outcomes["not run within the time"] += 1
                continue
            placed, settings = scattered(pool, rng), [*TOOLS, *TURNS[n % len(TURNS)]]
            drawing, out = home / f"motif-{n}.svg", home / f"out-{n}"
            drawing.write_text(svg(placed))
            try:
                status, document = check_places.make(a.binary, drawing, settings, out)
                if status == 1:
                    # Follow-on jobs hold the errors of the islands' own wood.
                    jobs = [document, *(document.get("then") or [])]
                    found = [f for j in jobs for f in j["findings"]]
                    codes = {f["code"] for f in found if f["severity"] == "error" and not f.get("accepted")}
                    outcomes["error: " + ", ".join(sorted(codes))] += 1
                    continue
                found = check_places.check_outputs(document, out, 6.0)
                off, middle = max(off, found[0]), max(middle, found[1])
                outcomes["written and checked"] += 1
                panels[found[2]] += 1
                outlines[len(document["outlines"])] += 1
            except (check_places.Refused, subprocess.TimeoutExpired, ValueError) as e:
                outcomes["BAD"] += 1
                bad.append(f"motif {n} {' '.join(settings)}: {e}")
                Path(tempfile.gettempdir(), f"motif-{n}.svg").write_text(drawing.read_text())
    for name, table in (("outcome", outcomes), ("panels", panels), ("outlines", outlines)):
        print(name, dict(sorted(table.items(), key=lambda kv: str(kv[0]))))
    print(f"distances within {off:.5f} mm, centres within {middle:.1e} mm, {time.monotonic() - start:.0f} s")
    for b in bad:
        print("BAD", b)
    sys.exit(1 if bad or not outcomes["written and checked"] else 0)


if __name__ == "__main__":
    main()
