//! The book on a real disk: kept, shared, refused, damaged.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use countback::book::{
    Announcement, Book, BookError, Decision, EntryId, Errand, Goal, Happening, Much, Note, Reading,
    Trouble,
};
use countback::time::Timestamp;
use proptest::prelude::*;
use rusqlite::Connection;

const SUPPER: &str = "supper@2026-11-28";

fn note(event: &str, what: Happening) -> Note {
    Note {
        event: event.into(),
        at: Timestamp(1_795_780_000),
        written: Timestamp(1_795_780_030),
        who: "ana".into(),
        place: "pastry".into(),
        what,
    }
}

fn started(step: &str) -> Happening {
    Happening::Started { step: step.into() }
}

fn place() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("book.sqlite");
    (folder, path)
}

fn trouble(path: &Path) -> (Trouble, String) {
    let error: BookError = Book::open(path).expect_err("must be refused");
    let said = error.to_string();
    assert!(said.contains(path.to_str().unwrap()), "{said}");
    assert!(!said.ends_with('.') && said.len() > 40, "{said}");
    (error.trouble, said)
}

/// Returns the path of a book with so many entries, closed and complete in its one file.
fn filled(entries: usize) -> (tempfile::TempDir, PathBuf) {
    let (folder, path) = place();
    let mut book = Book::open(&path).unwrap();
    for number in 0..entries {
        book.append(&note(SUPPER, started(&format!("pears/step-{number}"))))
            .unwrap();
    }
    drop(book);
    (folder, path)
}

#[test]
fn entries_are_there_when_the_book_is_opened_again() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("new/and/deeper/book.sqlite");
    let mut book = Book::open(&path).unwrap();
    let first = book.append(&note(SUPPER, started("pears/poach"))).unwrap();
    let other = book
        .append(&note("other@2026-12-05", started("a/b")))
        .unwrap();
    let second = book
        .append(&note(SUPPER, Happening::Undone { entry: first.id }))
        .unwrap();
    assert!(first.id < other.id && other.id < second.id);
    drop(book);

    let book = Book::open(&path).unwrap();
    assert_eq!(
        book.entries(SUPPER).unwrap(),
        [first.clone(), second.clone()]
    );
    assert_eq!(book.entries_after(SUPPER, first.id).unwrap(), [second]);
    assert_eq!(book.entries("nobody@2026-01-01").unwrap(), []);
    let events = book.events().unwrap();
    let counted: Vec<_> = events
        .iter()
        .map(|banquet| (banquet.event.as_str(), banquet.entries))
        .collect();
    assert_eq!(counted, [("other@2026-12-05", 1), (SUPPER, 2)]);
    assert_eq!(events[1].first, Timestamp(1_795_780_030));
}

#[test]
fn two_terminals_in_turn_see_each_other() {
    let (_folder, path) = place();
    let mut one = Book::open(&path).unwrap();
    let mut two = Book::open(&path).unwrap();
    let mut last = EntryId(0);
    for round in 0..10 {
        let (writes, reads) = if round % 2 == 0 {
            (&mut one, &two)
        } else {
            (&mut two, &one)
        };
        let entry = writes
            .append(&note(SUPPER, started(&format!("a/s{round}"))))
            .unwrap();
        assert_eq!(
            reads.entries_after(SUPPER, last).unwrap(),
            std::slice::from_ref(&entry)
        );
        last = entry.id;
    }
}

