//! The account of differences. Every difference between a piece and its drawing has a finding, and every finding has a
//! difference.
//!
//! *Known places*: small drawings, each with one place where a finding is easily missed or wrongly added. *All drawings*:
//! the samples, the fixtures and the drawings of the codes. They run with corners eased, squared and kept, with several
//! tools, and from something in hand. The lists `unexplained` and `idle` must then be empty. *Guards*: the tests remove,
//! move and invent findings, and the account must notice.
//!
//! Source: none outside; the check does the sums anew.

use crate::common::{facts_of, job_of, unlimited};
use letin::app::{self, Job, Kind};
use letin::check::account::{Held, idle, unexplained};
use letin::check::{Code, Finding, Severity};
use letin::geom::Point;
use letin::job::facts::Facts;
use letin::kit::{Pair, Tools};
use letin::template::Piece;
use letin::template::ease::Corners;
use letin::template::start::Start;
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

fn fixture(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures/account").join(name)
}

/// Exit status and findings of `letin check`.
fn check(name: &str, args: &[&str]) -> (Option<i32>, Vec<Value>) {
    let out = Command::new(env!("CARGO_BIN_EXE_letin"))
        .args(["check", "--json"])
        .args(args)
        .arg(fixture(name))
        .output()
        .unwrap();
    let v: Value = serde_json::from_slice(&out.stdout).unwrap_or_else(|e| panic!("{e}: {out:?}"));
    (out.status.code(), v["findings"].as_array().unwrap_or_else(|| panic!("{v}")).clone())
}

fn of<'a>(all: &'a [Value], code: &str) -> Vec<&'a Value> {
    all.iter().filter(|f| f["code"] == code).collect()
}

fn number(f: &Value, key: &str) -> f64 {
    f[key].as_f64().unwrap_or_else(|| panic!("no {key}: {f:#}"))
}

#[track_caller]
fn close(value: f64, expected: f64, within: f64) {
    assert!((value - expected).abs() <= within, "{value}, not {expected}");
}

/// Both pieces fill 52.73 mm of the slot.
#[test]
fn a_filled_slot_is_reported() {
    let (status, all) = check("two-slots.svg", &[]);
    let gaps = of(&all, "closed-gap");
    assert_eq!((status, gaps.len()), (Some(1), 1), "{all:#?}");
    assert_eq!(gaps[0]["severity"], "error");
    close(number(gaps[0], "off_mm"), 52.73, 0.01);
}

/// A round hollow under a sharp lip. The pieces fill it 4.4 mm deep.
#[test]
fn a_hollow_under_a_lip_is_reported() {
    let (_, all) = check("hook-under-lip.svg", &["--bush", "12", "--cutter", "4"]);
    let outside = of(&all, "outside-corner");
    assert!(outside.len() == 1 && of(&all, "neck").is_empty(), "{all:#?}");
    close(number(outside[0], "off_mm"), 4.427, 0.005);
    // The tip of the lip is a corner of 45°. It loses more of its point than the cutter alone would leave.
    assert!(of(&all, "inside-corner").iter().any(|f| number(f, "off_mm") > 2.4), "{all:#?}");
}

/// Straight sides 10° apart lose (2.5 − 2)(1/sin 5° − 1) = 5.2368 (elementary geometry). Here the sides lean by 10.2°.
#[test]
fn a_tip_of_the_cutters_radius_that_easing_moves_is_reported() {
    let tools = ["--bush", "12", "--cutter", "4"];
    let (status, all) = check("limb-with-the-cutters-radius.svg", &tools);
    let corners = of(&all, "inside-corner");
    assert_eq!((status, corners.len()), (Some(1), 1), "{all:#?}");
    close(number(corners[0], "off_mm"), 5.1247, 0.002);
    assert_eq!((number(corners[0], "measured_mm"), number(corners[0], "needed_mm")), (2.0, 2.5));
    // The setting that the finding proposes removes the finding.
    let (status, all) = check("limb-with-the-cutters-radius.svg", &[&tools[..], &["--ease-inside", "0"]].concat());
    assert!(status == Some(0) && of(&all, "inside-corner").is_empty(), "{all:#?}");
}

