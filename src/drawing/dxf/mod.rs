//! Reads DXF drawings into shapes in millimetres.
//!
//! In: the bytes of a DXF file, ASCII or binary, R10 to R2018. Out: a [`Drawing`] in the file's own frame, scaled to
//! mm, with a remark on every entity that is not read.
//!
//! The kinds it reads:
//!
//! * LINE, ARC, CIRCLE, ELLIPSE and LWPOLYLINE;
//! * POLYLINE, two-dimensional or flat;
//! * SPLINE, by control points or fit points;
//! * the boundary of HATCH;
//! * INSERT of blocks of these.
//!
//! Source: the published DXF Reference.
//!
//! Only the model space counts, including entities that only its block holds. Layers that are off or frozen are left
//! out. Layers that are not plotted are read, because the screen shows them. Heights are ignored. Entities in a tilted
//! plane are left out, because their projection would change their shape.
//!
//! Refuses files that are not DXF, files over [`LARGEST_FILE`] bytes, and too many copies of blocks.

mod blocks;
mod count;
mod curves;
mod entities;
mod entity;
mod fields;
mod hatch;
mod ocs;
mod pairs;
mod remarks;
mod scan;
mod second;
mod size;
mod spline;
mod through;

pub use blocks::hidden;

use super::{Drawing, Format, ReadError, ReadSettings, Remark, RemarkKind};
use crate::budget::Budget;
use remarks::Notes;

/// Size of the largest file that is read, bytes.
pub const LARGEST_FILE: usize = 64 << 20;

/// Reads a DXF drawing. Open lines stay open; [`super::join`] makes loops of them.
///
/// # Errors
/// [`ReadError::NotADrawing`] and [`ReadError::Empty`] for a file without a drawing. [`ReadError::Syntax`], with the
/// line, for an invalid group code. [`ReadError::Refused`] beyond the limits. [`ReadError::Stopped`] by the budget.
pub fn read(bytes: &[u8], settings: &ReadSettings, budget: &Budget) -> Result<Drawing, ReadError> {
    if bytes.len() > LARGEST_FILE {
        let what = format!("the file is larger than {} MB; save the outline alone", LARGEST_FILE >> 20);
        return Err(ReadError::Refused { what });
    }
    budget.check()?;
    let mut notes = Notes::default();
    let file = scan::scan(bytes, &mut notes, budget)?;
    if file.entities.is_empty() {
        return Err(match file.cut {
            Some(what) => {
                ReadError::Refused { what: format!("{what}; save the drawing again and copy the whole file") }
            }
            None => ReadError::Empty,
        });
    }
    let size = size::size(file.header, settings.unit);
    let mut placing = blocks::Placing::new(&file, &mut notes, settings.join, budget);
    placing.place_all(size.unit.mm)?;
    let stairs = placing.stairs();
    let accounted = placing.accounted + file.parts;
    let (shapes, placed) = (placing.shapes, placing.remarks);
    if let Some(what) = stairs {
        notes.tolerate(&what, 0);
    }
    let binary = file.binary;
    let mut remarks = notes.remarks(|at| if binary { format!("byte {at}") } else { format!("line {at}") });
    remarks.extend(placed);
    budget.check()?;
    if let Some(there) = count::records(bytes).filter(|&n| n != accounted) {
        let what = format!("the ENTITIES section has {there} records, and {accounted} were read or reported");
        remarks.push(Remark { kind: RemarkKind::SecondReader { what }, source: None, at: None });
    }
    let doubts = second::doubts(bytes, &file).into_iter();
    remarks.extend(doubts.map(|what| Remark { kind: RemarkKind::SecondReader { what }, source: None, at: None }));
    let edges = shapes.iter().flat_map(|s| &s.paths).flat_map(|p| &p.segments);
    let bounds = edges.map(crate::geom::Segment::bounds).reduce(|a, b| a.union(b));
    Ok(Drawing {
        format: Format::Dxf,
        unit: size.unit,
        unit_source: size.why,
        unit_guessed: size.guessed,
        shapes,
        bounds,
        remarks,
    })
}