/// Terminals open the same new book at the same moment and write at once: nothing is lost, each sees its own
/// entries in its own order, and numbers are given once.
/// What a terminal concluded from the book is not written once another has written something of the same banquet.
#[test]
fn what_was_concluded_from_a_book_that_has_gone_on_is_not_written() {
    let (_folder, path) = place();
    let (mut one, mut other) = (Book::open(&path).unwrap(), Book::open(&path).unwrap());
    let moved = note(
        SUPPER,
        Happening::Moved {
            steps: BTreeMap::new(),
        },
    );
    let first = one.append_after(&moved, None).unwrap();
    let first = first.expect("the book had no entries").id;
    assert_eq!(other.append_after(&moved, None).unwrap(), None);
    let second = other.append(&note(SUPPER, started("a/b"))).unwrap().id;
    assert_eq!(one.append_after(&moved, Some(first)).unwrap(), None);
    // Entries of another banquet are none of it.
    other
        .append(&note("other@2026-12-05", started("a/b")))
        .unwrap();
    let third = one.append_after(&moved, Some(second)).unwrap();
    let ids: Vec<EntryId> = one
        .entries(SUPPER)
        .unwrap()
        .iter()
        .map(|it| it.id)
        .collect();
    assert_eq!(ids, [first, second, third.expect("it was the last").id]);
}

#[test]
fn many_terminals_at_once_lose_nothing() {
    const TERMINALS: usize = 4;
    const EACH: usize = 25;
    let (_folder, path) = place();
    let barrier = std::sync::Barrier::new(TERMINALS);
    let written: Vec<Vec<EntryId>> = std::thread::scope(|scope| {
        let terminals: Vec<_> = (0..TERMINALS)
            .map(|terminal| {
                let (path, barrier) = (&path, &barrier);
                scope.spawn(move || {
                    barrier.wait();
                    let mut book = Book::open(path).unwrap();
                    (0..EACH)
                        .map(|number| {
                            let step = format!("terminal-{terminal}/step-{number}");
                            book.append(&note(SUPPER, started(&step))).unwrap().id
                        })
                        .collect()
                })
            })
            .collect();
        terminals
            .into_iter()
            .map(|terminal| terminal.join().unwrap())
            .collect()
    });
    let entries = Book::open(&path).unwrap().entries(SUPPER).unwrap();
    assert_eq!(entries.len(), TERMINALS * EACH);
    assert!(entries.windows(2).all(|pair| pair[0].id < pair[1].id));
    for (terminal, ids) in written.iter().enumerate() {
        assert!(ids.windows(2).all(|pair| pair[0] < pair[1]));
        for (number, id) in ids.iter().enumerate() {
            let entry = entries.iter().find(|entry| entry.id == *id).unwrap();
            assert_eq!(
                entry.what,
                started(&format!("terminal-{terminal}/step-{number}"))
            );
        }
    }
}

/// What a kill leaves on the disk after any entry opens with every entry so far; what a power cut leaves, the
/// log cut off anywhere, opens with a first part of them and takes further entries.
#[test]
fn a_cut_at_any_moment_loses_nothing_that_was_written_before() {
    let (_folder, path) = place();
    let log = |path: &Path| PathBuf::from(format!("{}-wal", path.display()));
    let mut book = Book::open(&path).unwrap();
    let mut written = Vec::new();
    for number in 0..8 {
        let what = started(&format!("pears/step-{number}"));
        written.push(book.append(&note(SUPPER, what)).unwrap());
        let (_left, copy) = place();
        std::fs::copy(&path, &copy).unwrap();
        std::fs::copy(log(&path), log(&copy)).unwrap();
        assert_eq!(Book::open(&copy).unwrap().entries(SUPPER).unwrap(), written);
    }
    let whole = std::fs::read(log(&path)).unwrap();
    let mut most = 0;
    for length in (0..whole.len()).step_by(1031) {
        let (_left, copy) = place();
        std::fs::copy(&path, &copy).unwrap();
        std::fs::write(log(&copy), &whole[..length]).unwrap();
        let mut cut = Book::open(&copy).unwrap();
        let found = cut.entries(SUPPER).unwrap();
        assert!(written.starts_with(&found), "{length}: {found:?}");
        assert!(most <= found.len(), "{length}");
        most = found.len();
        let next = cut.append(&note(SUPPER, started("after/the-cut"))).unwrap();
        drop(cut);
        assert_eq!(
            Book::open(&copy).unwrap().entries(SUPPER).unwrap().last(),
            Some(&next)
        );
    }
    assert!(0 < most, "some entries survive a cut");
}

