//! The real program on a real pseudo-terminal, with a stopwatch.
//!
//! A thread reads what the program writes as a terminal would, and looks at the screen after every read. So a
//! time ends when the reader has seen the frame, the way from the program through the kernel included.

use std::io::{Read, Write};
use std::num::NonZero;
use std::path::Path;
use std::sync::{Arc, Condvar, Mutex};
use std::time::{Duration, Instant};

use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};

/// Longer than the slowest machine needs for anything.
const LIMIT: Duration = Duration::from_secs(30);

/// The size of the terminal.
pub(crate) const SIZE: (u16, u16) = (200, 60);

/// What the terminal shows, and when it last changed.
struct Shown {
    screen: vt100::Parser,
    at: Instant,
    over: bool,
}

/// A terminal with the program in it.
pub(crate) struct Terminal {
    _master: Box<dyn MasterPty + Send>,
    keys: Box<dyn Write + Send>,
    child: Box<dyn Child + Send + Sync>,
    shown: Arc<(Mutex<Shown>, Condvar)>,
    born: Instant,
}

impl Terminal {
    /// Starts the program.
    pub(crate) fn open(words: &[String], book: &Path) -> Self {
        let (columns, lines) = SIZE;
        let pair = native_pty_system()
            .openpty(PtySize {
                rows: lines,
                cols: columns,
                pixel_width: 0,
                pixel_height: 0,
            })
            .unwrap();
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_countback"));
        command.args(words);
        command.arg("--book");
        command.arg(book);
        command.env("TERM", "xterm-256color");
        command.env("TZ", "UTC");
        command.env_remove("NO_COLOR");
        let shown = Arc::new((
            Mutex::new(Shown {
                screen: vt100::Parser::new(some(lines), some(columns), 0),
                at: Instant::now(),
                over: false,
            }),
            Condvar::new(),
        ));
        let mut reader = pair.master.try_clone_reader().unwrap();
        let theirs = Arc::clone(&shown);
        std::thread::spawn(move || {
            let mut bytes = vec![0; 65536];
            loop {
                let read = reader.read(&mut bytes).unwrap_or(0);
                let mut shown = theirs.0.lock().unwrap();
                shown.screen.process(&bytes[..read]);
                shown.at = Instant::now();
                shown.over = read == 0;
                theirs.1.notify_all();
                if read == 0 {
                    return;
                }
            }
        });
        let keys = pair.master.take_writer().unwrap();
        let born = Instant::now();
        let child = pair.slave.spawn_command(command).unwrap();
        drop(pair.slave);
        Self {
            _master: pair.master,
            keys,
            child,
            shown,
            born,
        }
    }

    /// Returns the number of the program's process.
    pub(crate) fn process(&self) -> Option<u32> {
        self.child.process_id()
    }

    /// Presses keys.
    pub(crate) fn press(&mut self, keys: &str) {
        self.keys.write_all(keys.as_bytes()).unwrap();
        self.keys.flush().unwrap();
    }

    /// Waits until the screen fits; returns when it did.
    pub(crate) fn wait(&self, what: &str, fits: impl Fn(&vt100::Screen) -> bool) -> Instant {
        let until = Instant::now() + LIMIT;
        let mut shown = self.shown.0.lock().unwrap();
        loop {
            if fits(shown.screen.screen()) {
                return shown.at;
            }
            let left = until.saturating_duration_since(Instant::now());
            if left.is_zero() || shown.over {
                let text = shown.screen.screen().contents();
                drop(shown);
                panic!("never came: {what}\n{text}");
            }
            shown = self.shown.1.wait_timeout(shown, left).unwrap().0;
        }
    }

    /// Waits for the first frame on which the whole sheet stands; returns how long after the start it came.
    pub(crate) fn wait_for_first_full_frame(&self) -> Duration {
        self.wait("the first full frame", is_full) - self.born
    }

    /// Leaves the sheet, on which nothing may be open, and waits until the program has gone.
    pub(crate) fn close(mut self) {
        self.press("q");
        let mut shown = self.shown.0.lock().unwrap();
        while !shown.over {
            let (next, waited) = self.shown.1.wait_timeout(shown, LIMIT).unwrap();
            shown = next;
            assert!(!waited.timed_out(), "the program does not end");
        }
        drop(shown);
        let status = self.child.wait().unwrap();
        assert!(status.success(), "the program ended with {status}");
    }
}

impl Drop for Terminal {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn some(number: u16) -> NonZero<u16> {
    NonZero::new(number).unwrap()
}

/// Returns a line of the screen, counted from the bottom.
pub(crate) fn line_from_bottom(screen: &vt100::Screen, number: u16) -> String {
    let (columns, lines) = SIZE;
    let row = lines - 1 - number;
    screen.contents_between(row, 0, row, columns)
}

/// Returns whether the whole sheet stands: a step on the last line of the countdown, and the keys below it. The
/// menus measured have more steps than the screen has lines.
fn is_full(screen: &vt100::Screen) -> bool {
    line_from_bottom(screen, 2).contains("T−") && line_from_bottom(screen, 0).contains("quit")
}
