//! A damaged book: kept aside byte for byte, and what can be saved saved under its old numbers.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use countback::book::{Announcement, Book, Entry, Happening, Note, access};
use countback::time::Timestamp;
use proptest::prelude::*;

const SUPPER: &str = "supper@2026-11-28";
const OTHER: &str = "other@2026-12-05";
const NOW: Timestamp = Timestamp(1_795_780_000);
const PAGE: usize = 4096;

fn note(event: &str, what: Happening) -> Note {
    Note {
        event: event.into(),
        at: Timestamp(1_795_780_000),
        written: Timestamp(-3),
        who: "Zoë 渡辺".into(),
        place: String::new(),
        what,
    }
}

fn started(number: usize) -> Happening {
    Happening::Started {
        step: format!("pears/step-{number}"),
    }
}

/// A plan long enough to lie on pages of its own.
fn announced() -> Happening {
    let told = |number: i64| {
        let told = Announcement {
            start: Timestamp(number),
            way: Some("in the falling oven".into()),
            ovens: vec![("Oven".into(), 2)],
        };
        (format!("pears/step-{number}"), told)
    };
    Happening::Announced {
        steps: (0..200).map(told).collect::<BTreeMap<_, _>>(),
    }
}

fn place() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("book.sqlite");
    (folder, path)
}

/// Returns the bytes of a book, whole in its one file, and its entries.
fn whole() -> (Vec<u8>, BTreeMap<i64, Entry>) {
    static WHOLE: LazyLock<(Vec<u8>, BTreeMap<i64, Entry>)> = LazyLock::new(written);
    WHOLE.clone()
}

fn written() -> (Vec<u8>, BTreeMap<i64, Entry>) {
    let (_folder, path) = place();
    let mut book = Book::open(&path).unwrap();
    let mut entries = BTreeMap::new();
    for number in 0..300 {
        let (event, what) = match number {
            40 | 200 => (SUPPER, announced()),
            number if number % 7 == 0 => (OTHER, started(number)),
            _ => (SUPPER, started(number)),
        };
        let entry = book.append(&note(event, what)).unwrap();
        entries.insert(entry.id.0, entry);
    }
    drop(book);
    (std::fs::read(&path).unwrap(), entries)
}

fn log(path: &Path) -> PathBuf {
    PathBuf::from(format!("{}-wal", path.display()))
}

fn entries_of(book: &Book) -> BTreeMap<i64, Entry> {
    let all = [SUPPER, OTHER].map(|event| book.entries(event).unwrap());
    all.into_iter()
        .flatten()
        .map(|entry| (entry.id.0, entry))
        .collect()
}

/// Looks at a damaged book and mends it; asserts that the damaged files are kept byte for byte, that what is saved
/// is what was written, and that the fresh book goes on. Returns what was saved and what was said.
fn mended(
    file: &[u8],
    wal: Option<&[u8]>,
    was: &BTreeMap<i64, Entry>,
) -> (BTreeMap<i64, Entry>, String) {
    let (folder, path) = place();
    std::fs::write(&path, file).unwrap();
    if let Some(wal) = wal {
        std::fs::write(log(&path), wal).unwrap();
    }

    let looked = access::to_look(&path).unwrap();
    if let Some(looked) = &looked {
        assert!(
            looked.remarks[0].contains("is damaged"),
            "{:?}",
            looked.remarks
        );
        assert!(looked.refused.is_some());
    }
    assert_eq!(
        std::fs::read(&path).unwrap(),
        file,
        "looking changes nothing"
    );
    if let Some(wal) = wal {
        assert_eq!(std::fs::read(log(&path)).unwrap(), wal);
    }

    let mut access = access::to_write(&path, NOW).unwrap();
    assert_eq!(access.remarks.len(), 1, "{:?}", access.remarks);
    let said = access.remarks[0].clone();
    let saved = entries_of(&access.book);
    for (id, entry) in &saved {
        assert_eq!(was.get(id), Some(entry), "is what was written");
    }
    assert!(
        said.contains(&format!("{} entries saved", saved.len())),
        "{said}"
    );
    if let Some(looked) = looked {
        assert_eq!(
            entries_of(&looked.book),
            saved,
            "what was shown is what is saved"
        );
    }
    let aside = folder.path().join("book.sqlite.damaged-2026-11-27");
    assert!(said.contains(aside.to_str().unwrap()), "{said}");
    assert_eq!(std::fs::read(&aside).unwrap(), file, "kept byte for byte");
    if let Some(wal) = wal {
        assert_eq!(
            std::fs::read(log(&aside)).unwrap(),
            wal,
            "kept byte for byte"
        );
    }
    let next = access.book.append(&note(SUPPER, started(999))).unwrap();
    assert!(saved.keys().all(|id| *id < next.id.0));
    drop(access);
    let again = access::to_write(&path, NOW).unwrap();
    assert!(
        again.remarks.is_empty() && !again.is_new,
        "{:?}",
        again.remarks
    );
    assert_eq!(entries_of(&again.book).len(), saved.len() + 1);
    drop(again);
    let mut names: Vec<String> = std::fs::read_dir(folder.path())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    let mut expected = vec!["book.sqlite", "book.sqlite.damaged-2026-11-27"];
    if wal.is_some() {
        expected.push("book.sqlite.damaged-2026-11-27-wal");
    }
    assert_eq!(names, expected, "nothing else is left lying about");
    (saved, said)
}

