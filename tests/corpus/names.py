"""The program's names that these scripts rest on: codes, keys of the JSON and options, each with the spelling it may have."""

INSIDE, NECK, GAP = {"inside-corner"}, {"neck"}, {"closed-gap"}
OUTSIDE = {"outside-corner"}
# Codes of what a piece lacks inside the outline, and of what it has outside it.
INNER, OUTER = INSIDE | NECK, OUTSIDE | GAP
CORNERS, WIDE = INSIDE | OUTSIDE, NECK | GAP
ISLAND, UNEXPLAINED, UNCERTIFIED = "island", "unexplained", "uncertified"
# Statuses 2 that are a verdict all the same: the drawing has nothing closed, or the file is none.
NOTHING_THERE = {"no-outline", "empty"}
# The box of a finding's own region, [x0, y0, x1, y1].
BOX = "region_mm"

KEYS = {
    "inlay": ("inlay",),
    "inlay_off_mm": ("inlay_off_mm",),
    "inlay_area_mm2": ("inlay_area_mm2",),
    "outside_radius_mm": ("outside_radius_mm",),
}
OPTIONS = {"--ease-outside": ("--ease-outside",)}


def get(table, key):
    """The value under whichever spelling of the key is there; KeyError where none is."""
    for k in KEYS.get(key, (key,)):
        if k in table:
            return table[k]
    raise KeyError(key)


def is_key(word, key):
    return word in KEYS[key]
