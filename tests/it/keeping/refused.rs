//! A book that cannot be written: the disk is full, the folder may only be read, another program holds it, or it is
//! damaged. By the real program: what it says, that nothing is lost, and that the sheet stands all the same.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use countback::book::{Book, Happening, Note, access};
use countback::time::Timestamp;
use portable_pty::CommandBuilder;
use rusqlite::Connection;

use crate::support::terminal::{FRIDAY, Terminal};

const PROGRAM: &str = env!("CARGO_BIN_EXE_countback");
const HILL: &str = concat!(
    env!("CARGO_MANIFEST_DIR"),
    "/tests/data/menus/hill-supper.ron"
);
const EVENT: &str = "hill-supper@2026-11-28";

fn place() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("book.sqlite");
    (folder, path)
}

fn run(book: &Path, words: &[&str]) -> Output {
    run_by(Command::new(PROGRAM), book, words)
}

fn run_by(mut command: Command, book: &Path, words: &[&str]) -> Output {
    command
        .args(words)
        .args(["--now", FRIDAY, "--book"])
        .arg(book)
        .output()
        .unwrap()
}

fn said(output: &Output) -> (i32, String, String) {
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
    (
        output.status.code().unwrap(),
        text(&output.stdout),
        text(&output.stderr),
    )
}

fn entries(book: &Path) -> Vec<Happening> {
    let entries = Book::open(book).unwrap().entries(EVENT).unwrap();
    entries.into_iter().map(|entry| entry.what).collect()
}

/// A terminal in which a shell does something before it becomes the sheet.
fn sheet_after(script: &str, book: &Path) -> Terminal {
    let mut command = CommandBuilder::new("sh");
    command.arg("-c");
    command.arg(format!("{script}; exec \"$0\" \"$@\""));
    command.args([PROGRAM, HILL, "--now", FRIDAY, "--book"]);
    command.arg(book);
    Terminal::run(command, 120, 40)
}

fn is_steeping(screen: &vt100::Screen) -> bool {
    let text = screen.contents();
    text.lines()
        .any(|line| line.contains("Steep the tea") && line.contains("running"))
}

/// Presses `s` and `u` by turns until the sheet refuses; returns what it says then and how many ticks it showed.
fn tick_until_refused(terminal: &mut Terminal) -> (String, usize) {
    for shown in 0..500 {
        let running = shown % 2 == 1;
        terminal.press(if running { "u" } else { "s" });
        terminal.wait_for_frame("an answer", |screen| {
            let text = screen.contents();
            text.contains("not written into the book")
                || is_steeping(screen) != running && !text.contains("writing…")
        });
        let text = terminal.wait("the sheet", |_| true);
        if text.contains("not written into the book") {
            return (text, shown);
        }
    }
    panic!("never refused");
}

/// A limit on the size of files, as a quota sets it.
#[cfg(unix)]
#[test]
fn a_disk_that_takes_no_more_refuses_the_tick_and_keeps_the_others() {
    let (_folder, book) = place();
    // Blocks of 512 bytes where the shell is as POSIX says, of 1,024 in others: room for some ticks in either.
    let mut terminal = sheet_after("trap '' XFSZ; ulimit -f 150", &book);
    terminal.wait_for("Poach the pears");
    let (text, shown) = tick_until_refused(&mut terminal);
    assert!(text.contains("nothing was ticked"), "{text}");
    assert!(2 < shown, "some fitted before: {shown}");
    // The sheet stands and shows what is in the book.
    assert!(text.contains("Poach the pears"), "{text}");
    terminal.press("q");
    terminal.wait_for_end();
    let ticks = entries(&book).len() - 1;
    assert_eq!(ticks, shown, "what was shown, and nothing else");
}

