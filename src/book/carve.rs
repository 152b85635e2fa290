//! What the bytes of a damaged book still say, read without SQLite.
//!
//! SQLite finds a row by way of its schema, the pages above it and, with a write-ahead log, that log's chain of
//! checksums: one bad page costs everything below or behind it. Its own way to save what is left (`.recover`) is
//! not part of the library. But an entry is written once and never changed, and stands whole in the page that
//! holds it, so every page that looks like a leaf of a table is read for rows that have the shape of an entry,
//! wherever it lies and whatever became of the pages around it: in the file, and in the frames of the log that
//! belong to a finished commit, those behind a damaged one included.
//!
//! The index of entries by banquet tells the numbers of entries that were once there; so what could not be saved
//! can be named.
//!
//! Source: SQLite documentation, "Database File Format", §1.3 (header), §1.5 and 1.6 (pages, cells, overflow), §2.1
//! (records), §4.1 and 4.2 (log). Checked against files that SQLite wrote and tests then damaged.

use std::collections::{BTreeMap, HashMap};

/// What every SQLite database begins with.
pub(super) const MAGIC: &[u8; 16] = b"SQLite format 3\0";

/// The size of a page where nothing says otherwise: what SQLite gives a new book.
const USUAL_PAGE: usize = 4096;

/// What kind of page it is (§1.6): of a table or an index, a leaf or above the leaves.
const LEAF: u8 = 0x0D;
const ABOVE: u8 = 0x05;
const INDEX_LEAF: u8 = 0x0A;
const INDEX_ABOVE: u8 = 0x02;

const LOG_HEADER: usize = 32;
const FRAME_HEADER: usize = 24;

/// A row of the table of entries, as stored.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Row {
    pub(super) event: String,
    pub(super) at: i64,
    pub(super) written: i64,
    pub(super) who: String,
    pub(super) place: String,
    pub(super) kind: String,
    pub(super) body: String,
}

/// What was found.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Carved {
    /// Entries, by number.
    pub(super) rows: BTreeMap<i64, Row>,
    /// Numbers of entries that the index knows or that stand in a damaged row, with their banquet.
    pub(super) known: BTreeMap<i64, String>,
    /// The highest number that a page above the rows speaks of.
    pub(super) highest: i64,
    /// Pages that the file's header counts and that are nowhere.
    pub(super) gone: usize,
}

impl Carved {
    /// Returns whether anything says that this was a book of ours.
    pub(super) fn is_a_book(&self) -> bool {
        !self.rows.is_empty() || !self.known.is_empty()
    }

    fn found(&self) -> usize {
        self.rows.len() + self.known.len()
    }

    /// Returns the numbers, up to the highest one heard of, of entries that were not found.
    pub(super) fn missing(&self) -> Vec<i64> {
        let ends = [
            self.rows.last_key_value().map(|(&id, _)| id),
            self.known.last_key_value().map(|(&id, _)| id),
            Some(self.highest),
        ];
        // A number far beyond what was found is itself damage; it must not become a list of millions.
        let highest = ends.into_iter().flatten().max().unwrap_or(0);
        let believed = 2 * (self.rows.len() + self.known.len()) as i64 + 10_000;
        (1..=highest.min(believed))
            .filter(|id| !self.rows.contains_key(id))
            .collect()
    }
}

/// Reads what the bytes of a book's file and of its log still say.
pub(super) fn carve(file: &[u8], log: &[u8]) -> Carved {
    let said = [page_size_of_file(file), page_size_of_log(log)];
    let mut sizes: Vec<usize> = said.into_iter().flatten().chain([USUAL_PAGE]).collect();
    sizes.extend((9..=16).map(|power| 1_usize << power));
    let mut tried = Vec::new();
    let mut best = Carved::default();
    for size in sizes {
        if tried.contains(&size) {
            continue;
        }
        tried.push(size);
        // A header that was damaged may name another size that is one, and of every second page something is found by
        // it: so what finds most is right, and of equals what was said.
        let carved = Pages::of(file, log, size).carve();
        if tried.len() == 1 || best.found() < carved.found() {
            best = carved;
        }
    }
    best
}

