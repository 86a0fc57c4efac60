//! The words beside an opening on its plan.

use crate::geom::Rect;
use crate::job::facts::Facts;
use crate::kit::Pair;
use crate::panel::Opening;
use crate::template::Duty;
use crate::text::{Length, Words, fixed, gap, tool};
use crate::words;

/// Words for an opening on its plan: its duty, its tools, its size, and the size of the piece.
#[must_use]
pub fn labels(facts: &Facts, o: &Opening) -> Vec<String> {
    let used = facts.tools_for(o.outline);
    let heading = match o.duty {
        Duty::Recess => "for the recess",
        Duty::Inlay => "for the inlay",
        Duty::Both => "for both",
        Duty::Clearing => "for clearing",
    };
    let mut list: Vec<Words> = vec![heading.into()];
    if facts.outlines.len() > 1 {
        list[0].push(words!(" of outline {}", o.outline));
    }
    let called = |p: Pair| words!("bush {}, cutter {}", tool(p.bush), tool(p.cutter));
    match o.duty {
        Duty::Recess => list.push(called(used.recess_called)),
        Duty::Inlay => list.push(called(used.inlay_called)),
        Duty::Both => {
            list.push(words!("recess: {}", called(used.recess_called)));
            list.push(words!("inlay: {}", called(used.inlay_called)));
        }
        Duty::Clearing => {
            let runs = facts.bench.steps.iter().filter(|s| s.opening == o.id);
            let bushes = Words::join(runs.map(|s| tool(s.pair.bush).into()), ", ");
            list.push(words!("bushes {}", bushes));
            list.push(words!("cutter {}", tool(used.inlay_called.cutter)));
        }
    }
    let size = |b: Rect, less: f64| Words::pair(fixed(b.width() - less), fixed(b.height() - less));
    if let Some(b) = o.region.bounds() {
        list.push(words!("opening {}", size(b, 0.0)));
    }
    let made = facts.piece(o.outline).and_then(|p| p.made.bounds());
    match (o.duty, made) {
        (Duty::Clearing, _) => list.push("clears waste only".into()),
        (Duty::Inlay, Some(b)) => list.push(words!("inlay {}", size(b, 2.0 * used.gap))),
        (Duty::Recess | Duty::Both, Some(b)) => list.push(words!("recess {}", size(b, 0.0))),
        (_, None) => {}
    }
    // A shouldered inlay is cut plug up and turned over into the board, so its openings are mirror images.
    let both = facts.template.openings.iter().any(|x| x.duty == Duty::Both);
    let of_inlay = o.duty == Duty::Inlay || o.duty == Duty::Clearing && !both;
    if of_inlay && facts.asides.shoulder.is_some() {
        list.push("mirror image: not for the board".into());
    }
    let per_side: Length = gap(used.gap);
    match o.duty {
        Duty::Both => list.push(words!("inlay smaller by the gap of {} per side", per_side)),
        Duty::Inlay => list.push(words!("gap {} per side", per_side)),
        Duty::Recess | Duty::Clearing => {}
    }
    list.iter().map(|w| w.shown(facts.show)).collect()
}
