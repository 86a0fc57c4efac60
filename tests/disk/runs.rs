//! Simultaneous runs and interrupted runs.

use super::*;
use std::process::Child;
use std::time::Duration;

/// Pairs of runs with different tools start together and create the same folder.
#[test]
fn two_runs_at_once_leave_one_whole_set() {
    let t = yard();
    let mut last = Vec::new();
    for k in 0..15 {
        let out = format!("out-{k}");
        let start = |bush: &str| -> Child {
            let args = ["make", "key.svg", "--bush", bush, "--out", &out];
            command(t.path(), &args).stdout(Stdio::null()).stderr(Stdio::piped()).spawn().unwrap()
        };
        let pair = [start("20"), start("16")];
        for child in pair {
            let o = child.wait_with_output().unwrap();
            assert_eq!(status(&o), 0, "pair {k}: {}", err(&o));
        }
        let set = is_whole_set(&t.path().join(&out), "key.json").unwrap_or_else(|e| panic!("pair {k}: {e}"));
        last.push(set["tools"]["recess"]["bush_mm"].as_f64().unwrap());
    }
    assert!(last.iter().all(|b| [16.0, 20.0].contains(b)), "{last:?}");
}

fn signal(name: &str, child: &Child) {
    let sent = Command::new("kill").args([name, &child.id().to_string()]).status().unwrap();
    assert!(sent.success());
}

/// A signal at any moment, also during writing, leaves the old set or the new one, and nothing else.
#[test]
fn a_run_that_is_asked_to_end_leaves_nothing_half_done() {
    let t = yard();
    let out = t.path().join("key-letin");
    assert_eq!(status(&letin(t.path(), &["key.svg"])), 0);
    let mut stopped = 0;
    for (k, name) in ["-TERM", "-HUP", "-INT"].iter().cycle().take(36).enumerate() {
        let bush = if k % 2 == 0 { "16" } else { "18" };
        let mut run = command(t.path(), &["make", "key.svg", "--bush", bush]);
        let child = run.stdout(Stdio::null()).stderr(Stdio::piped()).spawn().unwrap();
        std::thread::sleep(Duration::from_millis(2 + 4 * k as u64));
        signal(name, &child);
        let o = child.wait_with_output().unwrap();
        // Before the handler is installed the signal ends the program directly, and no file is written.
        match o.status.code() {
            Some(0) | None => {}
            Some(2) => stopped += 1,
            other => panic!("{name}: {other:?} {}", err(&o)),
        }
        is_whole_set(&out, "key.json").unwrap_or_else(|e| panic!("{name} after {k}: {e}"));
    }
    assert!(stopped > 0, "no signal reached a run at work");
    assert_eq!(names(t.path()), ["key-letin", "key.svg"]);
}

