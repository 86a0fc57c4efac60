//! The parts of a DXF file that hold no drawing. Release 2000 has the order, handles and owners that strict readers
//! require; release 12 has only its few sections. Source: the published DXF Reference, releases 2000 and 12.

use std::fmt::Write;

/// Handle of the block record of model space, the owner of all entities.
pub(super) const MODEL_SPACE: &str = "1F";
const PAPER_SPACE: &str = "1B";
/// Handles below this belong to the skeleton; layers start at [`FIRST_LAYER`].
pub(super) const FIRST_FREE_HANDLE: u32 = 0x100;
const FIRST_LAYER: u32 = 0x80;
const ROOT: &str = "C";

/// A growing list of group codes and values.
pub(super) struct Pairs {
    text: String,
    next: u32,
}

impl Pairs {
    pub(super) fn starting_at(handle: u32) -> Pairs {
        Pairs { text: String::new(), next: handle }
    }

    pub(super) fn pair(&mut self, code: u16, value: &str) -> &mut Pairs {
        // Writing to a String cannot fail. The format's line ends are CR LF.
        let _ = write!(self.text, "{code:>3}\r\n{value}\r\n");
        self
    }

    fn pairs(&mut self, list: &[(u16, &str)]) -> &mut Pairs {
        for (code, value) in list {
            self.pair(*code, value);
        }
        self
    }

    /// Gives the next handle to the current entity.
    pub(super) fn next_handle(&mut self) {
        let h = format!("{:X}", self.next);
        self.pair(5, &h);
        self.next += 1;
    }
}

/// The whole file around `entities`. `layers`: name and colour; `units`: `$INSUNITS` and `$MEASUREMENT`; `size`: size
/// of the panel, in the file's unit.
pub(super) fn file(layers: &[(&str, &str)], units: (&str, &str), size: &[String; 2], entities: Pairs) -> String {
    let mut out = Pairs::starting_at(FIRST_LAYER);
    header(&mut out, units, size, &format!("{:X}", entities.next));
    out.pairs(&[(0, "SECTION"), (2, "CLASSES"), (0, "ENDSEC"), (0, "SECTION"), (2, "TABLES")]);
    tables(&mut out, layers, size);
    out.pair(0, "ENDSEC").pairs(&[(0, "SECTION"), (2, "BLOCKS")]);
    block(&mut out, MODEL_SPACE, "*Model_Space", ["20", "21"], None);
    block(&mut out, PAPER_SPACE, "*Paper_Space", ["1C", "1D"], Some("1"));
    out.pair(0, "ENDSEC").pairs(&[(0, "SECTION"), (2, "ENTITIES")]);
    out.text.push_str(&entities.text);
    out.pair(0, "ENDSEC").pairs(&[(0, "SECTION"), (2, "OBJECTS")]);
    let dictionary = [(0, "DICTIONARY"), (5, ROOT), (330, "0"), (100, "AcDbDictionary"), (281, "1"), (3, "ACAD_GROUP")];
    out.pairs(&dictionary).pair(350, "D");
    out.pairs(&[(0, "DICTIONARY"), (5, "D"), (330, ROOT), (100, "AcDbDictionary"), (281, "1")]);
    out.pair(0, "ENDSEC").pair(0, "EOF");
    out.text
}

