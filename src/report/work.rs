//! The cuts at the bench: one line each, or all that a beginner needs.
//!
//! In: the facts of a run. Out: lines for a terminal: piece, panel, face, edges, tools, depth and passes. In full
//! also the feed direction, what comes free, and how to hold it. These are common practice, no source: the feed
//! direction, tape or a skin of 0.3 mm, 0.5 to 1 mm left in thick wood, the trial in scrap first.

use super::found::capital;
use super::lines::Lines;
use crate::check::bush_depth::ABOVE_WORK;
use crate::job::asides::ShoulderFacts;
use crate::job::facts::Facts;
use crate::kit::Pair;
use crate::panel::Opening;
use crate::panel::steps::INTO_SPOIL;
use crate::panel::steps::{PanelCorner, Purpose, Step, Work};
use crate::template::Duty;
use crate::text::{Length, Show, Words, fixed, plain, tenth, tool as nominal};
use crate::tolerance::WIDTH_SLACK;
use std::collections::BTreeSet;

/// A tool by its nominal size, with the measured size if that differs: `20 mm (19.86 mm measured)`.
pub(super) fn tool(called: f64, size: f64, show: Show) -> String {
    let name = nominal(called).shown(show);
    if size == called {
        return name;
    }
    let measured = fixed(size).shown(show);
    match name.strip_suffix(')') {
        Some(open) => format!("{open}; {measured} measured)"),
        None => format!("{name} ({measured} measured)"),
    }
}

/// The nominal sizes of `pair`, looked up among the tools of the job.
pub(super) fn called(pair: Pair, facts: &Facts) -> Pair {
    let shoulder = facts.asides.shoulder.as_ref();
    let sets = [Some(&facts.tools), shoulder.map(|s| &s.plug_tools)];
    let mut pairs = sets.into_iter().flatten().flat_map(|t| [(t.recess, t.recess_called), (t.inlay, t.inlay_called)]);
    let cutter = pairs.clone().find(|(p, _)| p.cutter == pair.cutter).map_or(pair.cutter, |(_, c)| c.cutter);
    let line = pairs.find(|(p, _)| p.bush == pair.bush).map(|(_, c)| c.bush);
    let clearing = || shoulder?.clearing_called.iter().find(|(size, _)| *size == pair.bush).map(|(_, c)| *c);
    Pair { bush: line.or_else(clearing).unwrap_or(pair.bush), cutter }
}

/// The steps in order. Steps that the maker sees as one cut are grouped.
fn cuts(facts: &Facts) -> Vec<Vec<&Step>> {
    let shouldered = facts.asides.shoulder.is_some();
    let mut steps: Vec<&Step> = facts.bench.steps.iter().collect();
    if !shouldered {
        // One setting of the panel serves all its openings.
        steps.sort_by_key(|s| (s.work == Work::Inlay, s.panel));
    }
    let together = |a: &&Step, b: &&Step| {
        if shouldered {
            // Clearing passes in the same opening are one cut, one bush after the other.
            [a, b].iter().all(|s| s.purpose == Purpose::Clearing) && a.opening == b.opening
        } else {
            (a.work, a.panel, a.face_up) == (b.work, b.panel, b.face_up)
        }
    };
    steps.chunk_by(together).map(<[&Step]>::to_vec).collect()
}

/// All cuts; writes nothing while an error stops the job.
pub(super) fn write_cuts(lines: &mut Lines, facts: &Facts, full: bool) {
    let cuts = cuts(facts);
    let Some(first) = cuts.first().and_then(|c| c.first()) else { return };
    if facts.blocked() {
        return;
    }
    let same = cuts.iter().flatten().all(|s| s.corner == first.corner);
    lines.line(&format!("Cuts{}.", order(facts, &cuts)));
    lines.item(&if same {
        own_lines(first, facts)
    } else {
        "Set the edges that each cut names to your lines.".to_owned()
    });
    if full {
        write_advice(lines, facts);
    }
    let mut number = 0;
    for cut in &cuts {
        number += 1;
        write_cut(lines, number, cut, facts, !same, full);
    }
    if let Some(s) = &facts.asides.shoulder {
        write_shoulder(lines, s, facts, full);
    }
    if !full {
        write_brief(lines, facts);
    }
}

