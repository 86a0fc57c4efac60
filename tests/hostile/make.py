#!/usr/bin/env python3
"""Writes the small hostile drawings of this folder. tests/hostile/table.rs holds the expected answers.

    python make.py

The test itself makes the large ones (bombs, a million points). This script needs only the standard library.
"""
import gzip
from pathlib import Path

HERE = Path(__file__).parent
NS = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
SIZE = 'width="100mm" height="100mm" viewBox="0 0 100 100"'
KEY = '<rect id="key" x="10" y="10" width="20" height="20"/>'


def svg(inside, attributes=SIZE, before=""):
    return f"{before}<svg {NS} {attributes}>{inside}</svg>\n"


def path(d):
    return svg(f'{KEY}<path id="bad" d="{d}"/>')


SVG = {
    "empty": "",
    "blank": " \n\t\n",
    "no-xml": "hello, this is a letter\n",
    "html": "<html><body>not here</body></html>\n",
    "cut-off": f"<svg {NS} {SIZE}>{KEY}<path d=\"M0 0 L10",
    "tags-crossed": svg(f"<g><a>{KEY}</g></a>"),
    "two-roots": svg(KEY) + svg(KEY),
    "no-namespace": f"<svg {SIZE}>{KEY}</svg>\n",
    "other-namespace": f'<svg xmlns="urn:something-else" {SIZE}>{KEY}</svg>\n',
    "external-dtd": svg(KEY, before='<!DOCTYPE svg SYSTEM "file:///dev/zero">'),
    "external-entity": svg(f"{KEY}<g>&x;</g>", before='<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/hostname">]>'),
    "entity-loop": svg("&a;", before='<!DOCTYPE svg [<!ENTITY a "&b;"><!ENTITY b "&a;">]>'),
    "entity-laughs": svg(
        "<desc>&j;</desc>",
        before="<!DOCTYPE svg ["
        + "".join(f'<!ENTITY {b} "{("&" + a + ";") * 10 if a else "lol"}">' for a, b in zip(["", *"abcdefghi"], "abcdefghij"))
        + "]>",
    ),
    "use-bomb": svg(
        "<defs><g id='g0'><circle r='1'/></g>"
        + "".join(f"<g id='g{i}'>" + f"<use href='#g{i - 1}'/>" * 10 + "</g>" for i in range(1, 9))
        + "</defs><use href='#g8'/>"
    ),
    "use-cycle-of-two": svg(f"{KEY}<g id='a'><use href='#b'/></g><g id='b'><use href='#a'/></g>"),
    "use-itself": svg(f"{KEY}<use id='u' href='#u'/>"),
    "use-the-root": f"<svg id='root' {NS} {SIZE}>{KEY}<use href='#root'/></svg>",
    "use-file": svg(f'{KEY}<use href="file:///etc/hostname#x"/>'),
    "use-parent-folder": svg(f'{KEY}<use xlink:href="../../secret.svg#x"/>'),
    "groups-600-deep": svg("<g>" * 600 + KEY + "</g>" * 600),
    "image-dev-zero": svg(f'{KEY}<image href="/dev/zero" width="9" height="9"/>'),
    "image-file-url": svg(f'{KEY}<image xlink:href="file:///dev/zero" width="9" height="9"/>'),
    "image-parent-folder": svg(f'{KEY}<image href="../svg/kinds/image.svg" width="9" height="9"/>'),
    "image-data-not-there": svg(f'{KEY}<image href="data:image/png;base64,AAAA" width="9" height="9"/>'),
    "filter-image": svg(f'<filter id="f"><feImage href="/dev/zero"/></filter><g filter="url(#f)">{KEY}</g>'),
    "style-import": svg(f"<style>@import url(file:///dev/zero);</style>{KEY}"),
    "style-instruction": svg(KEY, before='<?xml-stylesheet href="file:///dev/zero"?>'),
    "style-broken": svg(f"<style>{{{{ a }} rect{{ fill: </style>{KEY}"),
    "style-never-ends": svg(
        "<style>" + "q g g g g g g g g g g g g z{fill:none}" + "</style>" + "<g>" * 300 + f"<z/>{KEY}" + "</g>" * 300
    ),
    "script": svg(f"<script>while(true){{}}</script>{KEY}"),
    "attributes-3000": svg("<g " + " ".join(f"a{i}='1'" for i in range(3000)) + f">{KEY}</g>"),
    "attribute-twice": svg('<rect x="1" x="2" width="5" height="5"/>'),
    "path-nan": path("M40 40 L NaN 50 L 60 60 Z"),
    "path-infinite": path("M40 40 L 1e999 50 L 60 60 Z"),
    "path-no-move": path("L40 40 L 50 50"),
    "path-only-move": path("M40 40"),
    "path-empty": path(""),
    "path-of-points": path("M40 40z M50 50z M60 60L60 60z"),
    "path-arc-flag-2": path("M40 40 A 5 5 0 2 0 50 40 Z"),
    "path-arc-no-radius": path("M40 40 A 0 5 0 0 0 50 40 L 50 60 Z"),
    "path-arc-huge-radius": path("M40 40 A 1e200 1e200 0 0 0 50 40 L 50 60 Z"),
    "path-far": path("M40 40 L 1e9 40 L 50 60 Z"),
    "path-farther": path("M40 40 L 1e300 40 L 50 60 Z"),
    "path-tiny": path("M40 40 l 1e-300 0 l 0 1e-300 z"),
    "path-nonsense": path("M40 40 lorem ipsum"),
    "path-numbers-run-on": path("M40 40L50 40 50 50 40"),
    "points-odd": svg(f'{KEY}<polygon points="40,40 50,40 50,50 40"/>'),
    "circle-negative": svg(f'{KEY}<circle cx="50" cy="50" r="-5"/>'),
    "circle-nan": svg(f'{KEY}<circle cx="50" cy="50" r="NaN"/>'),
    "rect-negative": svg(f'{KEY}<rect width="-5" height="5"/>'),
    "rect-infinite": svg(f'{KEY}<rect width="1e400" height="5"/>'),
    "transform-flat": svg(f'{KEY}<g transform="scale(0)"><circle r="5"/></g>'),
    "transform-nan": svg(f'{KEY}<g transform="matrix(NaN 0 0 1 0 0)"><circle r="5"/></g>'),
    "transform-huge": svg(f'{KEY}<g transform="scale(1e200)"><circle r="5"/></g>'),
    "transform-upright-skew": svg(f'{KEY}<g transform="skewX(90)"><circle r="5"/></g>'),
    "view-box-zero": svg(KEY, 'width="100mm" height="100mm" viewBox="0 0 0 0"'),
    "view-box-words": svg(KEY, 'width="100mm" height="100mm" viewBox="a b c d"'),
    "page-huge": svg(KEY, 'width="1e300mm" height="1e300mm" viewBox="0 0 100 100"'),
    "page-tiny": svg(KEY, 'width="1e-300mm" height="1e-300mm" viewBox="0 0 100 100"'),
    "page-negative": svg(KEY, 'width="-100mm" height="-100mm" viewBox="0 0 100 100"'),
    "id-control": svg('<rect id="key&#9;&#10;&#13;0&#10;SECTION" x="10" y="10" width="20" height="20"/>'),
    "id-right-to-left": svg('<rect id="key&#x202e;gvs" x="10" y="10" width="20" height="20"/>'),
    "id-long": svg(f'<rect id="{"k" * 100000}" x="10" y="10" width="20" height="20"/>'),
    "id-markup": svg('<rect id="&lt;script&gt;&quot;" x="10" y="10" width="20" height="20"/>'),
    "nul-byte": svg(f"<desc>\0</desc>{KEY}"),
    "comment-open": f"<svg {NS} {SIZE}>{KEY}<!-- ",
    "switch-empty": svg(f"{KEY}<switch/>"),
    "figure-of-eight": svg('<path fill="none" stroke="#000" d="M10 10 L50 50 L50 10 L10 50 Z"/>'),
    "same-500-times": svg(KEY * 500),
    "dash-without-end": svg('<path fill="none" stroke="#000" stroke-dasharray="1e-12" d="M10 10 h50 v50 z"/>'),
    "nothing-drawn": svg("<title>empty</title>"),
    "encoding-unknown": '<?xml version="1.0" encoding="KLINGON"?>' + svg(KEY),
}

