//! A face as DXF for the machine.
//!
//! Out: an ASCII file in mm or inches. Release 2000 (AC1015) has the full skeleton that strict readers require; release
//! 12 (AC1009) is for old machines. Openings are closed LWPOLYLINEs (release 12: POLYLINEs) with bulges, or CIRCLEs.
//! Edges are single LINEs. Nothing else. All numbers have full digits: with a truncated bulge, one reader inverts a
//! corner.
//!
//! The same face gives the same bytes: handles are counted, and there are no dates. Release 12 has no header variable
//! for the unit; the file states it where later readers look, and in a comment. Source: the published DXF Reference,
//! releases 2000 and 12.

mod skeleton;

use super::sheet::{Layer, Sheet};
use super::{FileUnit, WriteError};
use crate::geom::{Point, Segment};
use crate::panel::Face;
pub use crate::schema::Release;
use crate::shape::{Drawing, Outline};
use crate::text::{NotFinite, halves, real};
use skeleton::{MODEL_SPACE, Pairs};
use std::f64::consts::TAU;

/// `$INSUNITS` and `$MEASUREMENT`.
fn codes(unit: FileUnit) -> (&'static str, &'static str) {
    match unit {
        FileUnit::Mm => ("4", "1"),
        FileUnit::Inch => ("1", "0"),
    }
}

/// Colour index of every layer, near the colour of the SVG files. Layer names alone give the duty of a line.
const COLOUR: &str = "226";

/// The DXF file of a face.
///
/// # Errors
/// [`WriteError`] if an opening extends past the panel or does not close, or if a number is not finite.
pub fn face(face: &Face, unit: FileUnit, release: Release) -> Result<Vec<u8>, WriteError> {
    let sheet = Sheet::from_face(face)?;
    let mut ink = Ink { out: Pairs::starting_at(skeleton::FIRST_FREE_HANDLE), unit, release };
    for l in &sheet.loops {
        match l.ring.as_circle() {
            Some((center, radius)) => ink.circle(l.layer, center, radius)?,
            None => ink.polyline(l.layer, &l.edges())?,
        }
    }
    for &(layer, a, b) in &sheet.edges {
        ink.line(layer, a, b)?;
    }
    let layers: Vec<_> = sheet.layers.iter().map(|&l| (l.name(), COLOUR)).collect();
    let size = [real(unit.number(sheet.width))?, real(unit.number(sheet.height))?];
    let text = match release {
        Release::R2000 => skeleton::file(&layers, codes(unit), &size, ink.out),
        Release::R12 => skeleton::r12(&layers, (unit.name(), codes(unit)), &size, ink.out),
    };
    Ok(text.into_bytes())
}

/// A plain drawing in release 2000, in mm: closed LWPOLYLINEs, CIRCLEs and ELLIPSEs on the layer `OUTLINE`.
///
/// # Errors
/// [`WriteError::NotFinite`].
pub fn outlines(drawing: &Drawing) -> Result<Vec<u8>, WriteError> {
    let (unit, release) = (FileUnit::Mm, Release::R2000);
    let mut ink = Ink { out: Pairs::starting_at(skeleton::FIRST_FREE_HANDLE), unit, release };
    let layer = Layer::Outline;
    for (_, outline) in &drawing.outlines {
        match outline {
            Outline::Ring(ring) => match ring.as_circle() {
                Some((center, radius)) => ink.circle(layer, center, radius)?,
                None => ink.polyline(layer, &halves(ring))?,
            },
            Outline::Ellipse { center, rx, ry } => ink.ellipse(layer, *center, *rx, *ry)?,
        }
    }
    let size = [real(drawing.width)?, real(drawing.height)?];
    Ok(skeleton::file(&[(layer.name(), COLOUR)], codes(unit), &size, ink.out).into_bytes())
}

/// A growing list of entities.
struct Ink {
    out: Pairs,
    unit: FileUnit,
    release: Release,
}

