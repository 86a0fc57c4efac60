//! The position of the openings on the panel, and the size of the panel.
//!
//! In: the bounding boxes of the openings in the drawing frame, the router's base, how the panel is turned, mm. Out:
//! one size for all panels of the job, and one `place` that maps the drawing to any face of any panel. So the same
//! marks on the work serve all of them.
//!
//! Turned left over right, opening 1 lies in the left half of face 1. Opening 2 lies in the left half of face 2, the
//! right half of the panel as seen on face 1. Turned bottom over top, the same holds for the lower halves. A panel that
//! is not turned carries openings for one piece only, because all openings of a face share one place. No errors here:
//! [`crate::panel::packing`] finds what does not fit the given size or place.

use crate::geom::{Affine, Point, Rect, Vec2};
use crate::panel::{Edge, Edges, Panel, Setup, Turn};
use crate::tolerance::TYPED;

/// Room for a clamp beyond the router's base along two edges of the panel, mm. Common practice, no source.
const CLAMP: f64 = 20.0;
/// Sizes are rounded up to multiples of this, mm: easier to saw and to measure.
const STEP: f64 = 10.0;

/// Settings for panel and router, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PanelSettings {
    /// Radius of the router's base.
    pub base: f64,
    /// Least width of template between two openings, or between an opening and an edge.
    pub web: f64,
    /// Position of the centre mark from the bottom left corner of the face that is up.
    pub at: Option<(f64, f64)>,
    /// Width and height.
    pub size: Option<(f64, f64)>,
    /// Width and height of the machine's bed.
    pub bed: Option<(f64, f64)>,
    pub turn: Turn,
    pub setup: Setup,
}

/// The openings of one face: their bounding box in the drawing frame, and the bush that runs in them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FaceNeeds {
    pub openings: Rect,
    /// R, mm.
    pub bush_radius: f64,
}

/// Size of the panels, and the place of the drawing on every face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Layout {
    pub width: f64,
    pub height: f64,
    pub place: Affine,
    /// The smallest position of the centre mark that leaves the strip at the left and bottom edges, mm.
    pub least_at: (f64, f64),
    /// The smallest size that leaves the strip on all sides, with the centre mark where it is, mm.
    pub least_size: (f64, f64),
}

/// A possible size of the panel, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PanelSize {
    pub turn: Turn,
    /// With room for the router's base and for clamps; else with only the strip around the openings.
    pub roomy: bool,
    pub width: f64,
    pub height: f64,
}

/// Distances from the centre mark that must be free: bare, or with room for base, strip and clamp.
#[derive(Clone, Copy, Debug)]
struct Reach {
    left: f64,
    right: f64,
    down: f64,
    up: f64,
}

impl Reach {
    fn new(r: Rect, centre_mark: Point) -> Reach {
        Reach {
            left: centre_mark.x - r.x0,
            right: r.x1 - centre_mark.x,
            down: centre_mark.y - r.y0,
            up: r.y1 - centre_mark.y,
        }
    }

    fn larger(self, o: Reach) -> Reach {
        Reach {
            left: self.left.max(o.left),
            right: self.right.max(o.right),
            down: self.down.max(o.down),
            up: self.up.max(o.up),
        }
    }

    /// Enlarged on all sides: `across` left and right, `along` down and up.
    fn with(self, across: f64, along: f64) -> Reach {
        Reach { left: self.left + across, right: self.right + across, down: self.down + along, up: self.up + along }
    }

    /// Swaps the axes: right with up, left with down. So a panel turned bottom over top is treated like one turned left
    /// over right.
    fn lying(self) -> Reach {
        Reach { left: self.down, right: self.up, down: self.left, up: self.right }
    }
}

/// What must be free around the centre mark, whichever face is up.
#[derive(Clone, Copy, Debug)]
struct Needs {
    bare: [Reach; 2],
    least: Reach,
    roomy: Reach,
}

impl Needs {
    fn new(faces: [FaceNeeds; 2], centre_mark: Point, s: &PanelSettings, turn: Turn) -> Needs {
        // The bush's centre stays within the opening shrunk by R; the base reaches Q beyond it. Clamps hold the edges
        // that do not adjoin the middle line.
        let room = |f: &FaceNeeds| {
            let (base, clamped) = (s.base - f.bush_radius, s.base - f.bush_radius + CLAMP);
            let (across, along) = if turn == Turn::BottomTop { (clamped, base) } else { (base, clamped) };
            Reach::new(f.openings, centre_mark).with(across.max(s.web), along.max(s.web))
        };
        let bare = faces.map(|f| Reach::new(f.openings, centre_mark));
        Needs { bare, least: bare[0].larger(bare[1]), roomy: room(&faces[0]).larger(room(&faces[1])) }
    }