/// Not even another program can change what was written.
#[test]
fn entries_are_never_changed_removed_or_replaced() {
    let (_folder, path) = filled(3);
    let before = Book::open(&path).unwrap().entries(SUPPER).unwrap();
    let other = Connection::open(&path).unwrap();
    for (statement, said) in [
        ("UPDATE entry SET body = '{}' WHERE id = 1", "never changed"),
        ("UPDATE entry SET at = 0", "never changed"),
        ("DELETE FROM entry WHERE id = 2", "never removed"),
        ("DELETE FROM entry", "never removed"),
        (
            "INSERT OR REPLACE INTO entry VALUES (1, '', 0, 0, '', '', '', '')",
            "never replaced",
        ),
    ] {
        let error = other.execute(statement, []).expect_err(statement);
        assert!(error.to_string().contains(said), "{statement}: {error}");
    }
    assert_eq!(Book::open(&path).unwrap().entries(SUPPER).unwrap(), before);
}

#[test]
fn a_book_of_version_1_opens() {
    let (_folder, path) = place();
    std::fs::copy("tests/data/books/version-1.sqlite", &path).unwrap();
    let mut book = Book::open(&path).unwrap();
    let entries = book.entries(SUPPER).unwrap();
    let said: Vec<_> = entries
        .iter()
        .map(|entry| (entry.id.0, &entry.what))
        .collect();
    let step = || "pears/poach".to_owned();
    assert_eq!(
        said,
        [
            (
                1,
                &Happening::MenuSeen {
                    steps: BTreeMap::from([(
                        step(),
                        BTreeMap::from([
                            ("name".into(), "Poach the pears".into()),
                            ("time".into(), "2h".into())
                        ])
                    )])
                }
            ),
            (2, &Happening::Started { step: step() }),
            (4, &Happening::Finished { step: step() }),
            (5, &Happening::Undone { entry: EntryId(4) }),
            (
                6,
                &Happening::Skipped {
                    step: "pears/glaze".into(),
                    reason: "no room; e\u{301} \u{7} \u{202e}".into()
                }
            ),
            (
                7,
                &Happening::Unknown {
                    kind: "reading".into(),
                    body: r#"{"step":"pears/poach","celsius":4}"#.into()
                }
            ),
            (
                8,
                &Happening::Unknown {
                    kind: "started".into(),
                    body: "not json".into()
                }
            ),
        ]
    );
    assert_eq!(entries[2].who, "渡辺");
    assert_eq!(entries[1].at, Timestamp(1_795_680_300));
    assert_eq!(entries[1].written, Timestamp(1_795_680_310));
    assert_eq!(
        book.append(&note(SUPPER, started("a/b"))).unwrap().id,
        EntryId(9)
    );
}

/// Bytes that are no text cost neither the entry nor the others.
#[test]
fn an_entry_that_is_no_text_is_shown_as_far_as_it_goes() {
    let (_folder, path) = filled(1);
    let other = Connection::open(&path).unwrap();
    other
        .execute(
            "INSERT INTO entry (event, at, written, who, place, kind, body)
             VALUES (?1, 0, 0, CAST(x'616eff' AS TEXT), '', 'started', CAST(x'ff' AS TEXT))",
            [SUPPER],
        )
        .unwrap();
    let entries = Book::open(&path).unwrap().entries(SUPPER).unwrap();
    assert_eq!(entries.len(), 2);
    assert_eq!(entries[1].who, "an\u{FFFD}");
    assert!(matches!(entries[1].what, Happening::Unknown { .. }));
}