#[test]
fn a_hollow_of_the_offsets_radius_that_easing_moves_is_reported() {
    let tools = ["--bush", "12", "--cutter", "4"];
    let (_, all) = check("slot-with-the-offsets-radius.svg", &tools);
    let corners = of(&all, "outside-corner");
    assert_eq!(corners.len(), 1, "{all:#?}");
    close(number(corners[0], "off_mm"), 10.4737, 0.002);
    let (_, all) = check("slot-with-the-offsets-radius.svg", &[&tools[..], &["--ease-outside", "0"]].concat());
    assert!(of(&all, "outside-corner").is_empty(), "{all:#?}");
}

#[test]
fn a_notch_of_half_a_degree_is_reported() {
    let (status, all) = check("notch-of-half-a-degree.svg", &[]);
    let gaps = of(&all, "closed-gap");
    assert_eq!((status, gaps.len()), (Some(1), 1), "{all:#?}");
    close(number(gaps[0], "off_mm"), 69.77, 0.01);
}

/// Two blocks 10 mm apart, joined by a neck. The gaps beside the neck close, and there is no other finding.
#[test]
fn no_gap_and_no_island_is_reported_that_does_not_exist() {
    let (_, all) = check("dumb-bell.svg", &["--accept", "neck"]);
    let gaps = of(&all, "closed-gap");
    assert!(gaps.len() == 2 && of(&all, "neck").is_empty(), "{all:#?}");
    for g in gaps {
        close(number(g, "measured_mm"), 10.0, 0.005);
        assert!(!g["message"].as_str().unwrap().contains("island"), "{g:#}");
    }
    let (status, all) = check("dumb-bell.svg", &["--accept", "closed-gap", "--fail-on", "error"]);
    assert!(status == Some(0) && of(&all, "closed-gap").iter().all(|g| g["accepted"] == true), "{all:#?}");
}

/// The pieces fit each other but differ from the drawing. The verdict and the pictures report both.
#[test]
fn pieces_that_fit_but_differ_from_the_drawing_are_reported() {
    let dir = tempfile::tempdir().unwrap();
    let out = Command::new(env!("CARGO_BIN_EXE_letin"))
        .args(["make", "--json", "--accept", "closed-gap", "--out"])
        .arg(dir.path().join("out"))
        .arg(fixture("dumb-bell.svg"))
        .output()
        .unwrap();
    assert_eq!(out.status.code(), Some(0), "{out:?}");
    let v: Value = serde_json::from_slice(&out.stdout).unwrap();
    let verdict = v["verdict"].as_str().unwrap();
    assert!(verdict.starts_with("The pieces fit each other, gap 0.05 mm per side."), "{verdict}");
    let unlike = "Far from the drawing at 10 places, at most 14.98 mm off.";
    assert!(verdict.contains(unlike), "{verdict}");
    for picture in ["out/dumb-bell-gap.svg", "out/dumb-bell-marks.svg"] {
        let text = fs::read_to_string(dir.path().join(picture)).unwrap();
        assert!(text.contains(unlike), "{picture}");
    }
}

/// The drawn corner is sharp. Its angle lies between the line and the tangent of the arc at their common point.
#[test]
fn a_sharp_corner_with_a_curved_side_is_reported_as_one() {
    let (_, all) = check("disc-cut-by-a-chord.svg", &["--bush", "20", "--cutter", "8"]);
    let corners = of(&all, "inside-corner");
    assert_eq!(corners.len(), 2, "{all:#?}");
    for c in corners {
        assert_eq!(number(c, "measured_mm"), 0.0, "{c:#}");
        assert!(c["message"].as_str().unwrap().contains("73°"), "{c:#}");
        assert!(c["ways"].is_null(), "no cutter makes a sharp corner: {c:#}");
    }
}

/// Nothing remains of the bar. The program reports a finding, not a failed proof.
#[test]
fn a_bar_narrower_than_the_cutter_is_a_finding_whatever_is_accepted() {
    for corners in ["ease", "square", "keep"] {
        let (status, all) = check("bar-5-wide.svg", &["--corners", corners, "--accept", "neck"]);
        assert_eq!(status, Some(1), "{corners}");
        let necks = of(&all, "neck");
        assert!(necks.len() == 1 && necks[0]["accepted"].is_null(), "{corners}: {all:#?}");
        assert_eq!(number(necks[0], "measured_mm"), 5.0, "{corners}: {all:#?}");
    }
}

