//! Turns records into entities, with the numbers of the file, in the entity's own plane and the drawing's unit.
//!
//! Source: the published DXF Reference, "ENTITIES section". A missing or invalid number makes the entity unreadable,
//! and the message gives the line. Only the defaults of the reference replace missing numbers.

use super::entity::{Colour, Entity, Geometry, Insert, LineType, Vertex, line_type};
use super::fields::Fields;
use super::hatch::hatch;
use super::pairs::Record;
use super::remarks::Notes;
use super::spline::Spline;
use super::through::through;
use crate::tolerance::{MOST_BULGE, WRITTEN_SHARE};
use std::f64::consts::TAU;

/// True if a record holds data that belong to a second record, whose mark is damaged. An entity states its handle,
/// layer and point at most once. It also has the class mark `AcDbEntity` at most once.
pub fn swallowed(record: &Record) -> bool {
    let count = |code: i32| record.pairs.iter().filter(|p| p.code == code).count();
    let class = record.pairs.iter().filter(|p| p.code == 100 && p.is("AcDbEntity")).count();
    let once: &[i32] = match record.kind.to_ascii_uppercase().as_slice() {
        b"LINE" | b"CIRCLE" | b"ARC" | b"ELLIPSE" | b"INSERT" | b"VERTEX" | b"POLYLINE" | b"BLOCK" => &[5, 8, 10],
        // An end record has no point.
        b"SEQEND" => return class > 1 || count(8) > 1 || count(10) > 0,
        b"LWPOLYLINE" | b"SPLINE" | b"HATCH" => &[5, 8],
        // Kinds that are not read may hold anything.
        _ => return false,
    };
    class > 1 || once.iter().any(|&c| count(c) > 1)
}

pub const SWALLOWED: &str =
    "a record holds the data of two: the mark between them is damaged, and the second is not read";

/// Reads the entity of a record. A POLYLINE gets its vertices later, from [`vertex`].
pub fn entity(record: &Record, binary: bool, notes: &mut Notes) -> Entity {
    if swallowed(record) {
        notes.damage(SWALLOWED, record.at);
    }
    let mut f = Fields::new(record, binary, notes);
    let kind: String = String::from_utf8_lossy(record.kind).chars().take(32).collect::<String>().to_ascii_uppercase();
    let normal = (|| Ok([f.real(210, 0.0)?, f.real(220, 0.0)?, f.real(230, 1.0)?]))();
    if normal == Ok([0.0; 3]) {
        f.notes.tolerate("a plane without a direction, read as the drawing's plane", record.at);
    }
    let geometry = geometry(&kind, &mut f).and_then(|g| normal.clone().map(|_| g)).unwrap_or_else(|why: String| {
        Geometry::Left { what: format!("{kind} that cannot be read ({why})"), harmless: false }
    });
    Entity {
        at: record.at,
        handle: f.text(5).filter(|h| !h.is_empty()),
        layer: f.text(8).unwrap_or_else(|| "0".to_owned()),
        owner: f.text(330),
        paper: f.int(67, 0) == Ok(1),
        counted: false,
        invisible: f.int(60, 0) == Ok(1),
        line_type: f.text(6).map_or(LineType::ByLayer, |n| line_type(&n)),
        colour: colour(&mut f),
        normal: normal.unwrap_or([0.0, 0.0, 1.0]),
        geometry,
        kind,
    }
}

/// 256 means by layer. 0 means by block, which has the same effect here.
fn colour(f: &mut Fields) -> Option<Colour> {
    if f.first(420).is_some() {
        return f.int(420, 0).ok().map(Colour::Rgb);
    }
    f.int(62, 256).ok().filter(|n| (1..256).contains(n)).map(Colour::Number)
}