/// What is no book of ours is refused in words, and left as it was to the last byte.
#[test]
fn damaged_and_foreign_files_are_refused_and_left_alone() {
    let (_folder, good) = filled(200);
    let good = std::fs::read(good).unwrap();
    assert!(good.len() > 16_000, "long enough to cut");
    let mut half_zeros = good.clone();
    half_zeros[..8192].fill(0);
    let cases: [(&str, Vec<u8>); 7] = [
        ("cut in half", good[..good.len() / 2].to_vec()),
        ("cut in the first page", good[..600].to_vec()),
        ("cut in the header", good[..50].to_vec()),
        ("cut in the first line", good[..10].to_vec()),
        ("zeros", vec![0; 8192]),
        ("its beginning zeros", half_zeros),
        ("text", b"Dear diary, today the custard split.\n".repeat(50)),
    ];
    for (case, bytes) in cases {
        let (_folder, path) = place();
        std::fs::write(&path, &bytes).unwrap();
        let (trouble, said) = trouble(&path);
        assert!(
            matches!(trouble, Trouble::NotADatabase | Trouble::Damaged(_)),
            "{case}: {said}"
        );
        assert!(said.contains("nothing in it was changed"), "{case}: {said}");
        assert!(std::fs::read(&path).unwrap() == bytes, "{case}: changed");
    }
}

/// A page in the middle that the header knows nothing of: reported when it is read.
#[test]
fn a_damaged_page_is_reported_when_it_is_read() {
    let (_folder, path) = filled(200);
    let mut bytes = std::fs::read(&path).unwrap();
    let from = bytes.len() - 3 * 4096;
    bytes[from..from + 2 * 4096].fill(0);
    std::fs::write(&path, &bytes).unwrap();
    let book = Book::open(&path).unwrap();
    let error = book.entries(SUPPER).expect_err("is damaged");
    assert!(matches!(error.trouble, Trouble::Damaged(_)), "{error}");
    drop(book);
    assert!(std::fs::read(&path).unwrap() == bytes, "changed");
}

#[test]
fn another_programs_database_is_refused() {
    for sql in [
        "CREATE TABLE song (words TEXT)",
        "PRAGMA application_id = 77",
        "PRAGMA user_version = 3",
    ] {
        let (_folder, path) = place();
        Connection::open(&path).unwrap().execute_batch(sql).unwrap();
        let bytes = std::fs::read(&path).unwrap();
        assert!(matches!(trouble(&path).0, Trouble::OtherProgram), "{sql}");
        assert!(std::fs::read(&path).unwrap() == bytes, "{sql}: changed");
    }
}

#[test]
fn a_later_versions_book_is_refused() {
    let (_folder, path) = filled(1);
    Connection::open(&path)
        .unwrap()
        .execute_batch("PRAGMA user_version = 9")
        .unwrap();
    let bytes = std::fs::read(&path).unwrap();
    let (trouble, said) = trouble(&path);
    assert!(
        matches!(
            trouble,
            Trouble::Newer {
                version: 9,
                known: 1
            }
        ),
        "{said}"
    );
    assert!(said.contains("later countback"), "{said}");
    assert!(std::fs::read(&path).unwrap() == bytes, "changed");
}

#[test]
fn an_empty_file_becomes_a_book() {
    let (_folder, path) = place();
    std::fs::write(&path, b"").unwrap();
    Book::open(&path)
        .unwrap()
        .append(&note(SUPPER, started("a/b")))
        .unwrap();
    assert_eq!(Book::open(&path).unwrap().entries(SUPPER).unwrap().len(), 1);
}

#[test]
fn looking_leaves_nothing_behind() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("deeper/book.sqlite");
    assert!(Book::look(&path).unwrap().is_none());
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
}

#[test]
fn a_folder_is_no_book() {
    let folder = tempfile::tempdir().unwrap();
    assert!(matches!(trouble(folder.path()).0, Trouble::IsFolder));
}

#[test]
fn a_file_is_no_folder_for_a_book() {
    let (folder, path) = place();
    std::fs::write(&path, "text").unwrap();
    let below = folder.path().join("book.sqlite/deeper/book.sqlite");
    assert!(matches!(trouble(&below).0, Trouble::NoFolder(_)));
}

