//! Where on the panel the openings lie, and how large the panel is.
//!
//! In: the boxes of the openings in the drawing frame, the router's base, mm. Out: a panel that is turned left edge over
//! right, and the one `place` that takes the drawing to either face. Opening 1 lies in the left half of face 1, opening
//! 2 in the left half of face 2, which is the right half of the panel once it is turned back. Refuses (with
//! [`LayoutError`]) a wanted place or size that leaves an opening off the panel or over another.

use super::{Edge, Edges, Panel, Turn};
use crate::geom::{Affine, Point, Rect, Vec2};

/// Room left along the bottom and top edges beyond the router's base for a clamp, mm. Common practice, no source.
const CLAMP: f64 = 20.0;
/// Sizes are rounded up to whole steps of this, mm: easier to saw and to measure.
const STEP: f64 = 10.0;

/// What the maker says of panel and router, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PanelSettings {
    /// Radius of the router's base.
    pub base: f64,
    /// Least material between two openings, or between an opening and an edge.
    pub web: f64,
    /// Where the common point lies from the bottom left corner of the face that is up.
    pub at: Option<(f64, f64)>,
    /// Width and height.
    pub size: Option<(f64, f64)>,
}

/// The openings of one face: the box round them in the drawing frame, and the bush that runs in them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FaceNeeds {
    pub openings: Rect,
    /// R, mm.
    pub bush_radius: f64,
}

/// A panel and the place of the drawing on either face.
#[derive(Clone, Debug, PartialEq)]
pub struct Layout {
    pub panel: Panel,
    pub place: Affine,
    /// Material that is left where there is least, by the openings' boxes: to an edge or between the two halves, mm,
    /// with the place in the drawing frame.
    pub thinnest: (f64, Point),
}

#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum LayoutError {
    #[error(
        "the openings do not fit on a panel of {width} x {height} mm: it has to be {needs_width} x {needs_height} mm at least, so that they stay on it and apart"
    )]
    TooSmall { width: f64, height: f64, needs_width: f64, needs_height: f64 },
    #[error(
        "with --at {x}x{y} the openings run off the panel: the common point has to be {needs_x} mm from the left and {needs_y} mm from the bottom at least"
    )]
    OffThePanel { x: f64, y: f64, needs_x: f64, needs_y: f64 },
}

/// Distances from the common point that have to be free: bare, and with room for base, web and clamp.
#[derive(Clone, Copy, Debug)]
struct Reach {
    left: f64,
    right: f64,
    down: f64,
    up: f64,
}

impl Reach {
    fn of(r: Rect, common: Point) -> Reach {
        Reach { left: common.x - r.x0, right: r.x1 - common.x, down: common.y - r.y0, up: r.y1 - common.y }
    }

    fn larger(self, o: Reach) -> Reach {
        Reach {
            left: self.left.max(o.left),
            right: self.right.max(o.right),
            down: self.down.max(o.down),
            up: self.up.max(o.up),
        }
    }

    /// The bush's centre stays within the opening less R; the base reaches Q beyond.
    fn with_room(self, f: &FaceNeeds, s: &PanelSettings) -> Reach {
        let across = (s.base - f.bush_radius).max(s.web);
        let along = (s.base - f.bush_radius + CLAMP).max(s.web);
        Reach { left: self.left + across, right: self.right + across, down: self.down + along, up: self.up + along }
    }
}