/// Which cut comes first, where there is a choice.
fn order(facts: &Facts, cuts: &[Vec<&Step>]) -> &'static str {
    let both = [Work::Board, Work::Inlay].iter().all(|w| cuts.iter().flatten().any(|s| s.work == *w));
    match (facts.asides.shoulder.is_some(), both) {
        (true, _) => ": the inlay first; set the rebate's depth from it",
        (false, true) => ": recess in scrap first, the inlay to fit it, the board last",
        (false, false) => "",
    }
}

/// Where the template's two edges lie on the work, measured from the centre mark.
fn own_lines(step: &Step, facts: &Facts) -> String {
    let [side, end] = step.corner.names();
    let place = facts.template.opening(&step.opening).zip(facts.template.centre_mark);
    let panel = facts.template.panels.iter().find(|p| p.number == step.panel);
    let (Some((o, mark)), Some(panel)) = (place, panel) else {
        return format!("Set the template's {side} and {end} edges to your lines.");
    };
    let at = o.place * mark;
    let across = if step.corner.right { panel.width - at.x } else { at.x };
    let along = if step.corner.top { panel.height - at.y } else { at.y };
    let [across, along] = [across, along].map(|mm| plain(mm).with_fraction().shown(facts.show));
    let beyond = if step.corner.top { "above" } else { "below" };
    format!("Template's {side} edge {across} {side} of the centre mark, its {end} edge {along} {beyond} it.")
}

/// What spoils wood or hurts if it is not known.
fn write_brief(lines: &mut Lines, facts: &Facts) {
    let thickness = facts.bench.router.thickness;
    let deepest = facts.bench.steps.iter().filter_map(|s| s.below_base(thickness)).max_by(f64::total_cmp);
    if let Some(d) = deepest {
        lines.item(&format!("The cutter must reach {} below the base.", plain(d).shown(facts.show)));
    }
    let most = plain(thickness - ABOVE_WORK).shown(facts.show);
    lines.item(&format!(
        "Bush at most {most} below the base. Move clockwise. Tape under what comes free on the last pass."
    ));
}

/// `left and bottom`.
fn edges(corner: PanelCorner) -> String {
    let [side, end] = corner.names();
    format!("{side} and {end}")
}

/// Advice for all cuts.
fn write_advice(lines: &mut Lines, facts: &Facts) {
    let (r, show) = (facts.bench.router, facts.show);
    let most = plain(r.thickness - ABOVE_WORK).shown(show);
    let given = r.projection.map(|p| format!(" Yours stands out {}, as given.", plain(p).shown(show)));
    lines.item(&format!("No bush may stand out more than {most} below the base.{}", given.unwrap_or_default()));
    lines.item(
        "Along an edge plunge with the bush against it, and press the bush outward all the way. Keep the same side of \
         the router towards you. Let the cutter stop before you lift.",
    );
}

fn write_cut(lines: &mut Lines, number: usize, cut: &[&Step], facts: &Facts, with_edges: bool, full: bool) {
    let [step, ..] = cut else { return };
    let panel = if facts.template.panels.len() > 1 { format!("panel {}, face", step.panel) } else { "face".to_owned() };
    let own = if with_edges { format!(", {} edges", edges(step.corner)) } else { String::new() };
    lines.hung(
        2,
        5,
        &format!(
            "{number}. {}: {panel} {} up{own}. {}, {}.",
            capital(&piece(cut, facts)),
            step.face_up,
            capital(&tools(cut, facts)),
            depth(step, facts)
        ),
    );
    if !full {
        return;
    }
    let ids: Vec<&str> = cut.iter().map(|s| s.opening.as_str()).collect::<BTreeSet<_>>().into_iter().collect();
    let below = step.below_base(facts.bench.router.thickness);
    let below = below.map(|b| format!(" The cutter ends {} below the base.", plain(b).shown(facts.show)));
    lines.hung(5, 7, &format!("Through {}.{}", ids.join(", "), below.unwrap_or_default()));
    lines.hung(5, 7, feed(step, facts.asides.shoulder.as_ref()));
    if let Some(held) = loose(step, facts) {
        lines.hung(5, 7, &held);
    }
}