/// A disk of its own that is full, where the system lets a test have one.
#[cfg(target_os = "linux")]
#[test]
fn on_a_full_disk_the_sheet_opens_and_says_so() {
    let Some(unshare) = ["-m", "-Urm"].into_iter().find(|with| {
        let tried = Command::new("unshare")
            .args([with, "sh", "-c", "mount -t tmpfs -o size=100k none /mnt"])
            .output();
        tried.is_ok_and(|tried| tried.status.success())
    }) else {
        eprintln!(
            "skipped: no file system of its own may be made here; the limit on files is tested in any case"
        );
        return;
    };
    let (folder, _) = place();
    let disk = folder.path().join("disk");
    std::fs::create_dir(&disk).unwrap();
    let book = disk.join("book.sqlite");
    let open = |before: &str| {
        let script = format!(
            "mount -t tmpfs -o size=400k none '{disk}'
             {PROGRAM} tick '{HILL}' steep start --now '{FRIDAY}' --book '{book}'
             {before}
             exec {PROGRAM} '{HILL}' --now '{FRIDAY}' --book '{book}'",
            disk = disk.display(),
            book = book.display(),
        );
        let mut command = CommandBuilder::new("unshare");
        command.args([unshare, "sh", "-c", &script]);
        Terminal::run(command, 120, 40)
    };

    // Full already when it opens.
    let mut terminal = open(&format!(
        "dd if=/dev/zero of='{}' bs=1k 2>/dev/null",
        disk.join("fill").display()
    ));
    terminal.wait("the sheet, and what was ticked", is_steeping);
    terminal.wait_for("can be ticked");
    terminal.press("u");
    let text = terminal.wait_for("not written into the book");
    assert!(
        is_steeping(terminal.shown.0.lock().unwrap().screen.screen()),
        "{text}"
    );
    drop(terminal);

    // Full while it is open: the log grows until nothing fits any more.
    let mut terminal = open("true");
    terminal.wait("the sheet", is_steeping);
    terminal.press("u");
    terminal.wait_for_frame("the tick taken back", |screen| {
        !is_steeping(screen) && screen.contents().contains("taken back:")
    });
    let (text, shown) = tick_until_refused(&mut terminal);
    assert!(text.contains("the disk"), "{text}");
    assert!(2 < shown, "some fitted before: {shown}");
}

/// Runs the program as somebody who may not write; the administrator may write anywhere.
#[cfg(target_os = "linux")]
fn nobody() -> Option<Vec<String>> {
    let id = Command::new("id").arg("-u").output().unwrap();
    if id.stdout != b"0\n" {
        return Some(vec![PROGRAM.to_owned()]);
    }
    let words = [
        "setpriv",
        "--reuid=65534",
        "--regid=65534",
        "--clear-groups",
        PROGRAM,
    ];
    let tried = Command::new(words[0])
        .args(&words[1..])
        .arg("--version")
        .output();
    tried
        .is_ok_and(|tried| tried.status.success())
        .then(|| words.map(str::to_owned).to_vec())
}

#[cfg(target_os = "linux")]
#[test]
fn a_book_that_may_only_be_read_is_read() {
    use std::os::unix::fs::PermissionsExt;
    let Some(words) = nobody() else {
        eprintln!("skipped: nobody here may do less than everything");
        return;
    };
    let allow = |path: &Path, mode| {
        std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode)).unwrap();
    };
    let (folder, book) = place();
    assert!(
        run(&book, &["tick", HILL, "steep", "start"])
            .status
            .success()
    );
    // In one folder the book is whole, in the other its last entry stands in a log that nobody has closed.
    let (other_folder, other) = place();
    let open = {
        let mut open = Book::open(&book).unwrap();
        let what = Happening::Skipped {
            step: "jelly/boil".into(),
            reason: "burnt".into(),
        };
        let note = Note {
            event: EVENT.into(),
            at: Timestamp(1_795_807_800),
            written: Timestamp(1_795_807_800),
            who: String::new(),
            place: String::new(),
            what,
        };
        open.append(&note).unwrap();
        open
    };
    std::fs::copy(&book, &other).unwrap();
    std::fs::copy(
        book.with_extension("sqlite-wal"),
        other.with_extension("sqlite-wal"),
    )
    .unwrap();
    drop(open);
    for (folder, book) in [(&folder, &book), (&other_folder, &other)] {
        for entry in std::fs::read_dir(folder.path()).unwrap() {
            allow(&entry.unwrap().path(), 0o444);
        }
        allow(folder.path(), 0o555);
        let command = || {
            let mut command = Command::new(&words[0]);
            command.args(&words[1..]);
            command
        };
        let (code, out, errors) = said(&run_by(command(), book, &["book", HILL]));
        assert_eq!(code, 0, "{errors}");
        assert!(out.contains("pears/steep started"), "{out}");
        assert!(out.contains("jelly/boil skipped: burnt"), "{out}");
        for words in [&["plan", HILL][..], &["tonight", HILL]] {
            let (code, out, errors) = said(&run_by(command(), book, words));
            assert!(code <= 1 && !out.is_empty(), "{errors}");
        }
        let (code, _, errors) = said(&run_by(command(), book, &["tick", HILL, "steep", "done"]));
        assert_eq!(code, 3, "{errors}");
        assert!(errors.contains("may not be written here"), "{errors}");

        let mut sheet = CommandBuilder::new(&words[0]);
        sheet.args(&words[1..]);
        sheet.args([HILL, "--now", FRIDAY, "--book"]);
        sheet.arg(book);
        let mut terminal = Terminal::run(sheet, 120, 40);
        terminal.wait("what was ticked", is_steeping);
        terminal.wait_for("nothing can be ticked");
        terminal.press("u");
        terminal.wait_for("not written into the book");
        terminal.press("q");
        assert_eq!(terminal.wait_for_end().exit_code(), 0);
        let left = std::fs::read_dir(folder.path()).unwrap().count();
        assert!(left <= 2, "looking leaves nothing behind");
        allow(folder.path(), 0o755);
    }
}