#[test]
fn a_book_whose_beginning_is_destroyed_is_saved_whole() {
    let (good, was) = whole();
    let mut header = good.clone();
    header[..100].fill(0xAA);
    let mut first_page = good.clone();
    first_page[..PAGE].fill(0);
    for bytes in [header, first_page] {
        let (saved, said) = mended(&bytes, None, &was);
        assert_eq!(saved, was, "{said}");
        assert!(said.contains("none is known to be lost"), "{said}");
    }
    // The size of pages that it names is wrong by a factor of two, and nothing else.
    for size in [0x08, 0x20] {
        let mut other_size = good.clone();
        other_size[16] = size;
        let (saved, said) = mended(&other_size, None, &was);
        assert_eq!(saved, was, "{said}");
    }
}

#[test]
fn a_book_that_was_cut_off_keeps_what_is_left_and_says_what_is_not() {
    let (good, was) = whole();
    let half = good.len() / 2 / PAGE * PAGE;
    for (length, some) in [(half, true), (half + 1000, true), (3 * PAGE, false)] {
        let (saved, said) = mended(&good[..length], None, &was);
        assert!(
            saved.is_empty() != some && saved.len() < was.len(),
            "{length}: {said}"
        );
        assert!(said.contains("could not be saved: "), "{said}");
        assert!(said.contains("pages of the file are gone"), "{said}");
    }
    // Nothing but the header is left: that it was a book of ours is all that can be told.
    let (saved, _) = mended(&good[..600], None, &was);
    assert!(saved.is_empty());
}

/// The index is how a banquet's entries are found: one that is there and not led to would be missed in silence.
#[test]
fn an_index_that_leads_past_an_entry_is_damage_and_the_entry_is_saved() {
    const INDEX_LEAF: u8 = 0x0A;
    let (good, was) = whole();
    let leaves = (1..good.len() / PAGE).map(|page| page * PAGE);
    let leaves: Vec<usize> = leaves.filter(|&at| good[at] == INDEX_LEAF).collect();
    assert!(!leaves.is_empty());
    for at in leaves {
        // Another banquet's name, or a row number that no entry has: every page is well formed.
        let name = good[at..at + PAGE]
            .windows(6)
            .rposition(|it| it == b"supper");
        let name = at + name.expect("leads to entries");
        for (place, byte) in [(name + 1, b'a'), (name + SUPPER.len(), 0x7F)] {
            let mut bytes = good.clone();
            assert_ne!(bytes[place], byte);
            bytes[place] = byte;
            let (saved, said) = mended(&bytes, None, &was);
            assert_eq!(saved, was, "{said}");
        }
    }
}

