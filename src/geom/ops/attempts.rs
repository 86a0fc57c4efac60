//! Runs an operation until the certificate accepts its result.
//!
//! All work is done in a local frame: its origin is the centre of the bounding box, rounded to whole millimetres. If
//! the certificate refuses a result, the operation is repeated on a finer grid and on a rotated copy, where other
//! points coincide. If all attempts are refused, the operation fails with the place. No uncertified result is returned.

use crate::geom::shape::trig::unit;
use crate::geom::shape::{Affine, GeomError, Point, Rect, Vec2};
use crate::tolerance::{GRID, LARGEST_COORDINATE};

/// One attempt at an operation.
pub(super) struct Attempt {
    /// mm.
    pub grid: f64,
    /// Rotation of the copy, radians.
    pub turn: f64,
}

/// The attempts, in order. An overlay fails where points coincide; another grid or angle makes other points coincide.
const ATTEMPTS: [Attempt; 4] = [
    Attempt { grid: GRID, turn: 0.0 },
    Attempt { grid: GRID / 8.0, turn: 0.0 },
    Attempt { grid: GRID, turn: 0.618_033_988_7 },
    Attempt { grid: GRID / 4.0, turn: 2.345_678_9 },
];

/// The result of `run`, moved back by `moved` from the frame that `run` is given. Without bounds it is empty.
pub(super) fn in_local_frame<R: Default>(
    bounds: Option<Rect>,
    moved: fn(&R, Affine) -> R,
    run: impl Fn(Affine, &Attempt) -> Result<R, GeomError>,
) -> Result<R, GeomError> {
    let Some(bounds) = bounds else { return Ok(R::default()) };
    let middle = bounds.center();
    if !middle.is_finite() {
        return Err(GeomError::NotFinite);
    }
    if bounds.x0.min(bounds.y0) < -LARGEST_COORDINATE || bounds.x1.max(bounds.y1) > LARGEST_COORDINATE {
        return Err(GeomError::TooFar);
    }
    let origin = origin(bounds);
    let mut first = None;
    for attempt in &ATTEMPTS {
        let turn = turn(attempt.turn);
        let frame = turn * Affine::translate(-origin);
        let back = Affine::translate(origin) * turn.inverse();
        match run(frame, attempt) {
            Ok(local) => return Ok(moved(&local, back)),
            Err(GeomError::Uncertified { at, why }) => {
                first.get_or_insert(GeomError::Uncertified { at: back * at, why });
            }
            Err(other) => return Err(other),
        }
    }
    Err(first.unwrap_or(GeomError::Uncertified { at: Point::ORIGIN, why: "no attempt was made" }))
}

/// The origin of the local frame: whole millimetres, so that drawn numbers keep their digits.
pub(super) fn origin(bounds: Rect) -> Vec2 {
    let middle = bounds.center();
    Vec2::new(middle.x.round(), middle.y.round())
}

/// A rotation about the origin; the identity bit for bit if the angle is 0.
fn turn(angle: f64) -> Affine {
    if angle == 0.0 {
        return Affine::IDENTITY;
    }
    let u = unit(angle);
    Affine::new([u.x, u.y, -u.y, u.x, 0.0, 0.0])
}
