//! The router on the panel: the area that its base sweeps, places where it tips, and room for clamps.

use super::super::{AppError, Job};
use super::work::uncertified;
use crate::budget::Budget;
use crate::check::Finding;
use crate::check::registry::{self, OF_ROUTER};
use crate::geom::{Certified, GeomError, Region, shrink};
use crate::job::facts::Loose;
use crate::panel::Opening;
use crate::panel::centres::Centres;
use crate::panel::ground::Grounds;
use crate::panel::steps::Step;
use crate::panel::template::{Template, keep_clear};
use crate::panel::tipping::{Margin, margins};
use crate::threads::{both, each};
use std::borrow::Cow;
use std::collections::BTreeMap;

/// For each panel and face, the area that the base sweeps.
type Swept = Vec<((u32, u8), Region)>;

/// The router on the panels of one part.
#[derive(Default)]
pub(super) struct Riding {
    pub swept: Swept,
    /// How far inside its support the centre of the base stays, for each step.
    pub margins: Vec<Option<Margin>>,
    /// The piece that falls out of each opening when it is cut.
    pub loose: Vec<Loose>,
    pub findings: Vec<Finding>,
}

/// Calculates all results. A place that cannot be certified becomes a finding. `wood_under_centre` has the meaning that
/// [`registry::RouterSeen`] gives it.
pub(super) fn ridden(
    t: &Template,
    steps: &[Step],
    wood_under_centre: &(dyn Fn(&Opening) -> Option<Certified<Region>> + Sync),
    job: &Job,
    budget: &Budget,
) -> Result<Riding, AppError> {
    let mut all = Riding::default();
    // The template's cutter runs inside the line and takes its own width.
    let loose = each(t.openings.iter().collect(), |o| shrink(&o.region, job.figures.template_cutter.mm, budget));
    for (o, loose) in t.openings.iter().zip(loose) {
        match loose {
            Ok(centre) => {
                all.loose.push(Loose { opening: o.id.clone(), size: centre.bounds().map(|b| (b.width(), b.height())) });
            }
            Err(e) => all.findings.push(uncertified(e)?),
        }
    }
    let mut smallest: BTreeMap<&str, f64> = BTreeMap::new();
    for s in steps {
        let radius = smallest.entry(s.opening.as_str()).or_insert(f64::INFINITY);
        *radius = radius.min(s.pair.bush_radius());
    }
    let bush = |o: &Opening| *smallest.get(o.id.as_str()).unwrap_or(&(job.tools.smallest_bush() / 2.0));
    let swept_by = t.openings.iter().map(|o| (o, bush(o)));
    let running = steps.iter().filter_map(|s| Some((t.opening_of_step(s)?.0, s.pair.bush_radius())));
    let centres = Centres::new(swept_by.chain(running), budget);
    let grounds = Grounds::new(t, job.panel.at.is_some());
    let (swept, margins) = both(
        || sweep(t, |o| centres.region(o, bush(o), budget), job.panel.base, budget),
        || margins(t, steps, (&centres, &grounds), job.panel.base, budget),
    );
    match swept {
        Ok(swept) => all.swept = swept,
        Err(e) => all.findings.push(uncertified(e)?),
    }
    match margins {
        Ok(margins) => all.margins = margins,
        Err(e) => all.findings.push(uncertified(e)?),
    }
    let seen = registry::RouterSeen {
        template: t,
        settings: &job.panel,
        steps,
        margins: &all.margins,
        centres: &centres,
        grounds: &grounds,
        swept: &all.swept,
        wood_under_centre,
    };
    match registry::surveyed(OF_ROUTER, &seen, budget) {
        Ok(found) => all.findings.extend(found),
        Err(e) => all.findings.push(uncertified(e)?),
    }
    Ok(all)
}

/// `centre` gives the region that the centre of the smallest bush can reach in an opening.
fn sweep<'a>(
    t: &Template,
    centre: impl Fn(&Opening) -> Result<Cow<'a, Certified<Region>>, GeomError> + Sync,
    base: f64,
    budget: &Budget,
) -> Result<Swept, GeomError> {
    let faces = t.panels.iter().flat_map(|p| [(p, 1), (p, 2)]).collect();
    let swept = each(faces, |(panel, face)| {
        let own = |o: &&Opening| (o.panel, o.face) == (panel.number, face);
        let openings: Vec<_> = t.openings.iter().filter(own).collect();
        Ok(((panel.number, face), keep_clear(&openings, &centre, base, panel, budget)?))
    });
    swept.into_iter().collect()
}