#[test]
fn lost_entries_are_named_with_their_banquet() {
    let (good, was) = whole();
    // The page that holds entry 251; no plan speaks of its step.
    let needle = b"pears/step-250\"";
    let at = good
        .windows(needle.len())
        .position(|bytes| bytes == needle)
        .unwrap();
    let mut bytes = good.clone();
    bytes[at / PAGE * PAGE..][..PAGE].fill(0);
    let (saved, said) = mended(&bytes, None, &was);
    let lost: Vec<i64> = was
        .keys()
        .copied()
        .filter(|id| !saved.contains_key(id))
        .collect();
    assert!(lost.contains(&251) && lost.len() < 60, "{lost:?}");
    assert!(said.contains(&format!("{}", lost[0])), "{said}");
    assert!(said.contains(SUPPER), "{said}");
}

/// The log lies beside a damaged file: what stands in it alone is saved too.
#[test]
fn what_stands_only_in_the_log_is_saved() {
    let (_folder, path) = place();
    let mut book = Book::open(&path).unwrap();
    let mut was = BTreeMap::new();
    for number in 0..20 {
        let what = if number == 10 {
            announced()
        } else {
            started(number)
        };
        let entry = book.append(&note(SUPPER, what)).unwrap();
        was.insert(entry.id.0, entry);
    }
    let (file, wal) = (
        std::fs::read(&path).unwrap(),
        std::fs::read(log(&path)).unwrap(),
    );
    drop(book);
    assert!(wal.len() > 20 * PAGE, "all of it is in the log");

    // The file is gone, emptied, or no longer a book.
    for file in [Vec::new(), vec![0; file.len()], b"Dear diary\n".repeat(900)] {
        let (saved, said) = mended(&file, Some(&wal), &was);
        assert_eq!(saved, was, "{said}");
    }
    // A frame in the middle is broken: SQLite would pass over all that came after it.
    let mut broken = wal.clone();
    broken[32 + 12 * (24 + PAGE) + 300] ^= 0xFF;
    let (saved, said) = mended(&file, Some(&broken), &was);
    assert_eq!(saved, was, "{said}");
    // The log's own header is broken.
    let mut headless = wal.clone();
    headless[..32].fill(0x55);
    let (saved, said) = mended(&file, Some(&headless), &was);
    assert_eq!(saved, was, "{said}");
    // Garbage from end to end: only what the file holds is left, and that is nothing yet.
    let garbage: Vec<u8> = (0..wal.len()).map(|at| (at * 7 + at / 251) as u8).collect();
    let (saved, _) = mended(&file, Some(&garbage), &was);
    assert!(saved.is_empty());
}

/// What was on its way when the power went was never told, and is no damage.
#[test]
fn a_log_cut_off_in_its_last_entry_is_no_damage() {
    let (_folder, path) = place();
    let mut book = Book::open(&path).unwrap();
    for number in 0..5 {
        book.append(&note(SUPPER, started(number))).unwrap();
    }
    let (file, wal) = (
        std::fs::read(&path).unwrap(),
        std::fs::read(log(&path)).unwrap(),
    );
    drop(book);
    for length in (0..=wal.len()).rev().step_by(997) {
        let (_folder, path) = place();
        std::fs::write(&path, &file).unwrap();
        std::fs::write(log(&path), &wal[..length]).unwrap();
        let access = access::to_write(&path, NOW).unwrap();
        assert!(access.remarks.is_empty(), "{length}: {:?}", access.remarks);
    }
}