/// Returns whether a log has been damaged: it does not begin as a log does, or a commit of the turn it began with
/// stands behind a frame whose checksum is wrong. A log cut off in its last frame is none, nor are frames without their
/// commit that later ones were written over in part: that is what a kill leaves, and nobody was told of that entry.
pub(super) fn log_is_damaged(log: &[u8]) -> bool {
    if log.len() < LOG_HEADER + FRAME_HEADER + 512 {
        return false;
    }
    let Some(size) = page_size_of_log(log) else {
        return true;
    };
    let big = log[3] & 1 == 1;
    let header = sum(&log[..24], (0, 0), big);
    if header != (number(log, 24), number(log, 28)) {
        return true;
    }
    let salts = &log[16..24];
    let mut chain = Some(header);
    for frame in log[LOG_HEADER..].chunks_exact(FRAME_HEADER + size) {
        let ours = &frame[8..16] == salts;
        match chain {
            Some(before) if ours => {
                let after = sum(&frame[FRAME_HEADER..], sum(&frame[..8], before, big), big);
                chain = (after == (number(frame, 16), number(frame, 20))).then_some(after);
            }
            Some(_) => chain = None,
            // The chain is broken, and here a commit of the same turn stands whole.
            None if ours && number(frame, 4) != 0 => return true,
            None => {}
        }
    }
    false
}

/// Returns the log's checksum after these bytes (§4.2).
fn sum(bytes: &[u8], (mut one, mut two): (u32, u32), big: bool) -> (u32, u32) {
    let word = |bytes: &[u8]| {
        let four = [bytes[0], bytes[1], bytes[2], bytes[3]];
        if big {
            u32::from_be_bytes(four)
        } else {
            u32::from_le_bytes(four)
        }
    };
    for pair in bytes.chunks_exact(8) {
        one = one.wrapping_add(word(&pair[..4])).wrapping_add(two);
        two = two.wrapping_add(word(&pair[4..])).wrapping_add(one);
    }
    (one, two)
}

/// Returns the four bytes at a place as a number; zero where there are none.
fn number(bytes: &[u8], at: usize) -> u32 {
    bytes.get(at..at + 4).map_or(0, |four| {
        u32::from_be_bytes([four[0], four[1], four[2], four[3]])
    })
}

/// Returns the two bytes at a place as a number; zero where there are none.
fn short(bytes: &[u8], at: usize) -> usize {
    bytes
        .get(at..at + 2)
        .map_or(0, |two| usize::from(u16::from_be_bytes([two[0], two[1]])))
}

fn is_a_page_size(size: usize) -> bool {
    size.is_power_of_two() && (512..=65536).contains(&size)
}

fn page_size_of_file(file: &[u8]) -> Option<usize> {
    let size = match short(file, 16) {
        1 => 65536,
        size => size,
    };
    is_a_page_size(size).then_some(size)
}

fn page_size_of_log(log: &[u8]) -> Option<usize> {
    let size = number(log, 8) as usize;
    (number(log, 0) | 1 == 0x377f_0683 && is_a_page_size(size)).then_some(size)
}

/// The pages of a book, wherever they stand.
struct Pages<'a> {
    size: usize,
    file: &'a [u8],
    /// Pages in the log, the newest first.
    log: Vec<(usize, &'a [u8])>,
    /// The newest page of each number in the log.
    newest: HashMap<usize, &'a [u8]>,
}

impl<'a> Pages<'a> {
    fn of(file: &'a [u8], log: &'a [u8], size: usize) -> Self {
        let frames: Vec<&[u8]> = log
            .get(LOG_HEADER..)
            .unwrap_or_default()
            .chunks_exact(FRAME_HEADER + size)
            .collect();
        let salts = log.get(16..24).unwrap_or_default();
        let ours = |frame: &&[u8]| &frame[8..16] == salts;
        // What was on its way when the program ended was never told to anybody. Frames of an earlier turn of the
        // log are all of finished commits: a new turn begins only after a checkpoint.
        let last = frames
            .iter()
            .rposition(|frame| ours(frame) && number(frame, 4) != 0);
        let current = frames[..last.map_or(0, |last| last + 1)]
            .iter()
            .filter(|frame| ours(frame));
        let earlier = frames.iter().filter(|frame| !ours(frame));
        let page = |frame: &&'a [u8]| (number(frame, 0) as usize, &frame[FRAME_HEADER..]);
        let log: Vec<(usize, &[u8])> = current.rev().chain(earlier.rev()).map(page).collect();
        let mut newest = HashMap::new();
        for &(place, page) in &log {
            newest.entry(place).or_insert(page);
        }
        Self {
            size,
            file,
            log,
            newest,
        }
    }