impl Ink {
    /// Begins an entity. Release 12 has neither owners nor classes, and needs no handles.
    fn entity(&mut self, kind: &str, layer: Layer, class: &str) {
        self.out.pair(0, kind);
        if self.release == Release::R12 {
            self.out.pair(8, layer.name());
            return;
        }
        self.out.next_handle();
        self.out.pair(330, MODEL_SPACE).pair(100, "AcDbEntity").pair(8, layer.name()).pair(100, class);
    }

    fn point(&mut self, code: u16, p: Point) -> Result<(), NotFinite> {
        self.out.pair(code, &real(self.unit.number(p.x))?).pair(code + 10, &real(self.unit.number(p.y))?);
        Ok(())
    }

    fn circle(&mut self, layer: Layer, center: Point, radius: f64) -> Result<(), NotFinite> {
        self.entity("CIRCLE", layer, "AcDbCircle");
        self.point(10, center)?;
        self.out.pair(30, "0.0").pair(40, &real(self.unit.number(radius))?);
        Ok(())
    }

    /// A whole ellipse with axes along x and y; only in release 2000, because release 12 has no such entity. The DXF
    /// Reference: group 11 is the end of the major half axis relative to the centre. Group 40 is the ratio of minor to
    /// major axis; 41 and 42 are the start and end parameters.
    fn ellipse(&mut self, layer: Layer, center: Point, rx: f64, ry: f64) -> Result<(), NotFinite> {
        self.entity("ELLIPSE", layer, "AcDbEllipse");
        self.point(10, center)?;
        self.out.pair(30, "0.0");
        let (major, ratio) = if rx >= ry { (Point::new(rx, 0.0), ry / rx) } else { (Point::new(0.0, ry), rx / ry) };
        self.point(11, major)?;
        self.out.pair(31, "0.0").pair(210, "0.0").pair(220, "0.0").pair(230, "1.0");
        self.out.pair(40, &real(ratio)?).pair(41, "0.0").pair(42, &real(TAU)?);
        Ok(())
    }

    fn polyline(&mut self, layer: Layer, edges: &[Segment]) -> Result<(), NotFinite> {
        let old = self.release == Release::R12;
        if old {
            self.entity("POLYLINE", layer, "");
            // 66: vertices follow. 70, flag 1: closed.
            self.out.pair(66, "1").pair(10, "0.0").pair(20, "0.0").pair(30, "0.0").pair(70, "1");
        } else {
            self.entity("LWPOLYLINE", layer, "AcDbPolyline");
            // 43: the line has no width.
            self.out.pair(90, &edges.len().to_string()).pair(70, "1").pair(43, "0.0");
        }
        for e in edges {
            if old {
                self.entity("VERTEX", layer, "");
            }
            self.point(10, e.start())?;
            if old {
                self.out.pair(30, "0.0");
            }
            if let Segment::Arc(a) = e {
                self.out.pair(42, &real(a.bulge())?);
            }
        }
        if old {
            self.entity("SEQEND", layer, "");
        }
        Ok(())
    }

    fn line(&mut self, layer: Layer, a: Point, b: Point) -> Result<(), NotFinite> {
        self.entity("LINE", layer, "AcDbLine");
        self.point(10, a)?;
        self.out.pair(30, "0.0");
        self.point(11, b)?;
        self.out.pair(31, "0.0");
        Ok(())
    }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::geom::{Affine, Certified, Region, Ring};
    use crate::panel::{Edges, Opening, Panel, Setup, Turn};
    use crate::template::Duty;

    pub(in crate::write) fn panel() -> Panel {
        let (turn, setup) = (Turn::LeftRight, Setup::Two);
        Panel { number: 1, width: 400.0, height: 240.0, turn, setup, edges: Edges::turned_over(turn) }
    }

    pub(in crate::write) fn opening(region: Region, place: Affine) -> Opening {
        let region = Certified::for_test(region);
        Opening {
            id: "opening-1".into(),
            outline: 1,
            duty: Duty::Recess,
            panel: 1,
            face: 1,
            offset: 7.0,
            region,
            place,
        }
    }

    fn pairs(bytes: &[u8]) -> Vec<(u16, String)> {
        let text = std::str::from_utf8(bytes).unwrap();
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(lines.len() % 2, 0);
        lines.chunks(2).map(|c| (c[0].trim().parse().unwrap(), c[1].to_string())).collect()
    }

