//! Problems of the panels: strips of template too thin, openings that run off, a bed too small, and a note on further
//! panels.
//!
//! In: the template with its packing, and the panel's settings, mm. Out: findings with a calculated size or place that
//! works.

use super::{Code, Finding, Severity};
use crate::panel::Turn;
use crate::panel::layout::{PanelSettings, PanelSize};
use crate::panel::packing::{Close, Tight};
use crate::panel::template::Template;
use crate::template::Duty;
use crate::text::{Words, at_least, at_most, plain, typed, typed_up, whole};
use crate::tolerance::WIDTH_SLACK;
use crate::words;

/// All findings on the panels of a job.
#[must_use]
pub fn panels(t: &Template, settings: &PanelSettings) -> Vec<Finding> {
    let mut found: Vec<Finding> =
        t.packings.iter().flat_map(|p| &p.refused).map(|r| off_panel(t, settings, r)).collect();
    found.extend(thin_web(t, settings));
    found.extend(bed(t, settings));
    found.extend(further_panel(t, settings.web));
    found
}

/// Width and height in a message.
fn size_of((w, h): (f64, f64)) -> Words {
    Words::pair(whole(w), whole(h))
}

/// Two lengths as an option takes them: `250x100`.
fn option((a, b): (f64, f64)) -> Words {
    words!("{}x{}", typed_up(a), typed_up(b))
}

/// A finding on the thinnest strip of template at an edge, or between an outline's own two openings.
fn thin_web(t: &Template, settings: &PanelSettings) -> Option<Finding> {
    let web = settings.web;
    let tight = t.packings.iter().flat_map(|p| &p.tight).min_by(|a, b| a.mm.total_cmp(&b.mm))?;
    if tight.mm >= web - WIDTH_SLACK {
        return None;
    }
    let place = if tight.between_halves { "between the two halves" } else { "at an edge" };
    let message = words!(
        "A strip of template {} of the panel is {} wide. It must be {} wide or more.",
        place,
        at_most(tight.mm),
        plain(web)
    );
    let less = if tight.mm >= LEAST_WEB {
        words!(" Or accept less with --web {}.", typed(tight.mm))
    } else {
        Words::default()
    };
    let set = larger(t, settings).map_or_else(|| leave_out(settings).into(), |set| words!("Set {}", set));
    let help = words!("{}.{}", set, less);
    let f = Finding::new(Code::ThinWeb, Severity::Warning, message, help);
    Some(f.at(tight.at).on(tight.outline).measures(tight.mm, web))
}

/// The least strip of template that is proposed, mm.
const LEAST_WEB: f64 = 1.0;

/// An imperative without a full stop: without the size and the place that were given, the program finds its own.
fn leave_out(settings: &PanelSettings) -> &'static str {
    match (settings.size, settings.at) {
        (Some(_), None) => "Leave out --panel",
        (None, Some(_)) => "Leave out --at",
        _ => "Leave out --panel and --at",
    }
}

/// Options with a size and a place that work together.
fn larger(t: &Template, settings: &PanelSettings) -> Option<Words> {
    let l = t.layout?;
    // The least size is that for the place that was given. A place farther in needs more, twice as much across the
    // turn.
    let at = settings.at.map_or(l.least_at, |(x, y)| (x.max(l.least_at.0), y.max(l.least_at.1)));
    let (dx, dy) = settings.at.map_or((0.0, 0.0), |(x, y)| (at.0 - x, at.1 - y));
    let (across, along) = match settings.turn {
        Turn::LeftRight => (2.0, 1.0),
        Turn::BottomTop => (1.0, 2.0),
        Turn::None => (1.0, 1.0),
    };
    let size = (l.least_size.0 + across * dx, l.least_size.1 + along * dy);
    Some(words!("--panel {} or larger with --at {}", option(size), option(at)))
}

fn off_panel(t: &Template, settings: &PanelSettings, r: &Tight) -> Finding {
    let size = t.layout.map(|l| size_of((l.width, l.height))).unwrap_or_default();
    let message = if r.between_halves {
        words!(
            "The openings for recess and inlay run into one another once the panel is turned back. The panel is {}.",
            size
        )
    } else {
        words!("The openings run {} off the panel of {}.", at_least(-r.mm), size)
    };
    let help = match larger(t, settings) {
        Some(set) => words!("{}. Or set {}.", leave_out(settings), set),
        None => words!("{}.", leave_out(settings)),
    };
    Finding::new(Code::OffPanel, Severity::Error, message, help).at(r.at).on(r.outline)
}

