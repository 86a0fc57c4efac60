//! The user's own bushes and cutters: kit files, the table of offsets, the test piece. Every test runs the built program.

use serde_json::Value;
use std::fs;
use std::path::Path;
use std::process::{Command, Output};
use tempfile::TempDir;

fn letin(dir: &Path, args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_letin")).args(args).current_dir(dir).env("NO_COLOR", "1").output().unwrap()
}

fn out(o: &Output) -> String {
    String::from_utf8_lossy(&o.stdout).into_owned()
}

fn err(o: &Output) -> String {
    String::from_utf8_lossy(&o.stderr).into_owned()
}

fn json(o: &Output) -> Value {
    serde_json::from_slice(&o.stdout).unwrap_or_else(|e| panic!("{e}: {}{}", out(o), err(o)))
}

const DRAWING: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm" viewBox="0 0 200 200"><rect x="40" y="60" width="120" height="80" rx="20"/></svg>"#;

fn yard(kit: &str) -> TempDir {
    let dir = tempfile::tempdir().unwrap();
    fs::write(dir.path().join("letin.toml"), kit).unwrap();
    fs::write(dir.path().join("patch.svg"), DRAWING).unwrap();
    dir
}

const BOX: &str = "[[bush]]\noutside = 20\nbore = 17\n\n[[cutter]]\ndiameter = 6\n";

/// The whole answer to each kit with a mistake: `fixtures/kit/NAME.toml` and `NAME.txt`. After an intended change, run
/// `LETIN_REFRESH=1 cargo test --test kit` and read the difference.
#[test]
fn kits_with_a_slip_are_shown_at_their_row() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures/kit");
    let mut names: Vec<_> = fs::read_dir(&folder).unwrap().map(|e| e.unwrap().path()).collect();
    names.retain(|p| p.extension().is_some_and(|e| e == "toml"));
    names.sort();
    assert!(names.len() >= 15);
    let mut wrong = Vec::new();
    for path in names {
        let dir = yard(&fs::read_to_string(&path).unwrap());
        let o = letin(dir.path(), &["offsets"]);
        assert_eq!((o.status.code(), out(&o)), (Some(2), String::new()), "{path:?}");
        let said: String = err(&o).lines().map(|l| l.trim_end().to_owned() + "\n").collect();
        let shown = path.with_extension("txt");
        if std::env::var_os("LETIN_REFRESH").is_some() {
            fs::write(&shown, &said).unwrap();
        }
        if fs::read_to_string(&shown).unwrap_or_default() != said {
            wrong.push(said);
        }
        // A job beside the kit gives the same error, and no part of the kit counts.
        let of_job = letin(dir.path(), &["check", "patch.svg"]);
        assert_eq!((of_job.status.code(), err(&of_job)), (Some(2), err(&o)), "{path:?}");
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    let dir = yard("# box\n[[bush]]\noutside = 20\nbor = 17\n");
    let v = json(&letin(dir.path(), &["offsets", "--json"]));
    assert_eq!((&v["error"]["code"], &v["error"]["help"]), (&"kit".into(), &"did you mean bore?".into()));
    assert!(v["error"]["message"].as_str().unwrap().ends_with("letin.toml, line 4: a bush has no bor"), "{v}");
}

#[test]
fn the_table_in_three_forms() {
    let dir = yard(BOX);
    let o = letin(dir.path(), &["offsets", "--json", "--html", "table.html"]);
    assert_eq!(o.status.code(), Some(0), "{}", err(&o));
    let v = json(&o);
    assert_eq!(v["offsets"][0]["recess_offset_mm"], 7);
    assert_eq!(v["offsets"][0]["inlay_offset_mm"], 13);
    assert_eq!(v["buy"]["size_mm"], 32);
    let page = fs::read_to_string(dir.path().join("table.html")).unwrap();
    assert!(page.contains("7.00 mm") && page.contains("13.00 mm"));
    // An existing table stays.
    let o = letin(dir.path(), &["offsets", "--html", "table.html"]);
    assert_eq!(o.status.code(), Some(2), "{}", err(&o));
    let o = letin(dir.path(), &["offsets", "--kit", "inch"]);
    assert!(out(&o).contains("recess: bush 5/8 in, cutter 1/8 in; inlay: bush "), "{}", out(&o));
}