SQUARE = "0 LWPOLYLINE 8 0 90 4 70 1 10 0 20 0 10 10 20 0 10 10 20 10 10 0 20 10"
LINE = "0 LINE 8 0 10 0 20 0 11 5 21 5"


def section(name, words):
    return f"0 SECTION 2 {name} {words} 0 ENDSEC "


def dxf(entities, blocks="", header="9 $INSUNITS 70 4", tail="0 EOF"):
    words = section("HEADER", header) + (section("BLOCKS", blocks) if blocks else "")
    return "\n".join((words + section("ENTITIES", f"{SQUARE} {entities}") + tail).split()) + "\n"


def lw(words):
    return dxf(f"0 LWPOLYLINE 8 0 {words}")


DXF = {
    "empty": "",
    "no-dxf": "a shopping list\nvarnish\n",
    "dwg": "AC1032\0\0\0\0",
    "no-section": "0\nEOF\n",
    "no-entities": "0\nSECTION\n2\nHEADER\n0\nENDSEC\n0\nEOF\n",
    "pair-cut": dxf("").removesuffix("EOF\n"),
    "code-word": dxf("0 LINE 8 0 ten 0"),
    "code-beyond": dxf("0 LINE 99999999999999 0"),
    "no-end-of-section": "\n".join(f"0 SECTION 2 ENTITIES {SQUARE} 0 EOF".split()) + "\n",
    "no-end-of-file": dxf("", tail=""),
    "returns-only": dxf("").replace("\n", "\r"),
    "decimal-comma": lw("90 3 70 1 10 20,5 20 0 10 30,5 20 0 10 30,5 20 10,0"),
    "blank-lines": dxf("").replace("0\nENDSEC", "\n\n0\nENDSEC"),
    "trailing-blanks": dxf("").replace("\n", "   \n"),
    "outside-any-section": "\n".join((section("HEADER", "") + SQUARE + " 0 EOF").split()) + "\n",
    "header-last": "\n".join((section("ENTITIES", SQUARE) + section("HEADER", "9 $INSUNITS 70 1") + "0 EOF").split()) + "\n",
    "corners-lie": lw("90 1000000000 70 1 10 20 20 0 10 30 20 0 10 30 20 10"),
    "corners-negative": lw("90 -5 70 1 10 20 20 0 10 30 20 0 10 30 20 10"),
    "corners-without-y": lw("90 3 70 1 10 20 10 30 20 0 10 30 20 10"),
    "corners-none": lw("90 0 70 1"),
    "number-word": lw("90 3 70 1 10 abc 20 0 10 30 20 0 10 30 20 10"),
    "number-nan": lw("90 3 70 1 10 nan 20 0 10 30 20 0 10 30 20 10"),
    "number-infinite": lw("90 3 70 1 10 inf 20 0 10 30 20 0 10 30 20 10"),
    "number-beyond": lw("90 3 70 1 10 1e999 20 0 10 30 20 0 10 30 20 10"),
    "number-far": lw("90 3 70 1 10 1e300 20 0 10 30 20 0 10 30 20 10"),
    "bulge-huge": lw("90 3 70 1 10 20 20 0 42 1e300 10 30 20 0 10 30 20 10"),
    "bulge-nan": lw("90 3 70 1 10 20 20 0 42 nan 10 30 20 0 10 30 20 10"),
    "radius-negative": dxf("0 CIRCLE 8 0 10 50 20 0 40 -3"),
    "radius-zero": dxf("0 CIRCLE 8 0 10 50 20 0 40 0"),
    "angles-huge": dxf("0 ARC 8 0 10 50 20 0 40 3 50 1e300 51 -1e300"),
    "ellipse-flat": dxf("0 ELLIPSE 8 0 10 50 20 0 11 5 21 0 40 0"),
    "ellipse-wide": dxf("0 ELLIPSE 8 0 10 50 20 0 11 5 21 0 40 2"),
    "spline-no-knots": dxf("0 SPLINE 8 0 71 3 10 50 20 0 10 60 20 0 10 60 20 9 10 50 20 9"),
    "spline-knots-fall": dxf("0 SPLINE 8 0 71 1 40 3 40 2 40 1 40 0 10 50 20 0 10 60 20 0"),
    "spline-degree-30": dxf("0 SPLINE 8 0 71 30 40 0 40 0 40 1 40 1 10 50 20 0 10 60 20 0"),
    "spline-degree-0": dxf("0 SPLINE 8 0 71 0 40 0 40 1 10 50 20 0"),
    "spline-weight-0": dxf("0 SPLINE 8 0 71 1 40 0 40 0 40 1 40 1 41 0 41 0 10 50 20 0 10 60 20 0"),
    "spline-fit-one-point": dxf("0 SPLINE 8 0 71 3 74 2 11 50 21 0 31 0 11 50 21 0 31 0"),
    "spline-fit-far": dxf("0 SPLINE 8 0 71 3 74 2 11 50 21 0 31 0 11 1e308 21 -1e308 31 0"),
    "insert-cycle-of-two": dxf(
        "0 INSERT 8 0 2 A 10 0 20 0",
        "0 BLOCK 2 A 10 0 20 0 0 INSERT 2 B 10 0 20 0 0 ENDBLK 0 BLOCK 2 B 10 0 20 0 0 INSERT 2 A 10 0 20 0 0 ENDBLK",
    ),
    "insert-32767-squared": dxf("0 INSERT 8 0 2 A 10 0 20 0 70 32767 71 32767 44 1 45 1", f"0 BLOCK 2 A 10 0 20 0 {LINE} 0 ENDBLK"),
    "insert-beyond-counting": dxf("0 INSERT 8 0 2 A 10 0 20 0 70 9000000000000 71 9000000000000", f"0 BLOCK 2 A 10 0 20 0 {LINE} 0 ENDBLK"),
    "insert-nothing-often": dxf("0 INSERT 8 0 2 A 10 0 20 0 70 32767 71 32767", "0 BLOCK 2 A 10 0 20 0 0 ENDBLK"),
    "insert-bomb": dxf(
        "0 INSERT 2 B9 10 0 20 0",
        f"0 BLOCK 2 B0 10 0 20 0 {LINE} 0 ENDBLK "
        + " ".join(f"0 BLOCK 2 B{i} 10 0 20 0 " + f"0 INSERT 2 B{i - 1} 10 0 20 0 " * 10 + "0 ENDBLK" for i in range(1, 10)),
    ),
    "insert-scale-zero": dxf("0 INSERT 2 A 10 0 20 0 41 0", f"0 BLOCK 2 A 10 0 20 0 {LINE} 0 ENDBLK"),
    "insert-scale-huge": dxf("0 INSERT 2 A 10 0 20 0 41 1e300 42 1e300", f"0 BLOCK 2 A 10 0 20 0 {LINE} 0 ENDBLK"),
    "insert-no-name": dxf("0 INSERT 10 0 20 0", f"0 BLOCK 2 A 10 0 20 0 {LINE} 0 ENDBLK"),
    "insert-other-file": dxf("0 INSERT 2 A 10 0 20 0", "0 BLOCK 2 A 70 4 10 0 20 0 1 ../../../etc/hostname 0 ENDBLK"),
    "block-not-ended": dxf("0 INSERT 2 A 10 50 20 0", f"0 BLOCK 2 A 10 0 20 0 {SQUARE}"),
    "block-base-word": dxf("0 INSERT 2 A 10 50 20 0", f"0 BLOCK 2 A 10 zero 20 0 {SQUARE} 0 ENDBLK"),
    "polyline-not-ended": dxf("0 POLYLINE 8 0 70 1 0 VERTEX 10 20 20 0 0 VERTEX 10 30 20 0 0 VERTEX 10 30 20 10 0 CIRCLE 10 50 20 0 40 2"),
    "polyline-mesh": dxf("0 POLYLINE 8 0 70 16 71 2 72 2 0 VERTEX 10 20 20 0 0 SEQEND"),
    "vertex-alone": dxf("0 VERTEX 8 0 10 20 20 0"),
    "seqend-alone": dxf("0 SEQEND 8 0"),
    "hatch-loops-lie": dxf("0 HATCH 8 0 10 0 20 0 91 1000000000 92 7 72 0 73 1 93 1 10 0 20 0 75 0"),
    "hatch-edges-lie": dxf("0 HATCH 8 0 10 0 20 0 91 1 92 1 93 1000000000 72 1 10 0 20 0 11 5 21 5 75 0"),
    "hatch-edge-of-no-kind": dxf("0 HATCH 8 0 10 0 20 0 91 1 92 1 93 1 72 9 10 0 20 0 75 0"),
    "hatch-no-boundary": dxf("0 HATCH 8 0 10 0 20 0 91 0 75 0"),
    "hatch-cut": dxf("0 HATCH 8 0 10 0 20 0 91 1 92"),
    "hatch-open": dxf("0 HATCH 8 0 10 0 20 0 91 1 92 1 93 2 72 1 10 20 20 0 11 25 21 5 72 1 10 25 20 5 11 30 21 9 75 0"),
    "normal-zero": dxf("0 CIRCLE 8 0 10 50 20 0 40 3 210 0 220 0 230 0"),
    "normal-tilted": dxf("0 CIRCLE 8 0 10 50 20 0 40 3 210 0 220 1 230 1"),
    "line-upright": dxf("0 LINE 8 0 10 50 20 0 30 0 11 50 21 0 31 99"),
    "date-absurd": dxf("", header="9 $TDCREATE 40 1e300 9 $INSUNITS 70 4"),
    "unit-parsecs": dxf("", header="9 $INSUNITS 70 20"),
    "unit-word": dxf("", header="9 $INSUNITS 70 fathoms"),
    "layer-escape": dxf(f"0 CIRCLE 8 \\U+202E\\U+ZZZZ\x1b[2J 10 50 20 0 40 3"),
    "image-dev-zero": dxf("0 IMAGEDEF 1 /dev/zero 0 IMAGE 8 0 10 0 20 0"),
    "not-plotted-often": dxf("0 POINT 8 0 10 0 20 0 " * 500),
}

