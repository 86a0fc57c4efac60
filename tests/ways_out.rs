//! Every way out that a finding proposes is tried: with it the finding is gone, with a little more it is there again.
#![allow(clippy::unwrap_used, clippy::panic)]

use serde_json::Value;
use std::process::Command;

fn findings(drawing: &std::path::Path, args: &[&str]) -> Vec<Value> {
    let out =
        Command::new(env!("CARGO_BIN_EXE_letin")).args(["check", "--json"]).args(args).arg(drawing).output().unwrap();
    let v: Value = serde_json::from_slice(&out.stdout).unwrap_or_else(|e| panic!("{e}: {out:?}"));
    v["findings"].as_array().unwrap_or_else(|| panic!("{v}")).clone()
}

fn near(a: &Value, b: &Value) -> bool {
    let d = |i: usize| a["at_mm"][i].as_f64().unwrap() - b["at_mm"][i].as_f64().unwrap();
    d(0).hypot(d(1)) < 6.0
}

/// Tries every proposed setting on the drawing in every mode; gives how many were tried.
fn tried(name: &str, path: &str) -> usize {
    let dir = tempfile::tempdir().unwrap();
    let drawing = dir.path().join(format!("{name}.svg"));
    let head = r#"<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm" viewBox="0 0 200 200">"#;
    std::fs::write(&drawing, format!(r#"{head}<path d="{path}"/></svg>"#)).unwrap();
    let mut tried = 0;
    for mode in ["ease", "square", "keep"] {
        let mode = ["--corners", mode];
        for f in findings(&drawing, &mode) {
            for way in f["ways"].as_array().into_iter().flatten() {
                let setting = format!("--{}", way["setting"].as_str().unwrap());
                let most = way["at_most_mm"].as_f64().unwrap();
                let there = |value: f64| {
                    let value = format!("{value:.4}");
                    let args = [&mode[..], &[setting.as_str(), value.as_str()]].concat();
                    // The insert keeps its own cutter, so that only the one thing changes.
                    let args =
                        if setting == "--cutter" { [&args[..], &["--insert-cutter", "6"]].concat() } else { args };
                    findings(&drawing, &args).iter().any(|g| g["code"] == f["code"] && near(g, &f))
                };
                assert!(!there(most), "{name} {mode:?}: {setting} {most} does not help: {f:#}");
                assert!(there(most + 0.05), "{name} {mode:?}: {setting} {most} is not the most: {f:#}");
                tried += 1;
            }
        }
    }
    tried
}

#[test]
fn fillets_limbs_and_gaps() {
    // Fillets of 2 in all corners of a block; a jutting fillet of 12.
    let fillets = "M12 10 H98 A2 2 0 0 1 100 12 V88 A2 2 0 0 1 98 90 H12 A2 2 0 0 1 10 88 V12 A2 2 0 0 1 12 10 Z";
    assert!(tried("fillets", fillets) >= 12);
    let jutting = "M10 10 H150 V60 H112 A12 12 0 0 0 100 72 V120 H10 Z";
    assert!(tried("jutting", jutting) >= 3);
    // A limb 5 wide and 30 long on a block; a neck 4 wide between two blocks.
    assert!(tried("limb", "M60 20 H120 V100 H60 V62.5 H30 V57.5 H60 Z") >= 3);
    assert!(tried("neck", "M10 10 H70 V38 H110 V10 H170 V70 H110 V42 H70 V70 H10 Z") >= 3);
    // A gap 22 wide between two limbs.
    assert!(tried("gap", "M10 10 H150 V50 H60 V72 H150 V112 H10 Z") >= 3);
}