    /// Returns a page by its number, from 1.
    fn page(&self, place: usize) -> Option<&'a [u8]> {
        let in_file = || {
            let start = place.checked_sub(1)?.checked_mul(self.size)?;
            self.file.get(start..start.checked_add(self.size)?)
        };
        self.newest.get(&place).copied().or_else(in_file)
    }

    fn carve(&self) -> Carved {
        let mut carved = Carved::default();
        for &(place, page) in &self.log {
            self.read(place, page, &mut carved);
        }
        for (index, page) in self.file.chunks(self.size).enumerate() {
            self.read(index + 1, page, &mut carved);
        }
        // The last page of a file that was cut off is read as far as it goes; cells that are gone are no rows.
        let Carved { rows, known, .. } = &mut carved;
        known.retain(|id, _| !rows.contains_key(id));
        if self.file.starts_with(MAGIC) {
            let counted = number(self.file, 28) as usize;
            let there = self.file.len() / self.size;
            let in_log = self
                .newest
                .keys()
                .filter(|&&page| there < page && page <= counted);
            carved.gone = counted.saturating_sub(there + in_log.count());
        }
        carved
    }

    fn read(&self, place: usize, page: &[u8], into: &mut Carved) {
        let top = if place == 1 { 100 } else { 0 };
        let Some(&kind) = page.get(top) else {
            return;
        };
        let cells_at = match kind {
            LEAF | INDEX_LEAF => top + 8,
            ABOVE | INDEX_ABOVE => top + 12,
            _ => return,
        };
        let cells = short(page, top + 3).min(self.size / 4);
        for cell in 0..cells {
            let at = short(page, cells_at + 2 * cell);
            if at < cells_at {
                continue;
            }
            match kind {
                LEAF => self.table_cell(page, at, into),
                INDEX_LEAF => self.index_cell(page, at, into),
                // Entries stand here too, each behind the number of the page below it.
                INDEX_ABOVE => self.index_cell(page, at + 4, into),
                _ => {
                    let mut reader = Reader {
                        bytes: page,
                        at: at + 4,
                    };
                    let highest = reader.varint().unwrap_or(0);
                    into.highest = into.highest.max(highest);
                }
            }
        }
    }

    fn table_cell(&self, page: &[u8], at: usize, into: &mut Carved) {
        let mut reader = Reader { bytes: page, at };
        let (Some(length), Some(id)) = (reader.varint(), reader.varint()) else {
            return;
        };
        if id <= 0 || into.rows.contains_key(&id) {
            return;
        }
        let Ok(length) = usize::try_from(length) else {
            return;
        };
        // Damage may say any length; more than there is at all cannot be meant.
        if length > self.file.len() + self.log.len() * self.size {
            return;
        }
        let most = self.size - 35;
        if length <= most {
            let row = page.get(reader.at..reader.at + length).and_then(row_of);
            if let Some(row) = row {
                into.rows.insert(id, row);
            }
            return;
        }
        let least = (self.size - 12) * 32 / 255 - 23;
        let here = least + (length - least) % (self.size - 4);
        let here = if here <= most { here } else { least };
        let Some(begun) = page.get(reader.at..reader.at + here) else {
            return;
        };
        let next = number(page, reader.at + here) as usize;
        let row = self
            .overflow(begun, next, length)
            .and_then(|payload| row_of(&payload))
            // A page of the chain that was overwritten leaves a text that is no JSON any more.
            .filter(|row| serde_json::from_str::<serde::de::IgnoredAny>(&row.body).is_ok());
        match row {
            Some(row) => {
                into.rows.insert(id, row);
            }
            None => {
                // Its beginning stands here, so its banquet can be told.
                if let Some(event) = event_of(begun) {
                    into.known.insert(id, event);
                }
            }
        }
    }

    /// Follows a row from page to page.
    fn overflow(&self, begun: &[u8], mut next: usize, length: usize) -> Option<Vec<u8>> {
        let mut payload = begun.to_vec();
        while payload.len() < length {
            let page = self.page(next)?;
            let rest = (length - payload.len()).min(self.size - 4);
            payload.extend(page.get(4..4 + rest)?);
            next = number(page, 0) as usize;
        }
        Some(payload)
    }

    /// An entry of the index: the banquet and the entry's number.
    fn index_cell(&self, page: &[u8], at: usize, into: &mut Carved) {
        let mut reader = Reader { bytes: page, at };
        let length = reader
            .varint()
            .and_then(|length| usize::try_from(length).ok());
        let Some(length) = length.filter(|&length| length <= (self.size - 12) * 64 / 255 - 23)
        else {
            return;
        };
        let found = page.get(reader.at..reader.at + length).and_then(|payload| {
            let mut columns = Columns::of(payload)?;
            let event = columns.text()?;
            let id = columns.whole()?;
            // Behind the columns that are indexed stands the row's number once more.
            (columns.whole()? == id && columns.is_over()).then_some((id, event))
        });
        if let Some((id, event)) = found
            && id > 0
        {
            into.known.entry(id).or_insert(event);
        }
    }
}

