//! The real program on a real pseudo-terminal.
//!
//! Nothing here sleeps for a fixed time: every wait ends as soon as the screen shows what is waited for, and
//! fails with the screen in its message when that has not come within a generous limit.

use std::io::{Read, Write};
use std::num::NonZero;
use std::path::Path;
use std::process::Command;
use std::sync::{Arc, Condvar, Mutex};
use std::time::{Duration, Instant};

use portable_pty::{Child, CommandBuilder, ExitStatus, MasterPty, PtySize, native_pty_system};

/// Longer than the slowest machine needs for anything.
const LIMIT: Duration = Duration::from_secs(30);
/// The evening before the service of `hill-supper.ron`: the tea has to be steeped tonight.
pub(crate) const FRIDAY: &str = "2026-11-27 20:30";

/// What the terminal has shown so far.
pub(crate) struct Shown {
    pub(crate) screen: vt100::Parser,
    /// Whether what came last was the end of a frame; in between, half of the rows may be those of the frame before.
    pub(crate) whole: bool,
    pub(crate) over: bool,
    /// How often the bell has rung.
    pub(crate) bells: usize,
}

/// A terminal with the program in it.
pub(crate) struct Terminal {
    master: Box<dyn MasterPty + Send>,
    keys: Box<dyn Write + Send>,
    pub(crate) child: Box<dyn Child + Send + Sync>,
    pub(crate) shown: Arc<(Mutex<Shown>, Condvar)>,
}

impl Terminal {
    pub(crate) fn open(book: &Path, words: &[&str], columns: u16, lines: u16) -> Self {
        Self::open_with(book, words, columns, lines, &[])
    }

    pub(crate) fn open_with(
        book: &Path,
        words: &[&str],
        columns: u16,
        lines: u16,
        environment: &[(&str, &str)],
    ) -> Self {
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_countback"));
        command.args(words);
        command.args(["--now", FRIDAY, "--book"]);
        command.arg(book);
        command.env_remove("NO_COLOR");
        for (name, value) in environment {
            command.env(name, value);
        }
        Self::run(command, columns, lines)
    }

    pub(crate) fn run(mut command: CommandBuilder, columns: u16, lines: u16) -> Self {
        let pair = native_pty_system().openpty(size(columns, lines)).unwrap();
        command.env("TERM", "xterm-256color");
        command.cwd(env!("CARGO_MANIFEST_DIR"));
        let child = pair.slave.spawn_command(command).unwrap();
        drop(pair.slave);
        let shown = Arc::new((
            Mutex::new(Shown {
                screen: vt100::Parser::new(some(lines), some(columns), 0),
                whole: false,
                over: false,
                bells: 0,
            }),
            Condvar::new(),
        ));
        let mut reader = pair.master.try_clone_reader().unwrap();
        let theirs = Arc::clone(&shown);
        std::thread::spawn(move || {
            let mut bytes = [0; 8192];
            loop {
                // A terminal whose program has gone gives an error on some systems and an end on others.
                let read = reader.read(&mut bytes).unwrap_or(0);
                let mut shown = theirs.0.lock().unwrap();
                shown.screen.process(&bytes[..read]);
                shown.bells += bytes[..read].split(|byte| *byte == 7).count() - 1;
                // Hiding the cursor is the last thing that a frame does.
                // The bell rings between frames.
                let rings = bytes[..read].iter().rev().take_while(|byte| **byte == 7);
                let frame = &bytes[..read - rings.count()];
                if !frame.is_empty() || read == 0 {
                    shown.whole = frame.ends_with(b"\x1b[?25l");
                }
                shown.over = read == 0;
                theirs.1.notify_all();
                if read == 0 {
                    return;
                }
            }
        });
        Self {
            keys: pair.master.take_writer().unwrap(),
            master: pair.master,
            child,
            shown,
        }
    }

    pub(crate) fn press(&mut self, keys: &str) {
        self.keys.write_all(keys.as_bytes()).unwrap();
        self.keys.flush().unwrap();
    }

    pub(crate) fn resize(&self, columns: u16, lines: u16) {
        let mut shown = self.shown.0.lock().unwrap();
        shown
            .screen
            .screen_mut()
            .set_size(some(lines), some(columns));
        self.master.resize(size(columns, lines)).unwrap();
    }

    /// Waits until the screen fits, and returns its text.
    pub(crate) fn wait(&self, what: &str, fits: impl Fn(&vt100::Screen) -> bool) -> String {
        let until = Instant::now() + LIMIT;
        let mut shown = self.shown.0.lock().unwrap();
        loop {
            let text = shown.screen.screen().contents();
            if fits(shown.screen.screen()) {
                return text;
            }
            let left = until.saturating_duration_since(Instant::now());
            if left.is_zero() || shown.over {
                let over = shown.over;
                drop(shown);
                panic!("never came: {what} (program over: {over})\n{text}");
            }
            shown = self.shown.1.wait_timeout(shown, left).unwrap().0;
        }
    }

    /// Waits until a whole frame fits.
    pub(crate) fn wait_for_frame(&self, what: &str, fits: impl Fn(&vt100::Screen) -> bool) {
        let until = Instant::now() + LIMIT;
        assert!(self.comes_before(until, fits), "never came: {what}\n{}", {
            let shown = self.shown.0.lock().unwrap();
            shown.screen.screen().contents()
        });
    }

    /// Waits until a whole frame fits, at most until a moment; returns whether one did.
    pub(crate) fn comes_before(
        &self,
        until: Instant,
        fits: impl Fn(&vt100::Screen) -> bool,
    ) -> bool {
        let mut shown = self.shown.0.lock().unwrap();
        loop {
            if shown.whole && fits(shown.screen.screen()) {
                return true;
            }
            let left = until.saturating_duration_since(Instant::now());
            if left.is_zero() || shown.over {
                return false;
            }
            shown = self.shown.1.wait_timeout(shown, left).unwrap().0;
        }
    }

    /// Waits until the screen shows a text.
    pub(crate) fn wait_for(&self, text: &str) -> String {
        self.wait(text, |screen| screen.contents().contains(text))
    }

    /// Waits until the program has ended and everything it wrote has been shown.
    pub(crate) fn wait_for_end(&mut self) -> ExitStatus {
        let status = self.child.wait().unwrap();
        let mut shown = self.shown.0.lock().unwrap();
        while !shown.over {
            shown = self.shown.1.wait(shown).unwrap();
        }
        status
    }
}

impl Drop for Terminal {
    fn drop(&mut self) {
        // A test that failed leaves no program behind.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn some(number: u16) -> NonZero<u16> {
    NonZero::new(number).unwrap()
}

fn size(columns: u16, lines: u16) -> PtySize {
    PtySize {
        rows: lines,
        cols: columns,
        pixel_width: 0,
        pixel_height: 0,
    }
}

/// Sends a signal by the system's own command.
pub(crate) fn signal(name: &str, process: u32) {
    let sent = Command::new("kill")
        .args(["-s", name, &process.to_string()])
        .status()
        .unwrap();
    assert!(sent.success());
}
