//! A face as DXF for the machine.
//!
//! Out: an ASCII file of release 2000 (AC1015) with the full skeleton that strict readers want, in mm or inches.
//! Openings are closed LWPOLYLINEs with bulges or CIRCLEs, edges single LINEs, nothing else. Full digits throughout:
//! a bulge cut short turns a corner inside out in one reader. The same face gives the same bytes: handles are counted,
//! no dates. Source: the published DXF Reference, release 2000.

mod skeleton;

use super::WriteError;
use super::sheet::{Layer, Sheet};
use crate::geom::{Point, Segment};
use crate::template::Face;
use crate::text::{NotFinite, real};
use crate::units::INCH;
use skeleton::{MODEL_SPACE, Pairs};

/// Unit of the numbers in a written file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FileUnit {
    Mm,
    Inch,
}

impl FileUnit {
    /// Millimetres to the file's unit.
    fn of(self, mm: f64) -> f64 {
        match self {
            FileUnit::Mm => mm,
            FileUnit::Inch => mm / INCH,
        }
    }

    /// `$INSUNITS` and `$MEASUREMENT`.
    fn codes(self) -> (&'static str, &'static str) {
        match self {
            FileUnit::Mm => ("4", "1"),
            FileUnit::Inch => ("1", "0"),
        }
    }
}

/// Colour of the layer, AutoCAD colour index.
fn colour(layer: Layer) -> &'static str {
    match layer {
        Layer::OpeningCutInside => "7",
        Layer::ReferenceEdge => "5",
        Layer::FreeEdge => "8",
    }
}

/// The DXF file of a face.
///
/// # Errors
/// [`WriteError`] where an opening does not lie on the panel, does not close, or is not made of finite numbers.
pub fn face(face: &Face, unit: FileUnit) -> Result<Vec<u8>, WriteError> {
    let sheet = Sheet::of(face)?;
    let mut entities = Pairs::starting_at(skeleton::FIRST_FREE_HANDLE);
    for l in &sheet.loops {
        match l.ring.as_circle() {
            Some((center, radius)) => circle(&mut entities, center, radius, unit)?,
            None => polyline(&mut entities, &l.edges(), unit)?,
        }
    }
    for &(layer, a, b) in &sheet.edges {
        line(&mut entities, layer, a, b, unit)?;
    }
    let layers = Layer::ALL.map(|l| (l.name(), colour(l)));
    let size = [real(unit.of(sheet.width))?, real(unit.of(sheet.height))?];
    Ok(skeleton::file(&layers, unit.codes(), &size, entities).into_bytes())
}

fn entity(out: &mut Pairs, kind: &str, layer: Layer, subclass: &str) {
    out.pair(0, kind);
    out.next_handle();
    out.pair(330, MODEL_SPACE).pair(100, "AcDbEntity").pair(8, layer.name()).pair(100, subclass);
}

fn point(out: &mut Pairs, code: u16, p: Point, unit: FileUnit) -> Result<(), NotFinite> {
    out.pair(code, &real(unit.of(p.x))?).pair(code + 10, &real(unit.of(p.y))?);
    Ok(())
}

fn circle(out: &mut Pairs, center: Point, radius: f64, unit: FileUnit) -> Result<(), NotFinite> {
    entity(out, "CIRCLE", Layer::OpeningCutInside, "AcDbCircle");
    point(out, 10, center, unit)?;
    out.pair(30, "0.0").pair(40, &real(unit.of(radius))?);
    Ok(())
}

fn polyline(out: &mut Pairs, edges: &[Segment], unit: FileUnit) -> Result<(), NotFinite> {
    entity(out, "LWPOLYLINE", Layer::OpeningCutInside, "AcDbPolyline");
    // 70, flag 1: closed. 43: the line has no width.
    out.pair(90, &edges.len().to_string()).pair(70, "1").pair(43, "0.0");
    for e in edges {
        point(out, 10, e.start(), unit)?;
        if let Segment::Arc(a) = e {
            out.pair(42, &real(a.bulge())?);
        }
    }
    Ok(())
}

fn line(out: &mut Pairs, layer: Layer, a: Point, b: Point, unit: FileUnit) -> Result<(), NotFinite> {
    entity(out, "LINE", layer, "AcDbLine");
    point(out, 10, a, unit)?;
    out.pair(30, "0.0");
    point(out, 11, b, unit)?;
    out.pair(31, "0.0");
    Ok(())
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::geom::{Affine, Certified, Region, Ring};
    use crate::template::{Duty, Edges, Opening, Panel, Setup, Turn};

    pub(in crate::write) fn panel() -> Panel {
        let (turn, setup) = (Turn::LeftRight, Setup::Two);
        Panel { number: 1, width: 400.0, height: 240.0, turn, setup, edges: Edges::of(turn) }
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

    /// (0,0)→(60,0) with bulge 1/3: the published DXF Reference, LWPOLYLINE group 42 (tangent of a quarter of the sweep).
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
        let f = pairs(&super::face(&Face { panel: &p, face: 1, openings: vec![&o] }, FileUnit::Mm).unwrap());
        let at = f.iter().position(|p| p.1 == "LWPOLYLINE").unwrap();
        let written: Vec<f64> = f[at..].iter().filter(|p| p.0 == 42).map(|p| p.1.parse().unwrap()).collect();
        assert_eq!(written, [bulge]);
        assert!(f[at..].iter().any(|p| p.0 == 90 && p.1 == "3"));
    }

    #[test]
    fn handles_are_each_used_once_and_below_the_seed() {
        let p = panel();
        let o = opening(Region::new(vec![Ring::circle(Point::new(0.0, 0.0), 15.0)]), Affine::translate((120.0, 100.0)));
        let bytes = super::face(&Face { panel: &p, face: 1, openings: vec![&o] }, FileUnit::Mm).unwrap();
        assert_eq!(bytes, super::face(&Face { panel: &p, face: 1, openings: vec![&o] }, FileUnit::Mm).unwrap());
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
    fn inches_are_told_and_written() {
        let p = panel();
        let o = opening(Region::new(vec![Ring::circle(Point::new(0.0, 0.0), 12.7)]), Affine::translate((127.0, 101.6)));
        let f = pairs(&super::face(&Face { panel: &p, face: 1, openings: vec![&o] }, FileUnit::Inch).unwrap());
        let after = |name: &str| f[f.iter().position(|p| p.1 == name).unwrap() + 1].1.clone();
        assert_eq!(after("$INSUNITS"), "1");
        assert_eq!(after("$MEASUREMENT"), "0");
        let at = f.iter().position(|p| p.1 == "CIRCLE").unwrap();
        let value = |code| f[at..].iter().find(|p| p.0 == code).unwrap().1.parse::<f64>().unwrap();
        assert!((value(10) - 5.0).abs() < 1e-12 && (value(20) - 4.0).abs() < 1e-12 && (value(40) - 0.5).abs() < 1e-12);
    }
}
