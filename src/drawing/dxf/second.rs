//! Compares the reading with that of a second reader, the crate `dxf`.
//!
//! In: the bytes and the entities that were read from them. Out: messages on differences. Only entities of the model
//! space that were read are compared. For each kind the comparison covers their number, the box of their defining
//! points and the range of their other numbers (radii, angles, bulges). Units, planes, blocks and layers are not
//! compared.
//!
//! The crate gets a clean ASCII file with one header variable and the entities alone. It refuses whole files for a
//! header variable, a missing ENDSEC or a decimal comma. It panics on far-off dates, and deeply nested extended data
//! overflow its stack. None of this concerns the outline. Its memory grows to thirty times the file's size, so files
//! above [`LARGEST`] are read once only, with a message.

use super::entity::{Entity, Geometry};
use super::pairs::{CodePairs, Record, Records, Value};
use super::scan::File;
use crate::tolerance::ROUNDING;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::panic::{AssertUnwindSafe, catch_unwind};

/// Size of the largest file that is read twice, bytes.
pub const LARGEST: usize = 8 << 20;

/// The numbers of one kind of entity.
#[derive(Clone, Debug, Default)]
struct EntityTally {
    count: usize,
    /// Least and greatest x, y and other numbers, in this order.
    range: [Option<(f64, f64)>; 3],
}

impl EntityTally {
    fn note(&mut self, i: usize, v: f64) {
        let (lo, hi) = self.range[i].unwrap_or((v, v));
        self.range[i] = Some((lo.min(v), hi.max(v)));
    }

    fn point(&mut self, x: f64, y: f64) {
        self.note(0, x);
        self.note(1, y);
    }

    fn agrees(&self, other: &EntityTally) -> bool {
        let near = |a: f64, b: f64| (a - b).abs() <= ROUNDING * (1.0 + a.abs().max(b.abs()));
        self.count == other.count
            && self.range.iter().zip(&other.range).all(|pair| match pair {
                (Some(a), Some(b)) => near(a.0, b.0) && near(a.1, b.1),
                (None, None) => true,
                _ => false,
            })
    }

    fn describe(&self) -> String {
        let r = |i: usize| self.range[i].map_or("nothing".to_owned(), |(a, b)| format!("{a} to {b}"));
        format!("{} of them, x {}, y {}, other numbers {}", self.count, r(0), r(1), r(2))
    }
}

type Tallies = BTreeMap<&'static str, EntityTally>;

/// True for an entity that the crate is known to misread. The difference is then no fault of the drawing.
fn known_fault(e: &Entity) -> bool {
    match &e.geometry {
        // It reads row and column counts as 16-bit numbers and refuses larger ones.
        Geometry::Insert(i) => i.rows > 32_767 || i.columns > 32_767,
        // It ignores HATCH.
        Geometry::Hatch(_) => true,
        // It returns fit points unchanged; only this reader makes a curve of them.
        Geometry::Spline(s) => s.through,
        _ => false,
    }
}

/// Messages on the differences between the readers; empty if they agree.
pub fn doubts(bytes: &[u8], file: &File) -> Vec<String> {
    if bytes.len() > LARGEST {
        return vec![format!("not read a second time: the file is larger than {} MB", LARGEST >> 20)];
    }
    let compared = |e: &&Entity| !e.paper && !matches!(e.geometry, Geometry::Left { .. }) && !known_fault(e);
    let chosen: Vec<&Entity> = file.entities.iter().filter(compared).collect();
    if chosen.is_empty() {
        return Vec::new();
    }
    let Some(clean) = clean(bytes, &chosen) else {
        return vec!["the second reader was not used: the file did not read the same twice".to_owned()];
    };
    let read = catch_unwind(AssertUnwindSafe(|| dxf::Drawing::load(&mut clean.as_bytes())));
    let theirs = match read {
        Ok(Ok(d)) => their_tallies(&d),
        Ok(Err(e)) => return vec![format!("the second reader refuses the file: {e}")],
        Err(_) => return vec!["the second reader failed on the file".to_owned()],
    };
    let ours = our_tallies(&chosen);
    let mut kinds: Vec<&str> = ours.keys().chain(theirs.keys()).copied().collect();
    kinds.sort_unstable();
    kinds.dedup();
    let empty = EntityTally::default();
    let both = |k: &str| (ours.get(k).unwrap_or(&empty), theirs.get(k).unwrap_or(&empty));
    kinds
        .into_iter()
        .map(|k| (k, both(k)))
        .filter(|(_, (a, b))| !a.agrees(b))
        .map(|(k, (a, b))| format!("{k}: read {}; the second reader sees {}", a.describe(), b.describe()))
        .collect()
}