/// A kill in the middle of a long entry, and then a short one: frames without their commit are left behind the short
/// one's, with a checksum that fits nothing any more.
#[test]
fn what_a_kill_left_behind_the_next_entry_is_no_damage() {
    let (_folder, path) = place();
    let mut book = Book::open(&path).unwrap();
    let short = book.append(&note(SUPPER, started(1))).unwrap();
    let before = std::fs::read(log(&path)).unwrap();
    book.append(&note(SUPPER, announced())).unwrap();
    let (file, mut wal) = (
        std::fs::read(&path).unwrap(),
        std::fs::read(log(&path)).unwrap(),
    );
    drop(book);
    assert!(
        before.len() + 4 * (24 + PAGE) < wal.len(),
        "the long entry takes several frames"
    );
    // All of its frames but the last, which would have been the commit.
    wal.truncate(wal.len() - (24 + PAGE));
    let (_folder, path) = place();
    std::fs::write(&path, &file).unwrap();
    std::fs::write(log(&path), &wal).unwrap();
    let mut book = Book::open(&path).unwrap();
    assert_eq!(book.entries(SUPPER).unwrap(), [short]);
    book.append(&note(SUPPER, started(2))).unwrap();
    // As the next kill leaves it: the short entry's frames, and behind them what is left of the long one's.
    let (file, mixed) = (
        std::fs::read(&path).unwrap(),
        std::fs::read(log(&path)).unwrap(),
    );
    drop(book);
    assert_eq!(mixed.len(), wal.len());
    let (_folder, path) = place();
    std::fs::write(&path, &file).unwrap();
    std::fs::write(log(&path), &mixed).unwrap();
    let access = access::to_write(&path, NOW).unwrap();
    assert!(access.remarks.is_empty(), "{:?}", access.remarks);
    assert_eq!(access.book.entries(SUPPER).unwrap().len(), 2);
}

/// Bytes that are no text are no damage either.
#[test]
fn an_entry_that_is_no_text_is_no_damage() {
    let (_folder, path) = place();
    let mut book = Book::open(&path).unwrap();
    book.append(&note(SUPPER, started(1))).unwrap();
    drop(book);
    rusqlite::Connection::open(&path)
        .unwrap()
        .execute(
            "INSERT INTO entry (event, at, written, who, place, kind, body)
             VALUES (?1, 0, 0, CAST(x'616eff' AS TEXT), '', 'started', CAST(x'ff' AS TEXT))",
            [SUPPER],
        )
        .unwrap();
    let access = access::to_write(&path, NOW).unwrap();
    assert!(access.remarks.is_empty(), "{:?}", access.remarks);
}

#[test]
fn a_damaged_file_is_never_written_over() {
    let (good, _) = whole();
    let (folder, path) = place();
    for round in 0..3 {
        std::fs::write(&path, &good[..good.len() - PAGE * (round + 2)]).unwrap();
        access::to_write(&path, NOW).unwrap();
    }
    for (round, ending) in ["", "-2", "-3"].into_iter().enumerate() {
        let aside = folder
            .path()
            .join(format!("book.sqlite.damaged-2026-11-27{ending}"));
        let kept = std::fs::metadata(aside).unwrap().len();
        assert_eq!(kept as usize, good.len() - PAGE * (round + 2));
    }
}

/// Killed between the fresh book and its name: whoever opens it next goes on.
#[test]
fn mending_that_was_interrupted_is_gone_on_with() {
    let (good, was) = whole();
    let (folder, path) = place();
    let mut bytes = good.clone();
    bytes[..100].fill(0);
    std::fs::write(path.with_extension("sqlite.mended"), &good).unwrap();
    std::fs::write(&path, &bytes).unwrap();
    // Half of an earlier try.
    std::fs::write(path.with_extension("sqlite.mending"), &good[..5000]).unwrap();
    let access = access::to_write(&path, NOW).unwrap();
    assert_eq!(entries_of(&access.book), was);
    assert!(
        access.remarks[0].contains("300 entries saved"),
        "{:?}",
        access.remarks
    );
    let aside = folder.path().join("book.sqlite.damaged-2026-11-27");
    assert_eq!(std::fs::read(aside).unwrap(), bytes);
}

/// Several open a damaged book at once: it is mended once.
#[test]
fn a_book_is_mended_once() {
    let (good, was) = whole();
    let (folder, path) = place();
    let mut bytes = good;
    bytes[..100].fill(0);
    std::fs::write(&path, &bytes).unwrap();
    let barrier = std::sync::Barrier::new(4);
    std::thread::scope(|scope| {
        for _ in 0..4 {
            scope.spawn(|| {
                barrier.wait();
                let access = access::to_write(&path, NOW).unwrap();
                assert_eq!(entries_of(&access.book).len(), was.len());
            });
        }
    });
    let aside = std::fs::read_dir(folder.path())
        .unwrap()
        .filter(|entry| {
            let name = entry.as_ref().unwrap().file_name();
            name.to_str().unwrap().contains("damaged")
        })
        .count();
    assert_eq!(aside, 1);
}