fn geometry(kind: &str, f: &mut Fields) -> Result<Geometry, String> {
    Ok(match kind {
        "LINE" => Geometry::Line { ends: [f.point(10)?, f.point(11)?] },
        "ARC" => {
            let (from, to) = (f.needed(50)?, f.needed(51)?);
            // A double cannot resolve single degrees reliably in angles this large.
            if from.abs().max(to.abs()) > 1e9 {
                return Err(format!("its angles are too large, {}", f.place(f.record.at)));
            }
            Geometry::Arc { center: f.point(10)?, radius: radius(f)?, from, to }
        }
        "CIRCLE" => Geometry::Circle { center: f.point(10)?, radius: radius(f)? },
        "LWPOLYLINE" => lwpolyline(f)?,
        "POLYLINE" => polyline(f)?,
        "ELLIPSE" => {
            let (center, major, ratio) = (f.point(10)?, f.point(11)?, f.needed(40)?);
            if ratio <= 0.0 || major == [0.0; 3] {
                return Err("its axes do not make an ellipse".to_owned());
            }
            if ratio > 1.0 + WRITTEN_SHARE {
                f.notes.tolerate("an ELLIPSE whose second axis is the longer one", f.record.at);
            }
            Geometry::Ellipse { center, major, ratio, from: f.real(41, 0.0)?, to: f.real(42, TAU)? }
        }
        "SPLINE" => spline(f)?,
        "INSERT" => insert(f)?,
        "HATCH" => hatch(f)?,
        _ => left(kind),
    })
}

fn radius(f: &mut Fields) -> Result<f64, String> {
    let r = f.needed(40)?;
    if r < 0.0 { Err(format!("its radius is negative, {}", f.place(f.record.at))) } else { Ok(r) }
}

fn lwpolyline(f: &mut Fields) -> Result<Geometry, String> {
    let z = f.real(38, 0.0)?;
    let corners = f.sequence([10, 20, 42, 40, 41])?;
    let stated = f.first(90).map(|_| f.int(90, 0)).transpose()?;
    let twos = f.record.pairs.iter().filter(|p| p.code == 20).count();
    if corners.is_empty() || twos != corners.len() {
        return Err(format!("its corners are incomplete, {}", f.place(f.record.at)));
    }
    if stated.is_some_and(|n| usize::try_from(n) != Ok(corners.len())) {
        f.notes.damage("a LWPOLYLINE does not have as many corners as it states", f.record.at);
    }
    if f.real(43, 0.0)? != 0.0 || corners.iter().any(|c| c[3] != 0.0 || c[4] != 0.0) {
        f.notes.tolerate("polylines with a width, read along their middle", f.record.at);
    }
    let closed = f.int(70, 0)? & 1 != 0;
    if corners.iter().any(|c| c[2].abs() > MOST_BULGE) {
        return Err(format!("one of its bulges is too large, {}", f.place(f.record.at)));
    }
    let vertices = corners.iter().map(|&[x, y, bulge, ..]| Vertex { x, y, z, bulge }).collect();
    Ok(Geometry::Polyline { vertices, closed })
}

fn polyline(f: &mut Fields) -> Result<Geometry, String> {
    let flags = f.int(70, 0)?;
    if flags & (16 | 64) != 0 {
        let what = if flags & 16 != 0 { "mesh (POLYLINE)" } else { "polyface mesh (POLYLINE)" };
        return Ok(Geometry::Left { what: what.to_owned(), harmless: false });
    }
    if f.real(40, 0.0)? != 0.0 || f.real(41, 0.0)? != 0.0 {
        f.notes.tolerate("polylines with a width, read along their middle", f.record.at);
    }
    Ok(Geometry::Polyline { vertices: Vec::new(), closed: flags & 1 != 0 })
}

