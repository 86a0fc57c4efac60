#!/usr/bin/env python3
"""Runs `letin outlines` on large and hostile drawings. Each must be read or clearly refused within 20 s and 2 GiB.

    python limits.py BINARY [--only NAME]

By hand, not part of the regular checks; needs only the standard library. The files, up to 64 MiB, are made in a temporary
folder. The script prints a table of wall time, greatest memory and status. It fails (status 1) above a limit, for a status
other than 0 and 2, and for an empty answer.
"""

import argparse
import gzip
import math
import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

MIB = 1 << 20
SECONDS, BYTES, SIZE = 20.0, 2048 * MIB, 64 * MIB
HEAD = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:x="http://www.w3.org/1999/xlink" width="400mm" height="400mm" viewBox="0 0 400 400">'


def svg(body):
    return HEAD.encode() + body + b"</svg>"


def filled(make, size):
    """Joins the pieces `make(0)`, `make(1)` and so on, up to `size` bytes."""
    out, length, k = [], 0, 0
    while length < size:
        piece = make(k).encode()
        out.append(piece)
        length += len(piece)
        k += 1
    return b"".join(out)


def trace(points):
    def at(k):
        a = math.tau * k / points
        r = 150 + 20 * math.cos(7 * a)
        return f"{200 + r * math.cos(a):.4f} {200 + r * math.sin(a):.4f} "

    return svg(b'<path d="M' + "".join(map(at, range(points))).encode() + b'Z"/>')


def rects():
    return svg(filled(lambda k: f'<rect x="{k % 997}" y="{k // 997}" width=".5" height=".5"/>\n', SIZE - 1000))


def open_lines():
    return svg(filled(lambda k: f'<path fill="none" stroke="#000" d="M{k % 997} {k // 997}h.5"/>\n', SIZE - 1000))


def curves():
    return svg(b'<path d="M0 0' + filled(lambda k: f"C{k % 300} 9 {k % 299} 30 {k % 397} {k % 389}", SIZE - 1000) + b'Z"/>')


def dxf(entities, blocks=b""):
    head = b"  0\nSECTION\n  2\nHEADER\n  9\n$INSUNITS\n 70\n4\n  0\nENDSEC\n"
    return head + blocks + b"  0\nSECTION\n  2\nENTITIES\n" + entities + b"  0\nENDSEC\n  0\nEOF\n"


def line(k):
    x, y = k % 997, k // 997
    return f"  0\nLINE\n  8\nA\n 10\n{x}\n 20\n{y}\n 11\n{x + 0.5}\n 21\n{y}\n"


def closed_lines(k):
    """Four lines that form a square."""
    x, y = k % 997, k // 997
    c = [(x, y), (x + 0.5, y), (x + 0.5, y + 0.5), (x, y + 0.5)]
    sides = zip(c, c[1:] + c[:1])
    return "".join(f"  0\nLINE\n  8\nA\n 10\n{a}\n 20\n{b}\n 11\n{e}\n 21\n{f}\n" for (a, b), (e, f) in sides)


def vertices():
    body = filled(lambda k: f" 10\n{200 + 150 * math.cos(k / 4e5):.5f}\n 20\n{200 + 150 * math.sin(k / 4e5):.5f}\n", SIZE - 2000)
    count = body.count(b" 10\n")
    return dxf(f"  0\nLWPOLYLINE\n  8\nA\n 90\n{count}\n 70\n1\n".encode() + body)


