//! What stands against the panels: too thin a web, openings that run off, a bed too small; and why there are several.
//!
//! In: the template with its packing and what the maker wants of the panel, mm. Out: findings with the size or place that
//! would do, worked out.

use super::{Code, Finding, Severity};
use crate::template::layout::{PanelSettings, Size};
use crate::template::openings::Template;
use crate::template::panels::{Close, Tight};
use crate::template::{Duty, Turn};
use crate::text::rounded;
use crate::tolerance::WIDTH_SLACK;

/// All that is found on the panels of a job.
#[must_use]
pub fn panels(t: &Template, settings: &PanelSettings) -> Vec<Finding> {
    let mut found: Vec<Finding> = t.packings.iter().flat_map(|p| &p.refused).map(|r| off_panel(t, r)).collect();
    found.extend(thin_web(t, settings.web));
    found.extend(bed(t, settings));
    found.extend(further_panel(t, settings.web));
    found
}

/// A number for people: to the hundredth, no zeros behind.
fn n(mm: f64) -> String {
    rounded(mm, 2).unwrap_or_default()
}

fn by((w, h): (f64, f64)) -> String {
    format!("{}x{}", n(w), n(h))
}

/// The outline where the least template is left to an edge, or between its own openings.
fn thin_web(t: &Template, web: f64) -> Option<Finding> {
    let tight = t.packings.iter().flat_map(|p| &p.tight).min_by(|a, b| a.mm.total_cmp(&b.mm))?;
    if tight.mm >= web - WIDTH_SLACK {
        return None;
    }
    let between = if tight.between_halves { "between the two halves of the panel" } else { "to an edge of the panel" };
    let message = format!("only {:.2} mm of template are left {between}; {} mm are wanted", tight.mm, n(web));
    let help = format!("{}; or say with --web that less will do", larger(t));
    let f = Finding::new(Code::ThinWeb, Severity::Warning, message, help);
    Some(f.at(tight.at).on(tight.outline).measures(tight.mm, web))
}

/// The size and place that would do.
fn larger(t: &Template) -> String {
    let Some(l) = t.layout else { return String::new() };
    let (x, y) = l.least_at;
    format!(
        "a panel of {} mm or more (--panel), with the common point {} mm or more from the left and {} mm from the bottom \
         (--at)",
        by(l.least_size),
        n(x),
        n(y)
    )
}

fn off_panel(t: &Template, r: &Tight) -> Finding {
    let size = t.layout.map(|l| by((l.width, l.height))).unwrap_or_default();
    let message = if r.between_halves {
        format!("on a panel of {size} mm the openings for recess and inlay run into one another once it is turned back")
    } else {
        format!("the openings run {} mm off the panel of {size} mm", n(-r.mm))
    };
    let help = format!("leave --panel and --at out, or take {}", larger(t));
    Finding::new(Code::OffPanel, Severity::Error, message, help).at(r.at).on(r.outline)
}

/// A panel larger than the machine's bed, with what would fit.
fn bed(t: &Template, settings: &PanelSettings) -> Option<Finding> {
    let (bed, l) = (settings.bed?, t.layout?);
    let over = |w: f64, h: f64| (w - bed.0).max(h - bed.1);
    if over(l.width, l.height) <= WIDTH_SLACK {
        return None;
    }
    let (is, needs) = if l.width - bed.0 >= l.height - bed.1 { (l.width, bed.0) } else { (l.height, bed.1) };
    let message =
        format!("a panel of {} mm is larger than the machine's bed of {} mm", by((l.width, l.height)), by(bed));
    let fits: Vec<&Size> = t.sizes.iter().filter(|s| over(s.width, s.height) <= WIDTH_SLACK).collect();
    // Once with room, a turn is not told again without.
    let told = fits.iter().filter(|s| s.roomy || !fits.iter().any(|r| r.roomy && r.turn == s.turn));
    let mut ways: Vec<String> = told.map(|s| way(s, settings.turn)).collect();
    if ways.is_empty() {
        let least = t.sizes.iter().filter(|s| !s.roomy && s.turn == Turn::None).map(|s| by((s.width, s.height))).next();
        let least = least.unwrap_or_default();
        ways.push(format!(
            "even with one opening on a panel it has to be {least} mm: make fewer outlines at a time by --only, or take \
             a smaller bush for the inlay by --inlay-bush"
        ));
    }
    let mut f = Finding::new(Code::Bed, Severity::Error, message, ways.join("; or "));
    (f.measured, f.needed, f.short) = (Some(is), Some(needs), Some(is - needs));
    Some(f)
}

fn way(s: &Size, now: Turn) -> String {
    let size = by((s.width, s.height));
    let how = match s.turn {
        Turn::None => "one opening on a panel, not turned",
        Turn::LeftRight => "turned left over right",
        Turn::BottomTop => "turned bottom over top",
    };
    let turn = if s.turn == now { String::new() } else { format!("--turn {} ", s.turn.name()) };
    match s.roomy {
        true => format!("{turn}({how}) makes it {size} mm"),
        false => format!("{turn}--panel {size} ({how}) leaves the web and no more: the base overhangs the edges"),
    }
}

/// Why one panel does not do. Told of the two outlines that are nearest.
fn further_panel(t: &Template, web: f64) -> Option<Finding> {
    let all: Vec<&Close> = t.packings.iter().flat_map(|p| &p.close).collect();
    let close = all.iter().min_by(|a, b| a.mm.total_cmp(&b.mm))?;
    let [a, b] = close.outlines;
    let what = |d: Duty| if d == Duty::Inlay { "inlay" } else { "recess" };
    let what = match close.duties {
        [x, y] if x == y => format!("openings for the {}s of outlines {a} and {b}", what(x)),
        [x, y] => format!("openings for the {} of outline {a} and the {} of outline {b}", what(x), what(y)),
    };
    let left = if close.mm > 0.0 {
        format!("would leave only {:.2} mm of template between them, and {} mm are wanted", close.mm, n(web))
    } else {
        "would run into one another".to_owned()
    };
    let others = match all.len() - 1 {
        0 => String::new(),
        1 => "; another pair is too near as well".to_owned(),
        n => format!("; {n} other pairs are too near as well"),
    };
    let fewest = if t.packings.iter().all(|p| p.fewest) { "" } else { "; fewer might do, not all ways were tried" };
    let message = format!("{} panels, since on one the {what} {left}{others}{fewest}", t.panels.len());
    let help = "set every panel to the same marks: the common point is the same on all; for fewer panels draw the \
                outlines farther apart, take a smaller bush for the inlay (--inlay-bush), or say with --web that less \
                will do";
    let f = Finding::new(Code::FurtherPanel, Severity::Note, message, help);
    Some(f.at(close.at).on(a).measures(close.mm, web))
}
