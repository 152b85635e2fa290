//! The most memory the program has held at once, as the system tells it. Printed, not timed.

use criterion::Criterion;

use crate::menus;
use crate::terminal::Terminal;

pub(crate) fn bench(_: &mut Criterion) {
    for measured in [menus::demonstration(), menus::large()] {
        let folder = tempfile::tempdir().unwrap();
        let book = folder.path().join("book.sqlite");
        let mut terminal = Terminal::open(&measured.words, &book);
        terminal.wait_for_first_full_frame();
        // Help, the end of the list, a tick: everything has been drawn, written and planned at least twice.
        terminal.press("?");
        terminal.wait("the help", |screen| {
            screen.contents().contains("Moving about")
        });
        terminal.press("q");
        terminal.wait_for_first_full_frame();
        terminal.press("Gg.s");
        terminal.wait("the tick", |screen| screen.contents().contains("running"));
        let most = terminal.process().and_then(most_memory);
        match most {
            Some(most) => eprintln!("memory/{}: {most} at most", measured.name),
            None => eprintln!("memory/{}: this system does not say", measured.name),
        }
        terminal.close();
    }
}

/// Returns the high-water mark of a process's memory, where the system keeps one.
#[allow(
    clippy::disallowed_methods,
    reason = "where the system says how much memory a process has held"
)]
pub(crate) fn most_memory(process: u32) -> Option<String> {
    let status = std::fs::read_to_string(format!("/proc/{process}/status")).ok()?;
    let line = status
        .lines()
        .find_map(|line| line.strip_prefix("VmHWM:"))?;
    Some(line.trim().to_owned())
}