/// `--within` turns a warning into an error. The error can be accepted.
#[test]
fn farther_off_than_asked_for_is_an_error() {
    let tools = ["--bush", "12", "--cutter", "4", "--within"];
    let with = |more: &[&str]| check("limb-with-the-cutters-radius.svg", &[&tools[..], more].concat());
    let (_, all) = with(&["5"]);
    let off = of(&all, "not-as-drawn");
    assert!(off.len() == 1 && off[0]["severity"] == "error", "{all:#?}");
    close(number(off[0], "measured_mm"), 5.1247, 0.002);
    assert!(of(&with(&["5.2"]).1, "not-as-drawn").is_empty());
    let (status, _) = with(&["5", "--accept", "not-as-drawn", "--fail-on", "error"]);
    assert_eq!(status, Some(0));
    // `--within` also applies to something in hand.
    let (_, all) = with(&["5", "--from", "part"]);
    assert_eq!(of(&all, "not-as-drawn").len(), 0, "the finished part loses nothing at its tip: {all:#?}");
    let (_, all) = with(&["0.1", "--from", "recess"]);
    assert!(of(&all, "not-as-drawn").is_empty(), "the inlay follows outside corners of 16 mm: {all:#?}");
    let (_, all) = check("disc-cut-by-a-chord.svg", &["--from", "part", "--within", "1"]);
    assert_eq!(of(&all, "not-as-drawn").len(), 2, "{all:#?}");
}

/// Checks the findings of each outline in both directions. Returns one line per fault.
fn wrong(name: &str, job: &Job, facts: &Facts) -> Vec<String> {
    let mut wrong = Vec::new();
    for one in facts.jobs() {
        for Piece { outline, drawn, made, cut, .. } in &one.pieces {
            let drawn = if matches!(job.kind, Kind::InHand(_)) { made } else { drawn };
            let held = Held { outline: *outline, drawn, made, cut, flatten: one.flatten.unwrap_or(0.0) };
            let say = |f: &Finding, what: &str| {
                format!(
                    "{name}, {:?}, bush {}: {what}: {} at {:?}, {:?}, {}",
                    job.corners, job.tools.recess.bush, f.code, f.at, f.short, f.message
                )
            };
            wrong.extend(unexplained(&held, &one.fits, &one.findings).iter().map(|f| say(f, "unexplained")));
            wrong.extend(idle(&held, &one.fits, &one.findings).iter().map(|f| say(f, "idle")));
        }
        let reported = one.findings.iter().filter(|f| f.code == Code::Unexplained);
        wrong.extend(reported.map(|f| format!("{name}: {}", f.message)));
    }
    wrong
}

fn drawings() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut all = Vec::new();
    let mut folders: Vec<PathBuf> = vec![root.join("samples"), root.join("tests/codes"), root.join("tests/fixtures")];
    while let Some(folder) = folders.pop() {
        for path in fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()) {
            if path.is_dir() && !path.ends_with("expected") {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == "svg" || e == "dxf") {
                all.push(path);
            }
        }
    }
    all.sort();
    assert!(all.len() > 80, "{}", all.len());
    all
}

fn tools(bush: f64, cutter: f64, gap: f64) -> Tools {
    let pair = Pair { bush, cutter };
    Tools::new(pair, pair, gap).unwrap()
}

