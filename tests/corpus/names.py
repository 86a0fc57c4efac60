"""Names of the program that these scripts use: codes, keys of the JSON and options, each with its possible spellings."""

INSIDE, NECK, GAP = {"inside-corner"}, {"neck"}, {"closed-gap"}
OUTSIDE = {"outside-corner"}
# Codes for wood that a piece lacks inside the outline, and for wood that it has outside.
INNER, OUTER = INSIDE | NECK, OUTSIDE | GAP
CORNERS, WIDE = INSIDE | OUTSIDE, NECK | GAP
ISLAND, UNEXPLAINED, UNCERTIFIED = "island", "unexplained", "uncertified"
# Errors (status 2) that count as a verdict: the drawing has no closed outline, or is empty.
NOTHING_THERE = {"no-outline", "empty"}
# The bounding box of a finding's region, [x0, y0, x1, y1].
BOX = "region_mm"

KEYS = {
    "inlay": ("inlay",),
    "inlay_off_mm": ("inlay_off_mm",),
    "inlay_area_mm2": ("inlay_area_mm2",),
    "outside_radius_mm": ("outside_radius_mm",),
}
OPTIONS = {"--ease-outside": ("--ease-outside",)}


def get(table, key):
    """The value under any spelling of the key; KeyError without one."""
    for k in KEYS.get(key, (key,)):
        if k in table:
            return table[k]
    raise KeyError(key)


def is_key(word, key):
    return word in KEYS[key]