    /// (0,0)→(60,0) with bulge 1/3: Autodesk, DXF Reference, VERTEX, group 42 (tangent of a quarter of the
    /// sweep).
    #[test]
    fn a_bulge_reads_back_to_the_last_bit() {
        let ring = Ring::new(vec![
            Segment::from_bulge(Point::new(0.0, 0.0), Point::new(60.0, 0.0), 1.0 / 3.0),
            Segment::line(Point::new(60.0, 0.0), Point::new(30.0, 50.0)),
            Segment::line(Point::new(30.0, 50.0), Point::new(0.0, 0.0)),
        ]);
        let p = panel();
        let o = opening(Region::new(vec![ring]), Affine::translate((100.0, 100.0)));
        let bulge = match &o.on_face().rings[0].segments[0] {
            Segment::Arc(a) => a.bulge(),
            Segment::Line(_) => panic!("an arc was put in"),
        };
        assert!((bulge - 1.0 / 3.0).abs() < 1e-12);
        let f = pairs(
            &super::face(&Face { panel: &p, face: 1, openings: vec![&o] }, FileUnit::Mm, Release::R2000).unwrap(),
        );
        let at = f.iter().position(|p| p.1 == "LWPOLYLINE").unwrap();
        let written: Vec<f64> = f[at..].iter().filter(|p| p.0 == 42).map(|p| p.1.parse().unwrap()).collect();
        assert_eq!(written, [bulge]);
        assert!(f[at..].iter().any(|p| p.0 == 90 && p.1 == "3"));
    }

    #[test]
    fn handles_are_each_used_once_and_below_the_seed() {
        let p = panel();
        let o = opening(Region::new(vec![Ring::circle(Point::new(0.0, 0.0), 15.0)]), Affine::translate((120.0, 100.0)));
        let bytes =
            super::face(&Face { panel: &p, face: 1, openings: vec![&o] }, FileUnit::Mm, Release::R2000).unwrap();
        assert_eq!(
            bytes,
            super::face(&Face { panel: &p, face: 1, openings: vec![&o] }, FileUnit::Mm, Release::R2000).unwrap()
        );
        let f = pairs(&bytes);
        let seed_at = f.iter().position(|p| p.1 == "$HANDSEED").unwrap() + 1;
        let hex = |s: &str| u32::from_str_radix(s, 16).unwrap();
        let seed = hex(&f[seed_at].1);
        // 105 is the handle of a DIMSTYLE.
        let mut handles: Vec<u32> =
            f[seed_at + 1..].iter().filter(|p| p.0 == 5 || p.0 == 105).map(|p| hex(&p.1)).collect();
        let n = handles.len();
        handles.sort_unstable();
        handles.dedup();
        assert_eq!(handles.len(), n);
        assert!(handles.iter().all(|&h| h > 0 && h < seed));
        let entities: Vec<&str> = f
            .iter()
            .skip_while(|p| p.1 != "ENTITIES")
            .take_while(|p| p.1 != "ENDSEC")
            .filter(|p| p.0 == 0)
            .map(|p| p.1.as_str())
            .collect();
        assert_eq!(entities, ["CIRCLE", "LINE", "LINE", "LINE", "LINE"]);
    }

    #[test]
    fn inches_are_shown_and_written() {
        let p = panel();
        let o = opening(Region::new(vec![Ring::circle(Point::new(0.0, 0.0), 12.7)]), Affine::translate((127.0, 101.6)));
        let f = pairs(
            &super::face(&Face { panel: &p, face: 1, openings: vec![&o] }, FileUnit::Inch, Release::R2000).unwrap(),
        );
        let after = |name: &str| f[f.iter().position(|p| p.1 == name).unwrap() + 1].1.clone();
        assert_eq!(after("$INSUNITS"), "1");
        assert_eq!(after("$MEASUREMENT"), "0");
        let at = f.iter().position(|p| p.1 == "CIRCLE").unwrap();
        let value = |code| f[at..].iter().find(|p| p.0 == code).unwrap().1.parse::<f64>().unwrap();
        assert!((value(10) - 5.0).abs() < 1e-12 && (value(20) - 4.0).abs() < 1e-12 && (value(40) - 0.5).abs() < 1e-12);
    }