fn our_tallies(chosen: &[&Entity]) -> Tallies {
    let mut out = Tallies::new();
    for e in chosen {
        let kind = match &e.geometry {
            Geometry::Line { .. } => "LINE",
            Geometry::Arc { .. } => "ARC",
            Geometry::Circle { .. } => "CIRCLE",
            Geometry::Polyline { .. } if e.kind == "POLYLINE" => "POLYLINE",
            Geometry::Polyline { .. } => "LWPOLYLINE",
            Geometry::Ellipse { .. } => "ELLIPSE",
            Geometry::Insert(_) => "INSERT",
            Geometry::Spline(_) => "SPLINE",
            Geometry::Hatch(_) | Geometry::Left { .. } => continue,
        };
        let t = out.entry(kind).or_default();
        t.count += 1;
        match &e.geometry {
            Geometry::Line { ends } => ends.iter().for_each(|p| t.point(p[0], p[1])),
            Geometry::Arc { center, radius, from, to } => {
                t.point(center[0], center[1]);
                [radius, from, to].into_iter().for_each(|v| t.note(2, *v));
            }
            Geometry::Circle { center, radius } => {
                t.point(center[0], center[1]);
                t.note(2, *radius);
            }
            Geometry::Polyline { vertices, closed } => {
                t.note(2, f64::from(u8::from(*closed)));
                for v in vertices {
                    t.point(v.x, v.y);
                    t.note(2, v.bulge);
                }
            }
            Geometry::Ellipse { center, major, ratio, from, to } => {
                t.point(center[0], center[1]);
                t.point(major[0], major[1]);
                [ratio, from, to].into_iter().for_each(|v| t.note(2, *v));
            }
            Geometry::Insert(i) => {
                t.point(i.at[0], i.at[1]);
                [i.scale[0], i.scale[1], i.turn].into_iter().for_each(|v| t.note(2, v));
            }
            Geometry::Spline(s) => {
                s.points.iter().for_each(|p| t.point(p[0], p[1]));
                s.knots.iter().chain(&s.weights).for_each(|&v| t.note(2, v));
            }
            Geometry::Hatch(_) | Geometry::Left { .. } => {}
        }
    }
    out
}

fn their_tallies(d: &dxf::Drawing) -> Tallies {
    use dxf::entities::EntityType as E;
    let mut out = Tallies::new();
    for e in d.entities() {
        let kind = match &e.specific {
            E::Line(_) => "LINE",
            E::Arc(_) => "ARC",
            E::Circle(_) => "CIRCLE",
            E::Polyline(_) => "POLYLINE",
            E::LwPolyline(_) => "LWPOLYLINE",
            E::Ellipse(_) => "ELLIPSE",
            E::Insert(_) => "INSERT",
            E::Spline(_) => "SPLINE",
            _ => "other",
        };
        let t = out.entry(kind).or_default();
        t.count += 1;
        match &e.specific {
            E::Line(l) => [&l.p1, &l.p2].into_iter().for_each(|p| t.point(p.x, p.y)),
            E::Arc(a) => {
                t.point(a.center.x, a.center.y);
                [a.radius, a.start_angle, a.end_angle].into_iter().for_each(|v| t.note(2, v));
            }
            E::Circle(c) => {
                t.point(c.center.x, c.center.y);
                t.note(2, c.radius);
            }
            E::LwPolyline(p) => {
                t.note(2, f64::from(u8::from(p.flags & 1 != 0)));
                for v in &p.vertices {
                    t.point(v.x, v.y);
                    t.note(2, v.bulge);
                }
            }
            E::Polyline(p) => {
                t.note(2, f64::from(u8::from(p.flags & 1 != 0)));
                for v in p.vertices().filter(|v| v.flags & 16 == 0) {
                    t.point(v.location.x, v.location.y);
                    t.note(2, v.bulge);
                }
            }
            E::Ellipse(l) => {
                t.point(l.center.x, l.center.y);
                t.point(l.major_axis.x, l.major_axis.y);
                [l.minor_axis_ratio, l.start_parameter, l.end_parameter].into_iter().for_each(|v| t.note(2, v));
            }
            E::Spline(s) => {
                s.control_points.iter().for_each(|p| t.point(p.x, p.y));
                s.knot_values.iter().chain(&s.weight_values).for_each(|&v| t.note(2, v));
            }
            E::Insert(i) => {
                t.point(i.location.x, i.location.y);
                [i.x_scale_factor, i.y_scale_factor, i.rotation].into_iter().for_each(|v| t.note(2, v));
            }
            _ => {}
        }
    }
    out
}

