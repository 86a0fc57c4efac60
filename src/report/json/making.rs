//! Tools, openings and panels in the document.

use super::{bounds, pt, size};
use crate::geom::Segment;
use crate::job::facts::Facts;
use crate::kit;
use crate::panel::registration::diagonal;
use crate::panel::{Opening, Panel};
use crate::report::start::what_counts;
use crate::schema::OutlineId;
use crate::schema::job::{self, KeepClear, Pair, Sensitivity, Tools};
use crate::template::start::Start;

pub(super) fn tools(facts: &Facts) -> Tools {
    let t = &facts.tools;
    let in_hand = facts.asides.start.as_ref().map(|s| (s.start, s.cut));
    let wanted = facts.asides.pair.map(|p| p.wanted).or(facts.asides.start.as_ref().map(|s| s.wanted));
    let no_recess = matches!(in_hand, Some((Start::Recess, _)));
    let no_inlay = matches!(in_hand, Some((Start::Part, Some(_))));
    let counts = |s: kit::fit::Sensitivity| Sensitivity { part: s.name.to_owned(), gap_mm: s.gap };
    Tools {
        recess: (!no_recess).then(|| pair(t.recess, t.recess_called, t.recess_offset())),
        inlay: (!no_inlay).then(|| pair(t.inlay, t.inlay_called, t.inlay_offset())),
        gap_mm: t.gap,
        gap_wanted_mm: wanted.unwrap_or(t.gap),
        measured: t.measured,
        sensitivity: what_counts(facts).into_iter().map(counts).collect(),
    }
}

fn pair(p: kit::Pair, called: kit::Pair, offset: f64) -> Pair {
    let other = |called: f64, used: f64| (called != used).then_some(called);
    Pair {
        bush_mm: p.bush,
        cutter_mm: p.cutter,
        offset_mm: offset,
        bush_nominal_mm: other(called.bush, p.bush),
        cutter_nominal_mm: other(called.cutter, p.cutter),
    }
}

pub(super) fn opening(o: &Opening, facts: &Facts) -> job::Opening {
    let lines = o.region.segments().filter(|s| matches!(s, Segment::Line(_))).count();
    job::Opening {
        id: o.id.clone(),
        outline: OutlineId(o.outline),
        duty: o.duty,
        panel: o.panel,
        face: o.face,
        offset_mm: o.offset,
        area_mm2: o.region.area(),
        perimeter_mm: o.region.perimeter(),
        size_mm: o.region.bounds().map(size),
        reads_mm: facts.read_back(o).map(|(_, b)| bounds(b)),
        lines,
        arcs: o.region.segments().count() - lines,
        place: o.place.as_coeffs(),
        loose_mm: facts.loose(o).map(Into::into),
        files: facts.files_with(o).map(str::to_owned).collect(),
    }
}

pub(super) fn panel(p: &Panel, facts: &Facts) -> job::Panel {
    let own = facts.template.openings.iter().find(|o| o.panel == p.number);
    let centre_mark = own.zip(facts.template.centre_mark).map(|(o, c)| o.place * c);
    let swept = facts.keep_clear.iter().filter(|((panel, _), _)| *panel == p.number);
    job::Panel {
        panel: p.number,
        size_mm: [p.width, p.height],
        turn: p.turn,
        setup: p.setup,
        common_mm: centre_mark.map(pt),
        edges: p.edges,
        stops_mm: facts.stops(p).into_iter().map(pt).collect(),
        diagonal_mm: diagonal(p),
        keep_clear: swept
            .filter_map(|((_, face), r)| {
                Some(KeepClear { face: *face, area_mm2: r.area(), bounds_mm: bounds(r.bounds()?) })
            })
            .collect(),
    }
}