def spline(k):
    x, y = 3 * (k % 300), 3 * (k // 300)
    points = "".join(f" 10\n{x + p}\n 20\n{y + q}\n" for p, q in ((0, 0), (1, 0), (1, 1), (0, 1)))
    knots = "".join(f" 40\n{v}\n" for v in (0, 0, 0, 0, 1, 1, 1, 1))
    return f"  0\nSPLINE\n  8\nA\n 70\n8\n 71\n3\n 72\n8\n 73\n4\n{knots}{points}"


def block(name, body):
    return f"  0\nBLOCK\n  2\n{name}\n 10\n0\n 20\n0\n{body}  0\nENDBLK\n"


def inlay(name, extra=""):
    return f"  0\nINSERT\n  2\n{name}\n 10\n0\n 20\n0\n{extra}"


def inlays():
    blocks = "  0\nSECTION\n  2\nBLOCKS\n" + block("B", line(0)) + "  0\nENDSEC\n"
    return dxf(inlay("B", " 70\n32767\n 71\n32767\n 44\n1\n 45\n1\n").encode(), blocks.encode())


def nested_inlays():
    all_of = block("B0", line(0)) + "".join(block(f"B{k}", 8 * inlay(f"B{k - 1}")) for k in range(1, 20))
    return dxf(inlay("B19").encode(), f"  0\nSECTION\n  2\nBLOCKS\n{all_of}  0\nENDSEC\n".encode())


def uses():
    levels = "".join(f'<g id="g{k}">' + 10 * f'<use x:href="#g{k - 1}"/>' + "</g>" for k in range(1, 12))
    return svg(f'<defs><rect id="g0" width="1" height="1"/>{levels}</defs><use x:href="#g11"/>'.encode())


def entities():
    table = "<!DOCTYPE svg [<!ENTITY a0 'M0 0h9v9z'>" + "".join(f"<!ENTITY a{k} '{10 * f'&a{k - 1};'}'>" for k in range(1, 9)) + "]>"
    return table.encode() + svg(b'<path d="&a8;"/>')


def xdata():
    deep = "1001\nX\n" + 400_000 * "1002\n{\n" + 400_000 * "1002\n}\n"
    return dxf((line(0) + deep).encode())


DRAWINGS = {
    "a trace of 1,000,000 points (SVG)": ("svg", lambda: trace(1_000_000)),
    "a trace of 64 MiB (SVG)": ("svg", lambda: trace(3_700_000)),
    "64 MiB of rectangles (SVG)": ("svg", rects),
    "64 MiB of open lines (SVG)": ("svg", open_lines),
    "64 MiB of curves that cross, one path (SVG)": ("svg", curves),
    "64 MiB of loose LINEs (DXF)": ("dxf", lambda: dxf(filled(line, SIZE - 2000))),
    "64 MiB of LINEs that close (DXF)": ("dxf", lambda: dxf(filled(closed_lines, SIZE - 2000))),
    "64 MiB of LWPOLYLINE vertices (DXF)": ("dxf", vertices),
    "64 MiB of SPLINEs (DXF)": ("dxf", lambda: dxf(filled(spline, SIZE - 2000))),
    "32,767 x 32,767 INSERTs (DXF)": ("dxf", inlays),
    "INSERTs, 8 in each of 19 levels (DXF)": ("dxf", nested_inlays),
    "extended data nested 400,000 deep (DXF)": ("dxf", xdata),
    "uses, 10 in each of 11 levels (SVG)": ("svg", uses),
    "entities, 10 in each of 8 levels (SVG)": ("svg", entities),
    "1,000,000 nested groups (SVG)": ("svg", lambda: svg(1_000_000 * b"<g>" + b'<rect width="9" height="9"/>' + 1_000_000 * b"</g>")),
    "8 GiB of blanks, compressed (SVGZ)": ("svgz", lambda: gzip.compress(svg(b" " * (128 * MIB)), 9) * 64),
    "64 MiB of noise (SVG)": ("svg", lambda: os.urandom(SIZE)),
}


def run(binary, path):
    start = time.monotonic()
    p = subprocess.Popen([binary, "outlines", str(path)], stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
    out = p.stdout.read()
    _, status, used = os.wait4(p.pid, 0)
    return time.monotonic() - start, used.ru_maxrss * 1024, os.waitstatus_to_exitcode(status), out


def main():
    p = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    p.add_argument("binary")
    p.add_argument("--only")
    a = p.parse_args()
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    bad = 0
    print("| drawing | MiB | s | MiB of memory | status |\n| --- | --- | --- | --- | --- |")
    with tempfile.TemporaryDirectory() as folder:
        for name, (kind, make) in DRAWINGS.items():
            if a.only and a.only not in name:
                continue
            path = Path(folder) / f"drawing.{kind}"
            # A child process makes the file, since the measured process inherits the parent's peak memory.
            child = os.fork()
            if child == 0:
                path.write_bytes(make())
                os._exit(0)
            if os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]):
                sys.exit(f"{name}: the drawing could not be made")
            seconds, memory, status, out = run(a.binary, path)
            over = seconds > SECONDS or memory > BYTES or status not in (0, 2) or not out.strip()
            bad += over
            size = path.stat().st_size / MIB
            mark = " **over**" if over else ""
            print(f"| {name} | {size:.1f} | {seconds:.1f} | {memory / MIB:.0f} | {status}{mark} |", flush=True)
    sys.exit(1 if bad else 0)


if __name__ == "__main__":
    main()