/// The name of the piece, with the outlines: `recess`, `inlays 1, 3`, `inlay, waste around the plug`.
fn piece(cut: &[&Step], facts: &Facts) -> String {
    let [step, ..] = cut else { return String::new() };
    if let Some(s) = &facts.asides.shoulder {
        return match (step.work, step.purpose, step.outline == s.plug) {
            (_, Purpose::Clearing, _) => "inlay, waste around the plug".to_owned(),
            (Work::Inlay, _, true) => "inlay, line of the plug".to_owned(),
            (Work::Inlay, _, false) => "inlay, line of the shoulder".to_owned(),
            (Work::Board, _, true) => "board, hole for the plug".to_owned(),
            (Work::Board, _, false) => "board, rebate for the shoulder".to_owned(),
        };
    }
    let mut own: Vec<usize> = cut.iter().map(|s| s.outline).collect();
    own.sort_unstable();
    own.dedup();
    let name = match (step.work, own.len()) {
        (Work::Board, 1) => "recess",
        (Work::Board, _) => "recesses",
        (Work::Inlay, 1) => "inlay",
        (Work::Inlay, _) => "inlays",
    };
    if facts.outlines.len() > 1 {
        let list: Vec<String> = own.iter().map(usize::to_string).collect();
        format!("{name} {}", list.join(", "))
    } else {
        name.to_owned()
    }
}

/// The bushes in the order of use, and the cutter.
fn tools(cut: &[&Step], facts: &Facts) -> String {
    let mut listed: Vec<String> =
        cut.iter().map(|s| tool(called(s.pair, facts).bush, s.pair.bush, facts.show)).collect();
    if facts.asides.shoulder.is_none() {
        listed.truncate(1);
    }
    // If all are in mm, the unit is written once.
    let metric = listed.iter().all(|b| b.ends_with(" mm"));
    let bush = match listed.as_slice() {
        [one] => format!("bush {one}"),
        [all @ .., last] => {
            let all: Vec<&str> =
                all.iter().map(|b| if metric { b.trim_end_matches(" mm") } else { b.as_str() }).collect();
            format!("bushes {}, then {last}", all.join(", "))
        }
        [] => String::new(),
    };
    let pair = cut.first().map(|s| (called(s.pair, facts).cutter, s.pair.cutter));
    let cutter = pair.map(|(c, size)| tool(c, size, facts.show)).unwrap_or_default();
    format!("{bush}, cutter {cutter}")
}

/// Depth and passes: `6 mm deep in 2 passes of 3 mm`.
pub(super) fn depth(step: &Step, facts: &Facts) -> String {
    let (r, show) = (facts.bench.router, facts.show);
    let (Some(depth), Some(cut), Some(passes)) = (step.depth, step.cut(), step.passes(r.pass)) else {
        let through = if step.through { "right through, " } else { "" };
        return format!("{through}passes of {} at most", nominal(step.deepest_pass(r.pass)).shown(show));
    };
    let into = if step.through {
        format!(" plus {} into the spoil board", plain(INTO_SPOIL).shown(show))
    } else {
        String::new()
    };
    let in_passes = match passes {
        1 => "in one pass".to_owned(),
        many => format!("in {many} passes of about {}", tenth(cut / f64::from(many)).shown(show)),
    };
    format!("{} deep{into}, {in_passes}", plain(depth).with_fraction().shown(show))
}

fn feed(step: &Step, shoulder: Option<&ShoulderFacts>) -> &'static str {
    match (step.purpose, step.whole) {
        (Purpose::Line, false) => "Move clockwise along the opening's edge.",
        (Purpose::Line, true) if shoulder.is_some() => {
            "Clear from the hole outward, moving clockwise. Finish with one clockwise pass along the opening's edge."
        }
        (Purpose::Line, true) => {
            "Clear the middle first. Move clockwise along the opening's edge, anticlockwise around waste left standing. \
             Finish with one clockwise pass along the edge."
        }
        (Purpose::Clearing, _) => {
            "Leave the depth stop as it was for the plug's line. Move clockwise along the opening's edge."
        }
    }
}

/// What comes free on the last pass of a cut, and how to hold it.
fn loose(step: &Step, facts: &Facts) -> Option<String> {
    if step.purpose == Purpose::Clearing || !step.through {
        return None;
    }
    let show = facts.show;
    Some(match step.work {
        Work::Inlay => {
            let skin = |mm: f64| plain(mm).shown(show);
            format!(
                "The inlay comes free on the last pass. Tape under it first. Or stop {} short and pare the skin; in thick \
                 wood stop {} to {} short and saw it free.",
                skin(0.3),
                plain(0.5).number(show),
                skin(1.0)
            )
        }
        Work::Board => "The middle drops out on the last pass. Tape under it first.".to_owned(),
    })
}