#[test]
fn what_is_no_book_of_ours_is_left_alone() {
    let diary = b"Dear diary, today the custard split.\n".repeat(200);
    let (_folder, path) = place();
    std::fs::write(&path, &diary).unwrap();
    assert!(access::to_write(&path, NOW).unwrap_err().is_damage());
    assert!(access::to_look(&path).unwrap_err().is_damage());
    assert_eq!(std::fs::read(&path).unwrap(), diary);
    // The sheet opens all the same, and says that nothing can be ticked.
    let sheet = access::for_a_sheet(&path, NOW).unwrap();
    assert!(sheet.refused.is_some());
    assert!(
        sheet.remarks[0].contains("nothing can be ticked"),
        "{:?}",
        sheet.remarks
    );
    assert_eq!(std::fs::read(&path).unwrap(), diary);
}

/// A terminal that still has the damaged file open is told, and its tick is not lost unseen.
#[cfg(unix)]
#[test]
fn a_book_that_is_moved_away_takes_no_more_ticks() {
    let (folder, path) = place();
    let mut book = Book::open(&path).unwrap();
    book.append(&note(SUPPER, started(1))).unwrap();
    assert!(!book.was_moved());
    std::fs::rename(&path, folder.path().join("elsewhere.sqlite")).unwrap();
    assert!(book.was_moved());
    let error = book.append(&note(SUPPER, started(2))).unwrap_err();
    assert!(
        matches!(error.trouble, countback::book::Trouble::Moved),
        "{error}"
    );
    assert!(error.to_string().contains("open it again"), "{error}");
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(40) })]

    /// Whatever pages are overwritten with whatever: nothing is invented, and an entry is lost only with a page.
    #[test]
    fn nothing_is_invented_and_little_is_lost(
        pages in prop::collection::vec((0_usize..1000, 0_usize..PAGE, 1_usize..PAGE, any::<u8>(), any::<bool>()), 1..4),
        cut in prop::option::of(0_usize..1000),
    ) {
        let (good, was) = whole();
        let mut bytes = good.clone();
        for (page, from, length, byte, noise) in pages {
            let start = page % (good.len() / PAGE) * PAGE + from;
            let end = (start + length).min(start / PAGE * PAGE + PAGE);
            for (place, at) in bytes[start..end].iter_mut().enumerate() {
                *at = if noise { byte.wrapping_mul(31).wrapping_add((place * place) as u8) } else { byte };
            }
        }
        if let Some(cut) = cut {
            bytes.truncate(cut * PAGE / 7 % good.len());
        }
        let (_folder, path) = place();
        std::fs::write(&path, &bytes).unwrap();
        let saved = match access::to_write(&path, NOW) {
            Ok(access) => entries_of(&access.book),
            // So little is left that nothing says it was ours.
            Err(error) => {
                prop_assert!(error.is_damage() || matches!(error.trouble, countback::book::Trouble::OtherProgram | countback::book::Trouble::Newer { .. }), "{}", error);
                prop_assert_eq!(std::fs::read(&path).unwrap(), bytes, "left alone");
                return Ok(());
            }
        };
        let mut same = 0;
        for (id, entry) in &saved {
            // A byte inside a text may have been changed; the number and the shape of an entry are never invented.
            let original = was.get(id);
            prop_assert!(original.is_some(), "{}: {:?}", id, entry);
            same += usize::from(original == Some(entry));
        }
        if cut.is_none() {
            // Three pages, the densest of which holds 53 entries; each of the two plans lies on several.
            prop_assert!(same + 3 * 55 + 2 >= was.len(), "{} of {}", same, was.len());
        }
    }
}
