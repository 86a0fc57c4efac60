//! Findings on the file as read: its unit, what was left out, what was mended.
//!
//! In: the drawing with its remarks. Out: a finding for each remark, and one for a doubtful unit. Lengths are in mm.

use super::source::named;
use super::{Code, Finding, Severity, signature};
use crate::drawing::{Drawing, Format, Remark, RemarkKind};
use crate::text::{Words, at_least, fixed, plain, tenth, typed_up};
use crate::tolerance::{CLEARLY_MENDED, NEARLY_MEET, SAME_PLACE};
use crate::words;

/// Findings on a drawing as read. `anything_closed`: the drawing has a closed outline.
#[must_use]
pub fn findings(drawing: &Drawing, anything_closed: bool) -> Vec<Finding> {
    let unit = if drawing.unit_guessed { Some(unit_guess(drawing)) } else { mixed_up(drawing) };
    unit.into_iter().chain(drawing.remarks.iter().map(|r| remark(r, anything_closed))).collect()
}

fn unit_guess(drawing: &Drawing) -> Finding {
    let offers = signature::offers(drawing);
    let round = if offers.is_empty() {
        Words::default()
    } else {
        words!(" A round size would be {}.", Words::join(offers, ", or "))
    };
    let message = words!("The file does not state its size. The size is {}.{}", &drawing.unit_source, round);
    let help = match drawing.format {
        Format::Svg => {
            "Compare one length of the drawing with the size in the report. If it is wrong, set --unit mm, --unit in, \
             the pixels per inch with --dpi, or the whole width with --width."
        }
        Format::Dxf => {
            "Compare one length of the drawing with the size in the report. If it is wrong, set --unit mm, --unit in, \
             or the whole width with --width."
        }
    };
    Finding::new(Code::UnitGuess, Severity::Warning, message, help)
}

/// A finding on a drawing whose size is round only in a unit other than the one in the file.
fn mixed_up(drawing: &Drawing) -> Option<Finding> {
    let offers = signature::offers(drawing);
    let b = drawing.bounds.filter(|_| !offers.is_empty())?;
    Some(Finding::new(
        Code::OddSize,
        Severity::Warning,
        words!(
            "{} is not a round size, but 25.4 times as much is. Inches and millimetres may be mixed up.",
            Words::pair(fixed(b.width()), fixed(b.height()))
        ),
        words!("Measure one length of the drawing. If units are mixed up, it is {}.", Words::join(offers, ", or ")),
    ))
}

fn remark(r: &Remark, anything_closed: bool) -> Finding {
    let name = r.source.as_ref().map(named);
    // The element in parentheses at the end of the sentence.
    let of = name.map(|n| format!(" ({n})")).unwrap_or_default();
    let mended = |changed: f64| if changed > CLEARLY_MENDED { Severity::Warning } else { Severity::Note };
    let f = match &r.kind {
        RemarkKind::LeftOut { what, count, harmless } => Finding::new(
            Code::LeftOut,
            if *harmless { Severity::Note } else { Severity::Warning },
            words!(
                "Left out: {}{}{}.",
                what,
                if *count > 1 { format!(", {count} of them") } else { String::new() },
                &of
            ),
            if what == "text" {
                "Nothing to do, unless it should be cut. Then set --text outline."
            } else if *harmless {
                "Nothing to do, unless it should be cut. Then draw it as a closed line."
            } else {
                "If it belongs to the outline, turn it into plain paths in the drawing program and save again."
            },
        ),
        RemarkKind::OpenLine { gap, length } => open_line(*gap, *length, &of, anything_closed),
        RemarkKind::JoinedGap { gap } => Finding::new(
            Code::JoinedGap,
            mended(*gap),
            words!("Two ends {} apart were joined{}.", at_least(*gap), &of),
            "Nothing to do if the outline looks right. Else close it in the drawing, or set a smaller --join.",
        )
        .measuring(*gap),
        RemarkKind::Branching => Finding::new(
            Code::OpenLine,
            Severity::Error,
            words!("Three or more lines meet, and the file does not say which way the outline goes{}.", &of),
            "Remove the line that does not belong to the outline.",
        ),
        RemarkKind::DoubledLine { length } => Finding::new(
            Code::DoubledLine,
            Severity::Note,
            words!("A line {} long is drawn twice and counts once{}.", plain(*length), &of),
            "Nothing to do. Remove the second one to tidy the drawing.",
        )
        .measuring(*length),
        RemarkKind::Speck { size } => Finding::new(
            Code::Speck,
            mended(*size),
            words!("A speck of at most {} was left out{}.", at_least(size.max(0.001)), &of),
            "Nothing to do if it is a slip of the pen. Else draw it larger than the cutter.",
        )
        .measuring(*size),
        RemarkKind::Needle { length } => Finding::new(
            Code::Speck,
            Severity::Note,
            words!(
                "A line runs out {} and back the same way{}. It encloses nothing and was left out.",
                plain(*length),
                &of
            ),
            "Nothing to do. Remove it to tidy the drawing.",
        )
        .measuring(*length),
        RemarkKind::CentreLine { count, widest } => Finding::new(
            Code::CentreLine,
            Severity::Note,
            if *count == 1 {
                words!("A stroke {} wide without a fill is read along its middle{}.", plain(*widest), &of)
            } else {
                words!(
                    "{} strokes without a fill, up to {} wide, are read along their middle{}.",
                    *count,
                    plain(*widest),
                    &of
                )
            },
            "If the edge of the stroke is the outline, set --stroke outline.",
        )
        .measuring(*widest),
        RemarkKind::SecondReader { what } => Finding::new(
            Code::SecondReader,
            Severity::Warning,
            match what.strip_prefix("the second reader was not used") {
                Some(why) => words!("The second reader was not used{}{}.", why, &of),
                None => words!("The second reader does not confirm the drawing: {}{}.", what, &of),
            },
            "Compare the outline in the written files with the drawing before you cut.",
        ),
        RemarkKind::Tolerated { what } => Finding::new(
            Code::Tolerated,
            Severity::Note,
            words!("The file breaks a rule of its format: {}{}. It was read all the same.", what, &of),
            "Nothing to do if the outline looks right.",
        ),
        RemarkKind::Damaged { what } => Finding::new(
            Code::LeftOut,
            Severity::Warning,
            words!("The file is damaged: {}{}. Part of the drawing may be missing.", what, &of),
            "Save the drawing again and copy the whole file. Else compare each outline in the report with the drawing.",
        ),
    };
    f.at(r.at)
}

fn open_line(gap: f64, length: f64, of: &str, anything_closed: bool) -> Finding {
    let nearly = gap <= NEARLY_MEET;
    if nearly || !anything_closed {
        let help = if gap <= SAME_PLACE {
            "Remove the line that does not belong to the outline: its ends meet another line.".into()
        } else if nearly {
            words!(
                "Close the line in the drawing, or join its ends with --join {}. Or leave it out with --accept \
                 open-line.",
                typed_up(gap)
            )
        } else {
            "Close the line in the drawing: an opening needs a closed line.".into()
        };
        let message =
            words!("A line {} long does not close{}. Its ends are {} apart.", tenth(length), of, at_least(gap));
        return Finding::new(Code::OpenLine, Severity::Error, message, help).measuring(gap);
    }
    Finding::new(
        Code::OpenLine,
        Severity::Warning,
        words!("A line {} long does not close and was left out{}.", tenth(length), of),
        "Nothing to do if it is not an outline. Else close it in the drawing.",
    )
    .measuring(gap)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::Unit;

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