/// Worked by hand: with T = 60, a bush of 19.87 and a cutter that cuts 5.99 make a recess of 46.12 and an inlay of 34.14.
/// Source: none outside; the check does the sums anew.
#[test]
fn a_test_piece_corrects_the_kit() {
    let dir = yard(BOX);
    let o = letin(dir.path(), &["testpiece"]);
    assert_eq!(o.status.code(), Some(0), "{}", err(&o));
    let folder = dir.path().join("testpiece-letin");
    for f in ["testpiece-face-1.dxf", "testpiece-face-1.svg", "testpiece-plan-1.svg", "testpiece-sheet.txt"] {
        assert!(folder.join(f).is_file(), "{f}");
    }
    assert!(out(&o).contains("recess 46.00 mm, inlay 34.00 mm"), "{}", out(&o));
    assert!(
        out(&o).contains("\nRouters hurt. Guards on") && out(&o).lines().all(|l| l.chars().count() <= 100),
        "{}",
        out(&o)
    );
    let o = letin(dir.path(), &["testpiece", "--measured", "46.12x34.14", "--dry-run"]);
    assert!(
        out(&o).contains("now 19.870 mm") && out(&o).contains("Dry run: nothing written to letin.toml"),
        "{}{}",
        out(&o),
        err(&o)
    );
    assert_eq!(fs::read_to_string(dir.path().join("letin.toml")).unwrap(), BOX);
    let o = letin(dir.path(), &["testpiece", "--measured", "46.12x34.14", "--json"]);
    let v = json(&o);
    assert_eq!((&v["before"]["bush_mm"], &v["after"]["bush_mm"]), (&20.into(), &19.87.into()));
    assert_eq!((&v["before"]["cutter_mm"], &v["after"]["cutter_mm"]), (&6.into(), &5.99.into()));
    let kit = fs::read_to_string(dir.path().join("letin.toml")).unwrap();
    assert_eq!(
        kit,
        "[[bush]]\noutside = 20\nbore = 17\nmeasured = 19.87\n\n[[cutter]]\ndiameter = 6\nmeasured = 5.99\n"
    );
    // A job beside this kit uses the measured sizes: (19.87 − 5.99)/2, by hand.
    let v = json(&letin(dir.path(), &["check", "patch.svg", "--json"]));
    assert_eq!(v["tools"]["recess"]["offset_mm"], 6.94);
    assert_eq!(v["tools"]["recess"]["bush_nominal_mm"], 20);
    let codes: Vec<&Value> = v["findings"].as_array().unwrap().iter().map(|f| &f["code"]).collect();
    assert!(!codes.contains(&&"not-measured".into()), "{codes:?}");
}

#[test]
fn readings_that_cannot_be_change_nothing() {
    let dir = yard(BOX);
    for args in [["--measured", "34x46"], ["--measured", "46"], ["--measured", "46x20"], ["--opening", "60"]] {
        let o = letin(dir.path(), &["testpiece", args[0], args[1]]);
        assert_eq!(o.status.code(), Some(2), "{args:?}: {}", out(&o));
    }
    assert_eq!(fs::read_to_string(dir.path().join("letin.toml")).unwrap(), BOX);
    // Contradictory readings of one dimension change nothing.
    let twice = ["testpiece", "--measured", "46.07x34.19", "--measured", "45.5x34.19"];
    let openings = ["testpiece", "--measured", "46.07x34.19", "--opening", "60", "--opening", "61"];
    for (args, says) in [(&twice[..], "recess"), (&openings[..], "opening")] {
        let o = letin(dir.path(), args);
        assert_eq!(o.status.code(), Some(2), "{}", out(&o));
        let by = if says == "recess" { "0.57 mm apart" } else { "1.00 mm apart" };
        assert!(err(&o).contains(says) && err(&o).contains(by), "{}", err(&o));
    }
    assert_eq!(fs::read_to_string(dir.path().join("letin.toml")).unwrap(), BOX);
    // With `--kit`, a missing kit file is created.
    let o = letin(dir.path(), &["testpiece", "--measured", "46.12x34.14", "--kit", "new.toml"]);
    assert_eq!(o.status.code(), Some(0), "{}", err(&o));
    assert!(fs::read_to_string(dir.path().join("new.toml")).unwrap().contains("19.87"));
}

/// A bare fraction is one of inches in a kit of inches. A kit of millimetres refuses it.
#[test]
fn fractions_take_the_inches_of_the_kit() {
    let dir = yard("unit = \"in\"\n[[bush]]\noutside = \"1-1/4\"\nbore = \"1/4\"\n[[cutter]]\ndiameter = \"1/8\"\n");
    let v = json(&letin(dir.path(), &["offsets", "--json"]));
    let row = &v["offsets"][0];
    assert_eq!((&row["bush_mm"], &row["bore_mm"], &row["cutter_mm"]), (&31.75.into(), &6.35.into(), &3.175.into()));
    let dir = yard("[[bush]]\noutside = 20\nbore = \"1/4\"\n[[cutter]]\ndiameter = 3\n");
    let o = letin(dir.path(), &["offsets"]);
    assert_eq!(o.status.code(), Some(2));
    assert!(err(&o).contains("Write 1/4in"), "{}", err(&o));
}