for old in [*HERE.glob("*.svg"), *HERE.glob("*.svgz"), *HERE.glob("*.dxf")]:
    old.unlink()
for name, text in SVG.items():
    (HERE / f"{name}.svg").write_text(text, encoding="utf-8", newline="")
for name, text in DXF.items():
    (HERE / f"{name}.dxf").write_text(text, encoding="utf-8", newline="")

whole = svg(KEY).encode()
BYTES = {
    "encoding-not-said.svg": svg('<rect id="l\u00e4ng" width="5" height="5"/>').encode("latin-1"),
    "encoding-half-a-character.svg": svg(KEY).encode("utf-16")[:-1],
    "encoding-utf-32.svg": svg(KEY).encode("utf-32"),
    "encoding-lone-surrogate.svg": b"\xff\xfe" + svg("<desc>X</desc>").encode("utf-16-le").replace(b"X\0", b"\0\xd8"),
    "packed-cut.svgz": gzip.compress(whole, mtime=0)[:40],
    "packed-twice.svgz": gzip.compress(gzip.compress(whole, mtime=0), mtime=0),
    "packed-rubbish-behind.svgz": gzip.compress(whole, mtime=0) + b"rubbish",
    "packed-nothing.svgz": gzip.compress(b"", mtime=0),
    "packed-head-only.svgz": b"\x1f\x8b",
    "utf-16.dxf": dxf("").encode("utf-16"),
    "binary-cut.dxf": b"AutoCAD Binary DXF\r\n\x1a\0\0\0SECTION\0\2\0ENTI",
    "binary-head-only.dxf": b"AutoCAD Binary DXF\r\n\x1a\0",
    "binary-no-such-code.dxf": b"AutoCAD Binary DXF\r\n\x1a\0\0\0SECTION\0\2\0ENTITIES\0\x6d\x7fX\0",
    "noise.svg": bytes((i * 197 + 13) % 256 for i in range(5000)),
    "noise.dxf": bytes((i * 91 + 7) % 256 for i in range(5000)),
}
for name, data in BYTES.items():
    (HERE / name).write_bytes(data)
print(len(SVG) + len(DXF) + len(BYTES))