/// Where nobody may make a folder, the administrator included.
#[cfg(target_os = "linux")]
#[test]
fn a_place_that_cannot_be_written_is_named() {
    let (trouble, said) = trouble(Path::new("/sys/countback/book.sqlite"));
    assert!(matches!(trouble, Trouble::ReadOnly), "{said}");
    assert!(said.contains("--book FILE"), "{said}");
}

#[cfg(unix)]
#[test]
fn a_book_that_may_only_be_read_is_refused() {
    use std::os::unix::fs::PermissionsExt;
    let (_folder, path) = filled(1);
    std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o444)).unwrap();
    // The administrator may write all the same; then the book must simply work.
    match std::fs::OpenOptions::new().append(true).open(&path) {
        Ok(_) => assert_eq!(Book::open(&path).unwrap().entries(SUPPER).unwrap().len(), 1),
        Err(_) => assert!(matches!(trouble(&path).0, Trouble::ReadOnly)),
    }
}

#[test]
fn a_name_that_means_something_to_sqlite_is_a_file_all_the_same() {
    let folder = tempfile::tempdir().unwrap();
    for name in [
        ":memory:",
        "file:book?mode=memory",
        "b o'o\"k%20.sqlite",
        "書.sqlite",
    ] {
        let path = folder.path().join(name);
        Book::open(&path)
            .unwrap()
            .append(&note(SUPPER, started("a/b")))
            .unwrap();
        assert!(path.is_file(), "{name}");
        assert_eq!(
            Book::open(&path).unwrap().entries(SUPPER).unwrap().len(),
            1,
            "{name}"
        );
    }
}

fn hostile() -> impl Strategy<Value = String> {
    prop_oneof![
        any::<String>(),
        Just(String::new()),
        Just("\0'; DROP TABLE entry; --\u{202e}\r\n\u{1b}[2J".to_owned()),
        "[a-z]{1,8}/[a-z]{1,8}",
    ]
}

fn announcement() -> impl Strategy<Value = Announcement> {
    let ovens = prop::collection::vec((hostile(), any::<u32>()), 0..3);
    (any::<i64>(), prop::option::of(hostile()), ovens).prop_map(|(start, way, ovens)| {
        Announcement {
            start: Timestamp(start),
            way,
            ovens,
        }
    })
}

fn moment() -> impl Strategy<Value = Timestamp> {
    any::<i64>().prop_map(Timestamp)
}

fn reading() -> impl Strategy<Value = Reading> {
    prop_oneof![
        any::<i32>().prop_map(Reading::Temperature),
        any::<i64>().prop_map(Reading::Volume),
        any::<i64>().prop_map(Reading::Weight),
        any::<bool>().prop_map(Reading::Test),
    ]
}

/// What a reading is to come to: never a test.
fn goal() -> impl Strategy<Value = Goal> {
    let reads = reading().prop_filter("no goal", |it| !matches!(it, Reading::Test(_)));
    (reads, prop::option::of(any::<i32>())).prop_map(|(reading, around)| Goal { reading, around })
}

fn decision() -> impl Strategy<Value = Decision> {
    let until = || prop::option::of(moment());
    let count = any::<u32>;
    prop_oneof![
        moment().prop_map(|to| Decision::Service { to }),
        (prop::option::of(hostile()), count())
            .prop_map(|(dish, covers)| Decision::Covers { dish, covers }),
        (hostile(), prop::option::of(count()))
            .prop_map(|(dish, batches)| Decision::Batches { dish, batches }),
        (hostile(), moment(), until()).prop_map(|(cook, from, until)| Decision::CookAway {
            cook,
            from,
            until
        }),
        (hostile(), count(), moment(), until()).prop_map(|(kit, count, from, until)| {
            Decision::KitOut {
                kit,
                count,
                from,
                until,
            }
        }),
        prop::collection::vec((moment(), moment()), 0..3)
            .prop_map(|stretches| Decision::HandsAdded { stretches }),
        (moment(), moment()).prop_map(|(from, until)| Decision::StayingOn { from, until }),
        (hostile(), count()).prop_map(|(kit, count)| Decision::KitAdded { kit, count }),
        moment().prop_map(|day| Decision::WorkFrom { day }),
        hostile().prop_map(|dish| Decision::DishDropped { dish }),
        (
            hostile(),
            prop::option::of(hostile()),
            prop::option::of(count())
        )
            .prop_map(|(card, course, covers)| Decision::DishAdded {
                card,
                course,
                covers
            }),
    ]
}