/// Returns the row that a payload holds, where it has the shape of an entry and nothing is left over.
fn row_of(payload: &[u8]) -> Option<Row> {
    let mut columns = Columns::of(payload)?;
    columns.null()?;
    let row = Row {
        event: columns.text()?,
        at: columns.whole()?,
        written: columns.whole()?,
        who: columns.text()?,
        place: columns.text()?,
        kind: columns.text()?,
        body: columns.text()?,
    };
    columns.is_over().then_some(row)
}

/// Returns the banquet of an entry of which the beginning stands here.
fn event_of(begun: &[u8]) -> Option<String> {
    let mut columns = Columns::of(begun)?;
    columns.null()?;
    columns.text()
}

struct Reader<'a> {
    bytes: &'a [u8],
    at: usize,
}

impl Reader<'_> {
    /// Reads a number of one to nine bytes (§1.6).
    fn varint(&mut self) -> Option<i64> {
        let mut number = 0_u64;
        for place in 0..9 {
            let byte = *self.bytes.get(self.at)?;
            self.at += 1;
            if place == 8 {
                return Some(((number << 8) | u64::from(byte)) as i64);
            }
            number = (number << 7) | u64::from(byte & 0x7F);
            if byte < 0x80 {
                break;
            }
        }
        Some(number as i64)
    }
}

/// The columns of a record, from the first on (§2.1).
struct Columns<'a> {
    payload: &'a [u8],
    kinds: Reader<'a>,
    kinds_end: usize,
    at: usize,
}

impl<'a> Columns<'a> {
    fn of(payload: &'a [u8]) -> Option<Self> {
        let mut kinds = Reader {
            bytes: payload,
            at: 0,
        };
        let kinds_end = usize::try_from(kinds.varint()?).ok()?;
        (kinds.at <= kinds_end && kinds_end <= payload.len()).then_some(Self {
            payload,
            kinds,
            kinds_end,
            at: kinds_end,
        })
    }

    fn kind(&mut self) -> Option<i64> {
        let kind = self.kinds.varint()?;
        (self.kinds.at <= self.kinds_end).then_some(kind)
    }

    fn take(&mut self, length: usize) -> Option<&'a [u8]> {
        let bytes = self.payload.get(self.at..self.at.checked_add(length)?)?;
        self.at += length;
        Some(bytes)
    }

    fn null(&mut self) -> Option<()> {
        (self.kind()? == 0).then_some(())
    }

    fn text(&mut self) -> Option<String> {
        let kind = usize::try_from(self.kind()?).ok()?;
        if kind < 13 || kind % 2 == 0 {
            return None;
        }
        let bytes = self.take((kind - 13) / 2)?;
        Some(String::from_utf8_lossy(bytes).into_owned())
    }

    fn whole(&mut self) -> Option<i64> {
        let length = match self.kind()? {
            kind @ 1..=4 => kind as usize,
            5 => 6,
            6 => 8,
            8 => return Some(0),
            9 => return Some(1),
            _ => return None,
        };
        let bytes = self.take(length)?;
        let negative = bytes[0] >= 0x80;
        let mut whole = if negative { [0xFF; 8] } else { [0; 8] };
        whole[8 - length..].copy_from_slice(bytes);
        Some(i64::from_be_bytes(whole))
    }

    fn is_over(&self) -> bool {
        self.kinds.at == self.kinds_end && self.at == self.payload.len()
    }
}