/// A file of release 12 around `entities`: no handles, no classes. `unit`: `mm` or `in`, for the comment. `units`:
/// `$INSUNITS` and `$MEASUREMENT`. Release 12 defines neither variable. Later programs read them whatever the release,
/// and readers skip variables that they do not know (common practice). They come last, after the variables of
/// release 12.
pub(super) fn r12(
    layers: &[(&str, &str)],
    (unit, units): (&str, (&str, &str)),
    size: &[String; 2],
    entities: Pairs,
) -> String {
    let mut out = Pairs::starting_at(FIRST_LAYER);
    out.pair(999, &format!("all lengths in {unit}"));
    out.pairs(&[(0, "SECTION"), (2, "HEADER"), (9, "$ACADVER"), (1, "AC1009")]);
    out.pairs(&[(9, "$INSBASE"), (10, "0.0"), (20, "0.0"), (30, "0.0")]);
    out.pairs(&[(9, "$EXTMIN"), (10, "0.0"), (20, "0.0"), (30, "0.0")]);
    out.pairs(&[(9, "$EXTMAX"), (10, &size[0]), (20, &size[1]), (30, "0.0")]);
    out.pairs(&[(9, "$INSUNITS"), (70, units.0), (9, "$MEASUREMENT"), (70, units.1), (0, "ENDSEC")]);
    out.pairs(&[(0, "SECTION"), (2, "TABLES"), (0, "TABLE"), (2, "LTYPE"), (70, "1")]);
    out.pairs(&[(0, "LTYPE"), (2, "CONTINUOUS"), (70, "0"), (3, "Solid line"), (72, "65"), (73, "0"), (40, "0.0")]);
    out.pairs(&[(0, "ENDTAB"), (0, "TABLE"), (2, "LAYER")]).pair(70, &(layers.len() + 1).to_string());
    for (name, colour) in [("0", "7")].iter().chain(layers) {
        out.pairs(&[(0, "LAYER"), (2, name), (70, "0"), (62, colour), (6, "CONTINUOUS")]);
    }
    out.pairs(&[(0, "ENDTAB"), (0, "TABLE"), (2, "STYLE"), (70, "1")]);
    out.pairs(&[(0, "STYLE"), (2, "STANDARD"), (70, "0"), (40, "0.0"), (41, "1.0"), (50, "0.0"), (71, "0")]);
    out.pairs(&[(42, "2.5"), (3, "txt"), (4, ""), (0, "ENDTAB"), (0, "ENDSEC")]);
    out.pairs(&[(0, "SECTION"), (2, "BLOCKS"), (0, "ENDSEC"), (0, "SECTION"), (2, "ENTITIES")]);
    out.text.push_str(&entities.text);
    out.pair(0, "ENDSEC").pair(0, "EOF");
    out.text
}

fn header(out: &mut Pairs, units: (&str, &str), size: &[String; 2], seed: &str) {
    out.pairs(&[(0, "SECTION"), (2, "HEADER")]);
    out.pairs(&[(9, "$ACADVER"), (1, "AC1015"), (9, "$DWGCODEPAGE"), (3, "ANSI_1252")]);
    out.pairs(&[(9, "$INSBASE"), (10, "0.0"), (20, "0.0"), (30, "0.0")]);
    out.pairs(&[(9, "$EXTMIN"), (10, "0.0"), (20, "0.0"), (30, "0.0")]);
    out.pairs(&[(9, "$EXTMAX"), (10, &size[0]), (20, &size[1]), (30, "0.0")]);
    out.pairs(&[(9, "$INSUNITS"), (70, units.0), (9, "$MEASUREMENT"), (70, units.1)]);
    out.pairs(&[(9, "$HANDSEED"), (5, seed), (0, "ENDSEC")]);
}

fn table(out: &mut Pairs, name: &str, handle: &str, count: usize) {
    out.pairs(&[(0, "TABLE"), (2, name), (5, handle), (330, "0"), (100, "AcDbSymbolTable")]);
    out.pair(70, &count.to_string());
}

/// Begins a record of a table.
fn record(out: &mut Pairs, kind: &str, handle: &str, owner: &str, subclass: &str, name: &str) {
    let code = if kind == "DIMSTYLE" { 105 } else { 5 };
    out.pairs(&[(0, kind), (code, handle), (330, owner), (100, "AcDbSymbolTableRecord"), (100, subclass), (2, name)]);
}

