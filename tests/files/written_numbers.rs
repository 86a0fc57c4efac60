//! The numbers of the face files. They survive rounding by another program, and both files of a face hold the same.

use crate::common::unlimited;
use crate::saved::*;
use letin::drawing::{ReadSettings, dxf};
use letin::geom::{Affine, Point, Region, Ring};
use letin::text::svg_path;
use std::f64::consts::PI;

/// Rounding all numbers to two decimals moves no point of an opening by more than 0.02 mm.
#[test]
fn two_decimals_do_not_spoil_an_svg() {
    for m in jobs() {
        for name in m.faces(".svg") {
            let whole = m.read(&name);
            if whole.contains("in\" viewBox") {
                continue;
            }
            for d in path_data(&whole) {
                let exact = Region::new(vec![Ring::new(edges(&d))]);
                let round = |w: &str| match w.parse::<f64>() {
                    Ok(v) => format!("{}", (v * 100.0).round() / 100.0),
                    Err(_) => w.to_owned(),
                };
                let words: Vec<String> = d.split(' ').map(round).collect();
                for s in edges(&words.join(" ")) {
                    for i in 0..=8 {
                        let off = exact.nearest(s.at(f64::from(i) / 8.0)).unwrap().0;
                        assert!(off <= 0.02, "{name}: {off}");
                    }
                }
            }
        }
    }
}

/// In inches both files of a face hold the same numbers: each opening within 1e-6 mm.
#[test]
fn in_inches_both_files_of_a_face_agree() {
    for drawing in
        ["tests/fixtures/prove/fish.svg", "tests/fixtures/outside/disc.svg", "tests/fixtures/outside/leaf.svg"]
    {
        for release in ["2000", "r12"] {
            let m = made(drawing, &["--write-unit", "in", "--dxf", release, "--corners", "square"]);
            for (d, s) in m.faces(".dxf").iter().zip(m.faces(".svg")) {
                let from_dxf = openings(&m.read(d));
                let svg_text = m.read(&s);
                let height: f64 = {
                    let view = svg_text.split("viewBox=\"").nth(1).unwrap().split('"').next().unwrap();
                    view.split(' ').nth(3).unwrap().parse().unwrap()
                };
                // To y up, in mm.
                let up = Affine::scale(25.4) * Affine::new([1.0, 0.0, 0.0, -1.0, 0.0, height]);
                for (path, region) in path_data(&svg_text).iter().zip(&from_dxf) {
                    for e in edges(path) {
                        let e = e.under_similarity(up);
                        for i in 0..=8 {
                            let off = region.nearest(e.at(f64::from(i) / 8.0)).unwrap().0;
                            assert!(off <= 1e-6, "{drawing} {release}: {off}");
                        }
                    }
                }
                let unit = dxf::read(m.read(d).as_bytes(), &ReadSettings::default(), &unlimited()).unwrap();
                assert!(!unit.unit_guessed, "{}", unit.unit_source);
            }
            // The program itself reads both files as well.
            let o = letin(&["prove", m.folder.to_str().unwrap()]);
            assert_eq!(o.status.code(), Some(0), "{}", text(&o));
        }
    }
}

/// The edges that these tests read from path data are those of the ring.
#[test]
fn edges_of_path_data_are_those_of_the_ring() {
    let ring = Ring::circle(Point::new(50.0, 40.0), 10.0);
    let back = Ring::new(edges(&svg_path(&ring, 0.0).unwrap()));
    assert!((back.area().abs() - PI * 100.0).abs() < 1e-6, "{}", back.area());
}
