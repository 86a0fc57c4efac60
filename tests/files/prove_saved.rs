//! `letin prove` on files that another program has saved. The same lines in another form are proved, moved lines are
//! refused, and extra content is reported.
//!
//! Drawing programs turn a closed polyline with bulges into single LINEs and ARCs, chords or splines. They change starts,
//! directions, order and letter case. This test writes these forms from the edges as read.

use crate::saved::*;
use letin::geom::{Affine, Region, Ring, Segment};
use std::f64::consts::PI;
use std::fmt::Write as _;

/// Writes the openings of a DXF file as entities of another form.
type Resave = Box<dyn Fn(&[Region]) -> String>;
/// Writes an SVG file in another form.
type Rewrite = fn(&str) -> String;

/// Every form of every DXF file is proved. The same form moved by 0.02 mm is refused because of the distance.
#[test]
fn the_same_lines_in_another_form_are_proved_and_moved_they_are_not() {
    for m in jobs() {
        for name in m.faces(".dxf") {
            let whole = m.read(&name);
            let inches = whole.contains("all lengths in in");
            // The reader gives mm; the file needs its own unit.
            let back = Affine::scale(if inches { 1.0 / 25.4 } else { 1.0 });
            let regions: Vec<Region> = openings(&whole).iter().map(|r| r.under_similarity(back)).collect();
            let forms: Vec<(&str, Resave)> = vec![
                ("LINE and ARC", Box::new(|r| exploded(r, as_line_or_arc))),
                ("LINE and ELLIPSE", Box::new(|r| exploded(r, as_ellipse))),
                ("LINE and SPLINE", Box::new(|r| exploded(r, as_spline))),
                ("closed by its last corner", Box::new(|r| polylines(&rings(r), LAYER, false))),
                ("small letters", Box::new(|r| polylines(&rings(r), &LAYER.to_ascii_lowercase(), true))),
                (
                    "the last opening first, turned round, from another corner",
                    Box::new(|r| {
                        let all: Vec<Ring> = rings(r).iter().rev().map(other_start).collect();
                        polylines(&all, LAYER, true)
                    }),
                ),
                (
                    "chords",
                    // The tolerance of chords is in mm.
                    if inches {
                        Box::new(|r| exploded(r, as_line_or_arc))
                    } else {
                        Box::new(|r| exploded(r, as_chords))
                    },
                ),
            ];
            for (what, form) in &forms {
                m.put(&name, &with_openings(&whole, &form(&regions)));
                let p = m.holds(&format!("{name}, {what}"));
                assert_eq!(p.warnings, [] as [&str; 0], "{name}, {what}");
                let moved = |r: &Region| r.under_similarity(back * Affine::translate((0.0, 0.02)) * back.inverse());
                let moved: Vec<Region> = regions.iter().map(moved).collect();
                m.put(&name, &with_openings(&whole, &form(&moved)));
                let why = m.refused(&format!("{name}, {what}, moved"));
                assert!(
                    why.contains("mm off what was worked out") || why.contains("mm apart in them"),
                    "{what}: {why}"
                );
            }
            m.put(&name, &whole);
        }
        m.holds("as it was");
    }
}

/// All files of a job at once, DXF and SVG in different forms.
#[test]
fn all_files_saved_again_are_proved() {
    for m in jobs() {
        for name in m.faces(".dxf") {
            let whole = m.read(&name);
            if whole.contains("all lengths in in") {
                continue;
            }
            m.put(&name, &with_openings(&whole, &exploded(&openings(&whole), as_chords)));
        }
        for name in m.faces(".svg") {
            m.put(&name, &in_cubics(&m.read(&name)));
        }
        let p = m.holds("DXF in chords, SVG in cubics");
        assert!(p.notes.iter().any(|n| n.contains("was changed after it was written")), "{:?}", p.notes);
    }
}