/// Only missing figures are reported as missing.
#[test]
fn only_missing_figures_are_reported_as_missing() {
    let dir = yard("[[bush]]\noutside = 20\nbore = 17\nmeasured = 19.86\n[[cutter]]\ndiameter = 6\nlength = 25\n");
    let o = letin(dir.path(), &["make", "patch.svg", "--full"]);
    let said = out(&o).to_lowercase();
    assert!(said.contains("shank of the 6 mm cutter (your kit)"), "{said}{}", err(&o));
    assert!(!said.contains("length and shank") && !said.contains("bore of"), "{said}");
    // Tools have their nominal names, with the measured size beside them.
    assert!(said.contains("bush 20 mm (19.86 mm measured), cutter 6 mm"), "{said}");
}

/// Who types inch tools and has no kit is offered inch tools, and reads inches.
#[test]
fn inch_tools_without_a_kit_are_compared_with_inch_tools() {
    let dir = tempfile::tempdir().unwrap();
    let sharp = DRAWING.replace(" rx=\"20\"", "");
    fs::write(dir.path().join("patch.svg"), sharp).unwrap();
    let run = |tools: &[&str]| letin(dir.path(), &[&["check", "patch.svg", "--suggest"][..], tools].concat());
    let inch = run(&["--bush", "5/8in", "--cutter", "1/4in"]);
    assert!(err(&inch).contains("general inch kit") && !out(&inch).contains("(3 mm)"), "{}", out(&inch));
    assert!(err(&run(&["--bush", "16", "--cutter", "6"])).contains("general metric kit"));
}

#[test]
fn a_cutter_that_the_kit_lacks_is_checked_by_its_nominal_size() {
    let dir = yard("[[bush]]\noutside = 20\nbore = 10\n");
    let bore = |cutter: &str| {
        let v = json(&letin(dir.path(), &["check", "patch.svg", "--cutter", cutter, "--json"]));
        v["findings"].as_array().unwrap().iter().any(|f| f["code"] == "bush-bore")
    };
    assert!(bore("12") && !bore("6"));
}

#[test]
fn a_cutter_that_does_not_come_through_its_bush_is_an_error() {
    let dir = yard("[[bush]]\noutside = 20\nbore = 10\n[[cutter]]\ndiameter = 12\n[[cutter]]\ndiameter = 6\n");
    let o = letin(dir.path(), &["check", "patch.svg", "--cutter", "12", "--json"]);
    assert_eq!(o.status.code(), Some(1), "{}", err(&o));
    let v = json(&o);
    let f = v["findings"].as_array().unwrap().iter().find(|f| f["code"] == "bush-bore").unwrap();
    assert_eq!((&f["severity"], &f["measured_mm"]), (&"error".into(), &10.into()));
    let v = json(&letin(dir.path(), &["check", "patch.svg", "--json"]));
    assert!(v["findings"].as_array().unwrap().iter().all(|f| f["code"] != "bush-bore"));
}

/// An inlay collar: bush 5/16 in, collar over it 9/16 in, cutter 1/8 in. The opening is 7/16 in larger than the inlay in
/// both directions. Recess and inlay share one opening, because 9/16 − 1/8 = 5/16 + 1/8.
/// Source: Wood magazine, *Inlay with a bushing kit*, year unknown (for the 7/16).
#[test]
fn the_published_inlay_set_in_inches() {
    let dir = yard(
        "unit = \"in\"\n[[bush]]\noutside = \"5/16in\"\nbore = \"1/4in\"\n[[bush]]\noutside = \"9/16in\"\nbore = \"5/16in\"\n\
         [[cutter]]\ndiameter = \"1/8in\"\n",
    );
    let v = json(&letin(dir.path(), &["offsets", "--gap", "0", "--json"]));
    let pairs = v["pairs"].as_array().unwrap();
    assert_eq!(pairs.len(), 1, "{v:#}");
    let mm = |v: &Value| v.as_f64().unwrap();
    assert!((mm(&pairs[0]["recess"]["bush_mm"]) - 14.2875).abs() < 1e-6);
    assert!((mm(&pairs[0]["inlay"]["bush_mm"]) - 7.9375).abs() < 1e-6);
    assert_eq!(pairs[0]["gap_mm"], 0);
    // Half of 7/16 in per side: outside corners have a radius of 7/32 in, inside corners 1/16 in.
    assert!((mm(&pairs[0]["offset_mm"]) - 5.556_25).abs() < 1e-6);
    assert!((mm(&pairs[0]["inside_radius_mm"]) - 25.4 / 16.0).abs() < 1e-6);
}

