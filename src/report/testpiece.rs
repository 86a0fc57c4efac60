//! What the test piece's maker needs to know: the sheet, the document, and what came of the readings.
//!
//! In: sizes in mm. Out: text and JSON. Nothing here works anything out.

use super::json::{Number, SCHEMA, TOOL, Tool as Program, with_line_end};
use crate::geom::Point;
use crate::kit::Pair;
use crate::kit::testpiece::Found;
use crate::units::{INCH, decimal_inch, mm_and_inch};
use serde::Serialize;
use std::collections::BTreeMap;

/// One opening of the test piece.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    pub id: String,
    /// `round` or `square`.
    pub shape: &'static str,
    /// Diameter or side.
    pub size: f64,
    /// Its middle, on face 1.
    pub at: Point,
}

/// All that the sheet tells.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// As the tools are called.
    pub called: Pair,
    /// Widths of recess and inlay that are expected.
    pub expected: (f64, f64),
    /// Size of both openings.
    pub opening: f64,
    /// Width and height of the panel.
    pub panel: (f64, f64),
    pub pieces: Vec<Piece>,
}

impl Sheet {
    /// The words to an opening on the plan.
    #[must_use]
    pub fn words(&self, shape: &str) -> Vec<String> {
        let size = if shape == "round" {
            format!("diameter {:.2} mm", self.opening)
        } else {
            format!("{0:.2} x {0:.2} mm", self.opening)
        };
        vec![
            "for recess and inlay".to_owned(),
            format!("bush {} mm, cutter {} mm", self.called.bush, self.called.cutter),
            size,
        ]
    }
}

/// The sheet, as text for a terminal or a printer.
#[must_use]
pub fn sheet(s: &Sheet) -> String {
    let (recess, inlay) = s.expected;
    let places: String = s
        .pieces
        .iter()
        .map(|p| {
            let b = (p.at.x - p.size / 2.0, p.at.y - p.size / 2.0);
            format!(
                "   {}, {}: it must read {:.2} wide and {:.2} high, its lower left at ({:.2}, {:.2})\n",
                p.id, p.shape, p.size, p.size, b.0, b.1
            )
        })
        .collect();
    format!(
        "Test piece for the bush called {} and the cutter called {}\n\
         \n\
         What it is for: a template never tells bush from cutter by one cut. A recess and an inlay routed through the\n\
         same opening do: the inlay is smaller than the recess by twice the cutter, whatever the bush is.\n\
         \n\
         On the machine: panel {:.2} x {:.2} mm, cut inside the line.\n{places}\
         \n\
         At the bench, with one pair of tools and the router unplugged while they are changed:\n\
         1. Measure the openings on the template: {:.2} is drawn.\n\
         2. In sheet material as thick as a recess is deep, rout each opening's recess right round, press outward.\n\
         3. In other sheet material, rout right through along the opening's edge: the piece that falls out is the inlay.\n\
         \x20  Hold it with tape before the cut.\n\
         4. Measure each across its width, the round ones two ways, with calipers.\n\
         \x20  Expected by the sizes believed now: recess {recess:.2} mm, inlay {inlay:.2} mm ({}, {}).\n\
         5. Enter each pair of readings, recess x inlay; several are averaged:\n\
         \x20  letin testpiece --bush {} --cutter {} --opening {:.2} --measured {recess:.2}x{inlay:.2}\n\
         \x20  (with calipers in inches: --measured {:.4}x{})\n\
         \n\
         Then the kit holds what was measured, and letin works with that.\n",
        mm_and_inch(s.called.bush),
        mm_and_inch(s.called.cutter),
        s.panel.0,
        s.panel.1,
        s.opening,
        decimal_inch(recess),
        decimal_inch(inlay),
        s.called.bush,
        s.called.cutter,
        s.opening,
        recess / INCH,
        decimal_inch(inlay).replace(' ', ""),
    )
}

#[derive(Serialize)]
struct Document<'a> {
    schema: u32,
    tool: Program,
    testpiece: Body,
    files: Vec<&'a str>,
    hashes: BTreeMap<&'a str, &'a str>,
}

#[derive(Serialize)]
struct Body {
    bush_mm: Number,
    cutter_mm: Number,
    opening_mm: Number,
    recess_expected_mm: Number,
    inlay_expected_mm: Number,
    panel_size_mm: [Number; 2],
    openings: Vec<OpeningPart>,
}

#[derive(Serialize)]
struct OpeningPart {
    id: String,
    shape: &'static str,
    size_mm: Number,
    middle_mm: [Number; 2],
}

/// The document; `files`: names and hashes.
///
/// # Errors
/// Only what `serde_json` itself cannot write.
pub fn document(s: &Sheet, files: &[(&str, &str)]) -> Result<Vec<u8>, serde_json::Error> {
    let part = |p: &Piece| OpeningPart {
        id: p.id.clone(),
        shape: p.shape,
        size_mm: Number(p.size),
        middle_mm: [Number(p.at.x), Number(p.at.y)],
    };
    let document = Document {
        schema: SCHEMA,
        tool: TOOL,
        testpiece: Body {
            bush_mm: Number(s.called.bush),
            cutter_mm: Number(s.called.cutter),
            opening_mm: Number(s.opening),
            recess_expected_mm: Number(s.expected.0),
            inlay_expected_mm: Number(s.expected.1),
            panel_size_mm: [Number(s.panel.0), Number(s.panel.1)],
            openings: s.pieces.iter().map(part).collect(),
        },
        files: files.iter().map(|f| f.0).collect(),
        hashes: files.iter().copied().collect(),
    };
    Ok(with_line_end(serde_json::to_vec_pretty(&document)?))
}

/// What the readings gave, beside what was believed before. `kit`: where it is written, in words.
#[must_use]
pub fn correction(called: Pair, before: Pair, found: &Found, kit: &str) -> String {
    let line = |what, called: f64, before: f64, after: f64| {
        format!("  {what} called {}: before {before:.3} mm, now {after:.3} mm\n", mm_and_inch(called))
    };
    format!(
        "What the test piece says\n{}{}{kit}\n",
        line("bush", called.bush, before.bush, found.bush),
        line("cutter", called.cutter, before.cutter, found.cutter)
    )
}

/// The same for programs.
///
/// # Errors
/// As [`document`].
pub fn correction_json(
    called: Pair,
    before: Pair,
    found: &Found,
    kit: Option<&str>,
) -> Result<Vec<u8>, serde_json::Error> {
    let pair = |p: Pair| serde_json::json!({"bush_mm": Number(p.bush), "cutter_mm": Number(p.cutter)});
    let after = Pair { bush: found.bush, cutter: found.cutter };
    let document = serde_json::json!({
        "schema": SCHEMA, "tool": TOOL, "called": pair(called), "before": pair(before), "after": pair(after),
        "spread_mm": Number(found.spread), "kit": kit,
    });
    Ok(with_line_end(serde_json::to_vec_pretty(&document)?))
}
