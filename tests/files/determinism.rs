//! The same job gives the same bytes: in a second run, beside other runs, and on several threads of one process.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use tempfile::TempDir;

/// A rosette with circular and elliptical arcs, curves, several outlines and a rotated group.
const ROSETTE: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="300mm" viewBox="0 0 300 300">
  <circle id="boss" cx="150" cy="150" r="22.5"/>
  <g transform="rotate(17 150 150)">
    <path id="leaf-1" d="M150 90 C120 70 120 40 150 12 C180 40 180 70 150 90 Z"/>
    <path id="leaf-2" d="M210 150 A 45 30 20 0 1 288 150 A 45 30 20 0 1 210 150 Z"/>
    <ellipse id="seed" cx="60" cy="150" rx="31" ry="17"/>
    <rect id="tenon" x="120" y="215" width="60" height="50" rx="14" ry="9"/>
  </g>
</svg>"#;

fn yard() -> (TempDir, Vec<PathBuf>) {
    let dir = TempDir::new().unwrap();
    let rosette = dir.path().join("rosette.svg");
    fs::write(&rosette, ROSETTE).unwrap();
    let key = dir.path().join("key.svg");
    fs::copy(Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/bow-tie-key/key.svg"), &key).unwrap();
    (dir, vec![key, rosette])
}

fn command(drawing: &Path, out: &Path) -> Command {
    let mut c = Command::new(env!("CARGO_BIN_EXE_letin"));
    c.arg(drawing).arg("--out").arg(out).arg("--json").stdout(Stdio::piped()).stderr(Stdio::piped());
    c
}

/// All files of a folder by name.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap())
        .map(|e| (e.file_name().into_string().unwrap(), fs::read(e.path()).unwrap()))
        .collect()
}

#[track_caller]
fn same_files(a: &BTreeMap<String, Vec<u8>>, b: &BTreeMap<String, Vec<u8>>, what: &str) {
    assert_eq!(a.keys().collect::<Vec<_>>(), b.keys().collect::<Vec<_>>(), "{what}: names");
    for (name, bytes) in a {
        assert!(&b[name] == bytes, "{what}: {name} differs");
    }
}

/// One process by itself, and then three at once.
#[test]
fn processes_side_by_side_write_the_same_bytes() {
    let (dir, drawings) = yard();
    for drawing in &drawings {
        let name = drawing.file_stem().unwrap().to_string_lossy().into_owned();
        let alone = dir.path().join(format!("{name}-alone"));
        let out = command(drawing, &alone).output().unwrap();
        assert!(out.status.success(), "{name}: {}{}", text(&out.stdout), text(&out.stderr));
        let wanted = files(&alone);
        assert!(wanted.contains_key(&format!("{name}-face-1.dxf")), "{:?}", wanted.keys());

        let folders: Vec<PathBuf> = (1..=3).map(|k| dir.path().join(format!("{name}-{k}"))).collect();
        let running: Vec<_> = folders.iter().map(|f| command(drawing, f).spawn().unwrap()).collect();
        for (child, folder) in running.into_iter().zip(&folders) {
            let again = child.wait_with_output().unwrap();
            assert!(again.status.success(), "{name}: {}", text(&again.stderr));
            assert_eq!(text(&again.stdout), text(&out.stdout), "{name}: the document");
            same_files(&wanted, &files(folder), &name);
        }
    }
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// The library within one process: on one thread, then on two threads with different drawings at the same time.
#[test]
fn two_threads_at_once_give_the_same_bytes() {
    use letin::budget::Budget;
    use letin::geom::{self, Certified, Region};

    /// All geometry of one drawing, to the last bit.
    fn made(drawing: &[u8]) -> String {
        let b = Budget::unlimited();
        let read = letin::drawing::svg::read(drawing, &letin::drawing::ReadSettings::default(), &b).unwrap();
        let found = letin::drawing::outline::outlines(&read.shapes, &b).unwrap();
        assert!(!found.outlines.is_empty());
        let bits = |r: &Certified<Region>| format!("{:?}", r.rings);
        let mut out = String::new();
        for o in &found.outlines {
            let eased = geom::close(&geom::open(&o.region, 3.5, &b).unwrap(), 13.95, &b).unwrap();
            for region in [&o.region, &eased, &geom::grow(&eased, 7.0, &b).unwrap()] {
                out.push_str(&bits(region));
            }
        }
        out
    }

    let (_dir, drawings) = yard();
    let drawings: Vec<Vec<u8>> = drawings.iter().map(|p| fs::read(p).unwrap()).collect();
    let wanted: Vec<String> = drawings.iter().map(|d| made(d)).collect();
    std::thread::scope(|scope| {
        for shift in 0..2 {
            let (drawings, wanted) = (&drawings, &wanted);
            scope.spawn(move || {
                for k in 0..4 {
                    let i = (k + shift) % drawings.len();
                    assert!(made(&drawings[i]) == wanted[i], "drawing {i} on thread {shift}, run {k}");
                }
            });
        }
    });
}