/// A finding on a panel larger than the machine's bed, with the settings that fit.
fn bed(t: &Template, settings: &PanelSettings) -> Option<Finding> {
    let (bed, l) = (settings.bed?, t.layout?);
    let over = |w: f64, h: f64| (w - bed.0).max(h - bed.1);
    if over(l.width, l.height) <= WIDTH_SLACK {
        return None;
    }
    let (is, needs) = if l.width - bed.0 >= l.height - bed.1 { (l.width, bed.0) } else { (l.height, bed.1) };
    let message =
        words!("The panel is {}, larger than the machine's bed of {}.", size_of((l.width, l.height)), size_of(bed));
    let fits: Vec<&PanelSize> = t.sizes.iter().filter(|s| over(s.width, s.height) <= WIDTH_SLACK).collect();
    // A turn that fits with room is not listed again without room.
    let best = fits.iter().filter(|s| s.roomy || !fits.iter().any(|r| r.roomy && r.turn == s.turn));
    let ways: Vec<Words> = best.enumerate().map(|(i, s)| way(s, settings, i == 0)).collect();
    let help = if ways.is_empty() {
        let least = t.sizes.iter().find(|s| !s.roomy && s.turn == Turn::None).map(|s| size_of((s.width, s.height)));
        words!(
            "Even with one opening on a panel it must be {}. Make fewer outlines at a time with --only, or use a \
             smaller inlay bush (--inlay-bush).",
            least.unwrap_or_default()
        )
    } else {
        Words::join(ways, " ")
    };
    let mut f = Finding::new(Code::Bed, Severity::Error, message, help);
    (f.measured, f.needed, f.short) = (Some(is), Some(needs), Some(is - needs));
    Some(f)
}

/// One setting that fits the bed, as a sentence.
fn way(s: &PanelSize, settings: &PanelSettings, first: bool) -> Words {
    let set = if first { "Set" } else { "Or set" };
    let how = match s.turn {
        Turn::None => "one opening on a panel, not turned",
        Turn::LeftRight => "turned left over right",
        Turn::BottomTop => "turned bottom over top",
    };
    let size = (s.width, s.height);
    let turn = format!("--turn {}", s.turn.name());
    match (s.roomy, s.turn == settings.turn) {
        (true, true) => words!("Leave out --panel ({}): the panel is then {}.", how, size_of(size)),
        (true, false) if settings.size.is_some() => {
            words!("{} {} and leave out --panel ({}): the panel is then {}.", set, turn, how, size_of(size))
        }
        (true, false) => words!("{} {} ({}): the panel is then {}.", set, turn, how, size_of(size)),
        (false, true) => words!("{} --panel {} ({}): the base then overhangs the edges.", set, option(size), how),
        (false, false) => {
            words!("{} {} --panel {} ({}): the base then overhangs the edges.", set, turn, option(size), how)
        }
    }
}

/// A note on why one panel does not do. It names the two outlines that are closest.
fn further_panel(t: &Template, web: f64) -> Option<Finding> {
    let all: Vec<&Close> = t.packings.iter().flat_map(|p| &p.close).collect();
    let close = all.iter().min_by(|a, b| a.mm.total_cmp(&b.mm))?;
    let [a, b] = close.outlines;
    let one = |d: Duty| if d == Duty::Inlay { "inlay" } else { "recess" };
    let several = |d: Duty| if d == Duty::Inlay { "inlays" } else { "recesses" };
    let what = match close.duties {
        [x, y] if x == y => format!("the {} of outlines {a} and {b}", several(x)),
        [x, y] => format!("the {} of outline {a} and the {} of outline {b}", one(x), one(y)),
    };
    let left = if close.mm > 0.0 {
        words!("They would leave {} of template between them, less than {}.", at_most(close.mm), plain(web))
    } else {
        "They run into one another.".into()
    };
    let others = match all.len() - 1 {
        0 => String::new(),
        1 => " Another pair is too close as well.".to_owned(),
        n => format!(" {n} other pairs are too close as well."),
    };
    let fewest = if t.packings.iter().all(|p| p.fewest) {
        ""
    } else {
        " Fewer panels may be possible: not every arrangement was tried."
    };
    let message = words!(
        "The job needs {} panels. On one panel, the openings for {} would be too close. {}{}{}",
        t.panels.len(),
        what,
        left,
        others,
        fewest
    );
    let help = "Set every panel to the same centre lines on the work. For fewer panels, draw the outlines farther \
                apart, use a smaller inlay bush (--inlay-bush), or allow less with --web.";
    let f = Finding::new(Code::FurtherPanel, Severity::Note, message, help);
    Some(f.at(close.at).on(a).measures(close.mm, web))
}
