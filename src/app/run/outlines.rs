//! The jobs of a run and their outlines.
//!
//! In: the drawing as read. Out: parts. A part has its own panels; its groups of outlines have their own tools. A flush
//! job has one part, and a second one for islands, which are wood of their own. Each plug with its shoulder is a part
//! with two groups.

use super::super::{AppError, Job, Kind, PlugAndShoulder};
use crate::budget::Budget;
use crate::check::Code;
use crate::drawing::choose::{Selection, choose};
use crate::drawing::outline::{Outline, Outlines, Trouble, outlines, too_large};
use crate::drawing::{Drawing, islands, join, needles, unite};
use crate::geom::inside::contains;

/// One job of the run.
pub(super) struct Part {
    /// Name of a job that follows another.
    pub name: Option<String>,
    /// Its remarks are reported with this part.
    pub drawing: Drawing,
    pub groups: Vec<Outlines>,
}

/// The parts of a run, at least one. All refer to the mirror image if the job asks for it.
///
/// # Errors
/// [`AppError`] for an unknown name, and for plugs and shoulders that do not form pairs.
pub(super) fn parts(drawing: Drawing, job: &Job, budget: &Budget) -> Result<Vec<Part>, AppError> {
    match &job.kind {
        Kind::Shouldered(order) => plugs_in_shoulders(&drawing, order, job, budget),
        Kind::InHand(_) => {
            let (drawing, found) = found(drawing, &job.select, job, budget)?;
            Ok(vec![Part { name: None, drawing, groups: vec![found] }])
        }
        Kind::Flush => {
            let (drawing, mut found) = found(drawing, &job.select, job, budget)?;
            let islands = std::mem::take(&mut found.islands);
            let island = (!islands.is_empty()).then(|| Part {
                name: Some("island-1".to_owned()),
                drawing: without_remarks(&drawing),
                groups: vec![Outlines { outlines: islands, ..Outlines::default() }],
            });
            Ok([Part { name: None, drawing, groups: vec![found] }].into_iter().chain(island).collect())
        }
    }
}

fn without_remarks(drawing: &Drawing) -> Drawing {
    Drawing { remarks: Vec::new(), ..drawing.clone() }
}

/// The chosen part of the drawing with loose edges joined, and its outlines.
fn found(drawing: Drawing, select: &Selection, job: &Job, budget: &Budget) -> Result<(Drawing, Outlines), AppError> {
    let mut drawing = if job.mirror { drawing.mirrored() } else { drawing };
    let chosen = choose(drawing.shapes, select, job.read.join, budget)?;
    let (shapes, remarks) = join::join(chosen, job.read.join, budget);
    let (shapes, needles) = needles::cleaned(shapes);
    drawing.shapes = shapes;
    drawing.remarks.extend(remarks.into_iter().chain(needles));
    let troubles = too_large(&drawing.shapes);
    if !troubles.is_empty() {
        return Ok((drawing, Outlines { troubles, ..Outlines::default() }));
    }
    let found = outlines(&drawing.shapes, budget)?;
    let (drawing, found) = united(drawing, found, job, budget)?;
    let found = if job.accept.contains(&Code::Island) { islands::whole(found, budget)? } else { found };
    Ok((drawing, found))
}

/// Unites shapes that cross, if the maker accepts that.
fn united(drawing: Drawing, found: Outlines, job: &Job, budget: &Budget) -> Result<(Drawing, Outlines), AppError> {
    if !job.accept.contains(&Code::Crossing) {
        return Ok((drawing, found));
    }
    // The crossings remain as findings after the union.
    let united = Drawing { shapes: unite::unite(&drawing.shapes, &found.troubles, budget)?, ..drawing };
    let mut again = outlines(&united.shapes, budget)?;
    let crossed = |t: &Trouble| matches!(t, Trouble::Crossing { .. } | Trouble::SelfCrossing { .. });
    again.troubles.extend(found.troubles.into_iter().filter(crossed));
    Ok((united, again))
}

/// Each plug with its shoulder. Plugs and shoulders are selected before nesting is examined.
fn plugs_in_shoulders(
    drawing: &Drawing,
    order: &PlugAndShoulder,
    job: &Job,
    budget: &Budget,
) -> Result<Vec<Part>, AppError> {
    let (seen, mut plugs) = named(drawing, "plug", &order.plug, job, budget)?;
    let (_, mut shoulders) = named(drawing, "shoulder", &order.shoulder, job, budget)?;
    // Outlines are numbered in the order of the file.
    let mut all: Vec<&mut Outline> = plugs.outlines.iter_mut().chain(&mut shoulders.outlines).collect();
    all.sort_by_key(|o| drawing.shapes.iter().position(|s| s.source == o.source));
    all.into_iter().zip(1..).for_each(|(o, n)| o.number = n);
    let part = |(i, (plug, shoulder)): (usize, (Outlines, Outlines))| Part {
        name: (i > 0).then(|| format!("piece-{}", i + 1)),
        drawing: if i == 0 { seen.clone() } else { without_remarks(&seen) },
        groups: vec![plug, shoulder],
    };
    Ok(paired(plugs, shoulders)?.into_iter().enumerate().map(part).collect())
}

/// The outlines with these names, and the drawing as read for them.
fn named(
    drawing: &Drawing,
    setting: &'static str,
    names: &[String],
    job: &Job,
    budget: &Budget,
) -> Result<(Drawing, Outlines), AppError> {
    let select = Selection { only: names.to_vec(), skip: job.select.skip.clone() };
    let (seen, outlines) = found(drawing.clone(), &select, job, budget)?;
    if !outlines.islands.is_empty() {
        return Err(AppError::Holed { setting, name: names.join(", ") });
    }
    Ok((seen, outlines))
}

/// Each plug with the shoulder around it, in the order of the plugs. A single pair is not examined here, because its
/// faults become findings.
fn paired(plugs: Outlines, mut shoulders: Outlines) -> Result<Vec<(Outlines, Outlines)>, AppError> {
    let (n, m) = (plugs.outlines.len(), shoulders.outlines.len());
    if n <= 1 && m <= 1 {
        return Ok(vec![(plugs, shoulders)]);
    }
    let not = |why: String| AppError::NotPaired { plugs: n, shoulders: m, why };
    if n != m {
        return Err(not(String::new()));
    }
    let mut pairs = Vec::new();
    let rest = |o: &Outlines, first: bool| if first { o.clone() } else { Outlines::default() };
    for (i, plug) in plugs.outlines.iter().enumerate() {
        let within = |s: &Outline| plug.region.segments().next().is_some_and(|e| contains(&s.region, e.start()));
        let mut around = (0..shoulders.outlines.len()).filter(|&j| within(&shoulders.outlines[j]));
        let (Some(j), None) = (around.next(), around.next()) else {
            return Err(not(format!("{} lies in no free shoulder, or in several; ", plug.source.id)));
        };
        // Troubles of the drawing are reported with the first piece.
        let first = i == 0;
        let own = Outlines { outlines: vec![plug.clone()], ..rest(&plugs, first) };
        let shoulder = shoulders.outlines.remove(j);
        pairs.push((own, Outlines { outlines: vec![shoulder], ..rest(&shoulders, first) }));
    }
    Ok(pairs)
}
