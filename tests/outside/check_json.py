"""Documents against the committed JSON Schema, by an outside library.

check_json.py FILE...: each file must be a valid NAME.json. Then each is spoilt in several ways and must be refused.
"""
import copy
import json
import sys
from pathlib import Path

from jsonschema import Draft202012Validator

SCHEMA = json.loads((Path(__file__).parents[2] / "shared/letin.schema.json").read_text())
Draft202012Validator.check_schema(SCHEMA)
# The document alone, so that a message names the wrong key and not only "none of the answers".
VALID = Draft202012Validator({"$ref": "#/$defs/Document", "$defs": SCHEMA["$defs"]})

SPOILT = {
    "no steps": lambda d: d.pop("steps"),
    "a number as text": lambda d: d["tools"].update(gap_mm="0.05"),
    "an unknown turn": lambda d: [p.update(turn="around") for p in d["panels"]],
    "a box of three numbers": lambda d: [o["bounds_mm"].pop() for o in d["outlines"]],
    "a finding without a code": lambda d: [f.pop("code") for f in d["findings"]],
}

wrong = 0
for name in sys.argv[1:]:
    document = json.loads(Path(name).read_text())
    for error in VALID.iter_errors(document):
        print(f"{name}: {error.json_path}: {error.message}")
        wrong += 1
    for what, spoil in SPOILT.items():
        other = copy.deepcopy(document)
        spoil(other)
        if other != document and VALID.is_valid(other):
            print(f"{name}: valid despite {what}")
            wrong += 1
print(f"{len(sys.argv) - 1} documents, {wrong} wrong")
sys.exit(wrong > 0 or len(sys.argv) < 2)