/// Another program writes and does not end: read, and ticked as soon as it has let go.
#[test]
fn a_book_that_another_program_holds_is_shown_and_ticked_later() {
    for held in [
        "BEGIN IMMEDIATE",
        "PRAGMA locking_mode = EXCLUSIVE; BEGIN EXCLUSIVE",
    ] {
        let (_folder, book) = place();
        assert!(
            run(&book, &["tick", HILL, "steep", "start"])
                .status
                .success()
        );
        let holder = Connection::open(&book).unwrap();
        holder.execute_batch(held).unwrap();

        let (code, out, errors) = said(&run(&book, &["book", HILL]));
        assert_eq!(code, 0, "{errors}");
        assert!(out.contains("pears/steep started"), "{held}: {out}");
        let mut terminal = Terminal::open(&book, &[HILL], 120, 40);
        terminal.wait("what was ticked", is_steeping);
        terminal.press("u");
        let text = terminal.wait_for("not written into the book");
        assert!(
            text.contains("another program holds the book"),
            "{held}: {text}"
        );
        drop(holder);
        terminal.press("u");
        terminal.wait("taken back", |screen| !is_steeping(screen));
        terminal.press("q");
        assert_eq!(terminal.wait_for_end().exit_code(), 0);
        assert!(matches!(
            entries(&book).last(),
            Some(Happening::Undone { .. })
        ));
    }
}

/// A sheet that was opened while nothing could be written follows the others as soon as the book can be read as it is,
/// without a tick of its own.
#[test]
fn a_sheet_opened_on_a_held_book_follows_the_others_once_it_is_let_go() {
    let (_folder, book) = place();
    assert!(
        run(&book, &["tick", HILL, "steep", "start"])
            .status
            .success()
    );
    let holder = Connection::open(&book).unwrap();
    let held = "PRAGMA locking_mode = EXCLUSIVE; BEGIN EXCLUSIVE";
    holder.execute_batch(held).unwrap();
    let mut terminal = Terminal::open(&book, &[HILL], 120, 40);
    terminal.wait_for("nothing can be ticked");
    terminal.wait("what was ticked", is_steeping);
    drop(holder);
    assert!(
        run(&book, &["tick", HILL, "steep", "undo"])
            .status
            .success()
    );
    terminal.wait("the other's tick", |screen| !is_steeping(screen));
    // A tick of its own is told what came before it once, not twice.
    terminal.press("s");
    terminal.wait_for_frame("its own tick", |screen| {
        is_steeping(screen) && screen.contents().contains("started: Steep the tea")
    });
    terminal.press("q");
    assert_eq!(terminal.wait_for_end().exit_code(), 0);
}

/// A book that may only be read is copied where its log cannot be, and a copy is made again.
#[cfg(target_os = "linux")]
#[test]
fn a_sheet_on_a_book_that_may_only_be_read_follows_the_others() {
    use std::os::unix::fs::PermissionsExt;
    let Some(words) = nobody() else {
        eprintln!("skipped: nobody here may do less than everything");
        return;
    };
    if words.len() == 1 {
        eprintln!("skipped: whoever runs this cannot write where the sheet may not");
        return;
    }
    let (folder, book) = place();
    let allow = |path: &Path, mode| {
        std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode)).unwrap();
    };
    assert!(
        run(&book, &["tick", HILL, "steep", "start"])
            .status
            .success()
    );
    allow(&book, 0o644);
    allow(folder.path(), 0o755);
    let mut sheet = CommandBuilder::new(&words[0]);
    sheet.args(&words[1..]);
    sheet.args([HILL, "--now", FRIDAY, "--book"]);
    sheet.arg(&book);
    let terminal = Terminal::run(sheet, 120, 40);
    terminal.wait("what was ticked", is_steeping);
    terminal.wait_for("nothing can be ticked");
    assert!(
        run(&book, &["tick", HILL, "steep", "undo"])
            .status
            .success()
    );
    terminal.wait("the other's tick", |screen| !is_steeping(screen));
}

