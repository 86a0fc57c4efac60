//! The test piece for its maker: the sheet, the JSON document, and the result of the readings.
//!
//! In: sizes, mm. Out: text and JSON. The sums are those of [`crate::kit::testpiece`].

use super::caution::CAUTION;
use super::plan::ruled;
use crate::geom::Point;
use crate::kit::Pair;
use crate::kit::testpiece::Found;
use crate::schema::kit::{Correction, TestOpening, TestPiece, TestPieceSizes};
use crate::schema::{self, Tool, Version};
use crate::text::{Length, Show, Words, fixed, tool};
use crate::units::{INCH, fraction_of_inch};
use crate::words;

/// One opening of the test piece.
#[derive(Clone, Debug, PartialEq)]
pub struct SheetOpening {
    pub id: String,
    /// `round` or `square`.
    pub shape: &'static str,
    /// Diameter or side, mm.
    pub size: f64,
    /// Its middle, face frame of face 1, mm.
    pub at: Point,
}

/// The content of the sheet; lengths in mm.
#[derive(Clone, Debug, PartialEq)]
pub struct TestSheet {
    /// Nominal sizes of the tools.
    pub called: Pair,
    /// The unit of figures for people.
    pub show: Show,
    /// Expected widths of recess and inlay.
    pub expected: (f64, f64),
    /// Size of both openings.
    pub opening: f64,
    /// Width and height of the panel.
    pub panel: (f64, f64),
    pub pieces: Vec<SheetOpening>,
}

/// The unit of figures for people: inches with a kit in inches, or where both tools have inch sizes.
#[must_use]
pub fn shown(kit_in_inches: bool, called: Pair) -> Show {
    let inches = [called.bush, called.cutter].into_iter().all(|d| fraction_of_inch(d).is_some());
    if kit_in_inches || inches { Show::Inch } else { Show::Mm }
}

impl TestSheet {
    /// Words for an opening on the plan.
    #[must_use]
    pub fn opening_label(&self, shape: &str) -> Vec<String> {
        let side = fixed(self.opening);
        let size = if shape == "round" { words!("diameter {}", side) } else { Words::pair(side, side) };
        let tools = words!("bush {}, cutter {}", tool(self.called.bush), tool(self.called.cutter));
        vec!["for recess and inlay".to_owned(), tools.shown(self.show), size.shown(self.show)]
    }
}

/// A tool as an option takes it: `20`, `5/8in`.
fn tool_typed(mm: f64, show: Show) -> String {
    match (show, fraction_of_inch(mm)) {
        (Show::Inch, Some(fraction)) => format!("{}in", fraction.replace(' ', "-")),
        (Show::Inch, None) => format!("{mm}mm"),
        (Show::Mm, _) => mm.to_string(),
    }
}

/// The sheet, as text for a terminal or a printer.
#[must_use]
pub fn sheet(s: &TestSheet) -> String {
    let show = s.show;
    let [recess, inlay] = [s.expected.0, s.expected.1].map(fixed);
    let number = |l: Length| l.number(show);
    let places: String = s
        .pieces
        .iter()
        .map(|p| {
            let size = fixed(p.size);
            let [x, y] = [p.at.x, p.at.y].map(|v| number(fixed(v - p.size / 2.0)));
            let size = Words::pair(size, size).shown(show);
            format!("     {}, {}: {size}, lower-left corner at X {x} Y {y}\n", p.id, p.shape)
        })
        .collect();
    // A unit behind the last number of an option counts for the whole option.
    let unit = if show == Show::Inch { "in" } else { "" };
    format!(
        "Test piece for bush {} and cutter {}\n\
         \n\
         One cut cannot separate the error of the bush from that of the cutter.\n\
         A recess and an inlay from the same opening can: the recess is wider by twice the cutter's diameter.\n\
         \n\
         On the machine\n\
         \x20 Panel {} wide, {} high. Cut inside the line.\n\
         \x20 Check in your CAM program:\n{places}\
         \n\
         At the bench, with one pair of tools. Unplug the router while you change them.\n\
         1. Measure the openings in the template. Their size in the drawing is {}.\n\
         2. Through each opening rout right through a sheet as thick as your recess is deep.\n\
         \x20  The hole is the recess. Follow the whole edge and press outward.\n\
         3. Tape other sheet material down and rout through it along each opening's edge.\n\
         \x20  The piece that comes free is the inlay.\n\
         4. Measure the width of each piece with calipers, round pieces two ways.\n\
         \x20  Expected with the sizes that letin uses now: recess {}, inlay {}.\n\
         5. Enter each pair of readings, recess x inlay. Several pairs are averaged:\n\
         \x20  letin testpiece --bush {} --cutter {} --opening {}{unit} --measured {}x{}{unit}\n\
         \n\
         Your kit then holds the measured sizes, and letin works with them.\n\
         \n\
         {}\n{}\n",
        tool(s.called.bush).shown(show),
        tool(s.called.cutter).shown(show),
        ruled(s.panel.0).shown(show),
        ruled(s.panel.1).shown(show),
        fixed(s.opening).shown(show),
        recess.shown(show),
        inlay.shown(show),
        tool_typed(s.called.bush, show),
        tool_typed(s.called.cutter, show),
        number(fixed(s.opening)),
        number(recess),
        number(inlay),
        CAUTION[0],
        CAUTION[1],
    )
}

