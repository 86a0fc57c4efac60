//! `letin prove`: proves the files in a folder, and prints the result in words or as JSON.

use super::args::ProveArgs;
use super::failure::Failure;
use super::watch::watched;
use super::{ExitStatus, stdout};
use crate::app::prove::{Proved, Verdict, prove as prove_folder};
use crate::check::{Finding, Severity};
use crate::proof::Fit;
use crate::report::json;
use crate::text::{terminal as safe, wrapped};
use std::borrow::Cow;

/// Longest line, characters.
const WIDEST: usize = 100;

/// Proves a folder and prints the result.
pub(super) fn prove(asked: &ProveArgs) -> ExitStatus {
    let all = match watched(|budget| prove_folder(&asked.folder, budget)) {
        Ok(all) => all,
        Err(e) => return Failure::from(e).print(asked.json),
    };
    let errors: Vec<Option<(&str, String)>> =
        all.iter().map(|p| p.verdict.as_ref().err().map(|e| (e.code(), e.to_string()))).collect();
    let text = if asked.json {
        let parts: Vec<json::DocumentProof> = all.iter().zip(&errors).map(|(p, e)| part(p, e.as_ref())).collect();
        match json::proved(&parts) {
            Ok(bytes) => bytes,
            Err(e) => return Failure::from(e).print(true),
        }
    } else {
        all.iter().map(in_words).collect::<String>().into_bytes()
    };
    if errors.iter().any(Option::is_some) {
        return stdout::answer(&text, ExitStatus::NoVerdict);
    }
    let found = all.iter().filter_map(|p| p.verdict.as_ref().ok()).flat_map(|v| &v.findings);
    let counts = |f: &Finding| asked.fail_on.counts(f.severity);
    let warned = asked.fail_on.counts(Severity::Warning) && all.iter().any(|p| !p.warnings.is_empty());
    let status = if warned || found.into_iter().any(counts) { ExitStatus::Findings } else { ExitStatus::Clean };
    stdout::answer(&text, status)
}

fn part<'a>(p: &'a Proved, error: Option<&'a (&'a str, String)>) -> json::DocumentProof<'a> {
    let verdict = match (&p.verdict, error) {
        (Ok(v), _) => Ok((&v.fits[..], &v.findings[..], &v.files[..])),
        (Err(_), Some((code, message))) => Err((*code, message.as_str())),
        (Err(_), None) => Err(("internal", "")),
    };
    json::DocumentProof { document: &p.name, notes: &p.notes, warnings: &p.warnings, verdict }
}

fn in_words(p: &Proved) -> String {
    let mut out = match &p.verdict {
        Ok(v) => proved(&p.name, v),
        Err(e) => {
            let way: Cow<str> = match e.code() {
                "proof" => "Do not cut with these files. Make them again with letin make.".into(),
                _ => e.help().unwrap_or("Make the files again with letin make.".into()),
            };
            let mut out = format!("{}: NOT proved\n", safe(&p.name));
            out.push_str(&wrapped(&safe(&e.to_string()), "  ", "  ", WIDEST));
            out.push_str(&wrapped(&way, "  ", "  ", WIDEST));
            out
        }
    };
    for w in &p.warnings {
        out.push_str(&wrapped(&safe(w), "  warning: ", "    ", WIDEST));
    }
    for n in &p.notes {
        out.push_str(&wrapped(&safe(n), "  note: ", "    ", WIDEST));
    }
    out
}

fn proved(name: &str, v: &Verdict) -> String {
    let head = format!("{}: proved from {}", safe(name), safe(&v.files.join(", ")));
    let mut out = wrapped(&head, "", "  ", WIDEST);
    out.push_str(&format!("  Every cut lies within {} mm of the plan.\n", v.allowed));
    for f in &v.fits {
        out.push_str(&fit(f));
    }
    for f in &v.findings {
        let head = format!("  {} [{}] ", f.severity.name(), f.code);
        out.push_str(&wrapped(&safe(&f.message.to_string()), &head, "    ", WIDEST));
    }
    out
}

/// The gap between the pieces, and how far each piece lies off the drawing. Places are in the drawing frame.
fn fit(f: &Fit) -> String {
    let (least, most) = (f.gap_min, f.gap_max);
    format!(
        "  outline {}: gap {:.3} mm per side at X {:.2} Y {:.2}, to {:.3} mm at X {:.2} Y {:.2} of the drawing\n\
         \x20   recess {:.2} mm², at most {:.3} mm off the drawing\n\
         \x20   inlay {:.2} mm², at most {:.3} mm off the drawing\n",
        f.outline,
        least.mm,
        least.at.x,
        least.at.y,
        most.mm,
        most.at.x,
        most.at.y,
        f.recess_area,
        f.recess_off,
        f.inlay_area,
        f.inlay_off
    )
}