#[test]
fn a_damaged_book_is_told_of_everywhere_and_mended_by_whoever_writes() {
    let (folder, book) = place();
    assert!(
        run(&book, &["tick", HILL, "steep", "start"])
            .status
            .success()
    );
    let mut bytes = std::fs::read(&book).unwrap();
    bytes[..100].fill(b'x');
    let damage = || std::fs::write(&book, &bytes).unwrap();

    damage();
    let (code, out, errors) = said(&run(&book, &["book", HILL]));
    assert_eq!(code, 0, "{errors}");
    assert!(out.contains("pears/steep started"), "{out}");
    assert!(
        errors.contains("is damaged") && errors.contains("2 entries could be read"),
        "{errors}"
    );
    assert_eq!(
        std::fs::read(&book).unwrap(),
        bytes,
        "looking changes nothing"
    );

    let (code, out, errors) = said(&run(&book, &["tick", HILL, "steep", "done", "--at", "-0"]));
    assert_eq!(code, 0, "{errors}");
    assert!(out.contains("pears/steep done"), "{out}");
    assert!(
        errors.contains("2 entries saved into a fresh book"),
        "{errors}"
    );
    assert!(
        folder
            .path()
            .join("book.sqlite.damaged-2026-11-27")
            .is_file()
    );

    damage();
    let mut terminal = Terminal::open(&book, &[HILL], 200, 40);
    terminal.wait_for("was damaged");
    terminal.wait("what was ticked", is_steeping);
    terminal.press("u");
    terminal.wait("taken back", |screen| !is_steeping(screen));
    terminal.press("q");
    assert_eq!(terminal.wait_for_end().exit_code(), 0);
    assert!(
        folder
            .path()
            .join("book.sqlite.damaged-2026-11-27-2")
            .is_file()
    );

    // A file that says nothing of ever having been a book: the sheet stands, and nothing is touched.
    let diary = "Dear diary, today the custard split.\n".repeat(50);
    std::fs::write(&book, &diary).unwrap();
    let mut terminal = Terminal::open(&book, &[HILL], 200, 40);
    terminal.wait_for("Poach the pears");
    terminal.wait_for("nothing can be ticked");
    terminal.press("s");
    terminal.wait_for("not written into the book");
    drop(terminal);
    assert_eq!(std::fs::read_to_string(&book).unwrap(), diary);
}

/// Damaged while a sheet is open on it: the tick that finds out is refused with what became of the book.
#[test]
fn a_sheet_that_finds_its_book_damaged_saves_it() {
    let (_folder, book) = place();
    let mut terminal = Terminal::open(&book, &[HILL], 200, 40);
    terminal.wait_for("Poach the pears");
    terminal.press("s");
    terminal.wait("the tea steeping", is_steeping);
    // Everything is brought from the log into the file, and then overwritten from the second page on.
    let other = Connection::open(&book).unwrap();
    let busy: i64 = other
        .query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |row| row.get(0))
        .unwrap();
    assert_eq!(busy, 0);
    drop(other);
    let mut bytes = std::fs::read(&book).unwrap();
    let end = bytes.len();
    bytes[4096..end].fill(0xAA);
    std::fs::write(&book, &bytes).unwrap();
    terminal.press("u");
    let text = terminal.wait_for("not written into the book");
    assert!(text.contains("damaged"), "{text}");
    drop(terminal);
    let access = access::to_write(&book, Timestamp(1_795_807_800)).unwrap();
    assert!(access.refused.is_none());
}

#[test]
fn a_new_book_is_said_where_a_name_was_given_and_its_neighbour_named() {
    let (folder, book) = place();
    let (_, _, errors) = said(&run(&book, &["tick", HILL, "steep", "start"]));
    assert!(errors.contains("a new book is begun: "), "{errors}");
    assert!(!errors.contains("beside it"), "{errors}");
    let mistyped = folder.path().join("bok.sqlite");
    let terminal = Terminal::open(&mistyped, &[HILL], 200, 40);
    terminal.wait_for("a new book is begun");
    terminal.wait_for("beside it lies book.sqlite");
    drop(terminal);
    let (_, _, errors) = said(&run(&book, &["tick", HILL, "steep", "undo"]));
    assert!(errors.is_empty(), "{errors}");
}