/// A matching pair of the kit needs one opening, on one face, and the template is not turned over. By hand: 32 − 6 = 20 + 6,
/// so the gap is 0 and the offset is (32 − 6)/2 = 13.
#[test]
fn a_matching_pair_makes_one_opening_for_both() {
    let dir = yard("[[bush]]\noutside = 32\nbore = 28\n[[bush]]\noutside = 20\nbore = 17\n[[cutter]]\ndiameter = 6\n");
    let o = letin(dir.path(), &["make", "patch.svg", "--pair", "auto", "--json"]);
    assert_eq!(o.status.code(), Some(0), "{}{}", out(&o), err(&o));
    let v = json(&o);
    let openings = v["openings"].as_array().unwrap();
    assert_eq!(openings.len(), 1, "{v:#}");
    let t = &openings[0];
    assert_eq!((&t["duty"], &t["face"], &t["offset_mm"]), (&"both".into(), &1.into(), &13.into()));
    assert_eq!(t["size_mm"], serde_json::json!([146, 106]));
    assert_eq!((&v["tools"]["gap_mm"], &v["tools"]["gap_wanted_mm"]), (&0.into(), &0.05.into()));
    assert_eq!((&v["tools"]["recess"]["bush_mm"], &v["tools"]["inlay"]["bush_mm"]), (&32.into(), &20.into()));
    let steps: Vec<(&Value, &Value)> =
        v["steps"].as_array().unwrap().iter().map(|s| (&s["piece"], &s["bush_mm"])).collect();
    assert_eq!(steps, [(&"board".into(), &32.into()), (&"inlay".into(), &20.into())]);
    assert_eq!(v["panels"][0]["turn"], "none");
    assert!(
        v["proof"]["gap_min_mm"].as_f64().unwrap().abs() < 0.005 && v["proof"]["gap_max_mm"].as_f64().unwrap() < 0.005
    );
    assert!(!dir.path().join("patch-letin/patch-face-2.dxf").exists());
    let o = letin(dir.path(), &["check", "patch.svg", "--pair", "auto"]);
    assert!(
        out(&o).contains("Tools from the kit, with one opening for both pieces: recess with bush 32 mm"),
        "{}",
        out(&o)
    );
    // Contradictory settings and an impossible pair are refused.
    assert_eq!(letin(dir.path(), &["check", "patch.svg", "--pair", "auto", "--bush", "20"]).status.code(), Some(2));
    fs::write(dir.path().join("letin.toml"), BOX).unwrap();
    let v = json(&letin(dir.path(), &["check", "patch.svg", "--pair", "auto", "--json"]));
    assert_eq!(v["error"]["code"], "no-pair");
}

/// A neck of 5 mm. The 6 mm cutter does not pass; the kit's 4 mm cutter passes with its bush.
#[test]
fn tools_that_would_do_better_are_found() {
    let dir =
        yard("[[bush]]\noutside = 20\n[[bush]]\noutside = 12\n[[cutter]]\ndiameter = 6\n[[cutter]]\ndiameter = 4\n");
    let neck = r#"<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm" viewBox="0 0 200 200"><path d="M10 10 H70 V37.5 H110 V10 H170 V70 H110 V42.5 H70 V70 H10 Z"/></svg>"#;
    fs::write(dir.path().join("neck.svg"), neck).unwrap();
    let v = json(&letin(dir.path(), &["check", "neck.svg", "--suggest", "--json"]));
    let s = &v["suggestion"];
    assert!(s["errors"].as_u64().unwrap() > 0, "{s}");
    assert_eq!((&s["best"]["cutter_mm"], &s["best"]["errors"]), (&4.into(), &0.into()), "{s}");
    // The suggested tools remove the error.
    let bush = s["best"]["bush_mm"].to_string();
    let v = json(&letin(dir.path(), &["check", "neck.svg", "--cutter", "4", "--bush", &bush, "--json"]));
    assert!(v["findings"].as_array().unwrap().iter().all(|f| f["severity"] != "error"), "{v:#}");
}