    fn lying(self) -> Needs {
        Needs { bare: self.bare.map(Reach::lying), least: self.least.lying(), roomy: self.roomy.lying() }
    }

    /// The position nearest to the reference corner that base and clamps allow, or the strip alone.
    fn nearest(&self, web: f64, roomy: bool) -> (f64, f64) {
        let r = if roomy { self.roomy } else { self.least.with(web, web) };
        (up(r.left), up(r.down))
    }

    /// The position on a panel of given size: the middle of the available room. If a strip of template would be too
    /// thin there, the nearest position with a sufficient strip is used, if one exists.
    fn within(&self, (w, h): (f64, f64), turned: bool, web: f64) -> (f64, f64) {
        let (l, r) = (self.least, self.roomy);
        let right = if turned { (w - self.bare[0].right - self.bare[1].right - web) / 2.0 } else { w };
        let half = if turned { w / 2.0 } else { w };
        let keep = |wish: f64, least: f64, most: f64| if least <= most { wish.clamp(least, most) } else { wish };
        let u = keep((half - r.right + r.left) / 2.0, l.left + web, right.min(w - l.right - web));
        let v = keep((h - r.up + r.down) / 2.0, l.down + web, h - l.up - web);
        (u, v)
    }

    /// The size with the centre mark at (u, v), with room for base and clamps, or only with the strip. The panel is
    /// turned left over right, or not at all.
    fn size(&self, (u, v): (f64, f64), turned: bool, web: f64, roomy: bool) -> (f64, f64) {
        let r = if roomy { self.roomy } else { self.least.with(web, web) };
        let width = match (turned, roomy) {
            (false, _) => up(u + r.right),
            (true, true) => 2.0 * up(u + r.right),
            // Between the halves: face 1 extends to u + right from the left, face 2 as far from the right.
            (true, false) => {
                let halves = 2.0 * u + self.bare[0].right + self.bare[1].right + web;
                // Only if one half is nearly empty can an opening reach the far edge first.
                up(halves.max(u + r.right))
            }
        };
        (width, up(v + r.up))
    }
}

/// Lays out the panels. `faces`: the needs of the recess and of the inlay. `common`: the centre mark in the drawing
/// frame.
#[must_use]
pub fn layout(faces: [FaceNeeds; 2], centre_mark: Point, s: &PanelSettings) -> Layout {
    let needs = Needs::new(faces, centre_mark, s, s.turn);
    let (lies, turned) = (s.turn == Turn::BottomTop, s.turn != Turn::None);
    let n = if lies { needs.lying() } else { needs };
    let swap = |p: (f64, f64)| if lies { (p.1, p.0) } else { p };
    let place = match (s.at, s.size) {
        (Some(at), _) => swap(at),
        (None, None) => n.nearest(s.web, true),
        (None, Some(size)) => n.within(swap(size), turned, s.web),
    };
    let (width, height) = s.size.unwrap_or_else(|| swap(n.size(place, turned, s.web, true)));
    let least_at = n.nearest(s.web, false);
    let least_size = n.size(if s.at.is_some() { place } else { least_at }, turned, s.web, false);
    let (u, v) = swap(place);
    Layout {
        width,
        height,
        place: Affine::translate(Vec2::new(u - centre_mark.x, v - centre_mark.y)),
        least_at: swap(least_at),
        least_size: swap(least_size),
    }
}

/// The possible sizes of the panel for these openings, by turn, with and without room, each as small as possible.
#[must_use]
pub fn sizes(faces: [FaceNeeds; 2], centre_mark: Point, s: &PanelSettings) -> Vec<PanelSize> {
    let mut all = Vec::new();
    for roomy in [true, false] {
        for turn in [Turn::LeftRight, Turn::BottomTop, Turn::None] {
            let needs = Needs::new(faces, centre_mark, s, turn);
            let lies = turn == Turn::BottomTop;
            let n = if lies { needs.lying() } else { needs };
            let swap = |p: (f64, f64)| if lies { (p.1, p.0) } else { p };
            let place = s.at.map_or_else(|| n.nearest(s.web, roomy), swap);
            let (width, height) = swap(n.size(place, turn != Turn::None, s.web, roomy));
            all.push(PanelSize { turn, roomy, width, height });
        }
    }
    all
}