fn much() -> impl Strategy<Value = Much> {
    let all = prop::collection::btree_map(hostile(), any::<i64>(), 0..3);
    (hostile(), all).prop_map(|(says, all)| Much { says, all })
}

fn happening() -> impl Strategy<Value = Happening> {
    prop_oneof![
        hostile().prop_map(|step| Happening::Started { step }),
        hostile().prop_map(|step| Happening::Finished { step }),
        (hostile(), hostile()).prop_map(|(step, reason)| Happening::Skipped { step, reason }),
        any::<i64>().prop_map(|entry| Happening::Undone {
            entry: EntryId(entry)
        }),
        prop::collection::btree_map(
            hostile(),
            prop::collection::btree_map(hostile(), hostile(), 0..4),
            0..4
        )
        .prop_map(|steps| Happening::MenuSeen { steps }),
        prop::collection::btree_map(hostile(), announcement(), 0..4)
            .prop_map(|steps| Happening::Moved { steps }),
        prop::collection::btree_map(hostile(), announcement(), 0..4)
            .prop_map(|steps| Happening::Announced { steps }),
        (hostile(), reading(), prop::option::of(goal())).prop_map(|(step, reading, goal)| {
            Happening::Read {
                step,
                reading,
                goal,
            }
        }),
        (hostile(), moment()).prop_map(|(step, end)| Happening::Expected { step, end }),
        (prop::option::of(hostile()), hostile())
            .prop_map(|(step, text)| Happening::Noted { step, text }),
        (
            decision(),
            prop::collection::btree_map(hostile(), announcement(), 0..4)
        )
            .prop_map(|(decision, steps)| Happening::Decided { decision, steps }),
        (hostile(), prop::option::of(moment()))
            .prop_map(|(call, again)| Happening::Heeded { call, again }),
        prop::collection::btree_map(hostile(), much(), 0..4).prop_map(|goods| {
            let errand = Errand::Order { goods };
            Happening::SeenTo { errand }
        }),
        (hostile(), hostile(), hostile(), much()).prop_map(|(what, name, dish, much)| {
            let errand = Errand::Ahead {
                what,
                name,
                dish,
                much,
            };
            Happening::SeenTo { errand }
        }),
        // A kind of a later version, whatever its body.
        (hostile(), hostile()).prop_map(|(kind, body)| Happening::Unknown {
            kind: format!("later-{kind}"),
            body
        }),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(192) })]

    #[test]
    fn any_note_reads_back_as_it_was_written(
        notes in prop::collection::vec(
            (hostile(), any::<i64>(), any::<i64>(), hostile(), hostile(), happening()),
            1..6,
        )
    ) {
        let mut book = Book::in_memory().unwrap();
        let mut expected: BTreeMap<String, Vec<_>> = BTreeMap::new();
        for (event, at, written, who, place, what) in notes {
            let note = Note {
                event: event.clone(),
                at: Timestamp(at),
                written: Timestamp(written),
                who,
                place,
                what,
            };
            let entry = book.append(&note).unwrap();
            expected.entry(event).or_default().push(entry);
        }
        for (event, entries) in &expected {
            prop_assert_eq!(&book.entries(event).unwrap(), entries);
        }
        prop_assert_eq!(book.events().unwrap().len(), expected.len());
    }
}
