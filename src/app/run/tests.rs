//! A proof that fails inside `make`: the real proof, given bytes that were spoilt on their way.

use super::super::{Kind, Out, Selection};
use super::*;
use crate::drawing::ReadSettings;
use crate::kit::{Figures, Kit, Pair, Router, Tools};
use crate::panel::layout::PanelSettings;
use crate::panel::steps::Depths;
use crate::panel::{Setup, Turn};
use crate::proof::{Beside, FaceFile, Fit, Plan, ProofError};
use crate::template::ease::Corners;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// Not symmetrical: faces that changed places would not fit.
const KITE: &str = "<svg xmlns='http://www.w3.org/2000/svg' width='90mm' height='60mm' viewBox='0 0 90 60'>\
                    <path d='M5 20L60 5L85 30L50 55Z'/></svg>";

/// The real proof of files that `how` has changed.
fn of_changed(
    plan: &Plan,
    files: &[FaceFile],
    (reported, budget): (&mut Beside, &Budget),
    how: impl Fn(&str, &[FaceFile]) -> Vec<u8>,
) -> Result<Vec<Fit>, ProofError> {
    let bytes: Vec<Vec<u8>> = files.iter().map(|f| how(f.name, files)).collect();
    let changed: Vec<FaceFile> = files.iter().zip(&bytes).map(|(f, bytes)| FaceFile { bytes, ..f.clone() }).collect();
    proof::prove(plan, &changed, reported, budget)
}

fn own<'a>(name: &str, files: &'a [FaceFile]) -> &'a [u8] {
    files.iter().find(|f| f.name == name).unwrap().bytes
}

fn cut_off(plan: &Plan, files: &[FaceFile], beside: &mut Beside, budget: &Budget) -> Result<Vec<Fit>, ProofError> {
    of_changed(plan, files, (beside, budget), |name, files| {
        let whole = own(name, files);
        if name.ends_with("face-2.dxf") { whole[..whole.len() / 2].to_vec() } else { whole.to_vec() }
    })
}

fn faces_swapped(
    plan: &Plan,
    files: &[FaceFile],
    beside: &mut Beside,
    budget: &Budget,
) -> Result<Vec<Fit>, ProofError> {
    of_changed(plan, files, (beside, budget), |name, files| {
        let other =
            if name.contains("face-1") { name.replace("face-1", "face-2") } else { name.replace("face-2", "face-1") };
        own(&other, files).to_vec()
    })
}

/// The first vertex of the second face's opening 0.02 mm to the right.
fn a_vertex_moved(
    plan: &Plan,
    files: &[FaceFile],
    beside: &mut Beside,
    budget: &Budget,
) -> Result<Vec<Fit>, ProofError> {
    of_changed(plan, files, (beside, budget), |name, files| {
        let text = String::from_utf8(own(name, files).to_vec()).unwrap();
        if !name.ends_with("face-2.dxf") {
            return text.into_bytes();
        }
        let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
        let polyline = lines.iter().position(|l| l == "LWPOLYLINE").unwrap();
        let x = (polyline..lines.len()).find(|i| lines[*i].trim() == "10").unwrap() + 1;
        lines[x] = format!("{}", lines[x].trim().parse::<f64>().unwrap() + 0.02);
        (lines.join("\r\n") + "\r\n").into_bytes()
    })
}

/// What stands in the folder.
fn there(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let Ok(entries) = fs::read_dir(folder) else { return BTreeMap::new() };
    entries.map(|e| e.unwrap().path()).map(|p| (p.clone(), fs::read(p).unwrap())).collect()
}

const PANEL: PanelSettings =
    PanelSettings { base: 75.0, web: 9.0, at: None, size: None, bed: None, turn: Turn::LeftRight, setup: Setup::Two };

fn job(drawing: &Path, out: Out) -> Job {
    let pair = Pair { bush: 20.0, cutter: 6.0 };
    Job {
        show: None,
        assumed: Vec::new(),
        task: Task::Make(out),
        drawing: drawing.to_path_buf(),
        also_read: Vec::new(),
        read: ReadSettings::default(),
        mirror: false,
        select: Selection::default(),
        kind: Kind::Flush,
        tools: Tools::new(pair, pair, 0.05).unwrap(),
        kit: Kit::default(),
        within: None,
        auto_pair: false,
        suggest: false,
        season: None,
        corners: Corners::Ease { inside: 0.5, outside: 1.0 },
        panel: PANEL,
        flatten: None,
        router: Router { thickness: 9.0, projection: None, pass: None },
        figures: Figures::new(&Kit::default(), None, None, None),
        depths: Depths::default(),
        accept: Vec::new(),
    }
}

#[test]
fn a_failing_proof_leaves_the_folder_as_it_was() {
    let dir = tempfile::tempdir().unwrap();
    let (drawing, folder) = (dir.path().join("kite.svg"), dir.path().join("out"));
    fs::write(&drawing, KITE).unwrap();
    let spoilt: [(&str, Prover); 3] =
        [("cut off", cut_off), ("faces swapped", faces_swapped), ("a vertex moved", a_vertex_moved)];
    let run = |prover: Prover, force: bool| {
        let job = job(&drawing, Out::plain(Some(folder.clone()), force, false));
        run_proved_by(prover, &job, &Budget::unlimited())
    };
    // No folder before, none after; nor anything else beside the drawing.
    for (what, prover) in spoilt {
        let e = run(prover, false).unwrap_err();
        assert!(matches!(e, AppError::Proof(_)) && e.code() == "proof", "{what}: {e}");
        assert_eq!(there(dir.path()).len(), 1, "{what}: only the drawing");
        assert!(!folder.exists(), "{what}");
    }
    // The real proof of the same job is fine.
    run(proof::prove, false).unwrap();
    fs::write(folder.join("notes.txt"), "the owner's own").unwrap();
    let before = there(&folder);
    assert!(before.len() > 6, "{:?}", before.keys());
    // A changed drawing would write other files: those of the earlier run must stand.
    fs::write(&drawing, KITE.replace("M5 20", "M6 22")).unwrap();
    for (what, prover) in spoilt {
        for force in [false, true] {
            assert!(matches!(run(prover, force), Err(AppError::Proof(_))), "{what}");
            assert_eq!(there(&folder), before, "{what}: as it was");
        }
    }
    run(proof::prove, false).unwrap();
    assert_ne!(there(&folder), before);
}