/// ΔD = D · C_T · ΔM: 120 across, +3 %, C_T 0.00274: 0.9864. Source: USDA Wood Handbook, FPL-GTR-190, table 13–5, eq.
/// 13–2.
#[test]
fn the_movement_of_the_wood_is_reported() {
    let dir = yard(BOX);
    let args = ["check", "patch.svg", "--species", "white ash", "--moisture-change", "3", "--json"];
    let v = json(&letin(dir.path(), &args));
    assert_eq!(v["season"]["outlines"][0], serde_json::json!([0.9864, 0.6576]));
    // Half of that per side: 0.05 − 0.4932 and 0.05 − 0.3288.
    assert_eq!(v["season"]["gaps_mm"][0], serde_json::json!([-0.4432, -0.2788]));
    let o = letin(dir.path(), &["check", "patch.svg", "--species", "balsa", "--moisture-change", "3"]);
    assert!(o.status.code() == Some(2) && err(&o).contains("black walnut"), "{}", err(&o));
}

/// A part in hand makes the template with one pair, and the matching pair cuts the recess. The part is a disc of radius 30.
/// Bush 20 and cutter 6 give an opening of radius 30 + 13. A recess with 32/6 then has the part's own radius, and a recess
/// with 31.9/6 is 0.05 larger. Areas πr². Source: none outside; the check does the sums anew.
#[test]
fn from_a_part_to_its_recess() {
    use letin::budget::Budget;
    use letin::geom::{self, FillRule, Point, Ring};
    use letin::kit::Pair;
    let budget = Budget::unlimited();
    let part = geom::enclosed(&[Ring::circle(Point::new(0.0, 0.0), 30.0)], FillRule::NonZero, &budget).unwrap();
    let opening = geom::grow(&part, (20.0 + 6.0) / 2.0, &budget).unwrap();
    for (bush, gap) in [(32.0, 0.0), (31.9, 0.05)] {
        let recess = letin::proof::recess_cut(&opening, Pair { bush, cutter: 6.0 }, &budget).unwrap();
        let want = std::f64::consts::PI * (30.0_f64 + gap).powi(2);
        assert!((recess.area() - want).abs() < 0.1, "{} {want}", recess.area());
    }
}

/// The inlay collar from the kit in inches to the pieces: a bow-tie key 80 long, 40 wide, 20 at the waist. The areas and
/// lengths follow from the offsets.
/// Source: Wood magazine, *Inlay with a bushing kit*, year unknown (for the 7/16).
#[test]
fn the_published_inlay_set_from_kit_to_pieces() {
    let dir = yard(
        "unit = \"in\"\n[[bush]]\noutside = \"5/16in\"\nbore = \"1/4in\"\n[[bush]]\noutside = \"9/16in\"\nbore = \"5/16in\"\n\
         [[cutter]]\ndiameter = \"1/8in\"\n",
    );
    let key = r#"<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm" viewBox="0 0 200 200"><path d="M60 80 L100 90 L140 80 V120 L100 110 L60 120 Z"/></svg>"#;
    fs::write(dir.path().join("key.svg"), key).unwrap();
    let made = |corners: &[&str]| {
        json(&letin(dir.path(), &[&["check", "key.svg", "--pair", "auto", "--gap", "0", "--json"], corners].concat()))
    };
    let near = |v: &Value, want: f64, within: f64| {
        assert!((v.as_f64().unwrap() - want).abs() <= within, "{v} {want}");
    };
    let v = made(&["--corners", "keep"]);
    let t = &v["openings"][0];
    assert_eq!(t["duty"], "both", "{v:#}");
    near(&t["area_mm2"], 3_857.537_167, 1e-3);
    near(&t["perimeter_mm"], 279.723_574, 1e-3);
    // 7/16 in larger in both directions.
    near(&t["size_mm"][0], 80.0 + 25.4 * 7.0 / 16.0, 1e-6);
    near(&t["size_mm"][1], 40.0 + 25.4 * 7.0 / 16.0, 1e-6);
    let pieces = &v["proof"]["pieces"][0];
    near(&pieces["inlay_area_mm2"], 2_400.310_037, 1e-3);
    near(&pieces["recess_area_mm2"], 2_396.551_083, 1e-3);
    let v = made(&["--ease-inside", "0", "--ease-outside", "0"]);
    near(&v["corners"]["inside_radius_mm"], 25.4 / 16.0, 1e-6);
    near(&v["corners"]["outside_radius_mm"], 25.4 * 7.0 / 32.0, 1e-6);
}

