//! What the reading of the file left behind: its unit, what was not read, what was mended.

use super::{Code, Finding, Severity, signature};
use crate::drawing::{Drawing, Remark, RemarkKind, Source};
use crate::tolerance::{CLEARLY_MENDED, NEARLY_MEET, SAME_PLACE};

/// Findings on a drawing as it was read. `anything_closed`: whether any closed outline is left.
#[must_use]
pub fn findings(drawing: &Drawing, anything_closed: bool) -> Vec<Finding> {
    let unit = if drawing.unit_guessed { Some(unit_guess(drawing)) } else { mixed_up(drawing) };
    unit.into_iter().chain(drawing.remarks.iter().map(|r| remark(r, anything_closed))).collect()
}

fn unit_guess(drawing: &Drawing) -> Finding {
    let offers = signature::offers(drawing);
    let round = if offers.is_empty() {
        String::new()
    } else {
        format!("; its size would be round at {}", offers.join(", or "))
    };
    Finding::new(
        Code::UnitGuess,
        Severity::Warning,
        format!("the file does not say how large it is: {}{round}", drawing.unit_source),
        "measure one length of the drawing against the size told here; if it is wrong, say --unit mm or --unit in, \
         --dpi for an SVG file of another pixel size, or with --width how wide it is to be",
    )
}

/// A unit that the file states, and a size that is round only in another.
fn mixed_up(drawing: &Drawing) -> Option<Finding> {
    let offers = signature::offers(drawing);
    let b = drawing.bounds.filter(|_| !offers.is_empty())?;
    Some(Finding::new(
        Code::OddSize,
        Severity::Warning,
        format!(
            "{:.3} x {:.3} mm is no round size, but 25.4 times off one: inches and millimetres may be mixed up",
            b.width(),
            b.height()
        ),
        format!("measure one length of the drawing; it would be {}", offers.join(", or ")),
    ))
}

fn remark(r: &Remark, anything_closed: bool) -> Finding {
    let name = r.source.as_ref().map(named);
    // "… (path `limb`)" behind what is said, where the element is known.
    let of = name.map(|n| format!(" ({n})")).unwrap_or_default();
    let mended = |changed: f64| if changed > CLEARLY_MENDED { Severity::Warning } else { Severity::Note };
    let f = match &r.kind {
        RemarkKind::LeftOut { what, count, harmless } => Finding::new(
            Code::LeftOut,
            if *harmless { Severity::Note } else { Severity::Warning },
            format!("not read: {what}{}{of}", if *count > 1 { format!(", {count} of them") } else { String::new() }),
            if *harmless {
                "nothing to do, unless it was meant to be cut: then draw it as a closed line"
            } else {
                "if it belongs to the outline, turn it into plain paths in the drawing program and save again"
            },
        ),
        RemarkKind::OpenLine { gap, length } => open_line(*gap, *length, &of, anything_closed),
        RemarkKind::JoinedGap { gap } => Finding::new(
            Code::JoinedGap,
            mended(*gap),
            format!("two ends {gap:.3} mm apart were joined{of}"),
            "nothing to do if the outline looks right; else close it in the drawing, or set a smaller --join",
        )
        .measuring(*gap),
        RemarkKind::Branching => Finding::new(
            Code::OpenLine,
            Severity::Error,
            format!("three or more lines meet here, so it is not clear which way the outline goes{of}"),
            "take away the line that does not belong to the outline",
        ),
        RemarkKind::DoubledLine { length } => Finding::new(
            Code::DoubledLine,
            Severity::Note,
            format!("a line {length:.2} mm long is drawn twice; one was taken{of}"),
            "nothing to do; take the second one away to be tidy",
        )
        .measuring(*length),
        RemarkKind::Speck { size } => Finding::new(
            Code::Speck,
            mended(*size),
            format!("a speck {size:.3} mm across was left out{of}"),
            "nothing to do if it is a slip of the pen; else draw it larger than the cutter",
        )
        .measuring(*size),
        RemarkKind::Needle { length } => Finding::new(
            Code::Speck,
            Severity::Note,
            format!("a line goes out {length:.2} mm and back the same way; it encloses nothing and was taken off{of}"),
            "nothing to do; take it away in the drawing to be tidy",
        )
        .measuring(*length),
        RemarkKind::CentreLine { count, widest } => Finding::new(
            Code::CentreLine,
            Severity::Note,
            format!(
                "drawn as strokes without a fill: {count}, up to {widest:.2} mm wide; the middle of the stroke is taken for \
                 the outline{of}"
            ),
            "if the stroke's edge is meant, turn strokes into paths in the drawing program and save again",
        )
        .measuring(*widest),
        RemarkKind::SecondReader { what } => Finding::new(
            Code::SecondReader,
            Severity::Warning,
            format!("a second reading of the file saw something else: {what}{of}"),
            "compare the outline in the written files with the drawing before you cut",
        ),
        RemarkKind::Tolerated { what } => Finding::new(
            Code::Tolerated,
            Severity::Note,
            format!("the file bends the rules of its format and was read all the same: {what}{of}"),
            "nothing to do if the outline looks right",
        ),
        RemarkKind::Damaged { what } => Finding::new(
            Code::LeftOut,
            Severity::Warning,
            format!("the file is damaged, and part of the drawing may be missing: {what}{of}"),
            "save the drawing again and copy the whole file; else compare each outline here with the drawing",
        ),
    };
    f.at(r.at)
}