fn tables(out: &mut Pairs, layers: &[(&str, &str)], size: &[String; 2]) {
    table(out, "VPORT", "8", 1);
    record(out, "VPORT", "29", "8", "AcDbViewportTableRecord", "*Active");
    let half = |s: &String| s.parse::<f64>().ok().and_then(|v| crate::text::real(v / 2.0).ok()).unwrap_or("0.0".into());
    let (x, y) = (half(&size[0]), half(&size[1]));
    out.pairs(&[(70, "0"), (10, "0.0"), (20, "0.0"), (11, "1.0"), (21, "1.0"), (12, &x), (22, &y)]);
    out.pairs(&[(13, "0.0"), (23, "0.0"), (14, "10.0"), (24, "10.0"), (15, "10.0"), (25, "10.0")]);
    out.pairs(&[(16, "0.0"), (26, "0.0"), (36, "1.0"), (17, "0.0"), (27, "0.0"), (37, "0.0")]);
    out.pairs(&[(40, &size[1]), (41, "1.5"), (42, "50.0"), (43, "0.0"), (44, "0.0"), (50, "0.0"), (51, "0.0")]);
    out.pair(0, "ENDTAB");

    table(out, "LTYPE", "5", 3);
    for (handle, name, words) in [("14", "ByBlock", ""), ("15", "ByLayer", ""), ("16", "Continuous", "Solid line")] {
        record(out, "LTYPE", handle, "5", "AcDbLinetypeTableRecord", name);
        out.pairs(&[(70, "0"), (3, words), (72, "65"), (73, "0"), (40, "0.0")]);
    }
    out.pair(0, "ENDTAB");

    table(out, "LAYER", "2", layers.len() + 1);
    record(out, "LAYER", "10", "2", "AcDbLayerTableRecord", "0");
    out.pairs(&[(70, "0"), (62, "7"), (6, "Continuous")]);
    for (name, colour) in layers {
        let handle = format!("{:X}", out.next);
        out.next += 1;
        record(out, "LAYER", &handle, "2", "AcDbLayerTableRecord", name);
        out.pairs(&[(70, "0"), (62, colour), (6, "Continuous")]);
    }
    out.pair(0, "ENDTAB");

    table(out, "STYLE", "3", 1);
    record(out, "STYLE", "11", "3", "AcDbTextStyleTableRecord", "Standard");
    out.pairs(&[(70, "0"), (40, "0.0"), (41, "1.0"), (50, "0.0"), (71, "0"), (42, "2.5"), (3, "txt"), (4, "")]);
    out.pair(0, "ENDTAB");

    table(out, "VIEW", "6", 0);
    out.pair(0, "ENDTAB");
    table(out, "UCS", "7", 0);
    out.pair(0, "ENDTAB");

    table(out, "APPID", "9", 1);
    record(out, "APPID", "12", "9", "AcDbRegAppTableRecord", "ACAD");
    out.pair(70, "0").pair(0, "ENDTAB");

    table(out, "DIMSTYLE", "A", 1);
    out.pair(100, "AcDbDimStyleTable").pair(71, "0");
    record(out, "DIMSTYLE", "27", "A", "AcDbDimStyleTableRecord", "Standard");
    out.pair(70, "0").pair(0, "ENDTAB");

    table(out, "BLOCK_RECORD", "1", 2);
    for (handle, name) in [(MODEL_SPACE, "*Model_Space"), (PAPER_SPACE, "*Paper_Space")] {
        record(out, "BLOCK_RECORD", handle, "1", "AcDbBlockTableRecord", name);
    }
    out.pair(0, "ENDTAB");
}

/// An empty block, as both spaces require one. `paper`: the flag of paper space.
fn block(out: &mut Pairs, record: &str, name: &str, handles: [&str; 2], paper: Option<&str>) {
    let owner = |out: &mut Pairs| {
        out.pair(330, record).pair(100, "AcDbEntity");
        if let Some(flag) = paper {
            out.pair(67, flag);
        }
        out.pair(8, "0");
    };
    out.pair(0, "BLOCK").pair(5, handles[0]);
    owner(out);
    out.pairs(&[
        (100, "AcDbBlockBegin"),
        (2, name),
        (70, "0"),
        (10, "0.0"),
        (20, "0.0"),
        (30, "0.0"),
        (3, name),
        (1, ""),
    ]);
    out.pair(0, "ENDBLK").pair(5, handles[1]);
    owner(out);
    out.pair(100, "AcDbBlockEnd");
}
