#!/usr/bin/env python3
"""Saves the program's files again with other libraries, in several forms, and asks `letin prove` about each.

    python check_saved.py BINARY DRAWING...

Needs the packages of `tests/outside/requirements.txt`.

ezdxf reads and saves each DXF face file: unchanged, in a later release, as single LINEs and ARCs, with arcs as ELLIPSEs,
SPLINEs and chords within 0.004 mm, with lower-case layers, with the openings in another order, and in inches. svgelements
rewrites each SVG face file: with cubics for arcs, in relative commands, and under a transform. `letin prove` must accept
every form. Moved by 0.02 mm, every form must be refused (status 2).

Source: none outside; the check does the sums anew.
"""

import re
import subprocess
import sys
import tempfile
from pathlib import Path

import ezdxf
import ezdxf.entities
import svgelements
from ezdxf.math import Matrix44

CUT = "OPENING_CUT_INSIDE"
MOVED = 0.02
CHORDS = 0.004


def run(binary, *args):
    return subprocess.run([binary, *map(str, args)], capture_output=True, text=True, check=False)


def openings(doc):
    return [e for e in doc.modelspace() if e.dxf.layer == CUT]


def single(doc):
    """Replaces every opening by LINEs and ARCs."""
    msp = doc.modelspace()
    for e in openings(doc):
        if e.dxftype() == "CIRCLE":
            for a in (0, 180):
                msp.add_arc(e.dxf.center, e.dxf.radius, a, a + 180, dxfattribs={"layer": CUT})
            msp.delete_entity(e)
        else:
            e.explode()


def arcs(doc):
    single(doc)
    return [e for e in openings(doc) if e.dxftype() == "ARC"]


def ellipses(doc):
    for a in arcs(doc):
        doc.modelspace().add_entity(ezdxf.entities.Ellipse.from_arc(a))
        doc.modelspace().delete_entity(a)


def splines(doc):
    for a in arcs(doc):
        a.to_spline()


def chords(doc):
    """Chords straight from the arcs. The library's paths replace arcs by cubics, with a larger error."""
    for a in arcs(doc):
        points = [(p.x, p.y) for p in a.flattening(CHORDS)]
        doc.modelspace().add_lwpolyline(points, dxfattribs={"layer": CUT})
        doc.modelspace().delete_entity(a)


def small_letters(doc):
    for e in doc.modelspace():
        e.dxf.layer = e.dxf.layer.lower()


def other_order(doc):
    msp = doc.modelspace()
    for e in reversed(openings(doc)):
        msp.unlink_entity(e)
        msp.add_entity(e)


def inches(doc):
    k = Matrix44.scale(1 / 25.4)
    for e in doc.modelspace():
        e.transform(k)
    doc.header["$INSUNITS"] = 1


def as_it_is(_):
    pass


DXF = [as_it_is, single, ellipses, splines, chords, small_letters, other_order, inches]


def move(doc):
    k = MOVED / 25.4 if doc.header["$INSUNITS"] == 1 else MOVED
    for e in doc.modelspace():
        if e.dxf.layer.upper() == CUT:
            e.transform(Matrix44.translate(0, k, 0))


def with_paths(text, how):
    return re.sub(r' d="([^"]*)"', lambda m: f' d="{how(svgelements.Path(m.group(1)))}"', text)


def cubics(path):
    path.approximate_arcs_with_cubics(error=0.01)
    return path.d(relative=False)


def relative(path):
    return path.d(relative=True)


def transformed(text):
    """Path data ten times as large and rotated by 90°, under the inverse transform."""
    own = svgelements.Matrix("rotate(90) scale(10) translate(3,-8)")
    text = with_paths(text, lambda p: (p * own).d(relative=False))
    back = ~own
    matrix = f"matrix({back.a!r} {back.b!r} {back.c!r} {back.d!r} {back.e!r} {back.f!r})"
    return text.replace("<path ", f'<path transform="{matrix}" ')


SVG = [
    ("cubics", lambda t: with_paths(t, cubics)),
    ("relative", lambda t: with_paths(t, relative)),
    ("transformed", transformed),
]


def move_svg(text):
    return text.replace(f'<g id="{CUT}"', f'<g transform="translate({MOVED} 0)" id="{CUT}"')


def main(binary, drawings):
    tried = 0
    for drawing in drawings:
        with tempfile.TemporaryDirectory() as place:
            out = Path(place) / "out"
            made = run(binary, drawing, "--out", out)
            assert made.returncode == 0, f"{drawing}: {made.stdout}{made.stderr}"
            for face in sorted(out.glob("*-face-*.*")):
                whole = face.read_bytes()
                if face.suffix == ".dxf":
                    forms = [(f.__name__, f) for f in DXF] + [("R2018", None)]
                else:
                    forms = SVG
                for name, form in forms:
                    for moved in (False, True):
                        what = f"{face.name}, {name}{', moved' if moved else ''}"
                        if face.suffix == ".dxf":
                            doc = ezdxf.readfile(face)
                            if form is None:
                                doc.dxfversion = "R2018"
                            else:
                                form(doc)
                            if moved:
                                move(doc)
                            doc.saveas(face)
                        else:
                            text = form(whole.decode())
                            face.write_text(move_svg(text) if moved else text)
                        said = run(binary, "prove", out)
                        wanted = 2 if moved else 0
                        assert said.returncode == wanted, f"{what}: {said.returncode}, {said.stdout}{said.stderr}"
                        assert moved or "warning:" not in said.stdout, f"{what}: {said.stdout}"
                        assert not moved or "mm off what was" in said.stdout or "mm apart in them" in said.stdout, (
                            f"{what}: refused, but not for the distance: {said.stdout}"
                        )
                        face.write_bytes(whole)
                        tried += 1
            assert run(binary, "prove", out).returncode == 0
    print(f"{tried} files saved again: each unmoved file proved, each file moved by {MOVED} mm refused")


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2:])