/// Base, template and template cutter come from the kit unless they are given. Values from neither are marked as assumed.
#[test]
fn figures_of_the_kit_count_where_none_are_given() {
    let kit = format!("{BOX}\n[router]\nbase = 60\n[template]\nstock = [12, 6]\ncutters = [\"1/4in\", 3]\n");
    let dir = yard(&kit);
    let of = |args: &[&str]| {
        let v = json(&letin(dir.path(), &[&["check", "patch.svg", "--json"][..], args].concat()));
        let ours = ["base_", "template_"];
        let all = v["router"].as_object().unwrap().iter();
        let some = all.filter(|(k, _)| ours.iter().any(|o| k.starts_with(o))).map(|(k, v)| (k.clone(), v.clone()));
        Value::Object(some.collect())
    };
    let want = |base: (f64, &str), thick: (f64, &str), cutter: (f64, &str)| {
        let whole = |v: f64| if v.fract() == 0.0 { Value::from(v as i64) } else { Value::from(v) };
        serde_json::json!({
            "base_mm": whole(base.0), "base_from": base.1,
            "template_thickness_mm": whole(thick.0), "template_thickness_from": thick.1,
            "template_cutter_mm": whole(cutter.0), "template_cutter_from": cutter.1,
        })
    };
    assert_eq!(of(&[]), want((60.0, "kit"), (12.0, "kit"), (6.35, "kit")));
    let given = ["--base", "80", "--template-thickness", "9", "--template-cutter", "3"];
    assert_eq!(of(&given), want((80.0, "given"), (9.0, "given"), (3.0, "given")));
    let general = ["--kit", "metric"];
    assert_eq!(of(&general), want((75.0, "assumed"), (9.0, "assumed"), (6.0, "assumed")));
    // They do what they say: a smaller base makes a smaller panel, a thicker template wants a wider web.
    let size = |args: &[&str]| {
        let v = json(&letin(dir.path(), &[&["check", "patch.svg", "--json"][..], args].concat()));
        v["panels"][0]["size_mm"][0].as_f64().unwrap()
    };
    assert!(size(&[]) < size(&["--base", "75"]));
    assert_eq!(size(&["--base", "75"]), size(&["--kit", "metric"]));
    let said = out(&letin(dir.path(), &["check", "patch.svg", "--full"]));
    let known = "Given or from your kit: base radius 60 mm, template 12 mm";
    assert!(said.contains(known) && !said.contains("base radius 75"), "{said}");
    let said = out(&letin(dir.path(), &["check", "patch.svg", "--kit", "metric"]));
    assert!(said.contains("base radius 75 mm, template 9 mm, its cutter 6 mm."), "{said}");
    // A job file's figure is one that was given.
    fs::write(dir.path().join("job.toml"), "drawing = \"patch.svg\"\nbase = 90\n").unwrap();
    let v = json(&letin(dir.path(), &["check", "job.toml", "--json"]));
    assert_eq!((&v["router"]["base_mm"], &v["router"]["base_from"]), (&90.into(), &"given".into()));
    // A template cutter of the kit leaves corners too round for the bush. The finding needs no option.
    fs::write(dir.path().join("letin.toml"), format!("{BOX}[template]\ncutters = [25]\n")).unwrap();
    fs::write(dir.path().join("sharp.svg"), DRAWING.replace(" rx=\"20\"", "")).unwrap();
    let v = json(&letin(dir.path(), &["check", "sharp.svg", "--corners", "keep", "--json"]));
    let has = |v: &Value| v["findings"].as_array().unwrap().iter().any(|f| f["code"] == "template-corner");
    assert!(has(&v), "{v:#}");
    let v = json(&letin(dir.path(), &["check", "sharp.svg", "--corners", "keep", "--template-cutter", "6", "--json"]));
    assert!(!has(&v), "{v:#}");
}

