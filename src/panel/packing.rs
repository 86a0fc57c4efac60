//! Distributes outlines over panels.
//!
//! In: outlines with their two openings, in the drawing frame, and a layout; mm. Out: the panel of each outline, with
//! the fewest panels; pairs too close to share one; outlines that fit no panel.
//!
//! Two outlines share a panel only if enough template remains between their recess openings and between their inlay
//! openings. With the panel turned back, the same holds between the recess opening of either and the inlay opening of
//! the other. Distances are measured between the regions, not between their boxes.
//!
//! The outlines are nodes of a graph, pairs that are too close are its edges, and panels are colours
//! ([`crate::panel::colours`]). A tree of boxes finds the pairs whose distance must be measured.

use crate::budget::{Budget, Stopped};
use crate::geom::edges::least_distance;
use crate::geom::{Affine, BoxTree, Point, Rect, Region, Segment, inside};
use crate::panel::colours::{Apart, coloured};
use crate::panel::layout::{Layout, PanelSettings};
use crate::panel::{Panel, Turn};
use crate::template::Duty;
use crate::template::Piece;
use crate::tolerance::{SAME_PLACE, WIDTH_SLACK};

/// A pair too close to share a panel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Close {
    /// Numbers of the outlines, the lower first.
    pub outlines: [usize; 2],
    /// The openings that would be too close: that of the first outline, then that of the second.
    pub duties: [Duty; 2],
    /// Width of the template between them, mm; 0 if they overlap.
    pub mm: f64,
    /// In the drawing frame, on an opening of the first.
    pub at: Point,
}

/// A strip narrower than required although the outline has a panel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tight {
    /// Number of the outline.
    pub outline: usize,
    /// Remaining width, mm; 0 or less if the opening passes the edge or overlaps another.
    pub mm: f64,
    /// In the drawing frame.
    pub at: Point,
    /// Between the outline's own two openings, with the panel turned back; else to an edge.
    pub between_halves: bool,
}

/// The distribution of outlines over panels.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Packing {
    /// The panel of each outline, in order, from 0; `None` if it fits no panel.
    pub panel: Vec<Option<usize>>,
    pub panels: usize,
    /// Whether the number of panels is proved minimal.
    pub fewest: bool,
    /// Pairs placed on different panels because they are too close.
    pub close: Vec<Close>,
    /// The tightest place of each outline, without those that fit no panel.
    pub tight: Vec<Tight>,
    /// The outlines that fit no panel.
    pub refused: Vec<Tight>,
}

/// Packs the openings of `duties`: both on turned panels, one of them on panels that are not turned.
///
/// # Errors
/// [`Stopped`] by the budget.
pub fn pack(
    pieces: &[Piece],
    duties: &[Duty],
    layout: &Layout,
    settings: &PanelSettings,
    budget: &Budget,
) -> Result<Packing, Stopped> {
    let sheet = Panel::new(1, layout, settings);
    let look = PanelSpacing { duties, layout, panel: &sheet, web: settings.web };
    let mut packing = Packing { fewest: true, ..Packing::default() };
    let mut taken = Vec::new();
    for (i, p) in pieces.iter().enumerate() {
        budget.check()?;
        packing.panel.push(None);
        match look.tightest(p) {
            Some(t) if t.mm <= 0.0 => packing.refused.push(t),
            t => {
                packing.tight.extend(t);
                taken.push(i);
            }
        }
    }
    let mut apart = Apart::new(taken.len());
    for (n, m) in look.near(pieces, &taken) {
        budget.check()?;
        if let Some(close) = look.too_close(&pieces[taken[n]], &pieces[taken[m]]) {
            apart.set(n, m);
            packing.close.push(close);
        }
    }
    let (colours, fewest) = coloured(&apart);
    packing.panels = colours.iter().max().map_or(0, |c| c + 1);
    packing.fewest = fewest;
    for (n, &i) in taken.iter().enumerate() {
        packing.panel[i] = Some(colours[n]);
    }
    Ok(packing)
}

/// The data needed to measure distances on the panel.
struct PanelSpacing<'a> {
    duties: &'a [Duty],
    layout: &'a Layout,
    panel: &'a Panel,
    web: f64,
}

