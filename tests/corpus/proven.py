"""Works out gaps and distances from the drawing again, from the written openings, and compares them with the proof.

In: the document, one outline from `findings.read`, its written openings. Out: faults, and the number of figures compared.
"""

import findings as regions
import measure
import oracle
import pyclipper
from findings import less
from judge import ARC, COARSE, EPS, EXACT, READ, STRICT, Fault, Limits, fineness, made, through
from names import get


def figures(document, outline, s, t, k, drawn, read=READ):
    """Compares gaps and distances from the drawing. `read`: tolerance of the outline as read against S, mm.

    A figure counts as wrong only where the slack of the program cannot explain it."""
    proof = document["proof"]
    piece = next((p for p in (proof or {}).get("pieces", []) if p["outline"] == outline), None)
    if piece is None:
        return [Fault("other", outline, "no piece in the proof", (0.0, 0.0), 0.0)], 0
    thin = lambda paths: [oracle.thinned(p) for p in paths]
    out, count = [], 0
    for arc, eps in ((COARSE, 0.0), (ARC, 0.0), (ARC, EPS)):
        with fineness(arc, STRICT if arc == COARSE else 0.0, eps):
            of = {d: thin(p) for d, p in t.items()}
            out, count = figures_with(piece, outline, s, of, k, drawn, read)
        if not out:
            break
    return out, count


def figures_with(piece, outline, s, t, k, drawn, read):
    recess, inlay = t.get("recess"), t.get("inlay")
    if recess is not None:
        recess = through(recess, k)
    if inlay is not None:
        inlay = oracle.offset(inlay, -sum(k.inlay))
    if k.start:
        recess = made(s, k) if recess is None else recess
        inlay = s if inlay is None else inlay
    if not recess or not inlay:
        return [], 0
    a, b = oracle.from_grid(recess), oracle.from_grid(inlay)
    # The part of the inlay outside the recess.
    over = [p for p in less(inlay, recess) if abs(pyclipper.Area(p[0])) * oracle.GRID**2 > regions.CRUMB]
    proud = max((measure.farthest(oracle.from_grid(p), a) for p in over), default=(0.0, (0.0, 0.0)))
    wanted = {
        "gap_min_mm": lambda _: (-proud[0], proud[1]) if proud[0] > 1e-4 else measure.between(a, b),
        "gap_max_mm": lambda _: measure.farthest(a, b, free=b if proud[0] > 1e-4 else None),
    }
    if not k.start:
        wanted["recess_off_mm"] = lambda d: measure.hausdorff(a, d)
        wanted["inlay_off_mm"] = lambda d: measure.hausdorff(b, d)
    out, mine = [], oracle.from_grid(s)
    for name, find in wanted.items():
        told, (true, at) = get(piece, name), find(mine)
        off = abs(told - true)
        if off > EXACT - Limits.strict and name.endswith("off_mm") and drawn is not None and measure.hausdorff(drawn, mine)[0] <= read:
            off = abs(told - find(drawn)[0])
        if off > EXACT - Limits.strict:
            out.append(Fault("figure", outline, f"{name} {told}, expected {true:.4f}", at, off))
    return out, len(wanted)