/// A drawing that takes long: a disc with a rough edge.
fn rough_disc(to: &Path) {
    let mut seed = 1u32;
    let mut d = String::from("M");
    for k in 0..20_000 {
        seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        let r = 80.0 + f64::from(seed >> 16) / 65_536.0 * 0.04;
        let a = std::f64::consts::TAU * f64::from(k) / 20_000.0;
        d.push_str(&format!("{:.4} {:.4} ", 90.0 + r * a.cos(), 90.0 + r * a.sin()));
    }
    let head = r#"<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm" viewBox="0 0 200 200">"#;
    fs::write(to, format!(r#"{head}<path d="{d}Z"/></svg>"#)).unwrap();
}

/// SIGTERM and SIGHUP end a long run as Ctrl-C does: with a status, a message and no file.
#[test]
fn sigterm_and_sighup_are_like_ctrl_c() {
    use std::io::{BufRead, BufReader};
    let t = yard();
    rough_disc(&t.path().join("disc.svg"));
    for name in ["-TERM", "-HUP"] {
        let mut run = command(t.path(), &["make", "disc.svg", "--out", "out"]);
        let mut child = run.stdout(Stdio::null()).stderr(Stdio::piped()).spawn().unwrap();
        let mut said = BufReader::new(child.stderr.take().unwrap());
        let mut first = String::new();
        said.read_line(&mut first).unwrap();
        signal(name, &child);
        let rest: String = said.lines().map(|l| l.unwrap() + "\n").collect();
        assert_eq!(child.wait().unwrap().code(), Some(2), "{name}: {rest}");
        assert!(rest.contains("stopped before it was done"), "{name}: {rest}");
        assert_eq!(names(t.path()), ["disc.svg", "key.svg"]);
    }
}

/// After a kill at any moment the next run needs no `--force` and leaves a whole set.
#[test]
fn the_next_run_mends_what_a_kill_left() {
    let t = yard();
    let out = t.path().join("key-letin");
    for k in 0..30 {
        let bush = if k % 2 == 0 { "16" } else { "18" };
        let mut run = command(t.path(), &["make", "key.svg", "--bush", bush]);
        let mut child = run.stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
        // Kill the run when it begins to write, or soon after.
        let begun = |n: &String| n.starts_with(".letin-");
        while child.try_wait().unwrap().is_none() && !names(&out).iter().any(begun) {
            std::thread::sleep(Duration::from_micros(100));
        }
        std::thread::sleep(Duration::from_micros(150 * k));
        let _ = child.kill();
        child.wait().unwrap();
        let litter = names(&out).iter().any(begun);
        if k % 3 == 0 || litter {
            let o = letin(t.path(), &["make", "key.svg", "--bush", "20"]);
            assert_eq!(status(&o), 0, "{k}: {}", err(&o));
            is_whole_set(&out, "key.json").unwrap_or_else(|e| panic!("{k}: {e}"));
        }
    }
}

/// The state that a kill between two renames leaves. The next run reports it and repairs it without `--force`.
#[test]
fn the_repair_of_an_interrupted_set_is_reported() {
    let t = yard();
    let out = t.path().join("key-letin");
    let run = |bush: &str| letin(t.path(), &["make", "key.svg", "--bush", bush]);
    assert_eq!(status(&run("16")), 0);
    let old: BTreeMap<String, Vec<u8>> =
        names(&out).into_iter().map(|n| (n.clone(), fs::read(out.join(n)).unwrap())).collect();
    assert_eq!(status(&run("18")), 0);
    let new: BTreeMap<String, Vec<u8>> =
        names(&out).into_iter().map(|n| (n.clone(), fs::read(out.join(n)).unwrap())).collect();
    // Half of the new files replace the old ones; the staging folder holds the files set aside.
    let staged = out.join(".letin-a1b2c3");
    fs::create_dir_all(staged.join("old")).unwrap();
    fs::create_dir_all(staged.join("new")).unwrap();
    let hashes = |all: &BTreeMap<String, Vec<u8>>| -> BTreeMap<String, String> {
        all.iter().map(|(n, b)| (n.clone(), letin::write::store::sha256(b))).collect()
    };
    let journal = serde_json::json!({
        "letin": "0.1.0", "document": "key.json", "new": hashes(&new), "old": hashes(&old),
    });
    fs::write(staged.join("journal.json"), journal.to_string()).unwrap();
    for (k, (name, bytes)) in old.iter().enumerate() {
        if k % 2 == 0 && name != "key.json" {
            fs::write(staged.join("old").join(name), bytes).unwrap();
        } else {
            fs::write(out.join(name), bytes).unwrap();
            fs::write(staged.join("new").join(name), &new[name]).unwrap();
        }
    }
    let o = run("20");
    assert_eq!(status(&o), 0, "{}", err(&o));
    assert!(err(&o).contains("an earlier run was broken off while it wrote"), "{}", err(&o));
    is_whole_set(&out, "key.json").unwrap();
    assert!(!err(&run("20")).contains("broken off"));
}

#[test]
fn a_hundred_runs_leave_nothing_behind() {
    let t = yard();
    for k in 0..100 {
        let bush = ["20", "16", "18"][k % 3];
        assert_eq!(status(&letin(t.path(), &["make", "key.svg", "--bush", bush])), 0);
    }
    is_whole_set(&t.path().join("key-letin"), "key.json").unwrap();
    assert_eq!(names(t.path()), ["key-letin", "key.svg"]);
}