fn open_line(gap: f64, length: f64, of: &str, anything_closed: bool) -> Finding {
    let nearly = gap <= NEARLY_MEET;
    if nearly || !anything_closed {
        let wider = (gap * 100.0).ceil() / 100.0;
        let help = if gap <= SAME_PLACE {
            "its ends meet where another line does: take away the one that does not belong to the outline".to_owned()
        } else if nearly {
            format!(
                "close the line in the drawing; or join its ends with --join {wider}; or leave it out with --accept open-line"
            )
        } else {
            "close the line in the drawing: an opening needs a line that goes all the way round".to_owned()
        };
        return Finding::new(
            Code::OpenLine,
            Severity::Error,
            format!("a line {length:.1} mm long does not close: its ends are {gap:.2} mm apart{of}"),
            help,
        )
        .measuring(gap);
    }
    Finding::new(
        Code::OpenLine,
        Severity::Warning,
        format!("a line {length:.1} mm long does not close and was left out{of}"),
        "nothing to do if it is not an outline; else close it in the drawing",
    )
    .measuring(gap)
}

/// The element in words: its kind, its name, its line.
#[must_use]
pub fn named(s: &Source) -> String {
    let place = s.line.map(|n| format!("line {n}"));
    let line = place.as_ref().map(|p| format!(", {p}")).unwrap_or_default();
    if s.kind.is_empty() || s.id.starts_with(&s.kind) {
        return format!("{}{line}", s.id);
    }
    // An entity without a handle has its line as its id. The name gives that line once.
    let own = place.as_deref().and_then(|p| s.id.strip_suffix(p)).filter(|rest| rest.is_empty() || rest.ends_with('/'));
    match own.map_or(s.id.as_str(), |rest| rest.trim_end_matches('/')) {
        "" => format!("{}{line}", s.kind),
        id => format!("{} {id}{line}", s.kind),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::{Format, Unit};

    fn drawing(kinds: Vec<RemarkKind>) -> Drawing {
        let remarks = kinds.into_iter().map(|kind| Remark { kind, source: None, at: None }).collect();
        Drawing {
            format: Format::Svg,
            unit: Unit::MM,
            unit_source: "says so".to_owned(),
            unit_guessed: false,
            shapes: Vec::new(),
            bounds: None,
            remarks,
        }
    }

    #[test]
    fn an_open_line_is_an_error_where_its_ends_nearly_meet_or_nothing_else_is_there() {
        let near = RemarkKind::OpenLine { gap: 0.4, length: 100.0 };
        let far = RemarkKind::OpenLine { gap: 40.0, length: 100.0 };
        let severities = |k: &RemarkKind, closed| findings(&drawing(vec![k.clone()]), closed)[0].severity;
        assert_eq!(severities(&near, true), Severity::Error);
        assert_eq!(severities(&far, true), Severity::Warning);
        assert_eq!(severities(&far, false), Severity::Error);
        assert!(findings(&drawing(vec![near]), true)[0].help.contains("--join 0.4"));
    }

    #[test]
    fn every_remark_becomes_a_finding() {
        let kinds = vec![
            RemarkKind::LeftOut { what: "text".to_owned(), count: 2, harmless: true },
            RemarkKind::JoinedGap { gap: 0.06 },
            RemarkKind::Branching,
            RemarkKind::DoubledLine { length: 3.0 },
            RemarkKind::Speck { size: 0.01 },
            RemarkKind::Needle { length: 4.0 },
            RemarkKind::SecondReader { what: "another box".to_owned() },
            RemarkKind::Tolerated { what: "a missing end".to_owned() },
            RemarkKind::Damaged { what: "the end is missing".to_owned() },
        ];
        let found = findings(&drawing(kinds), true);
        assert_eq!(found.len(), 9);
        assert_eq!((found[8].code, found[8].severity), (Code::LeftOut, Severity::Warning));
        assert_eq!((found[0].code, found[0].severity), (Code::LeftOut, Severity::Note));
        assert_eq!((found[1].code, found[1].severity), (Code::JoinedGap, Severity::Warning));
        assert_eq!((found[4].code, found[4].severity), (Code::Speck, Severity::Note));
        let guessed = Drawing { unit_guessed: true, ..drawing(Vec::new()) };
        assert_eq!(findings(&guessed, true)[0].code, Code::UnitGuess);
    }
}