impl PanelSpacing<'_> {
    fn has(&self, duty: Duty) -> bool {
        self.duties.contains(&duty)
    }

    /// The openings of a piece that count here.
    fn openings<'p>(&self, p: &'p Piece) -> impl Iterator<Item = (Duty, &'p Region)> {
        let all: [(Duty, &Region); 3] = [(Duty::Recess, &p.recess), (Duty::Inlay, &p.inlay), (Duty::Both, &p.recess)];
        let wanted = all.map(|a| self.has(a.0).then_some(a));
        wanted.into_iter().flatten()
    }

    /// Maps the drawing to its mirror image on the panel turned back, in the drawing frame. This shows the other face
    /// as seen from this one. `None` for a panel that is not turned.
    fn other_face(&self) -> Option<Affine> {
        let place = self.layout.place;
        (self.panel.turn != Turn::None).then(|| place.inverse() * self.panel.turned() * place)
    }

    /// Least width of template from the openings of an outline to the edges, or between them.
    fn tightest(&self, p: &Piece) -> Option<Tight> {
        let back = self.layout.place.inverse();
        let tight = |mm, at, between_halves| Tight { outline: p.outline, mm, at, between_halves };
        let mut all = Vec::new();
        for b in self.openings(p).filter_map(|o| o.1.bounds()) {
            let b = self.layout.place.transform_rect_bbox(b);
            let c = b.center();
            all.extend([
                tight(b.x0, back * Point::new(b.x0, c.y), false),
                tight(b.y0, back * Point::new(c.x, b.y0), false),
                tight(self.panel.width - b.x1, back * Point::new(b.x1, c.y), false),
                tight(self.panel.height - b.y1, back * Point::new(c.x, b.y1), false),
            ]);
        }
        if let (Some(turned), true) = (self.other_face(), self.has(Duty::Recess) && self.has(Duty::Inlay)) {
            let other = p.inlay.under_similarity(turned);
            all.extend(nearer_than(&p.recess, &other, self.web).map(|(mm, at)| tight(mm, at, true)));
        }
        all.into_iter().min_by(|a, b| a.mm.total_cmp(&b.mm))
    }

    /// Pairs of outlines, as indices of `taken`, whose openings' boxes come within the required strip of each other,
    /// directly or turned over. The lower index comes first; the pairs are sorted. All other pairs are far enough
    /// apart.
    fn near(&self, pieces: &[Piece], taken: &[usize]) -> Vec<(usize, usize)> {
        let boxes = |n: usize| self.openings(&pieces[taken[n]]).filter_map(|o| o.1.bounds()).collect::<Vec<Rect>>();
        let all: Vec<Vec<Rect>> = (0..taken.len()).map(boxes).collect();
        let tree = BoxTree::new((0..).zip(&all).flat_map(|(n, own)| own.iter().map(move |b| (*b, n))));
        let turned = self.other_face();
        // More than the strip and any rounding error: closer pairs are measured.
        let reach = self.web + 1.0;
        let mut pairs = Vec::new();
        for (n, own) in all.iter().enumerate() {
            for b in own.iter().copied().chain(own.iter().filter_map(|b| Some(turned?.transform_rect_bbox(*b)))) {
                let near = tree.meeting(b.inflate(reach, reach)).into_iter().map(|(_, &o)| o);
                pairs.extend(near.filter(|&o| o != n).map(|o| (n.min(o), n.max(o))));
            }
        }
        pairs.sort_unstable();
        pairs.dedup();
        pairs
    }

    /// Where two outlines come too close for one panel.
    fn too_close(&self, a: &Piece, b: &Piece) -> Option<Close> {
        let mut all: Vec<Close> = Vec::new();
        let mut look = |duties: [Duty; 2], x: &Region, y: &Region| {
            let near = nearer_than(x, y, self.web);
            let close = |(mm, at)| Close { outlines: [a.outline, b.outline], duties, mm, at };
            all.extend(near.map(close));
        };
        for (duty, x) in self.openings(a) {
            for (other, y) in self.openings(b) {
                if duty == other {
                    look([duty, other], x, y);
                } else if let Some(turned) = self.other_face() {
                    look([duty, other], x, &y.under_similarity(turned));
                }
            }
        }
        all.into_iter().min_by(|a, b| a.mm.total_cmp(&b.mm))
    }
}

/// Distance of two regions if it is less than `web`, with the slack of a comparison; 0 if they overlap.
fn nearer_than(a: &Region, b: &Region, web: f64) -> Option<(f64, Point)> {
    let (p, q) = (a.bounds()?, b.bounds()?);
    if !p.inflate(web, web).overlaps(q.inflate(WIDTH_SLACK, WIDTH_SLACK)) {
        return None;
    }
    for (x, y) in [(a, b), (b, a)] {
        // One region may lie inside the other without edges that meet.
        let first = y.rings.first().and_then(|r| r.segments.first()).map(Segment::start);
        if let Some(p) = first.filter(|p| inside::contains(x, *p)) {
            return Some((0.0, p));
        }
    }
    // Even for a strip of 0: openings that touch are one.
    let (mm, at) = least_distance(a, b, (web - WIDTH_SLACK).max(WIDTH_SLACK))?;
    Some((if mm < SAME_PLACE { 0.0 } else { mm }, at))
}