/// At most 24 sets of tools are tried, whatever the kit, and the answer gives both numbers. Where no set removes all
/// findings, the answer gives the number that the best set removes.
#[test]
fn suggestions_are_bounded_and_counted() {
    let dir = yard(BOX);
    // A limb of 5 and a limb of 2. The kit's 4 mm cutter fits the first; no cutter fits the second.
    let limbs = r#"<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm" viewBox="0 0 200 200"><path d="M60 20 H150 V100 H60 V90 H30 V85 H60 V52 H30 V50 H60 Z"/></svg>"#;
    fs::write(dir.path().join("limbs.svg"), limbs).unwrap();
    let v = json(&letin(
        dir.path(),
        &["check", "limbs.svg", "--suggest", "--kit", "metric", "--bush", "40", "--cutter", "12", "--json"],
    ));
    let s = &v["suggestion"];
    let (tried, sets) = (s["tried"].as_u64().unwrap(), s["sets"].as_u64().unwrap());
    assert!(tried <= 24 && sets > 24, "{tried} of {sets}");
    let rows = "[[bush]]\noutside = 20\n[[bush]]\noutside = 12\n[[cutter]]\ndiameter = 6\n[[cutter]]\ndiameter = 4\n";
    fs::write(dir.path().join("letin.toml"), rows).unwrap();
    let args = ["check", "limbs.svg", "--suggest"];
    let v = json(&letin(dir.path(), &[&args[..], &["--json"]].concat()));
    let s = &v["suggestion"];
    let of = |s: &Value, what: &str| s[what].as_u64().unwrap();
    let (now, then) = (of(s, "errors"), of(&s["best"], "errors"));
    assert!(0 < then && then < now, "{s:#}");
    let said = out(&letin(dir.path(), &args));
    assert!(said.contains(&format!("Removes {} of {now} errors", now - then)), "{said}");
    assert!(said.contains(&format!("Tried: {} of {} sets not larger than these.", s["tried"], s["sets"])), "{said}");
    // A run with these tools gives the same counts.
    let size = |what: &str| s["best"][what].to_string();
    let (bush, cutter) = (size("bush_mm"), size("cutter_mm"));
    let inlay = ["--inlay-bush", &size("inlay_bush_mm"), "--inlay-cutter", &size("inlay_cutter_mm")];
    let args = ["check", "limbs.svg", "--bush", &bush, "--cutter", &cutter, "--json"];
    let v = json(&letin(dir.path(), &[&args[..], &inlay].concat()));
    let count =
        |severity| v["findings"].as_array().unwrap().iter().filter(|f| f["severity"] == severity).count() as u64;
    assert_eq!((count("error"), count("warning")), (then, of(&s["best"], "warnings")), "{v:#}");
}