/// The JSON document. `files`: names and hashes.
///
/// # Errors
/// The errors of `serde_json`.
pub fn document(s: &TestSheet, files: &[(&str, &str)]) -> Result<Vec<u8>, serde_json::Error> {
    let opening = |p: &SheetOpening| TestOpening {
        id: p.id.clone(),
        shape: p.shape.to_owned(),
        size_mm: p.size,
        middle_mm: [p.at.x, p.at.y],
    };
    schema::bytes(&TestPiece {
        schema: Version,
        tool: Tool::own(),
        testpiece: TestPieceSizes {
            bush_mm: s.called.bush,
            cutter_mm: s.called.cutter,
            opening_mm: s.opening,
            recess_expected_mm: s.expected.0,
            inlay_expected_mm: s.expected.1,
            panel_size_mm: s.panel.into(),
            openings: s.pieces.iter().map(opening).collect(),
        },
        files: files.iter().map(|f| f.0.to_owned()).collect(),
        hashes: files.iter().map(|f| (f.0.to_owned(), f.1.to_owned())).collect(),
    })
}

/// A measured diameter: to the micrometre, or to a tenth of a thousandth of an inch.
fn measured(mm: f64, show: Show) -> String {
    match show {
        Show::Mm => format!("{mm:.3} mm"),
        Show::Inch => format!("{:.4} in", mm / INCH),
    }
}

/// The corrected sizes next to the previous ones, mm. `kit`: where the result is written, in words.
#[must_use]
pub fn correction(called: Pair, before: Pair, found: &Found, kit: &str, show: Show) -> String {
    let line = |what, called: f64, before: f64, after: f64| {
        let [before, after] = [before, after].map(|d| measured(d, show));
        format!("  {what} {}: before {before}, now {after}\n", tool(called).shown(show))
    };
    format!(
        "Result of the test piece\n{}{}{kit}\n",
        line("bush", called.bush, before.bush, found.bush),
        line("cutter", called.cutter, before.cutter, found.cutter)
    )
}

/// The result of the readings as JSON.
///
/// # Errors
/// As [`document`].
pub fn correction_json(
    called: Pair,
    before: Pair,
    found: &Found,
    kit: Option<&str>,
) -> Result<Vec<u8>, serde_json::Error> {
    schema::bytes_by_name(&Correction {
        schema: Version,
        tool: Tool::own(),
        called: called.into(),
        before: before.into(),
        after: Pair { bush: found.bush, cutter: found.cutter }.into(),
        spread_mm: found.spread,
        kit: kit.map(str::to_owned),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sample_sheet(bush: f64, cutter: f64, expected: (f64, f64), opening: f64, show: Show) -> TestSheet {
        let piece =
            SheetOpening { id: "opening-1".into(), shape: "round", size: opening, at: Point::new(100.0, 100.0) };
        let called = Pair { bush, cutter };
        TestSheet { called, show, expected, opening, panel: (508.0, 254.0), pieces: vec![piece] }
    }

    #[test]
    fn the_sheet_has_one_unit() {
        let mm = sheet(&sample_sheet(20.0, 6.0, (46.0, 34.0), 60.0, Show::Mm));
        assert!(mm.contains("opening-1, round: 60.00 × 60.00 mm, lower-left corner at X 70.00 Y 70.00\n"), "{mm}");
        assert!(
            mm.contains("--bush 20 --cutter 6 --opening 60.00 --measured 46.00x34.00\n") && !mm.contains("0 in"),
            "{mm}"
        );
        // 63.5 mm is 2.5 in, 50.8 is 2 in, 38.1 is 1.5 in, 100 − 31.75 mm is 2.687 in.
        let inch = sheet(&sample_sheet(15.875, 31.75, (50.8, 38.1), 63.5, Show::Inch));
        for w in [
            "bush 5/8 in and cutter 1 1/4 in\n",
            "2.500 × 2.500 in, lower-left corner at X 2.687 Y 2.687",
            "Panel 20.00 in (20) wide",
            "--bush 5/8in --cutter 1-1/4in --opening 2.500in --measured 2.000x1.500in",
        ] {
            assert!(inch.contains(w), "{w}: {inch}");
        }
        assert!(!inch.contains("mm"), "{inch}");
        assert!(mm.lines().chain(inch.lines()).all(|l| l.chars().count() <= 100), "{mm}{inch}");
    }

    #[test]
    fn inch_tools_are_shown_in_inches() {
        assert_eq!(shown(false, Pair { bush: 15.875, cutter: 6.35 }), Show::Inch);
        assert_eq!(shown(false, Pair { bush: 20.0, cutter: 6.35 }), Show::Mm);
        assert_eq!(shown(true, Pair { bush: 20.0, cutter: 6.0 }), Show::Inch);
    }
}