/// Lays out a panel that is turned left over right: `faces` are face 1 and face 2, `common` the common point in the
/// drawing frame.
///
/// # Errors
/// [`LayoutError`] where `at` or `size` leave no room for the bare openings. A web thinner than wanted is no error: see
/// [`Layout::thinnest`].
pub fn left_over_right(faces: [FaceNeeds; 2], common: Point, s: &PanelSettings) -> Result<Layout, LayoutError> {
    let bare = faces.map(|f| Reach::of(f.openings, common));
    let least = bare[0].larger(bare[1]);
    let roomy = bare[0].with_room(&faces[0], s).larger(bare[1].with_room(&faces[1], s));
    let (u, v) = s.at.unwrap_or_else(|| wanted_place(roomy, s.size));
    if s.at.is_some() && (u <= least.left || v <= least.down) {
        let (needs_x, needs_y) = (up(least.left + s.web), up(least.down + s.web));
        return Err(LayoutError::OffThePanel { x: u, y: v, needs_x, needs_y });
    }
    let (width, height) = s.size.unwrap_or((2.0 * up(u + roomy.right), up(v + roomy.up)));
    // Between the halves: face 1 reaches u + right of opening 1 from the left, face 2 as much from the right.
    let between = width - 2.0 * u - bare[0].right - bare[1].right;
    let gaps = [
        (u - least.left, Vec2::new(-least.left, 0.0)),
        (v - least.down, Vec2::new(0.0, -least.down)),
        (height - v - least.up, Vec2::new(0.0, least.up)),
        (between, Vec2::new(least.right, 0.0)),
        // Only where one half is very empty can an opening reach the far edge first.
        (width - u - least.right, Vec2::new(least.right, 0.0)),
    ];
    let (thin, from) = gaps.into_iter().min_by(|a, b| a.0.total_cmp(&b.0)).unwrap_or((0.0, Vec2::ZERO));
    if thin <= 0.0 {
        let (u, v) = s.at.unwrap_or((least.left + s.web, least.down + s.web));
        let needs_width = up(2.0 * u + bare[0].right + bare[1].right + s.web);
        return Err(LayoutError::TooSmall { width, height, needs_width, needs_height: up(v + least.up + s.web) });
    }
    let edges = Edges { left: Edge::Reference, right: Edge::Reference, bottom: Edge::Reference, top: Edge::Free };
    Ok(Layout {
        panel: Panel { number: 1, width, height, turn: Turn::LeftRight, edges },
        place: Affine::translate(Vec2::new(u - common.x, v - common.y)),
        thinnest: (thin, common + from),
    })
}

/// Without a wanted place: as near to the reference corner as the router's base allows; on a panel of given size in the
/// middle of the room that there is.
fn wanted_place(roomy: Reach, size: Option<(f64, f64)>) -> (f64, f64) {
    match size {
        None => (up(roomy.left), up(roomy.down)),
        Some((w, h)) => ((w / 2.0 - roomy.right + roomy.left) / 2.0, (h - roomy.up + roomy.down) / 2.0),
    }
}

/// Up to the next whole step; a hair over a whole step stays there.
fn up(x: f64) -> f64 {
    ((x - 1e-6) / STEP).ceil() * STEP
}

#[cfg(test)]
mod tests {
    use super::*;

    const SETTINGS: PanelSettings = PanelSettings { base: 75.0, web: 9.0, at: None, size: None };

    /// The 70 × 36 bow-tie with a 20 mm bush and a 6 mm cutter: openings 7 and 12.95 outside it.
    fn bow_tie() -> [FaceNeeds; 2] {
        [7.0, 12.95]
            .map(|o| FaceNeeds { openings: Rect::new(-35.0 - o, -18.0 - o, 35.0 + o, 18.0 + o), bush_radius: 10.0 })
    }

    #[test]
    fn the_base_stays_on_the_panel_and_out_of_the_other_half() {
        let l = left_over_right(bow_tie(), Point::ORIGIN, &SETTINGS).unwrap();
        assert_eq!((l.panel.width, l.panel.height), (480.0, 240.0));
        assert_eq!(l.place, Affine::translate((120.0, 120.0)));
        // 35 + 12.95 − 10 + 75 = 112.95 from the common point the base ends.
        assert!(120.0 + 112.95 <= l.panel.width / 2.0);
    }

    #[test]
    fn openings_keep_apart_on_the_real_panel() {
        let size = Some((250.0, 120.0));
        let l = left_over_right(bow_tie(), Point::ORIGIN, &PanelSettings { size, ..SETTINGS }).unwrap();
        let [a, b] = bow_tie().map(|f| l.place.transform_rect_bbox(f.openings));
        // Face 2 turned back: x → W − x.
        let between = (250.0 - b.x1) - a.x1;
        assert!(between > 0.0 && a.x0 > 0.0 && b.y1 < 120.0);
        assert!(l.thinnest.0 <= between + 1e-9);
    }

    #[test]
    fn what_does_not_fit_is_refused_with_the_size_that_would() {
        let size = Some((180.0, 240.0));
        let err = left_over_right(bow_tie(), Point::ORIGIN, &PanelSettings { size, ..SETTINGS }).unwrap_err();
        assert!(err.to_string().contains("at least"), "{err}");
        let at = Some((40.0, 120.0));
        let err = left_over_right(bow_tie(), Point::ORIGIN, &PanelSettings { at, ..SETTINGS }).unwrap_err();
        assert!(matches!(err, LayoutError::OffThePanel { .. }), "{err}");
    }
}
