//! Every remedy that a finding proposes is tried. With it the finding is gone; with a little more the finding is back.

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

/// Tries every proposed setting on the drawing in every mode. Returns the number of trials.
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
                    // The inlay keeps its own cutter, so that only one setting changes.
                    let args =
                        if setting == "--cutter" { [&args[..], &["--inlay-cutter", "6"]].concat() } else { args };
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
    // Fillets of 2 in all corners of a block, and an outside fillet of 12.
    let fillets = "M12 10 H98 A2 2 0 0 1 100 12 V88 A2 2 0 0 1 98 90 H12 A2 2 0 0 1 10 88 V12 A2 2 0 0 1 12 10 Z";
    assert!(tried("fillets", fillets) >= 12);
    let outside = "M10 10 H150 V60 H112 A12 12 0 0 0 100 72 V120 H10 Z";
    assert!(tried("outside", outside) >= 3);
    // A limb 5 wide and 30 long on a block, and a neck 4 wide between two blocks.
    assert!(tried("limb", "M60 20 H120 V100 H60 V62.5 H30 V57.5 H60 Z") >= 3);
    assert!(tried("neck", "M10 10 H70 V38 H110 V10 H170 V70 H110 V42 H70 V70 H10 Z") >= 3);
    // A bar 5 wide of which nothing remains.
    assert!(tried("bar", "M22.5 20 H117.5 A2.5 2.5 0 0 1 117.5 25 H22.5 A2.5 2.5 0 0 1 22.5 20 Z") >= 3);
    // A gap 22 wide between two limbs.
    assert!(tried("gap", "M10 10 H150 V50 H60 V72 H150 V112 H10 Z") >= 3);
}