/// Rewrites arcs as cubics.
fn in_cubics(svg_text: &str) -> String {
    with_paths(svg_text, |d| {
        let all = edges(d);
        let mut out = format!("M{} {}", all[0].start().x, all[0].start().y);
        for s in &all {
            match s {
                Segment::Line(l) => write!(out, "L{},{}", l.end.x, l.end.y).unwrap(),
                Segment::Arc(a) => {
                    for [_, p, q, e] in cubics(a) {
                        write!(out, "C{},{} {},{} {},{}", p.x, p.y, q.x, q.y, e.x, e.y).unwrap();
                    }
                }
            }
        }
        out + "Z"
    })
}

/// Rewrites the path with relative commands and a transform that mirrors it back.
fn relative_and_moved(svg_text: &str) -> String {
    let moved = with_paths(svg_text, |d| {
        let all = edges(d);
        let mut out = format!("m{} {}", -(all[0].start().x - 30.0), all[0].start().y + 20.0);
        for s in &all {
            let v = s.end() - s.start();
            // Mirroring x also reverses the arcs.
            match s {
                Segment::Line(_) => write!(out, "l{} {}", -v.x, v.y).unwrap(),
                Segment::Arc(a) => {
                    let large = u8::from(a.sweep() > PI);
                    write!(out, "a{} {} 0 {large} {} {} {}", a.radius, a.radius, u8::from(!a.ccw), -v.x, v.y).unwrap();
                }
            }
        }
        out + "z"
    });
    moved.replace("<path ", "<path transform=\"translate(30 -20) scale(-1 1)\" ")
}

#[test]
fn an_svg_in_another_form_is_proved_and_moved_it_is_not() {
    for m in jobs() {
        for name in m.faces(".svg") {
            let whole = m.read(&name);
            let forms: [(&str, Rewrite); 4] = [
                ("cubics", in_cubics),
                ("relative commands and transforms", relative_and_moved),
                ("small letters", |t| t.replace("OPENING_CUT_INSIDE", "opening_cut_inside")),
                ("another order", |t| {
                    let all = path_data(t);
                    let mut out = t.to_owned();
                    for (i, d) in all.iter().enumerate() {
                        out = out.replacen(&format!("d=\"{d}\""), &format!("d=\"@{i}\""), 1);
                    }
                    for (i, d) in all.iter().rev().enumerate() {
                        out = out.replacen(&format!("d=\"@{i}\""), &format!("d=\"{d}\""), 1);
                    }
                    out
                }),
            ];
            for (what, form) in forms {
                let again = form(&whole);
                m.put(&name, &again);
                if what == "another order" && whole.contains("PANEL_CUT_OUTSIDE") {
                    continue;
                }
                m.holds(&format!("{name}, {what}"));
                let by = if whole.contains("in\" viewBox") { 0.02 / 25.4 } else { 0.02 };
                let group = again.to_lowercase().find("<g id=\"opening_cut_inside\"").unwrap();
                let mut moved = again.clone();
                moved.insert_str(group + 2, &format!(" transform=\"translate({by} 0)\""));
                m.put(&name, &moved);
                let why = m.refused(&format!("{name}, {what}, moved"));
                assert!(
                    why.contains("mm off what was worked out") || why.contains("mm apart in them"),
                    "{what}: {why}"
                );
            }
            m.put(&name, &whole);
        }
    }
}

#[test]
fn a_shouldered_piece_is_proved_with_its_openings_in_another_order_and_form() {
    let settings = ["--plug", "plug", "--shoulder", "shoulder", "--kit", "metric"];
    let m = made("samples/fish-in-hatch/fish-plug.svg", &settings);
    for name in m.faces(".dxf") {
        let whole = m.read(&name);
        let mut regions = openings(&whole);
        regions.reverse();
        m.put(&name, &with_openings(&whole, &exploded(&regions, as_line_or_arc)));
        m.holds(&format!("{name}: the last opening first, in single edges"));
        let moved: Vec<Region> = regions.iter().map(|r| r.under_similarity(Affine::translate((0.02, 0.0)))).collect();
        m.put(&name, &with_openings(&whole, &polylines(&rings(&moved), LAYER, true)));
        m.refused(&format!("{name}: moved"));
        m.put(&name, &whole);
    }
}