/// Runs every drawing with several ways of making it, in a fixed order.
#[test]
fn every_difference_has_its_finding_and_every_finding_its_difference() {
    let eased = |inside, outside| Corners::Ease { inside, outside };
    let ways: [(Corners, Tools, Option<Start>, Option<f64>); 9] = [
        (eased(0.5, 1.0), tools(20.0, 6.0, 0.05), None, None),
        (Corners::Square, tools(20.0, 6.0, 0.05), None, None),
        (Corners::Keep, tools(12.0, 4.0, 0.05), None, None),
        (eased(0.0, 0.0), tools(12.0, 4.0, 0.1), None, None),
        (eased(0.5, 1.0), tools(30.0, 8.0, 0.0), None, Some(0.05)),
        (Corners::Keep, tools(20.0, 6.0, 0.05), Some(Start::Recess), None),
        (Corners::Keep, tools(20.0, 6.0, 0.05), Some(Start::Part), None),
        (Corners::Keep, tools(20.0, 6.0, 0.05), Some(Start::Template), None),
        // Here the recess has the larger offset.
        (
            Corners::Keep,
            Tools::new(Pair { bush: 30.0, cutter: 6.0 }, Pair { bush: 12.0, cutter: 6.0 }, 0.05).unwrap(),
            None,
            None,
        ),
    ];
    let (mut all, mut seen) = (Vec::new(), 0);
    for (i, drawing) in drawings().iter().enumerate() {
        let name = drawing.strip_prefix(env!("CARGO_MANIFEST_DIR")).unwrap().display().to_string();
        // Every drawing runs the first three ways and one of the others in turn.
        for way in [0, 1, 2, 3 + i % 6] {
            let (corners, tools, start, flatten) = ways[way];
            let accept = vec![Code::ClosedGap, Code::Neck, Code::Island, Code::Crossing, Code::OpenLine];
            let job = Job {
                corners,
                tools,
                kind: start.map_or(Kind::Flush, Kind::InHand),
                flatten,
                accept,
                ..job_of(drawing)
            };
            let Ok(outcome) = app::run(&job, &unlimited()) else { continue };
            seen += outcome.facts.jobs().map(|f| f.pieces.len()).sum::<usize>();
            all.extend(wrong(&name, &job, &outcome.facts));
        }
    }
    assert!(all.is_empty(), "{} of {seen} outlines:\n{}", all.len(), all.join("\n"));
    assert!(seen > 300, "{seen}");
}

/// The same check with nothing accepted: errors remain, and the proof cuts nothing.
#[test]
fn outlines_with_errors_are_held_too() {
    let (mut all, mut seen) = (Vec::new(), 0);
    for drawing in drawings() {
        let job = Job { tools: tools(30.0, 8.0, 0.05), ..job_of(&drawing) };
        let Some(facts) = facts_of(&job) else { continue };
        seen += facts.findings.iter().filter(|f| f.severity == Severity::Error).count();
        all.extend(wrong(&drawing.display().to_string(), &job, &facts));
    }
    assert!(all.is_empty(), "{}", all.join("\n"));
    assert!(seen > 60, "{seen}");
}

/// Removes the findings of a drawing in turn. The account must then report the place of the one removed.
#[test]
fn a_finding_that_is_left_out_is_missed() {
    let job = job_of(&Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/bow-tie-key/key.svg"));
    let facts = facts_of(&job).unwrap();
    let held = Held {
        outline: 1,
        drawn: &facts.outlines[0].region,
        made: &facts.pieces[0].made,
        cut: &facts.pieces[0].cut,
        flatten: 0.0,
    };
    let owning: Vec<usize> = (0..facts.findings.len()).filter(|&i| facts.findings[i].region.is_some()).collect();
    assert_eq!(owning.len(), 6, "{:?}", facts.findings);
    for i in owning {
        let mut rest = facts.findings.clone();
        let gone = rest.remove(i);
        let missed = unexplained(&held, &facts.fits, &rest);
        assert_eq!(missed.len(), 1, "{gone:?}");
        let (at, place) = (missed[0].at.unwrap(), gone.region.as_ref().unwrap().bounds().unwrap());
        assert!(place.inflate(0.01, 0.01).contains(at), "{at:?} {place:?}");
        assert!(missed[0].severity == Severity::Error && missed[0].code == Code::Unexplained);
        assert!(!Code::Unexplained.acceptable());
        let area = (missed[0].area.unwrap() - gone.region.as_ref().unwrap().area()).abs();
        assert!(area < 0.1 * gone.region.as_ref().unwrap().area(), "{area} {gone:?}");
    }
    // A finding moved elsewhere is idle, and its old place is unexplained.
    let mut moved = facts.findings.clone();
    let first = moved.iter().position(|f| f.region.is_some()).unwrap();
    let away = moved[first].region.as_ref().unwrap().translated(Point::new(15.0, 12.0).to_vec2());
    moved[first].region = Some(away.into());
    assert_eq!(idle(&held, &facts.fits, &moved).len(), 1);
    assert_eq!(unexplained(&held, &facts.fits, &moved).len(), 1);
}
