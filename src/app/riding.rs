//! The router on the panel: what its base sweeps, where it would tip, and whether clamps have room.

use super::steps::uncertified;
use super::{AppError, Job};
use crate::budget::Budget;
use crate::check::{Finding, riding};
use crate::geom::{Certified, GeomError, Region, shrink};
use crate::report::facts::Loose;
use crate::template::Opening;
use crate::template::centres::Centres;
use crate::template::hand::Step;
use crate::template::openings::{Template, keep_clear};
use crate::template::tipping::{Margin, margins};
use crate::threads::{both, each};

/// What the base sweeps on each panel and face.
type Swept = Vec<((u32, u8), Region)>;

/// What was found.
#[derive(Default)]
pub(super) struct Riding {
    pub swept: Swept,
    /// Of each step.
    pub margins: Vec<Option<Margin>>,
    /// Of each opening.
    pub loose: Vec<Loose>,
    pub findings: Vec<Finding>,
}

/// All of it. What cannot be certified is a finding. `stands`: see [`riding::tips`].
pub(super) fn look(
    t: &Template,
    steps: &[Step],
    stands: &(dyn Fn(&Opening) -> Option<Certified<Region>> + Sync),
    job: &Job,
    budget: &Budget,
) -> Result<Riding, AppError> {
    let mut all = Riding::default();
    let loose = each(t.openings.iter().collect(), |o| shrink(&o.region, job.figures.template_cutter.mm, budget));
    for (o, loose) in t.openings.iter().zip(loose) {
        match loose {
            Ok(centre) => {
                all.loose.push(Loose { opening: o.id.clone(), size: centre.bounds().map(|b| (b.width(), b.height())) });
            }
            Err(e) => all.findings.push(uncertified(e)?),
        }
    }
    let smallest = t.openings.iter().map(|o| (o, smallest_bush(o, steps, job)));
    let running = steps.iter().filter_map(|s| Some((t.of(s)?.0, s.pair.bush_radius())));
    let centres = Centres::new(smallest.chain(running), budget);
    let (swept, tips) = both(
        || {
            let swept = sweep(t, steps, &centres, job, budget)?;
            Ok((riding::clamp_room(t, &swept, &job.panel), swept))
        },
        || {
            let margins = margins(t, steps, &centres, job.panel.base, budget)?;
            let found = riding::tips(t, (steps, &centres), &margins, &job.panel, stands, budget)?;
            Ok((margins, found))
        },
    );
    match swept {
        Ok((found, swept)) => {
            all.findings.extend(found);
            all.swept = swept;
        }
        Err(e) => all.findings.push(uncertified(e)?),
    }
    match tips {
        Ok((margins, found)) => {
            all.margins = margins;
            all.findings.extend(found);
        }
        Err(e) => all.findings.push(uncertified(e)?),
    }
    Ok(all)
}

/// Radius of the smallest bush that runs in an opening, mm.
fn smallest_bush(o: &Opening, steps: &[Step], job: &Job) -> f64 {
    let used = steps.iter().filter(|s| s.opening == o.id).map(|s| s.pair.bush_radius());
    used.min_by(f64::total_cmp).unwrap_or_else(|| job.tools.smallest_bush() / 2.0)
}

/// With the smallest bush that runs in each opening.
fn sweep(t: &Template, steps: &[Step], centres: &Centres, job: &Job, budget: &Budget) -> Result<Swept, GeomError> {
    let centre = |o: &Opening| centres.of(o, smallest_bush(o, steps, job), budget);
    let faces = t.panels.iter().flat_map(|p| [(p, 1), (p, 2)]).collect();
    let swept = each(faces, |(panel, face)| {
        let own = |o: &&Opening| (o.panel, o.face) == (panel.number, face);
        let openings: Vec<_> = t.openings.iter().filter(own).collect();
        Ok(((panel.number, face), keep_clear(&openings, centre, job.panel.base, panel, budget)?))
    });
    swept.into_iter().collect()
}