    /// The published DXF Reference, release 12: a closed POLYLINE has flag 1. VERTEX entities with the same groups 10,
    /// 20 and 42 follow, and SEQEND ends it. It has no owners of handles (330) and no class markers (100).
    #[test]
    fn release_12_has_vertices_and_no_classes() {
        let p = panel();
        let ring = Ring::new(vec![
            Segment::from_bulge(Point::new(0.0, 0.0), Point::new(60.0, 0.0), 1.0 / 3.0),
            Segment::line(Point::new(60.0, 0.0), Point::new(30.0, 50.0)),
            Segment::line(Point::new(30.0, 50.0), Point::new(0.0, 0.0)),
        ]);
        let o = opening(Region::new(vec![ring]), Affine::translate((100.0, 100.0)));
        let one = Face { panel: &p, face: 1, openings: vec![&o] };
        let old = pairs(&super::face(&one, FileUnit::Mm, Release::R12).unwrap());
        let kinds: Vec<&str> = old
            .iter()
            .skip_while(|p| p.1 != "ENTITIES")
            .filter(|p| p.0 == 0)
            .map(|p| p.1.as_str())
            .take_while(|k| *k != "ENDSEC")
            .collect();
        assert_eq!(kinds, ["POLYLINE", "VERTEX", "VERTEX", "VERTEX", "SEQEND", "LINE", "LINE", "LINE", "LINE"]);
        assert!(old.iter().all(|p| p.0 != 100 && p.0 != 330));
        // The unit, where readers look for it, and in words.
        for (unit, code, words) in
            [(FileUnit::Mm, "4", "all lengths in mm"), (FileUnit::Inch, "1", "all lengths in in")]
        {
            let f = pairs(&super::face(&one, unit, Release::R12).unwrap());
            let at = f.iter().position(|p| p.1 == "$INSUNITS").unwrap();
            assert_eq!((f[at + 1].0, f[at + 1].1.as_str(), f[0].0, f[0].1.as_str()), (70, code, 999, words));
        }
        // The same numbers as in release 2000.
        let new = pairs(&super::face(&one, FileUnit::Mm, Release::R2000).unwrap());
        let bulges =
            |f: &[(u16, String)]| f.iter().filter(|p| p.0 == 42 && p.1.starts_with("0.3")).cloned().collect::<Vec<_>>();
        assert_eq!(bulges(&old), bulges(&new));
        assert_eq!(bulges(&old).len(), 1);
    }

    /// Opening 2, at (120, 100) of face 2, is cut from face 1 at W − 120; the panel is a closed line of its own.
    #[test]
    fn in_one_setup_the_other_face_is_mirrored_and_the_panel_cut() {
        let p = Panel { setup: Setup::One, ..panel() };
        let a = opening(Region::new(vec![Ring::circle(Point::ORIGIN, 15.0)]), Affine::translate((110.0, 100.0)));
        let b = Opening {
            face: 2,
            ..opening(Region::new(vec![Ring::circle(Point::ORIGIN, 20.0)]), Affine::translate((120.0, 100.0)))
        };
        let f = pairs(
            &super::face(&Face { panel: &p, face: 1, openings: vec![&a, &b] }, FileUnit::Mm, Release::R2000).unwrap(),
        );
        let at = |n: usize| f.iter().enumerate().filter(|(_, p)| p.1 == "CIRCLE").map(|(i, _)| i).nth(n).unwrap();
        let x = |from: usize| f[from..].iter().find(|p| p.0 == 10).unwrap().1.parse::<f64>().unwrap();
        assert_eq!((x(at(0)), x(at(1))), (110.0, 280.0));
        let entities = &f[f.iter().position(|p| p.1 == "ENTITIES").unwrap()..];
        let layers: std::collections::BTreeSet<&str> =
            entities.iter().filter(|p| p.0 == 8).map(|p| p.1.as_str()).collect();
        assert!(layers.contains("PANEL_CUT_OUTSIDE") && !layers.contains("REFERENCE_EDGE"), "{layers:?}");
    }
}