/// Reads a vertex of the preceding POLYLINE. Returns `None` for the control points of its frame, which are not on the
/// line.
pub fn vertex(record: &Record, binary: bool, notes: &mut Notes) -> Result<Option<Vertex>, String> {
    if swallowed(record) {
        notes.damage(SWALLOWED, record.at);
    }
    let mut f = Fields::new(record, binary, notes);
    if f.int(70, 0)? & 16 != 0 {
        return Ok(None);
    }
    let [x, y, z] = f.point(10)?;
    if f.real(40, 0.0)? != 0.0 || f.real(41, 0.0)? != 0.0 {
        f.notes.tolerate("polylines with a width, read along their middle", record.at);
    }
    let bulge = f.real(42, 0.0)?;
    if bulge.abs() > MOST_BULGE {
        return Err(format!("one of its bulges is too large, {}", f.place(record.at)));
    }
    Ok(Some(Vertex { x, y, z, bulge }))
}

fn spline(f: &mut Fields) -> Result<Geometry, String> {
    let points = f.sequence([10, 20, 30])?;
    let knots: Vec<f64> = f.sequence([40])?.into_iter().map(|[k]| k).collect();
    let weights: Vec<f64> = f.sequence([41])?.into_iter().map(|[w]| w).collect();
    if points.is_empty() && f.first(11).is_some() {
        let fit = f.sequence([11, 21, 31])?;
        let closed = f.int(70, 0)? & 1 != 0;
        let (start, end) = (f.direction(12)?, f.direction(13)?);
        let at = f.place(f.record.at);
        let spline = through(&fit, closed, start, end).map_err(|why| format!("{why}, {at}"))?;
        f.notes.tolerate(
            "splines given by fit points only, read as the smooth cubic through them (the file does not define the curve between)",
            f.record.at,
        );
        return Ok(Geometry::Spline(Box::new(spline)));
    }
    let degree = usize::try_from(f.int(71, 0)?).unwrap_or(0);
    let at = f.place(f.record.at);
    let spline = Spline::new(degree, knots, points, weights).map_err(|why| format!("{why}, {at}"))?;
    Ok(Geometry::Spline(Box::new(spline)))
}

fn insert(f: &mut Fields) -> Result<Geometry, String> {
    let block = f.text(2).ok_or_else(|| format!("it names no block, {}", f.place(f.record.at)))?;
    let count = |n: i64| n.max(1);
    Ok(Geometry::Insert(Box::new(Insert {
        block,
        at: f.point(10)?,
        scale: [f.real(41, 1.0)?, f.real(42, 1.0)?],
        turn: f.real(50, 0.0)?,
        columns: count(f.int(70, 1)?),
        rows: count(f.int(71, 1)?),
        column_step: f.real(44, 0.0)?,
        row_step: f.real(45, 0.0)?,
    })))
}

/// Names an entity that is not read, and states whether it is harmless to an outline.
fn left(kind: &str) -> Geometry {
    let (words, harmless) = match kind {
        "TEXT" | "MTEXT" | "ATTRIB" | "ATTDEF" | "RTEXT" => ("text", true),
        "DIMENSION" | "ARC_DIMENSION" | "LARGE_RADIAL_DIMENSION" => ("dimension", true),
        "LEADER" | "MLEADER" | "MULTILEADER" => ("leader", true),
        "TOLERANCE" => ("tolerance frame", true),
        "POINT" => ("point", true),
        "XLINE" | "RAY" => ("construction line", true),
        "VIEWPORT" => ("viewport", true),
        "MPOLYGON" => ("hatch", false),
        "SOLID" | "TRACE" => ("filled area", false),
        "3DFACE" | "3DSOLID" | "BODY" | "REGION" | "SURFACE" | "MESH" => ("three-dimensional body", false),
        "IMAGE" | "OLEFRAME" | "OLE2FRAME" | "PDFUNDERLAY" | "DWFUNDERLAY" | "DGNUNDERLAY" => ("picture", false),
        "VERTEX" | "SEQEND" => ("vertex without its polyline", false),
        _ => ("unsupported entity", false),
    };
    Geometry::Left { what: format!("{words} ({kind})"), harmless }
}
