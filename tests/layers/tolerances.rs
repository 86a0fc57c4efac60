//! Numbers that decide geometry stand in `tolerance`.

use super::paths::{numbers, plain};
use super::sources;

/// The modules that decide geometry.
const DECIDING: [&str; 6] = ["geom", "drawing", "template", "panel", "proof", "check"];

/// Why a constant stands where it is used.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Reason {
    /// A figure of the workshop: tools, hands, wood, panels. Most are common practice.
    Workshop,
    /// A figure of a file format or a unit.
    Format,
    /// It bounds work, not results.
    Work,
    /// It says where samples are taken. A constant named `STEP` needs no entry.
    Sample,
}
use Reason::{Format, Sample, Work, Workshop};

/// The `f64` constants that are no tolerances: file, name, reason.
const ELSEWHERE: [(&str, &str, Reason); 32] = [
    ("check/corner.rs", "LARGEST_SCALE", Workshop),
    ("check/corner.rs", "SMALL_MOVE", Workshop),
    ("check/bush_depth.rs", "ABOVE_WORK", Workshop),
    ("check/narrow.rs", "LARGEST_SCALE", Workshop),
    ("check/outlines.rs", "LARGEST", Workshop),
    ("check/outlines.rs", "SMALLEST", Workshop),
    ("check/outlines.rs", "WIDEST", Workshop),
    ("check/panel.rs", "LEAST_WEB", Workshop),
    ("check/base_tips.rs", "MARGIN", Workshop),
    ("check/sharp_point.rs", "SHARP", Workshop),
    ("check/ledge.rs", "LEAST_LEDGE", Workshop),
    ("check/signature.rs", "ROUND", Workshop),
    ("drawing/dxf/size.rs", "SURVEY_FOOT", Format),
    ("drawing/file.rs", "LARGE", Work),
    ("drawing/svg/css/value.rs", "FONT_SIZES", Format),
    ("drawing/svg/size.rs", "FONT_PX", Format),
    ("drawing/svg/stroke.rs", "MOST_DASHES", Work),
    ("geom/certify/structure.rs", "ASIDE", Sample),
    ("panel/clamps.rs", "APART", Workshop),
    ("panel/clamps.rs", "PAD", Workshop),
    ("template/clearing.rs", "OFF_PLUG", Workshop),
    ("template/clearing.rs", "OVERLAP", Workshop),
    ("panel/ground.rs", "BOUNDLESS", Work),
    ("panel/ground.rs", "TURN", Sample),
    ("panel/layout.rs", "CLAMP", Workshop),
    ("panel/registration.rs", "PART", Workshop),
    ("panel/tipping.rs", "BASES", Workshop),
    ("panel/tipping.rs", "BESIDE_BUSH", Workshop),
    ("panel/tipping.rs", "CLEARED", Sample),
    ("panel/tipping.rs", "LARGEST_BASE", Workshop),
    ("panel/tipping.rs", "MOST", Work),
    ("panel/steps.rs", "INTO_SPOIL", Workshop),
];

/// Files where numbers below a thousandth are no tolerances: factors of units.
const SMALL_FACTORS: [&str; 1] = ["drawing/dxf/size.rs"];

/// The names of the `f64` constants in code, arrays of them included.
fn constants(code: &str) -> Vec<String> {
    let code = plain(code);
    let after = code.split("const ").skip(1).chain(code.split("static ").skip(1));
    let named = after.filter_map(|rest| rest.split(['=', '>']).next()?.split_once(':'));
    let is_name = |name: &str| name.chars().all(|c| c.is_ascii_uppercase() || c.is_ascii_digit() || c == '_');
    let of_numbers = named.filter(|(name, kind)| is_name(name) && kind.contains("f64"));
    of_numbers.map(|(name, _)| name.to_owned()).collect()
}

/// The numbers in code above 0 and below a thousandth.
fn small_numbers(code: &str) -> Vec<f64> {
    numbers(&plain(code)).into_iter().filter(|v| *v > 0.0 && *v < 0.001).collect()
}

#[test]
fn tolerances_have_one_home() {
    let mut wrong = Vec::new();
    let mut seen = Vec::new();
    for source in sources().iter().filter(|s| DECIDING.contains(&s.top())) {
        let file = source.file.to_string_lossy().replace('\\', "/");
        for name in constants(&source.code) {
            let known = ELSEWHERE.iter().find(|e| (e.0, e.1) == (&file, &name));
            seen.extend(known);
            if known.is_none() && name != "STEP" {
                wrong.push(format!("{file}: {name}"));
            }
        }
        if !SMALL_FACTORS.contains(&file.as_str()) {
            wrong.extend(small_numbers(&source.code).iter().map(|v| format!("{file}: {v:e}")));
        }
    }
    assert!(wrong.is_empty(), "a tolerance belongs to `tolerance`: {wrong:#?}");
    let gone: Vec<_> = ELSEWHERE.iter().filter(|e| !seen.contains(e)).collect();
    assert!(gone.is_empty(), "listed, but not there: {gone:#?}");
}

#[test]
fn constants_and_small_numbers_are_found() {
    let code = "pub(super) const A: f64 = 1.0; const B: usize = 2;\nconst C: [f64; 2] =\n[3.0, 4.0]; // const D: f64";
    assert_eq!(constants(code), ["A", "C"]);
    assert_eq!(small_numbers("a < 1e-9 && b.0 > 1_e-3 || c == 0.0005 + 2.5e-4 * x1e - 3"), [1e-9, 5e-4, 2.5e-4]);
    assert_eq!(small_numbers("\"1e-9\" 0.0 0..3 1e9 0.01 a.1 // 1e-9"), [0.0; 0]);
}