impl Panel {
    /// A panel with the layout's size.
    #[must_use]
    pub fn new(number: u32, layout: &Layout, settings: &PanelSettings) -> Panel {
        let (turn, setup) = (settings.turn, settings.setup);
        Panel { number, width: layout.width, height: layout.height, turn, setup, edges: Edges::turned_over(turn) }
    }
}

impl Edges {
    /// The reference edges of a panel turned in this way: those that meet the stops with either face up.
    #[must_use]
    pub fn turned_over(turn: Turn) -> Edges {
        let (r, f) = (Edge::Reference, Edge::Free);
        match turn {
            Turn::LeftRight => Edges { left: r, right: r, bottom: r, top: f },
            Turn::BottomTop => Edges { left: r, right: f, bottom: r, top: r },
            Turn::None => Edges { left: r, right: f, bottom: r, top: f },
        }
    }
}

/// Rounds up to the next multiple of the step; a rounding error above a multiple is ignored.
fn up(x: f64) -> f64 {
    ((x - TYPED) / STEP).ceil() * STEP
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    pub(in crate::panel) const SETTINGS: PanelSettings = PanelSettings {
        base: 75.0,
        web: 9.0,
        at: None,
        size: None,
        bed: None,
        turn: Turn::LeftRight,
        setup: Setup::Two,
    };

    /// The 70 × 36 bow-tie with a 20 mm bush and a 6 mm cutter: openings 7 and 12.95 outside it.
    fn bow_tie() -> [FaceNeeds; 2] {
        [7.0, 12.95]
            .map(|o| FaceNeeds { openings: Rect::new(-35.0 - o, -18.0 - o, 35.0 + o, 18.0 + o), bush_radius: 10.0 })
    }

    #[test]
    fn the_base_stays_on_the_panel_and_out_of_the_other_half() {
        let l = layout(bow_tie(), Point::ORIGIN, &SETTINGS);
        assert_eq!((l.width, l.height), (480.0, 240.0));
        assert_eq!(l.place, Affine::translate((120.0, 120.0)));
        // The base reaches 35 + 12.95 − 10 + 75 = 112.95 from the centre mark.
        assert!(120.0 + 112.95 <= l.width / 2.0);
    }

    /// Down: 18 + 12.95 − 10 + 75 = 95.95, to the left 35 + 12.95 − 10 + 75 + 20 = 132.95.
    #[test]
    fn bottom_over_top_the_panel_is_twice_as_high() {
        let l = layout(bow_tie(), Point::ORIGIN, &PanelSettings { turn: Turn::BottomTop, ..SETTINGS });
        assert_eq!((l.width, l.height), (280.0, 400.0));
        assert_eq!(l.place, Affine::translate((140.0, 100.0)));
        let l = layout(bow_tie(), Point::ORIGIN, &PanelSettings { turn: Turn::None, ..SETTINGS });
        assert_eq!((l.width, l.height), (240.0, 240.0));
    }

    #[test]
    fn the_least_size_just_keeps_the_web() {
        for turn in [Turn::LeftRight, Turn::BottomTop, Turn::None] {
            let s = PanelSettings { turn, ..SETTINGS };
            let least = layout(bow_tie(), Point::ORIGIN, &s);
            let l = layout(
                bow_tie(),
                Point::ORIGIN,
                &PanelSettings { size: Some(least.least_size), at: Some(least.least_at), ..s },
            );
            let [a, b] = bow_tie().map(|f| l.place.transform_rect_bbox(f.openings));
            let between = match turn {
                Turn::LeftRight => l.width - b.x1 - a.x1,
                Turn::BottomTop => l.height - b.y1 - a.y1,
                Turn::None => l.width - b.x1,
            };
            let edge = b.x0.min(b.y0).min(l.width - b.x1).min(l.height - b.y1);
            assert!(
                between >= 9.0 && edge >= 9.0 && between.min(edge) < 9.0 + 2.0 * STEP,
                "{turn:?}: {between} {edge}"
            );
            let reported = sizes(bow_tie(), Point::ORIGIN, &SETTINGS).into_iter().find(|z| z.turn == turn && !z.roomy);
            assert_eq!(reported.map(|z| (z.width, z.height)), Some(least.least_size));
        }
    }
}