fn write_shoulder(lines: &mut Lines, s: &ShoulderFacts, facts: &Facts, full: bool) {
    if let Some(o) = facts.template.openings.iter().find(|o| facts.left_under(o).is_some()) {
        let left = Words::area(s.clearing.as_ref().map_or(0.0, |c| c.left.area())).shown(facts.show);
        lines.item(&format!(
            "No guided bush reaches {left} of the waste. Clear it free-hand before the shoulder's line: it is hatched on \
             the plan of panel {}, face {}. Move anticlockwise and keep off the plug.",
            o.panel, o.face
        ));
    }
    if full {
        if let Some(c) = &s.clearing {
            lines.item(&format!("Guided bushes clear {:.0} % of the waste around the plug.", 100.0 * c.coverage()));
        }
        write_mirrored_panels(lines, facts);
    }
    lines.item(&format!("Turn the inlay over and lay it in from above.{}", lies(s, facts)));
}

/// The position of the inlay between the board's faces, as far as depths are known.
fn lies(s: &ShoulderFacts, facts: &Facts) -> String {
    let deep = |work: Work, outline: usize| {
        let line = |x: &&Step| x.purpose == Purpose::Line && x.work == work && x.outline == outline;
        facts.bench.steps.iter().find(line)?.depth
    };
    let (plug, stock) = (deep(Work::Inlay, s.plug), deep(Work::Inlay, s.shoulder));
    let (board, rebate) = (deep(Work::Board, s.plug), deep(Work::Board, s.shoulder));
    let (Some(plug), Some(stock), Some(rebate)) = (plug, stock, rebate) else { return String::new() };
    let n = |mm: f64| plain(mm).shown(facts.show);
    let mut out = match stock - plug - rebate {
        p if p > WIDTH_SLACK => format!(" It stands {} above the board: plane it flush.", n(p)),
        p if p < -WIDTH_SLACK => format!(" It lies {} below the board's face.", n(-p)),
        _ => " It lies flush with the board's face.".to_owned(),
    };
    let Some(board) = board else { return out };
    out.push_str(&match plug + rebate - board {
        p if p > WIDTH_SLACK => format!(" Its plug stands {} out of the back: saw and plane it off.", n(p)),
        p if p < -WIDTH_SLACK => format!(" Its plug ends {} short of the back.", n(-p)),
        _ => " Its plug ends flush with the back.".to_owned(),
    });
    out
}

/// Lists the panels that serve the inlay only.
fn write_mirrored_panels(lines: &mut Lines, facts: &Facts) {
    let t = &facts.template;
    // A panel that serves both pieces has no mirrored openings. Its other face is up for the inlay.
    if t.openings.iter().any(|o| o.duty == Duty::Both) {
        return;
    }
    let serves = |n: u32| t.openings.iter().any(|o| o.panel == n && o.duty != Duty::Recess);
    for panel in t.panels.iter().filter(|p| serves(p.number)) {
        lines.item(&format!("Panel {} serves the inlay only. Its openings are mirror images.", panel.number));
    }
}

/// What comes free when the machine cuts an opening, and how to hold it.
pub(super) fn on_machine(o: &Opening, facts: &Facts) -> Option<String> {
    let (w, h) = facts.loose(o)?;
    let size = |mm: f64| -> Length { fixed(mm) };
    let size = Words::pair(size(w), size(h)).shown(facts.show);
    Some(format!("Its centre, {size}, comes free on the last pass: tape under it first."))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// At 25.4 mm per inch: 5/16 in is 7.9375 mm, 1/8 in is 3.175 mm.
    #[test]
    fn tools_are_called_as_in_the_box() {
        for (called, size, mm, inch) in [
            (20.0, 20.0, "20 mm", "0.787 in (20 mm)"),
            (20.0, 19.86, "20 mm (19.86 mm measured)", "0.787 in (20 mm; 0.782 in measured)"),
            (7.9375, 7.9375, "7.94 mm (5/16 in)", "5/16 in"),
            (3.175, 3.16, "3.18 mm (1/8 in; 3.16 mm measured)", "1/8 in (0.124 in measured)"),
        ] {
            assert_eq!((tool(called, size, Show::Mm), tool(called, size, Show::Inch)), (mm.into(), inch.into()));
        }
    }
}
