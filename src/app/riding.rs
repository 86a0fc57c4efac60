//! The router on the panel: what its base sweeps, where it would tip, and whether clamps have room.

use super::steps::uncertified;
use super::{AppError, Job};
use crate::budget::Budget;
use crate::check::{Finding, riding};
use crate::geom::{Certified, GeomError, Region, shrink};
use crate::report::facts::Loose;
use crate::template::Opening;
use crate::template::hand::Step;
use crate::template::openings::{Template, keep_clear};
use crate::template::tipping::{Margin, margins};
use crate::threads::both;

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
    for o in &t.openings {
        match shrink(&o.region, job.figures.template_cutter.mm, budget) {
            Ok(centre) => {
                all.loose.push(Loose { opening: o.id.clone(), size: centre.bounds().map(|b| (b.width(), b.height())) });
            }
            Err(e) => all.findings.push(uncertified(e)?),
        }
    }
    let (swept, tips) = both(
        || {
            let swept = sweep(t, steps, job, budget)?;
            Ok((riding::clamp_room(t, &swept, &job.panel), swept))
        },
        || {
            let margins = margins(t, steps, job.panel.base, budget)?;
            let found = riding::tips(t, steps, &margins, &job.panel, stands, budget)?;
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

/// With the smallest bush that runs in each opening.
fn sweep(t: &Template, steps: &[Step], job: &Job, budget: &Budget) -> Result<Swept, GeomError> {
    let bush = |o: &Opening| {
        let used = steps.iter().filter(|s| s.opening == o.id).map(|s| s.pair.bush_radius());
        used.min_by(f64::total_cmp).unwrap_or_else(|| job.tools.smallest_bush() / 2.0)
    };
    let mut swept = Vec::new();
    for panel in &t.panels {
        for face in [1, 2] {
            let own = |o: &&Opening| (o.panel, o.face) == (panel.number, face);
            let openings: Vec<_> = t.openings.iter().filter(own).collect();
            swept.push(((panel.number, face), keep_clear(&openings, bush, job.panel.base, panel, budget)?));
        }
    }
    Ok(swept)
}
