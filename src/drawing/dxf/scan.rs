//! Reads the whole file once: header, layers, blocks and entities, without interpreting them.

use super::entities::{SWALLOWED, entity, swallowed, vertex};
use super::entity::{Colour, Entity, Geometry, LineType, line_type};
use super::pairs::{CodePairs, Record, Records, Value};
use super::remarks::Notes;
use super::size::Header;
use crate::budget::Budget;
use crate::drawing::ReadError;
use std::collections::{BTreeMap, BTreeSet};

/// Most entities of a file. More are not an outline and would take gigabytes.
const MOST_ENTITIES: usize = 1_000_000;

#[derive(Clone, Copy, Debug)]
pub struct Layer {
    pub off: bool,
    pub frozen: bool,
    pub centre: bool,
    pub colour: Colour,
}

#[derive(Debug, Default)]
pub struct Block {
    pub base: [f64; 2],
    /// True if the block is an external reference to another file.
    pub elsewhere: bool,
    pub entities: Vec<Entity>,
}

/// The contents of the file. Names of layers and blocks are keys in capitals, because the format ignores case.
#[derive(Debug, Default)]
pub struct File {
    pub binary: bool,
    pub header: Header,
    pub layers: BTreeMap<String, Layer>,
    /// Handles of the block records of paper sheets.
    pub papers: BTreeSet<String>,
    pub blocks: BTreeMap<String, Block>,
    pub entities: Vec<Entity>,
    /// Number of records of the ENTITIES section that belong to a preceding entity: vertices and ends of sequences.
    pub parts: usize,
    /// A message if the file ends before its entities do.
    pub cut: Option<String>,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Section {
    None,
    Header,
    Tables,
    Blocks,
    Entities,
    Other,
}

impl Section {
    fn name(self) -> &'static str {
        match self {
            Section::None => "no",
            Section::Header => "HEADER",
            Section::Tables => "TABLES",
            Section::Blocks => "BLOCKS",
            Section::Entities => "ENTITIES",
            Section::Other => "last",
        }
    }

    /// True if the section holds entities.
    fn draws(self) -> bool {
        matches!(self, Section::Blocks | Section::Entities)
    }
}

/// Sections that hold no entities. Source: the published DXF Reference.
const NOT_DRAWN: [&str; 4] = ["CLASSES", "OBJECTS", "THUMBNAILIMAGE", "ACDSDATA"];

struct Scan<'n> {
    file: File,
    notes: &'n mut Notes,
    section: Section,
    /// Name and content of the open block.
    block: Option<(String, Block)>,
    /// True if the last POLYLINE may get more vertices.
    open_polyline: bool,
    edges: usize,
    entities: usize,
    sections: usize,
    /// Number of records since the start of the section.
    in_section: usize,
    /// True if the ENTITIES section has started.
    seen_entities: bool,
}

/// Scans the file.
///
/// # Errors
/// The errors of the pair reader. [`ReadError::NotADrawing`] for a file without sections. [`ReadError::Refused`] for
/// more than a million entities. [`ReadError::Stopped`] by the budget.
pub fn scan(bytes: &[u8], notes: &mut Notes, budget: &Budget) -> Result<File, ReadError> {
    let mut records = Records::new(CodePairs::open(bytes)?);
    let file = File { binary: records.pairs.is_binary(), ..File::default() };
    let mut s = Scan {
        file,
        notes,
        section: Section::None,
        block: None,
        open_polyline: false,
        edges: 0,
        entities: 0,
        sections: 0,
        in_section: 0,
        seen_entities: false,
    };
    let mut ended = false;
    let mut n = 0_usize;
    let mut last = (0, String::new());
    while let Some(record) = records.read()? {
        n += 1;
        if n.is_multiple_of(1024) {
            budget.check()?;
        }
        if record.kind.eq_ignore_ascii_case(b"EOF") {
            ended = true;
            break;
        }
        last.0 = record.at;
        last.1 = String::from_utf8_lossy(record.kind).chars().take(32).collect();
        s.take(&record);
        if s.entities > MOST_ENTITIES {
            let at = records.pairs.place(record.at);
            let what = format!("{at}: more than {MOST_ENTITIES} entities; save the outline alone");
            return Err(ReadError::Refused { what });
        }
    }
    s.end_block();
    if ended && s.section != Section::None {
        s.unended_section(last.0);
    }
    if records.pairs.padded {
        s.notes.tolerate("blanks after the names of records", 0);
    }
    if records.pairs.is_cr_only() {
        s.notes.tolerate("lines that end with a carriage return only", 0);
    }
    if s.sections == 0 {
        return Err(ReadError::NotADrawing("it holds no DXF section".to_owned()));
    }
    if !ended {
        let last_record = format!("{}, {}", last.1, records.pairs.place(last.0));
        s.broken_off(last.0, &last_record);
    }
    if records.pairs.blank_lines {
        s.notes.tolerate("blank lines between the pairs", 0);
    }
    s.model_space();
    Ok(s.file)
}