/// A drawing of the proposed width has fewer findings of that kind. Returns the number of trials.
fn tried_scales(name: &str, path: &str) -> usize {
    let dir = tempfile::tempdir().unwrap();
    let drawing = dir.path().join(format!("{name}.svg"));
    let head = r#"<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm" viewBox="0 0 200 200">"#;
    std::fs::write(&drawing, format!(r#"{head}<path d="{path}"/></svg>"#)).unwrap();
    let mut tried = 0;
    for mode in ["ease", "square", "keep"] {
        let before = findings(&drawing, &["--corners", mode]);
        for f in before.iter().filter(|f| !f["scale"].is_null()) {
            let help = f["help"].as_str().unwrap();
            let width = help.split("--width ").nth(1).unwrap_or_else(|| panic!("{help}")).split(')').next().unwrap();
            let after = findings(&drawing, &["--corners", mode, "--width", width]);
            let count =
                |all: &[Value]| all.iter().filter(|g| g["code"] == f["code"] && g["severity"] == f["severity"]).count();
            assert!(count(&after) < count(&before), "{name} {mode}: --width {width} does not help: {f:#}");
            let times = f["scale"].as_f64().unwrap();
            let there = |g: &&Value| {
                let d = |i: usize| g["at_mm"][i].as_f64().unwrap() / times - f["at_mm"][i].as_f64().unwrap();
                g["code"] == f["code"] && d(0).hypot(d(1)) < 6.0
            };
            // The page grows with the drawing, from its bottom left corner.
            assert!(after.iter().find(there).is_none(), "{name} {mode}: --width {width} does not help: {f:#}");
            tried += 1;
        }
        // Words and numbers give a scale together or not at all.
        assert!(before.iter().all(|f| f["scale"].is_null() != f["help"].as_str().unwrap().contains("times as large")));
    }
    tried
}

#[test]
fn sizes_that_are_proposed() {
    let fillets = "M12 10 H98 A2 2 0 0 1 100 12 V88 A2 2 0 0 1 98 90 H12 A2 2 0 0 1 10 88 V12 A2 2 0 0 1 12 10 Z";
    assert!(tried_scales("fillets", fillets) >= 4);
    // An eased corner of 12 is a note, and a note proposes no size.
    assert!(tried_scales("outside", "M10 10 H150 V60 H112 A12 12 0 0 0 100 72 V120 H10 Z") >= 1);
    assert!(tried_scales("limb", "M60 20 H120 V100 H60 V62.5 H30 V57.5 H60 Z") >= 3);
    assert!(tried_scales("neck", "M10 10 H70 V38 H110 V10 H170 V70 H110 V42 H70 V70 H10 Z") >= 3);
    assert!(tried_scales("gap", "M10 10 H150 V50 H60 V72 H150 V112 H10 Z") >= 3);
    // No scale removes a sharp corner.
    assert_eq!(tried_scales("sharp", "M10 10 H110 V90 H10 Z"), 0);
}

/// A proposed radius or width removes the finding when drawn. A slightly smaller one does not.
#[test]
fn what_is_proposed_to_be_drawn() {
    let dir = tempfile::tempdir().unwrap();
    let drawing = dir.path().join("drawn.svg");
    let head = r#"<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm" viewBox="0 0 200 200">"#;
    let with = |path: String, mode: &str| {
        std::fs::write(&drawing, format!(r#"{head}<path d="{path}"/></svg>"#)).unwrap();
        findings(&drawing, &["--corners", mode])
    };
    let fillet = |r: f64| {
        format!(
            "M20 10 H{0} A{r} {r} 0 0 1 140 {1} V90 A20 20 0 0 1 120 110 H40 A20 20 0 0 1 20 90 Z",
            140.0 - r,
            10.0 + r
        )
    };
    let hollow = |r: f64| format!("M10 10 H150 V60 H{0} A{r} {r} 0 0 0 100 {1} V120 H10 Z", 100.0 + r, 60.0 + r);
    let neck =
        |w: f64| format!("M10 10 H70 V{0} H110 V10 H170 V70 H110 V{1} H70 V70 H10 Z", 40.0 - w / 2.0, 40.0 + w / 2.0);
    let gap = |w: f64| format!("M10 10 H150 V50 H60 V{0} H150 V{1} H10 Z", 50.0 + w, 90.0 + w);
    let after = |help: &str, words: &str| -> f64 {
        help.split(words).nth(1).unwrap_or_else(|| panic!("{help}")).split(' ').next().unwrap().parse().unwrap()
    };
    for mode in ["ease", "square", "keep"] {
        let of = |all: &[Value], code: &str, at: (f64, f64)| -> Option<Value> {
            let near = |f: &&Value| {
                let d = |i: usize, v: f64| f["at_mm"][i].as_f64().unwrap() - v;
                f["code"] == code && d(0, at.0).hypot(d(1, at.1)) < 12.0
            };
            all.iter().find(near).cloned()
        };
        let corner = (140.0, 190.0);
        let f = of(&with(fillet(1.0), mode), "inside-corner", corner).unwrap_or_else(|| panic!("{mode}"));
        let r = after(f["help"].as_str().unwrap(), "raw a radius of ");
        assert!(of(&with(fillet(r), mode), "inside-corner", corner).is_none(), "{mode} {r}");
        assert!(of(&with(fillet(r - 0.15), mode), "inside-corner", corner).is_some(), "{mode} {r}");
        let corner = (100.0, 140.0);
        let f = of(&with(hollow(4.0), mode), "outside-corner", corner).unwrap_or_else(|| panic!("{mode}"));
        let r = after(f["help"].as_str().unwrap(), "raw a radius of ");
        assert!(of(&with(hollow(r), mode), "outside-corner", corner).is_none(), "{mode} {r}");
        assert!(of(&with(hollow(r - 0.15), mode), "outside-corner", corner).is_some(), "{mode} {r}");
        let any = |all: &[Value], code: &str| all.iter().find(|f| f["code"] == code).cloned();
        let f = any(&with(neck(4.0), mode), "neck").unwrap_or_else(|| panic!("{mode}"));
        let w = after(f["help"].as_str().unwrap(), "Draw the part ");
        assert!(any(&with(neck(w), mode), "neck").is_none(), "{mode} {w}");
        assert!(any(&with(neck(w - 0.05), mode), "neck").is_some(), "{mode} {w}");
        let f = any(&with(gap(12.0), mode), "closed-gap").unwrap_or_else(|| panic!("{mode}"));
        let w = after(f["help"].as_str().unwrap(), "Draw the gap ");
        assert!(any(&with(gap(w), mode), "closed-gap").is_none(), "{mode} {w}");
        assert!(any(&with(gap(w - 0.05), mode), "closed-gap").is_some(), "{mode} {w}");
    }
}

fn run_in(dir: &std::path::Path, args: &[&str]) -> Value {
    let out = Command::new(env!("CARGO_BIN_EXE_letin")).args(args).current_dir(dir).output().unwrap();
    serde_json::from_slice(&out.stdout).unwrap_or_else(|e| panic!("{e}: {out:?}"))
}

fn of_code<'a>(v: &'a Value, code: &str) -> Option<&'a Value> {
    v["findings"].as_array().unwrap().iter().find(|f| f["code"] == code)
}

/// The first number after a phrase.
fn number(help: &str, behind: &str) -> String {
    let rest = help.split(behind).nth(1).unwrap_or_else(|| panic!("{help}: no {behind}"));
    rest.split([' ', ',', ')']).next().unwrap().to_owned()
}

/// Two bushes together, where one is not enough; bores; bushes that ride on the work; corners of a part in hand.
#[test]
fn tools_that_are_proposed() {
    let dir = tempfile::tempdir().unwrap();
    let draw = |path: &str| {
        let head = r#"<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm" viewBox="0 0 200 200">"#;
        std::fs::write(dir.path().join("d.svg"), format!(r#"{head}<path d="{path}"/></svg>"#)).unwrap();
    };
    // A gap of 13.6, which is too narrow for the recess's offset of 7 as well.
    let mut both = 0;
    draw("M10 10 H150 V50 H60 V63.6 H150 V103.6 H10 Z");
    for mode in ["ease", "square", "keep"] {
        let of =
            |more: &[&str]| run_in(dir.path(), &[&["check", "d.svg", "--corners", mode, "--json"][..], more].concat());
        let v = of(&[]);
        let help = of_code(&v, "closed-gap").unwrap()["help"].as_str().unwrap().to_owned();
        if !help.contains("(--bush)") {
            continue;
        }
        let (inlay, recess) = (number(&help, "an inlay bush of at most "), number(&help, "a recess bush of at most "));
        let v = of(&["--inlay-bush", &inlay, "--bush", &recess, "--inlay-cutter", "6"]);
        assert!(of_code(&v, "closed-gap").is_none(), "{mode}: {inlay} {recess}: {v:#}");
        both += 1;
    }
    assert_eq!(both, 2, "the modes square and keep; no bush is small enough to ease");
    // Bores.
    draw("M30 10 H130 A20 20 0 0 1 150 30 V90 A20 20 0 0 1 130 110 H30 A20 20 0 0 1 10 90 V30 A20 20 0 0 1 30 10 Z");
    let kit = "[[bush]]\noutside = 20\nbore = 10.007\nprojection = 9.127\n[[cutter]]\ndiameter = 12\n[[cutter]]\ndiameter = 6\n";
    std::fs::write(dir.path().join("letin.toml"), kit).unwrap();
    let of = |more: &[&str]| run_in(dir.path(), &[&["check", "d.svg", "--json"][..], more].concat());
    let v = of(&["--cutter", "12"]);
    let f = of_code(&v, "bush-bore").unwrap();
    let most = number(f["help"].as_str().unwrap(), "a cutter of at most ");
    assert_eq!(f["ways"][0]["at_most_mm"].to_string(), most);
    let with = |d: f64| {
        let rows = format!("[[bush]]\noutside = 20\nbore = 10.007\n[[cutter]]\ndiameter = {d}\n");
        std::fs::write(dir.path().join("other.toml"), rows).unwrap();
        of_code(&of(&["--kit", "other.toml", "--cutter", &d.to_string()]), "bush-bore").is_some()
    };
    let most: f64 = most.parse().unwrap();
    assert!(!with(most) && with(most + 0.05), "{most}");
    // The proposed template thickness lets the bush clear the work, and a thinner template does not.
    let f = of(&[]);
    let thick = number(of_code(&f, "bush-depth").unwrap()["help"].as_str().unwrap(), "Use a template of ");
    assert!(of_code(&of(&["--template-thickness", &thick]), "bush-depth").is_none(), "{thick}");
    let thinner = (thick.parse::<f64>().unwrap() - 0.05).to_string();
    assert!(of_code(&of(&["--template-thickness", &thinner]), "bush-depth").is_some());
    let shorter = number(of_code(&f, "bush-depth").unwrap()["help"].as_str().unwrap(), "a projection of at most ");
    assert!(of_code(&of(&["--projection", &shorter]), "bush-depth").is_none(), "{shorter}");
    // A part with corner radius 2. The proposed cutter reaches the corner, a larger one does not.
    draw("M12 10 H98 A2 2 0 0 1 100 12 V88 A2 2 0 0 1 98 90 H12 A2 2 0 0 1 10 88 V12 A2 2 0 0 1 12 10 Z");
    std::fs::remove_file(dir.path().join("letin.toml")).unwrap();
    let part = |cutter: f64| of(&["--from", "part", "--cutter", &cutter.to_string(), "--inlay-cutter", "6"]);
    let v = part(6.0);
    let f = of_code(&v, "inside-corner").unwrap();
    let most: f64 = number(f["help"].as_str().unwrap(), "a cutter of at most ").parse().unwrap();
    assert!(
        of_code(&part(most), "inside-corner").is_none() && of_code(&part(most + 0.05), "inside-corner").is_some(),
        "{most}"
    );
    let radius = number(f["help"].as_str().unwrap(), "corner to ").parse::<f64>().unwrap();
    assert!((radius - 2.95).abs() < 1e-9);
}

/// The tools that `--suggest` proposes to buy have the promised effect.
#[test]
fn advised_tools_do_what_the_advice_says() {
    let dir = tempfile::tempdir().unwrap();
    std::fs::write(dir.path().join("letin.toml"), "[[bush]]\noutside = 20\n[[cutter]]\ndiameter = 6\n").unwrap();
    let head = r#"<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm" viewBox="0 0 200 200">"#;
    std::fs::write(
        dir.path().join("d.svg"),
        format!(r#"{head}<rect x="20" y="20" width="100" height="5" rx="2.5"/></svg>"#),
    )
    .unwrap();
    let v = run_in(dir.path(), &["check", "d.svg", "--suggest", "--json"]);
    let s = &v["suggestion"];
    assert!(s["best"].is_null() && s["buy_tried"].as_u64().unwrap() <= 24, "{s:#}");
    let (bush, cutter) = (s["buy"]["bush_mm"].to_string(), s["buy"]["cutter_mm"].to_string());
    let v = run_in(dir.path(), &["check", "d.svg", "--bush", &bush, "--cutter", &cutter, "--json"]);
    let count = |severity: &str| v["findings"].as_array().unwrap().iter().filter(|f| f["severity"] == severity).count();
    assert_eq!(
        (count("error") as u64, count("warning") as u64),
        (s["buy"]["errors"].as_u64().unwrap(), s["buy"]["warnings"].as_u64().unwrap())
    );
    assert_eq!(count("error"), 0);
}