/// A file that holds only the chosen entities.
fn clean(bytes: &[u8], chosen: &[&Entity]) -> Option<String> {
    let mut records = Records::new(CodePairs::open(bytes).ok()?);
    let mut out = String::from("0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1015\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n");
    let mut next = chosen.iter().peekable();
    let mut in_polyline = false;
    while let Some(record) = records.read().ok()? {
        if record.kind.eq_ignore_ascii_case(b"EOF") {
            break;
        }
        if next.peek().is_some_and(|e| e.at == record.at) {
            if in_polyline {
                out.push_str("0\nSEQEND\n");
            }
            in_polyline = record.kind.eq_ignore_ascii_case(b"POLYLINE");
            next.next();
            write(&record, &mut out);
        } else if in_polyline && record.kind.eq_ignore_ascii_case(b"VERTEX") {
            write(&record, &mut out);
        } else if in_polyline {
            out.push_str("0\nSEQEND\n");
            in_polyline = false;
        }
    }
    if in_polyline {
        out.push_str("0\nSEQEND\n");
    }
    out.push_str("0\nENDSEC\n0\nEOF\n");
    next.peek().is_none().then_some(out)
}

/// Writes only the groups that are compared, the numbers of the geometry. Handles, colours and names could only cause
/// errors.
fn write(record: &Record, out: &mut String) {
    let _ = writeln!(out, "0\n{}", String::from_utf8_lossy(record.kind).to_ascii_uppercase());
    let insert = record.kind.eq_ignore_ascii_case(b"INSERT");
    // The crate adds a control point for each group 30, so a spline without them has no control points. Each point gets
    // one group 30 here; heights are not compared.
    let spline = record.kind.eq_ignore_ascii_case(b"SPLINE");
    for p in &record.pairs {
        let number = matches!(p.code, 10 | 11 | 20 | 21 | 30 | 31 | 40..=45 | 50 | 51);
        let whole = matches!(p.code, 70 | 71) || (p.code == 2 && insert);
        let value = match p.value {
            Value::Text(t) if number => String::from_utf8_lossy(t).replacen(',', ".", 1),
            Value::Text(t) => String::from_utf8_lossy(t).into_owned(),
            Value::Real(v) => format!("{v:?}"),
            Value::Int(v) => v.to_string(),
        };
        if (number || whole) && !(spline && p.code == 30) {
            let _ = writeln!(out, "{}\n{value}", p.code);
            if spline && p.code == 20 {
                out.push_str("30\n0\n");
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::{remarks::Notes, scan::scan};
    use super::*;
    use crate::budget::Budget;

    const KINDS: [&str; 7] = [
        "0 LINE 10 0 20 0 11 9 21 4",
        "0 ARC 10 0 20 0 40 3 50 0 51 90",
        "0 CIRCLE 10 0 20 0 40 3",
        "0 LWPOLYLINE 90 2 70 0 10 0 20 0 42 0.5 10 9 20 9",
        "0 POLYLINE 66 1 70 0 0 VERTEX 10 0 20 0 42 0.5 0 VERTEX 10 9 20 9 0 SEQEND",
        "0 ELLIPSE 10 0 20 0 11 5 21 0 40 0.5 41 0 42 3",
        "0 SPLINE 70 8 71 1 72 4 73 2 40 0 40 0 40 1 40 1 10 0 20 0 10 9 20 9",
    ];

    fn text(entities: &str) -> String {
        let lines: String = entities.split_whitespace().map(|w| format!("{w}\n")).collect();
        format!("0\nSECTION\n2\nENTITIES\n{lines}0\nENDSEC\n0\nEOF\n")
    }

    fn scanned(text: &str) -> File {
        scan(text.as_bytes(), &mut Notes::default(), &Budget::unlimited()).unwrap()
    }

    #[test]
    fn agrees_on_every_kind() {
        let all = text(&KINDS.join(" "));
        assert_eq!(doubts(all.as_bytes(), &scanned(&all)), Vec::<String>::new());
    }

    /// The comparison must report any single wrong number. Here the first reader gets the numbers of another file.
    #[test]
    fn tells_a_wrong_number_of_every_kind() {
        for kind in KINDS {
            let right = text(kind);
            let x_changed = text(&kind.replacen(" 10 0 ", " 10 1 ", 1));
            let kind = kind.split(' ').nth(1).unwrap();
            let reported = doubts(right.as_bytes(), &scanned(&x_changed));
            assert!(reported.len() == 1 && reported[0].starts_with(kind), "{kind}: {reported:?}");
        }
        let reported = doubts(text(KINDS[3]).as_bytes(), &scanned(&text(&KINDS[3].replace("0.5", "0.6"))));
        assert!(reported[0].contains("0.6") && reported[0].contains("0.5"), "{reported:?}");
    }

    #[test]
    fn the_single_reading_of_a_large_file_is_reported() {
        let long = text(KINDS[0]) + &"\n".repeat(LARGEST);
        assert!(doubts(long.as_bytes(), &scanned(&long))[0].contains("not read a second time"));
    }
}