impl Scan<'_> {
    /// Reports a file without an EOF mark. If its entities had not ended, some may be missing.
    fn broken_off(&mut self, last: usize, record: &str) {
        let over = self.seen_entities && !self.section.draws();
        if over {
            self.notes.tolerate("the file ends without its EOF mark: it may have been cut short", last);
            return;
        }
        let what = if self.section == Section::None {
            "the file ends between two sections".to_owned()
        } else {
            let (n, section) = (self.in_section, self.section.name());
            let records = if n == 1 { "1 record".to_owned() } else { format!("{n} records") };
            format!("the file ends in the {section} section, after {records}")
        };
        let what = format!("{what}: the rest is missing, and the last record ({record}) may be incomplete");
        self.notes.damage(&what, 0);
        self.file.cut = Some(what);
    }

    fn unended_section(&mut self, at: usize) {
        let said = "a section without its end (ENDSEC)";
        if self.section.draws() {
            let (n, section) = (self.in_section, self.section.name());
            let what = format!("{said}: {section}, after {n} records; more may be missing");
            self.notes.damage(&what, at);
        } else {
            self.notes.tolerate(said, at);
        }
    }

    /// Adds the entities that only the block of the model space holds. Some programs write them there and leave
    /// ENTITIES empty. An entity in both places counts once.
    fn model_space(&mut self) {
        let names = ["*MODEL_SPACE", "$MODEL_SPACE"];
        let Some(block) = names.iter().find_map(|n| self.file.blocks.get(*n)).filter(|b| !b.entities.is_empty()) else {
            return;
        };
        let known: BTreeSet<&String> = self.file.entities.iter().filter_map(|e| e.handle.as_ref()).collect();
        let drawn = |e: &Entity| format!("{} {:?} {:?}", e.kind, e.normal, e.geometry);
        let same: BTreeSet<String> = self.file.entities.iter().map(drawn).collect();
        let new = |e: &&Entity| !e.handle.as_ref().is_some_and(|h| known.contains(h)) && !same.contains(&drawn(e));
        let only: Vec<Entity> = block.entities.iter().filter(new).cloned().collect();
        let Some(first) = only.first() else { return };
        let what = format!("{} entities that only the block of the model space holds", only.len());
        self.notes.tolerate(&what, first.at);
        self.file.entities.extend(only);
        // The second reader expects the entities in file order.
        self.file.entities.sort_by_key(|e| e.at);
    }

    fn take(&mut self, record: &Record) {
        self.in_section += 1;
        let kind = record.kind.to_ascii_uppercase();
        match kind.as_slice() {
            b"SECTION" => self.open_section(record),
            b"ENDSEC" => {
                self.stray_pairs(record, 0);
                self.unended_block(record.at);
                self.section = Section::None;
                self.open_polyline = false;
            }
            _ => match self.section {
                Section::Header | Section::Other => {}
                Section::Tables => self.table(&kind, record),
                Section::Blocks => self.in_blocks(&kind, record),
                Section::Entities => self.entity(&kind, record),
                Section::None => {
                    self.notes.damage("records outside any section, read as entities", record.at);
                    self.entity(&kind, record);
                }
            },
        }
    }

    fn open_section(&mut self, record: &Record) {
        self.sections += 1;
        self.end_block();
        self.open_polyline = false;
        if self.section != Section::None {
            // The record that opens the next section counts with that section.
            self.in_section -= 1;
            self.unended_section(record.at);
        }
        self.in_section = 0;
        let name = record.pairs.iter().find(|p| p.code == 2);
        self.section = match name {
            Some(p) if p.is("HEADER") => Section::Header,
            Some(p) if p.is("TABLES") => Section::Tables,
            Some(p) if p.is("BLOCKS") => Section::Blocks,
            Some(p) if p.is("ENTITIES") => Section::Entities,
            Some(p) if NOT_DRAWN.iter().any(|n| p.is(n)) => Section::Other,
            _ => {
                let name: String =
                    name.map(super::pairs::CodePair::text).unwrap_or_default().chars().take(32).collect();
                let what = format!("a section with an unknown name (`{name}`), not read");
                self.notes.damage(&what, record.at);
                Section::Other
            }
        };
        self.seen_entities |= self.section == Section::Entities;
        if self.section == Section::Header {
            self.header(record);
        } else {
            self.stray_pairs(record, 1);
        }
    }

    /// Reports a record that opens or ends a section with more than its `own` pairs. The extra pairs belong to a next
    /// record whose mark is damaged.
    fn stray_pairs(&mut self, record: &Record, own: usize) {
        if record.pairs.len() > own {
            self.notes.damage(SWALLOWED, record.at);
        }
    }

    /// The header is one record: group `9` gives the name of a variable, and its values follow.
    fn header(&mut self, record: &Record) {
        let mut name: &[u8] = b"";
        for p in &record.pairs {
            match (p.code, p.value) {
                (9, Value::Text(t)) => name = t,
                (70, _) if name.eq_ignore_ascii_case(b"$INSUNITS") => self.file.header.insunits = p.int(),
                (70, _) if name.eq_ignore_ascii_case(b"$MEASUREMENT") => self.file.header.measurement = p.int(),
                _ => {}
            }
        }
    }

    fn table(&mut self, kind: &[u8], record: &Record) {
        let int = |code| record.pairs.iter().find(|p| p.code == code).and_then(super::pairs::CodePair::int);
        let text = |code| record.pairs.iter().find(|p| p.code == code).map(super::pairs::CodePair::text);
        let Some(name) = text(2) else { return };
        match kind {
            b"LAYER" => {
                let layer = Layer {
                    colour: int(420).map_or(Colour::Number(int(62).unwrap_or(7).abs()), Colour::Rgb),
                    off: int(62).unwrap_or(7) < 0,
                    frozen: int(70).unwrap_or(0) & 1 != 0,
                    centre: text(6).is_some_and(|t| line_type(&t) == LineType::Centre),
                };
                self.file.layers.insert(name.to_uppercase(), layer);
            }
            b"BLOCK_RECORD" if name.to_uppercase().starts_with("*PAPER_SPACE") => {
                self.file.papers.extend(text(5));
            }
            _ => {}
        }
    }

    fn in_blocks(&mut self, kind: &[u8], record: &Record) {
        match kind {
            b"BLOCK" => {
                self.unended_block(record.at);
                if swallowed(record) {
                    self.notes.damage(SWALLOWED, record.at);
                }
                let name =
                    record.pairs.iter().find(|p| p.code == 2).map(super::pairs::CodePair::text).unwrap_or_default();
                let mut f = super::fields::Fields::new(record, self.file.binary, self.notes);
                match (f.real(10, 0.0), f.real(20, 0.0)) {
                    (Ok(x), Ok(y)) => {
                        let elsewhere = f.int(70, 0).is_ok_and(|flags| flags & (4 | 8) != 0);
                        self.block =
                            Some((name.to_uppercase(), Block { base: [x, y], elsewhere, entities: Vec::new() }));
                    }
                    // Without a base point the block has no place. Its INSERTs find no block and report that.
                    _ => self.notes.tolerate("a block whose base point is not a number, left out", record.at),
                }
            }
            b"ENDBLK" => self.end_block(),
            _ if self.block.is_some() => self.entity(kind, record),
            _ => {}
        }
    }

    /// Ends a block that has no ENDBLK.
    fn unended_block(&mut self, at: usize) {
        if self.block.is_some() {
            self.notes.tolerate("a block without its end (ENDBLK)", at);
        }
        self.end_block();
    }

    fn end_block(&mut self) {
        self.open_polyline = false;
        if let Some((name, block)) = self.block.take() {
            self.file.blocks.insert(name, block);
        }
    }

    fn entity(&mut self, kind: &[u8], record: &Record) {
        let binary = self.file.binary;
        let own = self.section == Section::Entities;
        let list = match &mut self.block {
            Some((_, block)) => &mut block.entities,
            None => &mut self.file.entities,
        };
        // Vertices and ends of sequences belong to the preceding entity.
        if kind == b"SEQEND" {
            if swallowed(record) {
                self.notes.damage(SWALLOWED, record.at);
            }
            self.file.parts += usize::from(own);
            self.open_polyline = false;
            return;
        }
        if kind == b"VERTEX" && self.open_polyline {
            self.edges += 1;
            self.file.parts += usize::from(own);
            let read = vertex(record, binary, self.notes);
            let Some(last) = list.last_mut() else { return };
            match (read, &mut last.geometry) {
                (Ok(Some(v)), Geometry::Polyline { vertices, .. }) => vertices.push(v),
                (Err(why), g @ Geometry::Polyline { .. }) => {
                    *g = Geometry::Left { what: format!("POLYLINE that cannot be read ({why})"), harmless: false };
                }
                _ => {}
            }
            return;
        }
        if self.open_polyline {
            self.notes.tolerate("a POLYLINE without its end (SEQEND)", record.at);
        }
        let e = Entity { counted: own, ..entity(record, binary, self.notes) };
        self.open_polyline = kind == b"POLYLINE";
        self.edges += e.weight();
        self.entities += 1;
        list.push(e);
    }
}