/// `--suggest` has tried the size that it proposes: at that width there is no finding. With sharp corners it proposes no
/// size.
#[test]
fn the_size_that_is_proposed_works() {
    let dir = yard(BOX);
    let head = r#"<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm" viewBox="0 0 200 200">"#;
    // A bar of 5 with round ends, a plate with corner radius 2, and a fork whose gap of 20 ends round.
    let shapes = [
        (r#"<rect x="20" y="20" width="100" height="5" rx="2.5"/>"#, "ease"),
        (r#"<rect x="20" y="20" width="100" height="60" rx="2"/>"#, "keep"),
        (
            r#"<path d="M14 10 H146 A4 4 0 0 1 150 14 V46 A4 4 0 0 1 146 50 H70 A10 10 0 0 0 70 70 H146 A4 4 0 0 1 150 74 V106 A4 4 0 0 1 146 110 H14 A4 4 0 0 1 10 106 V14 A4 4 0 0 1 14 10 Z"/>"#,
            "ease",
        ),
    ];
    for (i, (shape, corners)) in shapes.iter().enumerate() {
        let name = format!("s{i}.svg");
        fs::write(dir.path().join(&name), format!("{head}{shape}</svg>")).unwrap();
        // A base that does not tip on larger openings, so that only the outline matters.
        let args = ["check", name.as_str(), "--corners", corners, "--base", "120"];
        let v = json(&letin(dir.path(), &[&args[..], &["--suggest", "--json"]].concat()));
        let width = v["suggestion"]["scale_width_mm"].as_f64().unwrap_or_else(|| panic!("{shape}: {v:#}"));
        let o = letin(dir.path(), &[&args[..], &["--width", &width.to_string(), "--json"]].concat());
        assert_eq!(o.status.code(), Some(0), "{shape} at {width}: {}", out(&o));
        let said = out(&letin(dir.path(), &[&args[..], &["--suggest"]].concat()));
        assert!(said.contains(&format!("--width {width}): tried")), "{said}");
    }
    fs::write(dir.path().join("sharp.svg"), DRAWING.replace(" rx=\"20\"", "")).unwrap();
    let v = json(&letin(dir.path(), &["check", "sharp.svg", "--corners", "keep", "--suggest", "--json"]));
    assert!(v["suggestion"]["warnings"] == 4 && v["suggestion"]["scale"].is_null(), "{v:#}");
}

/// A 10 mm long cutter does not cut a recess of 20 mm under a template of 9 mm. Trials count such findings of the tools.
#[test]
fn trials_count_how_deep_a_cutter_reaches() {
    let dir = yard(
        "[[bush]]\noutside = 16\n[[bush]]\noutside = 10\n[[bush]]\noutside = 22\n\
         [[cutter]]\ndiameter = 3\nlength = 10\nshank = 6\n[[cutter]]\ndiameter = 6\nlength = 50\nshank = 6\n",
    );
    let deep = ["check", "patch.svg", "--stock", "30", "--recess-depth", "20", "--json"];
    let v = json(&letin(dir.path(), &[&deep[..], &["--pair", "auto"]].concat()));
    let of = |v: &Value, piece: &str| (v["tools"][piece]["bush_mm"].clone(), v["tools"][piece]["cutter_mm"].clone());
    assert_eq!((of(&v, "recess"), of(&v, "inlay")), ((22.into(), 6.into()), (10.into(), 6.into())), "{v:#}");
    let count =
        |v: &Value, what: &str| v["findings"].as_array().unwrap().iter().filter(|f| f["severity"] == what).count();
    assert_eq!((&v["pair"]["errors"], count(&v, "error")), (&0.into(), 0), "{v:#}");
    // In a shallower recess the smaller cutter makes the smaller corners.
    let v = json(&letin(dir.path(), &["check", "patch.svg", "--pair", "auto", "--json"]));
    assert_eq!((of(&v, "recess"), of(&v, "inlay")), ((16.into(), 3.into()), (10.into(), 3.into())), "{v:#}");
    let v = json(&letin(dir.path(), &[&deep[..], &["--suggest", "--bush", "16", "--cutter", "3"]].concat()));
    let s = &v["suggestion"];
    assert_eq!(s["errors"], count(&v, "error"), "{v:#}");
    assert!(s["errors"] != 0 && s["best"]["cutter_mm"] == 6 && s["best"]["errors"] == 0, "{s:#}");
}

/// Limbs 20 apart. An offset of (20 + 6)/2 = 13 per side closes the gap of the inlay's opening, (12 + 6)/2 = 9 does not.
#[test]
fn a_bush_for_the_inlay_alone_is_found() {
    let dir = yard("[[bush]]\noutside = 20\n[[bush]]\noutside = 12\n[[cutter]]\ndiameter = 6\n");
    let comb = r#"<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm" viewBox="0 0 200 200"><path d="M20 20 H150 V60 H60 V80 H150 V120 H20 Z"/></svg>"#;
    fs::write(dir.path().join("comb.svg"), comb).unwrap();
    let lost = |v: &Value| v["findings"].as_array().unwrap().iter().filter(|f| f["code"] == "closed-gap").count();
    let args = ["check", "comb.svg", "--suggest"];
    let v = json(&letin(dir.path(), &[&args[..], &["--json"]].concat()));
    assert!(lost(&v) > 0, "{v:#}");
    let best = &v["suggestion"]["best"];
    let sizes = [&best["bush_mm"], &best["cutter_mm"], &best["inlay_bush_mm"], &best["inlay_cutter_mm"]];
    assert_eq!((sizes, &best["lost"]), ([&20.into(), &6.into(), &12.into(), &6.into()], &0.into()), "{best:#}");
    let said = out(&letin(dir.path(), &args));
    assert!(said.contains("inlay with bush 12 mm"), "{said}");
    assert_eq!(lost(&json(&letin(dir.path(), &["check", "comb.svg", "--inlay-bush", "12", "--json"]))), 0);
}

/// The tool to buy is one that the kit lacks. The answer also reports that no single tool would help.
#[test]
fn what_is_to_be_bought_is_what_lacks() {
    let dir = yard(BOX);
    let neck = r#"<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm" viewBox="0 0 200 200"><path d="M10 10 H70 V37.5 H110 V10 H170 V70 H110 V42.5 H70 V70 H10 Z"/></svg>"#;
    fs::write(dir.path().join("neck.svg"), neck).unwrap();
    let v = json(&letin(dir.path(), &["check", "neck.svg", "--suggest", "--json"]));
    let s = &v["suggestion"];
    assert!(s["buy_bush_mm"].is_null() && s["buy"]["bush_mm"] == 20, "{s:#}");
    let said = out(&letin(dir.path(), &["check", "neck.svg", "--suggest"]));
    assert!(said.contains(&format!("To buy: cutter {} mm", s["buy_cutter_mm"].as_f64().unwrap())), "{said}");
    let helps = |kit: &str| {
        fs::write(dir.path().join("letin.toml"), kit).unwrap();
        let v = json(&letin(dir.path(), &["check", "patch.svg", "--pair", "auto", "--json"]));
        assert_eq!(v["error"]["code"], "no-pair", "{v:#}");
        let table = json(&letin(dir.path(), &["offsets", "--json"]));
        (v["error"]["help"].as_str().unwrap().to_owned(), table["buy"].is_null())
    };
    let (said, nothing) = helps(BOX);
    assert!(said.contains("what tool to buy") && !nothing, "{said}");
    let (said, nothing) = helps("[[bush]]\noutside = 60\n[[cutter]]\ndiameter = 25\n");
    assert!(said.contains("No single tool of the general kit would help") && nothing, "{said}");
}
